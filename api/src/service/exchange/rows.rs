//! The rows of a table as they come, each with its number and its cells understood or at fault; never
//! more than a few of them in memory.

use std::io::{BufRead, BufReader, Read};
use std::sync::Arc;

use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::plug::PlugData;
use plugwell_domain::wording::counted;
use serde_json::{Map, Value};

use super::found::Faults;
use super::heading::Heading;
use super::{Table, TableKind, plugs};
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
    pub(super) record: csv::StringRecord,
    /// The catalogue record that it makes where there was none, if it names no other.
    pub(super) alone: Option<Result<PlugData, Vec<Fault>>>,
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

/// Rows that are worked on at a time.
const AT_ONCE: usize = 512;

/// Some rows of a table, in their order.
pub(super) struct Batch {
    /// Those that were understood.
    pub(super) rows: Vec<Row>,
    /// What is at fault in what was read for them.
    pub(super) faults: Faults,
    /// Bytes of the table that have been read so far.
    pub(super) bytes: u64,
}

/// A table that is being read.
pub(super) struct Rows<'t> {
    reader: csv::Reader<BufReader<Ending<'t>>>,
    heading: Arc<Heading>,
    number: u64,
    /// Whether the last cell of the row that was read last runs over several lines.
    open: bool,
    ended: bool,
}

/// A table that remembers what it ends with.
struct Ending<'t> {
    table: &'t mut dyn Table,
    /// The last byte that ends no line.
    last: u8,
}

impl Read for Ending<'_> {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        let read = self.table.read(into)?;
        let mut behind = into[..read].iter().rev();
        if let Some(last) = behind.find(|byte| !b"\r\n".contains(byte)) {
            self.last = *last;
        }
        Ok(read)
    }
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
        let mut source = BufReader::with_capacity(HEAD, Ending { table, last: 0 });
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
            heading: Arc::new(Heading::none(kind)),
            number: 0,
            open: false,
            ended: wide,
        };
        if wide {
            let detail = "the table is in UTF-16; save it as CSV in UTF-8";
            faults.add(1, "", "", FaultCode::WrongForm, detail.into());
        } else if let Some(header) = rows.next_record(faults)? {
            let heading = Heading::of(kind, &header, faults);
            rows.ended = !heading.suffices();
            rows.heading = Arc::new(heading);
        } else if faults.none() {
            let detail = "the table is empty: it begins with a header that names its columns";
            faults.add(1, "", "", FaultCode::Missing, detail.into());
        }
        Ok(rows)
    }

    /// Passes on all rows, some at a time, until the table ends or nobody wants more of it.
    ///
    /// # Errors
    /// Where the table cannot be read at all.
    pub(super) fn each_batch(&mut self, pass: &dyn Fn(Batch) -> bool) -> Result<(), Refusal> {
        while !self.ended {
            let batch = self.batch()?;
            if !pass(batch) {
                break;
            }
        }
        Ok(())
    }

    fn batch(&mut self) -> Result<Batch, Refusal> {
        let (mut rows, mut faults) = (Vec::with_capacity(AT_ONCE), Faults::default());
        while rows.len() < AT_ONCE {
            let Some(record) = self.next_record(&mut faults)? else {
                break;
            };
            if record.iter().all(|cell| cell.trim().is_empty()) {
                continue;
            }
            let width = self.heading.width();
            if record.len() == width {
                rows.push(self.understood(record, &mut faults));
            } else {
                self.of_another_width(&record, width, &mut faults);
            }
        }
        let bytes = self.reader.position().byte();
        Ok(Batch {
            rows,
            faults,
            bytes,
        })
    }

    /// Tells that a row has more or fewer cells than the header, by the cell that may have taken in
    /// others.
    fn of_another_width(&self, record: &csv::StringRecord, width: usize, faults: &mut Faults) {
        let detail = format!(
            "the row has {}, the header {width}",
            counted(record.len(), "cell")
        );
        let long = record.iter().position(|cell| cell.contains('\n'));
        let mut columns = self.heading.columns().iter();
        let header = columns.find(|c| Some(c.place) == long);
        faults.add(
            self.number,
            header.map_or("", |c| c.header.as_str()),
            long.and_then(|place| record.get(place)).unwrap_or_default(),
            FaultCode::WrongForm,
            detail,
        );
    }

    /// Tells of a quote that opens in the last row and is never closed: all that was behind it is in one
    /// cell. A last cell of several lines that ends as it should ends the table with its quote.
    fn closed(&self, faults: &mut Faults) {
        let closed = self.reader.get_ref().get_ref().last == b'"';
        if self.open && !closed {
            let detail = "a quote opens in this row and is never closed, so that everything behind it is in one cell: \
                          close it where the cell ends";
            faults.add(self.number, "", "", FaultCode::WrongForm, detail.into());
        }
    }

    /// What the header says.
    pub(super) fn heading(&self) -> Arc<Heading> {
        Arc::clone(&self.heading)
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
            self.closed(faults);
            return Ok(None);
        }
        self.number += 1;
        let last = bytes.iter().next_back();
        self.open = last.is_some_and(|cell| cell.contains(&b'\n'));
        match csv::StringRecord::from_byte_record(bytes) {
            Ok(record) => Ok(Some(record)),
            Err(e) => {
                // Whoever saved it so has saved all of it so.
                self.ended = true;
                let (place, record) = (e.utf8_error().field(), e.into_byte_record());
                let header = self.heading.columns().iter().find(|c| c.place == place);
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
        for column in self.heading.columns() {
            let text = record.get(column.place).unwrap_or_default();
            match column.value(plain(text)) {
                Ok(value) => {
                    cells.insert(column.member.to_owned(), value);
                }
                Err((code, detail)) => faults.add(self.number, &column.header, text, code, detail),
            }
        }
        let is_part = self.heading.kind() == TableKind::Plugs;
        Row {
            number: self.number,
            alone: is_part.then(|| plugs::alone(&mut cells)).flatten(),
            cells,
            record,
        }
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
