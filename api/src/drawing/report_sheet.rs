//! Any report as a sheet for print: its sentences, its picture, its table. One page of HTML that
//! needs nothing else.

use std::borrow::Cow;

use askama::Template;
use chrono::{DateTime, Utc};

use crate::shown::{in_table, marked};

/// The one stylesheet of reports; it stands in each of them.
pub const STYLE: &str = include_str!("../../templates/report_sheet.css");

/// A report on paper.
#[derive(Debug, Clone)]
pub struct ReportSheet<'a> {
    /// What it is.
    pub title: &'a str,
    /// Sentences below the title: of which time and by which method, what it comes to.
    pub notes: &'a [String],
    /// A picture, as SVG of our own drawing.
    pub chart: Option<String>,
    /// Its tables; those without lines but the first are left out.
    pub tables: &'a [SheetTable],
}

/// A table of a report as people read it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SheetTable {
    /// What stands above it; empty where the report has no other.
    pub heading: String,
    /// The names of the columns.
    pub columns: Vec<String>,
    /// Its lines.
    pub rows: Vec<SheetRow>,
    /// What they come to, a cell for every column.
    pub total: Option<Vec<String>>,
}

/// A line of a table.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SheetRow {
    /// What it and the lines below it have in common, across all columns; empty where nothing begins.
    pub above: String,
    /// A cell for every column; of two lines in one the upper one first.
    pub cells: Vec<String>,
    /// Sentences below it, across all columns.
    pub below: Vec<String>,
}

impl SheetTable {
    /// A table of plain lines.
    pub fn of(columns: &[&str], rows: impl Iterator<Item = Vec<String>>) -> Self {
        let row = |cells| SheetRow {
            cells,
            ..SheetRow::default()
        };
        Self {
            columns: columns.iter().map(|name| (*name).to_owned()).collect(),
            rows: rows.map(row).collect(),
            ..Self::default()
        }
    }

    /// Calls a column by what its cells are, where a file has a wider name for it.
    pub fn rename(&mut self, column: &str, word: &str) {
        for name in self.columns.iter_mut().filter(|name| *name == column) {
            word.clone_into(name);
        }
    }

    /// The cells of a column that hold something.
    fn filled(&self, place: usize) -> impl Iterator<Item = &String> {
        let cells = self.rows.iter().filter_map(move |row| row.cells.get(place));
        cells.filter(|cell| !cell.is_empty())
    }

    /// The currency of all its lines, where they have one in common.
    pub fn currency(&self) -> Option<&str> {
        let place = self.columns.iter().position(|name| name == CURRENCY)?;
        let first = self.filled(place).next()?;
        self.filled(place).all(|own| own == first).then_some(first)
    }

    /// The columns that people read.
    pub fn read(&self) -> Vec<SheetColumn> {
        let names = self.columns.iter().enumerate();
        let read = names.filter(|(place, name)| self.is_read(*place, name));
        read.map(|(place, name)| SheetColumn {
            place,
            heading: heading(name),
            class: class(self, place),
        })
        .collect()
    }

    /// Whether people read a column: identifiers are for programs, and what is empty in every line, or
    /// the same currency, or a cost that is never missing, tells nothing.
    fn is_read(&self, place: usize, name: &str) -> bool {
        let mut cells = self.filled(place).peekable();
        let told = match name {
            "id" | "key" => false,
            CURRENCY => self.currency().is_none(),
            name if name.ends_with("without_cost") => cells.any(|cell| cell != "0"),
            name => !name.ends_with("_id"),
        };
        told && self.filled(place).next().is_some()
    }
}

/// The column of currencies.
pub const CURRENCY: &str = "currency";

#[derive(Template)]
#[template(path = "report_sheet.html")]
struct Filled<'a> {
    style: &'static str,
    sheet: &'a ReportSheet<'a>,
    currency: Option<&'a str>,
    tables: Vec<Read<'a>>,
}

/// A table with the columns that people read.
struct Read<'a> {
    table: &'a SheetTable,
    columns: Vec<SheetColumn>,
}

/// A column that people read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetColumn {
    /// Its place among all columns.
    pub place: usize,
    /// What stands above it.
    pub heading: String,
    /// The class of its cells: whether they are figures, instants, or numbers of parts and the like,
    /// which no line break takes apart.
    class: &'static str,
}

impl SheetColumn {
    /// Whether its cells are figures, to be read below one another.
    pub fn is_figures(&self) -> bool {
        self.class == "number"
    }

    /// The cell of a line, an instant to the minute.
    pub fn cell<'r>(&self, row: &'r [String]) -> Cow<'r, str> {
        let cell = row.get(self.place).map_or("", String::as_str);
        match instant(cell) {
            Some(at) => Cow::Owned(in_table(at)),
            None if self.is_figures() => Cow::Owned(marked(cell)),
            None => Cow::Borrowed(cell),
        }
    }
}

/// The instant that a cell holds, where it holds one.
fn instant(cell: &str) -> Option<DateTime<Utc>> {
    let instant = Some(cell).filter(|cell| cell.contains('T') && cell.ends_with('Z'))?;
    instant.parse().ok()
}

impl<'a> Read<'a> {
    fn of(table: &'a SheetTable) -> Self {
        Self {
            columns: table.read(),
            table,
        }
    }
}

/// Whether a cell holds a number of a part, a month or the like.
fn is_code(cell: &str) -> bool {
    cell.len() <= 16 && cell.contains(|c: char| c.is_ascii_digit()) && !cell.contains(' ')
}

fn class(table: &SheetTable, place: usize) -> &'static str {
    let is_number = |cell: &String| cell.lines().all(|line| line.parse::<f64>().is_ok());
    if table.filled(place).all(is_number) {
        "number"
    } else if table.filled(place).all(|cell| instant(cell).is_some()) {
        "when"
    } else if table.filled(place).all(|cell| is_code(cell)) {
        "code"
    } else {
        ""
    }
}

/// Writes a report on paper. What only programs read is not on it, and a currency that all lines have
/// in common is said once.
///
/// # Errors
/// Where the template cannot be filled in.
pub fn report_sheet(sheet: &ReportSheet<'_>) -> Result<String, askama::Error> {
    let with_lines = sheet.tables.iter().filter(|table| !table.rows.is_empty());
    let filled = Filled {
        style: STYLE,
        currency: sheet.tables.iter().find_map(SheetTable::currency),
        tables: with_lines.map(Read::of).collect(),
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
            tables: &[SheetTable::of(&["label"], std::iter::empty())],
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

    fn page_of(table: SheetTable) -> String {
        let sheet = ReportSheet {
            title: "T",
            notes: &[],
            chart: None,
            tables: &[table],
        };
        report_sheet(&sheet).expect("a page")
    }

    fn row<const N: usize>(cells: [&str; N]) -> Vec<String> {
        cells.map(str::to_owned).to_vec()
    }

    #[test]
    fn people_are_spared_what_only_programs_read() {
        let columns = ["plug_id", "part", "at", "idle_days", "note", "without_cost"];
        let at = "2026-03-01T08:30:00.000000Z";
        let cells = row(["01a2", "FW-1", at, "12", "", "0"]);
        let html = page_of(SheetTable::of(&columns, std::iter::once(cells)));
        let table = html.split("<thead>").nth(1).expect("a table");
        assert!(table.starts_with(
            "<tr><th class=\"code\">Part</th><th class=\"when\">At</th><th class=\"number\">Idle days</th></tr></thead>"
        ));
        let line = "<td class=\"when\">2026-03-01 08:30</td><td class=\"number\">12</td></tr>";
        assert!(table.contains(line), "{table}");
    }

    #[test]
    fn a_currency_is_said_once_and_only_where_all_lines_share_it() {
        let of = |other| {
            let rows = [row(["1.00", "USD"]), row(["2.00", other])];
            page_of(SheetTable::of(&["cost", "currency"], rows.into_iter()))
        };
        let shared = of("USD");
        assert!(shared.contains("All sums are in USD.") && !shared.contains(">Currency<"));
        let several = of("EUR");
        assert!(
            !several.contains("All sums are in") && several.contains("<td class=\"\">EUR</td>")
        );
    }

    #[test]
    fn lines_have_sentences_and_a_total() {
        let table = SheetTable {
            rows: vec![SheetRow {
                above: "Quayside Parts: 1 line.".into(),
                cells: row(["FW-1", "4"]),
                below: vec!["Why <so>.".into()],
            }],
            total: Some(row(["All", "4"])),
            ..SheetTable::of(&["part", "plugs"], std::iter::empty())
        };
        let html = page_of(table);
        for part in [
            "<tr class=\"above\"><th colspan=\"2\">Quayside Parts: 1 line.</th></tr>",
            "<tr class=\"below\"><td colspan=\"2\"><p>Why &#60;so&#62;.</p></td></tr>",
            "<tfoot><tr><td class=\"code\">All</td><td class=\"number\">4</td></tr></tfoot>",
        ] {
            assert!(html.contains(part), "{part} in {html}");
        }
    }
}
