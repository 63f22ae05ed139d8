//! What a table's header says, and what is told of its rows by the columns that it names.

use std::str::FromStr;

use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::words::NotInList;
use serde_json::Value;

use super::columns::{Column, understood};
use super::declared::{Declared, declared};
use super::found::Faults;
use super::rows::Row;
use super::{TableKind, Understood};

/// A header that was understood, as far as it can be.
pub(super) struct Heading {
    kind: TableKind,
    columns: Vec<Column>,
    /// Cells of the header.
    width: usize,
}

impl Heading {
    /// Understands the header of a table; what is not understood is told.
    pub(super) fn of(kind: TableKind, header: &csv::StringRecord, faults: &mut Faults) -> Self {
        let columns = understood(kind, header, |column, code, detail| {
            faults.add(1, column, column, code, detail)
        });
        Self {
            kind,
            columns,
            width: header.len(),
        }
    }

    /// The header of a table that has none.
    pub(super) fn none(kind: TableKind) -> Self {
        Self {
            kind,
            columns: Vec::new(),
            width: 0,
        }
    }

    /// What its table holds.
    pub(super) fn kind(&self) -> TableKind {
        self.kind
    }

    /// Whether it names all that every row needs; else there is nothing to be said of the rows.
    pub(super) fn suffices(&self) -> bool {
        let there = |name| self.columns.iter().any(|c| c.member == name);
        let mut needed = declared(self.kind).iter().filter(|column| column.needed);
        needed.all(|column| there(column.name))
    }

    /// The columns that it names.
    pub(super) fn columns(&self) -> &[Column] {
        &self.columns
    }

    /// How many cells it has.
    pub(super) fn width(&self) -> usize {
        self.width
    }

    /// What is told of the columns.
    pub(super) fn told(&self) -> Vec<Understood> {
        self.columns.iter().map(Column::told).collect()
    }

    /// Whether the row has all that it needs; what is missing is told.
    pub(super) fn complete(&self, row: &Row, faults: &mut Faults) -> bool {
        let mut complete = true;
        for needed in declared(self.kind).iter().filter(|column| column.needed) {
            complete &= !self.is_told(row, needed.name);
            if row.cells.get(needed.name).is_some_and(Value::is_null) {
                let detail = format!("{} has to be given", needed.name);
                self.tell_of(row, needed.name, FaultCode::Missing, detail, faults);
            }
        }
        complete
    }

    /// Whether a cell is at fault by itself, and told to be: it was not understood, or is needed and
    /// empty. Nothing else is to be said of it.
    pub(super) fn is_told(&self, row: &Row, member: &str) -> bool {
        match row.cells.get(member) {
            None => self.columns.iter().any(|column| column.member == member),
            Some(cell) => {
                let needed = |column: &Declared| column.needed && column.name == member;
                cell.is_null() && declared(self.kind).iter().any(needed)
            }
        }
    }

    /// A word of a closed list; one that is not in it is told.
    pub(super) fn word<T: FromStr<Err = NotInList>>(
        &self,
        row: &Row,
        member: &str,
        faults: &mut Faults,
    ) -> Option<T> {
        match row.text(member).parse() {
            Ok(word) => Some(word),
            Err(e) => {
                let e: NotInList = e;
                self.tell_of(row, member, FaultCode::NotInList, e.to_string(), faults);
                None
            }
        }
    }

    /// Tells a fault of a row by the column that its member stands in.
    pub(super) fn tell(&self, row: &Row, fault: Fault, faults: &mut Faults) {
        let member = fault.pointer.trim_start_matches("#/");
        let member = member.split('/').next().unwrap_or_default();
        self.tell_of(row, member, fault.code, fault.detail, faults);
    }

    /// The same of a member.
    pub(super) fn tell_of(
        &self,
        row: &Row,
        member: &str,
        code: FaultCode,
        detail: String,
        faults: &mut Faults,
    ) {
        // A scale that is named instead of given by its identifier is the same member.
        let named = member.trim_end_matches("_id");
        let column = self
            .columns
            .iter()
            .find(|c| c.member == member || c.member == named);
        let found = column.and_then(|c| row.record.get(c.place));
        let header = column.map_or(member, |c| c.header.as_str());
        faults.add(row.number, header, found.unwrap_or_default(), code, detail);
    }
}
