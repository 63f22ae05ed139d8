//! The tables of a report as lists of a page.

use chrono::{DateTime, Utc};
use uuid::Uuid;

use crate::drawing::report_sheet::{SheetColumn, SheetTable};
use crate::pages::figures::{instant, marked};
use crate::pages::listing::{Cell, Column, Listing};
use crate::pages::words::say;

/// Lines of one page.
pub(super) const LINES: usize = 50;

/// A table of a report as a list: its lines from one on, and below them what all lines come to. `of_parts`
/// says that the keys of its lines are parts; `more` makes the address of the lines from one on.
pub(super) fn listing(
    table: &SheetTable,
    title: &str,
    from: usize,
    of_parts: bool,
    more: impl Fn(usize) -> String,
) -> Listing {
    let columns = table.read();
    let part = part_place(table, of_parts);
    let behind = from.saturating_add(LINES);
    let shown = table.rows.iter().skip(from).take(LINES);
    let mut rows: Vec<Vec<Cell>> = shown
        .map(|row| cells(&row.cells, &columns, part, &table.columns))
        .collect();
    if let Some(total) = table.total.as_ref().filter(|_| !rows.is_empty()) {
        rows.push(cells(total, &columns, None, &table.columns));
    }
    let heading = match table.heading.as_str() {
        "" => title,
        heading => heading,
    };
    Listing {
        caption: heading.to_owned(),
        columns: columns
            .iter()
            .map(|column| Column {
                label: column.heading.clone().into(),
                figures: column.is_figures(),
            })
            .collect(),
        rows,
        empty: say("reports-nothing-report-time"),
        more: if table.rows.len() > behind {
            more(behind)
        } else {
            String::new()
        },
    }
}

/// The column that names the part of a line by its id.
fn part_place(table: &SheetTable, of_parts: bool) -> Option<usize> {
    let mut names = table.columns.iter();
    names.position(|name| name == "plug_id" || (of_parts && name == "key"))
}

/// The cells of a line: the first that says which part it is leads to that part.
fn cells(
    row: &[String],
    columns: &[SheetColumn],
    part: Option<usize>,
    names: &[String],
) -> Vec<Cell> {
    let id = part.and_then(|place| row.get(place)?.parse::<Uuid>().ok());
    let mut leads = id.map(|id| format!("/parts/{id}"));
    let numbered = columns
        .iter()
        .any(|column| names.get(column.place).is_some_and(|n| n == "part_number"));
    let cell = |column: &SheetColumn| {
        let name = names.get(column.place).map_or("", String::as_str);
        let (mut text, mut note) = folded(row.get(column.place).map_or("", String::as_str));
        if column.is_figures() {
            (text, note) = (marked(text), marked(note));
        }
        let is_name = if numbered {
            name == "part_number"
        } else {
            true
        };
        let path = leads.take_if(|_| is_name).unwrap_or_default();
        Cell { text, path, note }
    };
    columns.iter().map(cell).collect()
}

/// Of two lines in a cell the first and the second; an instant as it is read here.
fn folded(cell: &str) -> (String, String) {
    let (first, second) = cell.split_once('\n').unwrap_or((cell, ""));
    let at = Some(first).filter(|cell| cell.contains('T') && cell.ends_with('Z'));
    let at = at.and_then(|cell| cell.parse::<DateTime<Utc>>().ok());
    // Its day stays in one line.
    let first = at.map_or_else(
        || first.to_owned(),
        |at| instant(at).replacen(' ', "\u{a0}", 2),
    );
    (first, second.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table() -> SheetTable {
        let row = |id: Uuid, number: &str, plugs: &str| {
            vec![
                id.to_string(),
                "Ferrowick".into(),
                number.into(),
                plugs.into(),
            ]
        };
        let rows = (0..60).map(|n| row(Uuid::from_u128(n), &format!("FW-{n}"), "2"));
        SheetTable {
            total: Some(vec![
                String::new(),
                "All".into(),
                String::new(),
                "120".into(),
            ]),
            ..SheetTable::of(&["plug_id", "maker", "part_number", "quantity"], rows)
        }
    }

    #[test]
    fn a_page_has_its_lines_the_total_and_the_way_to_the_rest() {
        let list = listing(&table(), "Value", 0, false, |from| format!("?line={from}"));
        assert_eq!(
            (list.rows.len(), list.more.as_str()),
            (LINES + 1, "?line=50")
        );
        assert_eq!(
            list.rows[1][1].path,
            format!("/parts/{}", Uuid::from_u128(1))
        );
        assert_eq!(list.rows[1][0].path, "", "only one cell leads to it");
        assert_eq!(list.rows[LINES][2].text, "120");
        let rest = listing(&table(), "Value", 50, false, |from| format!("?line={from}"));
        assert_eq!((rest.rows.len(), rest.more.as_str()), (11, ""));
    }

    #[test]
    fn two_lines_of_a_cell_stand_as_text_and_note() {
        assert_eq!(folded("12.50\n4"), ("12.50".into(), "4".into()));
        assert_eq!(folded("FW_12").0, "FW_12", "as it stands in the books");
        assert_eq!(
            folded("2026-03-01T08:30:00.000000Z").0,
            "1\u{a0}Mar\u{a0}2026 08:30 UTC"
        );
    }
}
