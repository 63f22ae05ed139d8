//! The rows of a table as they come, each with its number and its cells understood or at fault; never
//! more than a few of them in memory.

use std::io::{BufRead, BufReader};
use std::str::FromStr;

use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::words::NotInList;
use serde_json::{Map, Value};

use super::columns::{Column, understood};
use super::declared::{Declared, declared};
use super::found::Faults;
use super::{Table, TableKind, Understood};
use crate::cell::plain;
use crate::service::Refusal;

/// Bytes that are looked at for the header's separator.
const HEAD: usize = 1 << 16;
/// What stands before a text in UTF-8 that says so.
const MARK: &[u8] = b"\xef\xbb\xbf";

/// A row that was understood.
pub(super) struct Row {
    /// Its number as a spreadsheet counts: the header is row 1.
    pub(super) number: u64,
    /// What its cells mean, by member.
    pub(super) cells: Map<String, Value>,
    record: csv::StringRecord,
}

impl Row {
    /// A text of the row; empty where it has none.
    pub(super) fn text(&self, member: &str) -> &str {
        let value = self.cells.get(member);
        value.and_then(Value::as_str).unwrap_or_default()
    }

    /// A whole number of the row.
    pub(super) fn whole(&self, member: &str) -> Option<i64> {
        self.cells.get(member).and_then(Value::as_i64)
    }
}

/// A table that is being read.
pub(super) struct Rows<'t> {
    reader: csv::Reader<BufReader<&'t mut dyn Table>>,
    kind: TableKind,
    columns: Vec<Column>,
    /// Cells of the header.
    width: usize,
    number: u64,
    ended: bool,
}

impl<'t> Rows<'t> {
    /// Goes to the beginning and reads the header; without one that can be read there are no rows.
    ///
    /// # Errors
    /// Where the table cannot be read at all.
    pub(super) fn begin(
        kind: TableKind,
        table: &'t mut dyn Table,
        faults: &mut Faults,
    ) -> Result<Self, Refusal> {
        table.rewind().map_err(unreadable)?;
        let mut source = BufReader::with_capacity(HEAD, table);
        let head = source.fill_buf().map_err(unreadable)?;
        let marked = head.starts_with(MARK);
        let separator = separator(head);
        let wide = head.starts_with(b"\xff\xfe") || head.starts_with(b"\xfe\xff");
        source.consume(if marked { MARK.len() } else { 0 });
        let reader = csv::ReaderBuilder::new()
            .delimiter(separator)
            .flexible(true)
            .has_headers(false)
            .from_reader(source);
        let mut rows = Self {
            reader,
            kind,
            columns: Vec::new(),
            width: 0,
            number: 0,
            ended: wide,
        };
        if wide {
            let detail = "the table is in UTF-16; save it as CSV in UTF-8";
            faults.add(1, "", "", FaultCode::WrongForm, detail.into());
        } else if let Some(header) = rows.next_record(faults)? {
            rows.width = header.len();
            rows.columns = understood(kind, &header, |column, code, detail| {
                faults.add(1, column, column, code, detail)
            });
            // Without what every row needs there is nothing to be said of them.
            let there = |name| rows.columns.iter().any(|c| c.member == name);
            rows.ended = !declared(kind)
                .iter()
                .all(|column| !column.needed || there(column.name));
        } else if faults.none() {
            let detail = "the table is empty: it begins with a header that names its columns";
            faults.add(1, "", "", FaultCode::Missing, detail.into());
        }
        Ok(rows)
    }

    /// The next rows, at most so many; empty at the end.
    ///
    /// # Errors
    /// Where the table cannot be read at all.
    pub(super) fn next(&mut self, most: usize, faults: &mut Faults) -> Result<Vec<Row>, Refusal> {
        let mut rows = Vec::with_capacity(most.min(1024));
        while rows.len() < most {
            let Some(record) = self.next_record(faults)? else {
                break;
            };
            if record.iter().all(|cell| cell.trim().is_empty()) {
                continue;
            }
            if record.len() == self.width {
                rows.push(self.understood(record, faults));
            } else {
                let detail = format!(
                    "the row has {} cells, the header {}",
                    record.len(),
                    self.width
                );
                faults.add(self.number, "", "", FaultCode::WrongForm, detail);
            }
        }
        Ok(rows)
    }

    /// The columns that the header names.
    pub(super) fn header(&self) -> Vec<Understood> {
        let columns = self.columns.iter();
        columns.map(super::columns::Column::told).collect()
    }

    /// Bytes that have been read.
    pub(super) fn bytes(&self) -> u64 {
        self.reader.position().byte()
    }

    fn next_record(&mut self, faults: &mut Faults) -> Result<Option<csv::StringRecord>, Refusal> {
        if self.ended {
            return Ok(None);
        }
        let mut bytes = csv::ByteRecord::new();
        let more = self
            .reader
            .read_byte_record(&mut bytes)
            .map_err(|e| Refusal::Fault(format!("the table cannot be read: {e}")))?;
        if !more {
            self.ended = true;
            return Ok(None);
        }
        self.number += 1;
        match csv::StringRecord::from_byte_record(bytes) {
            Ok(record) => Ok(Some(record)),
            Err(e) => {
                // Whoever saved it so has saved all of it so.
                self.ended = true;
                let (place, record) = (e.utf8_error().field(), e.into_byte_record());
                let header = self.columns.iter().find(|c| c.place == place);
                let found = record.get(place).unwrap_or_default();
                faults.add(
                    self.number,
                    header.map_or("", |c| c.header.as_str()),
                    &String::from_utf8_lossy(found),
                    FaultCode::WrongForm,
                    "this is not UTF-8, and the rest was not read; save the table as CSV in UTF-8"
                        .into(),
                );
                Ok(None)
            }
        }
    }

    fn understood(&self, record: csv::StringRecord, faults: &mut Faults) -> Row {
        let mut cells = Map::new();
        for column in &self.columns {
            let text = record.get(column.place).unwrap_or_default();
            match column.value(plain(text)) {
                Ok(value) => {
                    cells.insert(column.member.to_owned(), value);
                }
                Err((code, detail)) => faults.add(self.number, &column.header, text, code, detail),
            }
        }
        Row {
            number: self.number,
            cells,
            record,
        }
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

fn unreadable(e: std::io::Error) -> Refusal {
    Refusal::Fault(format!("the table cannot be read: {e}"))
}

/// Comma, semicolon or tab: whatever the header has most of.
fn separator(head: &[u8]) -> u8 {
    let header = head.split(|b| *b == b'\n').next().unwrap_or_default();
    let count = |sign: u8| header.iter().filter(|b| **b == sign).count();
    let signs = [b',', b';', b'\t'].map(|sign| (count(sign), sign == b',', sign));
    signs.into_iter().max().map_or(b',', |(_, _, sign)| sign)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_separator_is_what_the_header_has_most_of() {
        assert_eq!(separator(b"a;b;c\n1,2;3;4"), b';');
        assert_eq!(separator(b"a,b"), b',');
        assert_eq!(separator(b"a\tb"), b'\t');
        assert_eq!(separator(b"alone"), b',');
    }
}
