//! Any report as a sheet for print: its sentences, its picture, its table. One page of HTML that
//! needs nothing else.

use askama::Template;

/// The one stylesheet of reports; it stands in each of them.
pub const STYLE: &str = include_str!("../../templates/report_sheet.css");

/// A report on paper.
#[derive(Debug, Clone)]
pub struct ReportSheet<'a> {
    /// What it is.
    pub title: &'a str,
    /// Sentences below the title.
    pub notes: &'a [String],
    /// A picture, as SVG of our own drawing.
    pub chart: Option<String>,
    /// What stands above each column.
    pub columns: &'a [String],
    /// Its lines, each with a cell for every column.
    pub rows: &'a [Vec<String>],
}

#[derive(Template)]
#[template(path = "report_sheet.html")]
struct Filled<'a> {
    style: &'static str,
    sheet: &'a ReportSheet<'a>,
    /// Whether a column is one of figures.
    figures: Vec<bool>,
}

/// Writes a report on paper.
///
/// # Errors
/// Where the template cannot be filled in.
pub fn report_sheet(sheet: &ReportSheet<'_>) -> Result<String, askama::Error> {
    let figures = (0..sheet.columns.len()).map(|place| {
        let mut cells = sheet.rows.iter().filter_map(|row| row.get(place));
        let mut filled = cells.by_ref().filter(|cell| !cell.is_empty()).peekable();
        filled.peek().is_some() && filled.all(|cell| cell.parse::<f64>().is_ok())
    });
    let filled = Filled {
        style: STYLE,
        figures: figures.collect(),
        sheet,
    };
    filled.render()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_stylesheet_needs_no_escaping() {
        assert!(!STYLE.contains(['<', '&']));
    }

    #[test]
    fn a_report_without_lines_says_so() {
        let html = report_sheet(&ReportSheet {
            title: "Usage <by> month",
            notes: &["Nothing & more".to_owned()],
            chart: None,
            columns: &["Label".to_owned()],
            rows: &[],
        })
        .expect("a page");
        for part in [
            "Usage &#60;by&#62; month",
            "Nothing &#38; more",
            "No lines.",
        ] {
            assert!(html.contains(part), "{part} in {html}");
        }
        assert!(!html.contains("<table"));
    }
}
