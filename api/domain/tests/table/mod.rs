//! Reads the outside tables under `fixtures/checks`: lines of `#` that name the source, a header, rows.

use std::collections::HashMap;
use std::str::FromStr;

/// One row, its cells by column.
pub struct Row(HashMap<&'static str, &'static str>);

impl Row {
    /// The cell of a column; `None` where the table leaves it empty.
    pub fn get<T: FromStr>(&self, column: &str) -> Option<T> {
        let cell = self
            .0
            .get(column)
            .unwrap_or_else(|| panic!("no column {column:?}"));
        if cell.is_empty() {
            return None;
        }
        Some(
            cell.parse()
                .unwrap_or_else(|_| panic!("{column}: {cell:?} is not readable")),
        )
    }

    /// The number in a column that is never empty.
    pub fn number(&self, column: &str) -> f64 {
        self.get(column)
            .unwrap_or_else(|| panic!("{column} is empty"))
    }
}

/// The rows of a table; panics on a table without source, with a ragged row, or with another number of rows.
pub fn rows(text: &'static str, count: usize) -> Vec<Row> {
    assert!(
        text.starts_with("# source: "),
        "a table names its source first"
    );
    let mut lines = text.lines().filter(|line| !line.starts_with('#'));
    let header: Vec<_> = lines.next().expect("a header").split(',').collect();
    let rows: Vec<_> = lines
        .map(|line| {
            let cells: Vec<_> = line.split(',').collect();
            assert_eq!(cells.len(), header.len(), "ragged row: {line}");
            Row(header.iter().copied().zip(cells).collect())
        })
        .collect();
    assert_eq!(rows.len(), count, "rows of the table");
    rows
}
