//! Lists as pages show them: columns, rows that lead somewhere, and where the rest stands. In a narrow
//! window a row becomes a card.

use std::borrow::Cow;

use crate::pages::words::say;

/// A column.
#[derive(Debug, Clone)]
pub(super) struct Column {
    /// What stands above it.
    pub label: Cow<'static, str>,
    /// Whether its cells are figures, to be read below one another.
    pub figures: bool,
}

/// A column of words below a message.
pub(super) fn words(label: &'static str) -> Column {
    Column {
        label: Cow::Borrowed(say(label)),
        figures: false,
    }
}

/// A column of figures below a message.
pub(super) fn figures(label: &'static str) -> Column {
    Column {
        label: Cow::Borrowed(say(label)),
        figures: true,
    }
}

/// What stands in a row below a column.
#[derive(Debug, Clone, Default)]
pub(super) struct Cell {
    /// Its text.
    pub text: String,
    /// Where it leads; empty where nowhere.
    pub path: String,
    /// A word more, in small type.
    pub note: String,
}

impl Cell {
    /// A text.
    pub fn of(text: impl ToString) -> Self {
        Self {
            text: text.to_string(),
            ..Self::default()
        }
    }

    /// A text that leads somewhere.
    pub fn to(path: impl Into<String>, text: impl ToString) -> Self {
        Self {
            path: path.into(),
            ..Self::of(text)
        }
    }

    /// The same with a word more.
    pub fn noted(self, note: impl Into<String>) -> Self {
        Self {
            note: note.into(),
            ..self
        }
    }
}

/// A list.
#[derive(Debug, Clone, Default)]
pub(super) struct Listing {
    /// What it is a list of, for whoever hears the page.
    pub caption: String,
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows, with a cell for each column.
    pub rows: Vec<Vec<Cell>>,
    /// What is said where it has none.
    pub empty: &'static str,
    /// Where the rest stands; empty where this is all.
    pub more: String,
}

impl Listing {
    /// Every row as its cells with their columns.
    pub fn lines(&self) -> impl Iterator<Item = Vec<(&Column, &Cell)>> {
        self.rows
            .iter()
            .map(|row| self.columns.iter().zip(row).collect())
    }
}
