//! The rows of a table, understood or at fault.

use std::collections::HashMap;

use plugwell_domain::fault::{Fault, FaultCode};
use serde_json::{Map, Value};

use super::columns::{self, Column};
use crate::service::Refusal;
use crate::service::refusal::RowFault;

/// Faults that are listed; the rest is only counted.
const LISTED: usize = 1_000;

/// Faults as they are found.
#[derive(Default)]
pub(super) struct Faults {
    listed: Vec<RowFault>,
    count: u64,
}

impl Faults {
    pub(super) fn add(
        &mut self,
        row: u64,
        column: &str,
        found: &str,
        code: FaultCode,
        detail: String,
    ) {
        self.count += 1;
        if self.listed.len() < LISTED {
            let found = found.chars().take(200).collect();
            self.listed.push(RowFault {
                row,
                column: column.to_owned(),
                found,
                code,
                detail,
            });
        }
    }

    /// Nothing where there is no fault.
    pub(super) fn ended(self) -> Result<(), Refusal> {
        if self.count == 0 {
            Ok(())
        } else {
            Err(Refusal::Rows {
                errors: self.listed,
                count: self.count,
            })
        }
    }
}

/// A row that was understood.
pub(super) struct Row {
    pub(super) number: u64,
    pub(super) cells: Map<String, Value>,
    pub(super) found: HashMap<String, String>,
}

/// Reads header and rows.
pub(super) fn read(text: &str, faults: &mut Faults) -> (Vec<Column>, Vec<Row>) {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let separator = columns::separator(text);
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let header = match reader.headers() {
        Ok(header) => header.clone(),
        Err(e) => {
            faults.add(
                1,
                "",
                "",
                FaultCode::WrongForm,
                format!("the header cannot be read: {e}"),
            );
            return (Vec::new(), Vec::new());
        }
    };
    let columns = columns::understood(&header, |column, code, detail| {
        faults.add(1, column, column, code, detail)
    });
    let mut rows = Vec::new();
    for (place, record) in reader.records().enumerate() {
        let number = place as u64 + 2;
        match record {
            Ok(record) if record.len() == header.len() => {
                rows.push(cells(number, &record, &columns, faults))
            }
            Ok(record) => {
                let detail = format!(
                    "the row has {} cells, the header {}",
                    record.len(),
                    header.len()
                );
                faults.add(number, "", "", FaultCode::WrongForm, detail);
            }
            Err(e) => faults.add(
                number,
                "",
                "",
                FaultCode::WrongForm,
                format!("the row cannot be read: {e}"),
            ),
        }
    }
    (columns, rows)
}

fn cells(number: u64, record: &csv::StringRecord, columns: &[Column], faults: &mut Faults) -> Row {
    let mut row = Row {
        number,
        cells: Map::new(),
        found: HashMap::new(),
    };
    for column in columns {
        let text = record.get(column.place).unwrap_or_default();
        row.found.insert(column.header.clone(), text.to_owned());
        match column.value(text) {
            Ok(value) => {
                row.cells.insert(column.member.to_owned(), value);
            }
            Err((code, detail)) => faults.add(number, &column.header, text, code, detail),
        }
    }
    row
}

/// The header that a fault's pointer belongs to.
pub(super) fn column_of(fault: &Fault, columns: &[Column]) -> String {
    let member = fault
        .pointer
        .trim_start_matches("#/")
        .split('/')
        .next()
        .unwrap_or_default();
    let same = |column: &&Column| match member {
        "heat_scale_id" => column.member == "heat_scale_id" || column.member == "heat_scale",
        other => column.member == other,
    };
    columns
        .iter()
        .find(same)
        .map_or_else(|| member.to_owned(), |column| column.header.clone())
}
