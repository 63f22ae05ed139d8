//! Any report as a sheet for print: its sentences, its picture, its table. One page of HTML that
//! needs nothing else.

use std::borrow::Cow;

use askama::Template;
use chrono::{DateTime, FixedOffset};

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
    /// The names of the columns.
    pub columns: &'a [String],
    /// Its lines, each with a cell for every column.
    pub rows: &'a [Vec<String>],
}

#[derive(Template)]
#[template(path = "report_sheet.html")]
struct Filled<'a> {
    style: &'static str,
    sheet: &'a ReportSheet<'a>,
    columns: Vec<Column<'a>>,
}

/// A column that people read.
struct Column<'a> {
    place: usize,
    heading: &'a str,
    /// The class of its cells: whether they are figures, or instants.
    class: &'static str,
}

impl Column<'_> {
    /// The cell of a line, an instant to the minute.
    fn cell<'r>(&self, row: &'r [String]) -> Cow<'r, str> {
        let cell = row.get(self.place).map_or("", String::as_str);
        match instant(cell) {
            Some(at) => Cow::Owned(at.format("%Y-%m-%d %H:%M").to_string()),
            None => Cow::Borrowed(cell),
        }
    }
}

/// The instant that a cell holds, where it holds one.
fn instant(cell: &str) -> Option<DateTime<FixedOffset>> {
    let instant = Some(cell).filter(|cell| cell.contains('T') && cell.ends_with('Z'))?;
    DateTime::parse_from_rfc3339(instant).ok()
}

/// Writes a report on paper. What only programs read is not on it: identifiers, and columns that are
/// empty in every line.
///
/// # Errors
/// Where the template cannot be filled in.
pub fn report_sheet(sheet: &ReportSheet<'_>) -> Result<String, askama::Error> {
    let headings: Vec<String> = sheet.columns.iter().map(|name| heading(name)).collect();
    let columns = (0..headings.len()).filter_map(|place| {
        let name = sheet.columns[place].as_str();
        if ["id", "key"].contains(&name) || name.ends_with("_id") {
            return None;
        }
        let cells = sheet.rows.iter().filter_map(|row| row.get(place));
        let cells: Vec<&String> = cells.filter(|cell| !cell.is_empty()).collect();
        if cells.is_empty() {
            return None;
        }
        let class = if cells.iter().all(|cell| cell.parse::<f64>().is_ok()) {
            "number"
        } else if cells.iter().all(|cell| instant(cell).is_some()) {
            "when"
        } else {
            ""
        };
        Some(Column {
            place,
            heading: &headings[place],
            class,
        })
    });
    let filled = Filled {
        style: STYLE,
        columns: columns.collect(),
        sheet,
    };
    filled.render()
}

/// The name of a file or of a column as a heading: `idle_days` is `Idle days`.
pub fn heading(name: &str) -> String {
    let words = name.replace(['_', '-'], " ");
    let mut signs = words.chars();
    let first = signs.next().map(|sign| sign.to_ascii_uppercase());
    first.into_iter().chain(signs).collect()
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
            columns: &["label".to_owned()],
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

    #[test]
    fn people_are_spared_what_only_programs_read() {
        let columns = ["plug_id", "at", "idle_days", "note"].map(str::to_owned);
        let row = ["01a2", "2026-03-01T08:30:00.000000Z", "12", ""].map(str::to_owned);
        let html = report_sheet(&ReportSheet {
            title: "T",
            notes: &[],
            chart: None,
            columns: &columns,
            rows: &[row.to_vec()],
        })
        .expect("a page");
        let table = html.split("<thead>").nth(1).expect("a table");
        assert!(table.starts_with(
            "<tr><th class=\"when\">At</th><th class=\"number\">Idle days</th></tr></thead>"
        ));
        let line = "<tr><td class=\"when\">2026-03-01 08:30</td><td class=\"number\">12</td></tr>";
        assert!(table.contains(line), "{table}");
    }
}
