//! Tables in: plugs from CSV, checked whole, every fault by row and column, all or nothing.

mod columns;
mod rows;

use std::collections::HashMap;

use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::plug::{Plug, PlugData};
use plugwell_store::{Session, StoreError};
use serde::Serialize;
use serde_json::Value;
use uuid::Uuid;

use crate::service::{Refusal, Shop, catalogue};
use rows::{Faults, Row, column_of, read};

/// What an import did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, utoipa::ToSchema)]
pub struct Report {
    /// Rows below the header.
    pub rows: u64,
    /// Records that are new.
    pub created: u64,
    /// Records that changed.
    pub updated: u64,
    /// Records that stand as they were.
    pub unchanged: u64,
}

/// An import and the records that it touched.
#[derive(Debug, Clone, Default)]
pub struct Imported {
    /// What it did.
    pub report: Report,
    /// New and changed records, for the index.
    pub ids: Vec<Uuid>,
}

/// Reads plugs from CSV inside a transaction. `progress` gets rows done and rows in all.
///
/// A column that is not there leaves what is stored; an empty cell means unknown. Records are met
/// by maker and part number, case-blind.
///
/// # Errors
/// `Rows` with every fault; nothing is stored then.
pub fn plugs(
    session: &mut Session,
    text: &str,
    progress: &dyn Fn(u64, u64),
) -> Result<Imported, Refusal> {
    let mut faults = Faults::default();
    let (columns, rows) = read(text, &mut faults);
    let total = rows.len() as u64;
    let mut imported = Imported::default();
    let mut names: HashMap<(String, String), u64> = HashMap::new();
    let mut pending: Vec<(u64, Uuid, String)> = Vec::new();
    let scales = scales(session)?;
    for mut row in rows {
        let number = row.number;
        imported.report.rows += 1;
        refer_to_scale(&mut row, &scales, &mut faults);
        let superseded = refer_to_part(&mut row);
        match store_row(session, &row, &mut names)? {
            Ok((plug, change)) => {
                match change {
                    Change::Created => imported.report.created += 1,
                    Change::Updated => imported.report.updated += 1,
                    Change::Unchanged => imported.report.unchanged += 1,
                }
                if change != Change::Unchanged {
                    imported.ids.push(plug.id);
                }
                pending.extend(superseded.map(|name| (number, plug.id, name)));
            }
            Err(found) => {
                for fault in found {
                    let column = column_of(&fault, &columns);
                    let text = row.found.get(&column).map_or("", String::as_str);
                    faults.add(number, &column, text, fault.code, fault.detail);
                }
            }
        }
        if number % 1_000 == 0 {
            progress(imported.report.rows, total);
        }
    }
    for (number, id, name) in pending {
        supersede(session, number, id, &name, &mut imported, &mut faults)?;
    }
    progress(total, total);
    faults.ended()?;
    Ok(imported)
}

fn scales(session: &mut Session) -> Result<HashMap<String, Uuid>, Refusal> {
    let all = session.list_scales(None, None, i64::MAX)?;
    Ok(all
        .into_iter()
        .map(|s| {
            (
                format!("{}/{}", s.data.maker, s.data.name).to_lowercase(),
                s.id,
            )
        })
        .collect())
}

/// A scale may be named instead of given by its identifier.
fn refer_to_scale(row: &mut Row, scales: &HashMap<String, Uuid>, faults: &mut Faults) {
    let Some(named) = row.cells.shift_remove("heat_scale") else {
        return;
    };
    let id = match named.as_str() {
        None => Value::Null,
        Some(name) => match scales.get(&name.to_lowercase()) {
            Some(id) => Value::from(id.to_string()),
            None => {
                let detail = format!(
                    "there is no heat scale {name:?}; write maker/name of one that is stored"
                );
                faults.add(row.number, "heat_scale", name, FaultCode::NotFound, detail);
                Value::Null
            }
        },
    };
    row.cells.insert("heat_scale_id".into(), id);
}

/// Takes a successor that is named rather than given by its identifier out of the row: it may stand
/// further down in the file. Until all rows are in, the stored one stands.
fn refer_to_part(row: &mut Row) -> Option<String> {
    let named = |value: &Value| {
        let text = value
            .as_str()
            .filter(|text| text.parse::<Uuid>().is_err())?;
        Some(text.to_owned())
    };
    let name = row.cells.get("superseded_by").and_then(named)?;
    row.cells.shift_remove("superseded_by");
    Some(name)
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Change {
    Created,
    Updated,
    Unchanged,
}

fn store_row(
    session: &mut Session,
    row: &Row,
    names: &mut HashMap<(String, String), u64>,
) -> Result<Result<(Plug, Change), Vec<Fault>>, Refusal> {
    let name = |member: &str| {
        row.cells
            .get(member)
            .and_then(Value::as_str)
            .unwrap_or_default()
    };
    let (maker, part) = (name("maker"), name("part_number"));
    if let Some(earlier) = names.insert((maker.to_lowercase(), part.to_lowercase()), row.number)
        && !maker.is_empty()
        && !part.is_empty()
    {
        let detail = format!("{maker} {part} stands in row {earlier} already");
        return Ok(Err(vec![Fault::at(
            "part_number",
            FaultCode::Duplicate,
            detail,
        )]));
    }
    let old = session.plug_named(maker, part)?;
    let mut whole = old
        .as_ref()
        .map(|plug| plug.data.to_map())
        .unwrap_or_default();
    for (member, value) in &row.cells {
        whole.insert(member.clone(), value.clone());
    }
    let mut data = match PlugData::from_map(&whole) {
        Ok(data) => data,
        Err(faults) => return Ok(Err(faults)),
    };
    let settled = catalogue::settle(session, &mut data, old.as_ref());
    match settled {
        Ok(()) => {}
        Err(Refusal::Faults(faults)) => return Ok(Err(faults)),
        Err(other) => return Err(other),
    }
    match old {
        None => Ok(Ok((catalogue::insert(session, data)?, Change::Created))),
        Some(old) if old.data == data => Ok(Ok((old, Change::Unchanged))),
        Some(old) => {
            let retired = old.retired;
            Ok(Ok((
                catalogue::update(session, &old, data, retired)?,
                Change::Updated,
            )))
        }
    }
}

/// Points a record to its successor, named `maker/part number`.
fn supersede(
    session: &mut Session,
    row: u64,
    id: Uuid,
    name: &str,
    imported: &mut Imported,
    faults: &mut Faults,
) -> Result<(), Refusal> {
    let successor = match name.split_once('/') {
        Some((maker, part)) => session.plug_named(maker.trim(), part.trim())?,
        None => None,
    };
    let Some(successor) = successor else {
        let detail = "write maker/part number of a part in the catalogue or in this file";
        faults.add(
            row,
            "superseded_by",
            name,
            FaultCode::NotFound,
            detail.into(),
        );
        return Ok(());
    };
    let Some(plug) = session.plug(id)? else {
        return Ok(());
    };
    if plug.data.superseded_by == Some(successor.id) {
        return Ok(());
    }
    let data = PlugData {
        superseded_by: Some(successor.id),
        ..plug.data.clone()
    };
    match catalogue::update(session, &plug, data, plug.retired) {
        Ok(_) => {
            if !imported.ids.contains(&id) {
                imported.ids.push(id);
                imported.report.unchanged -= 1;
                imported.report.updated += 1;
            }
            Ok(())
        }
        Err(Refusal::Faults(found)) => {
            for fault in found {
                faults.add(row, "superseded_by", name, fault.code, fault.detail);
            }
            Ok(())
        }
        Err(other) => Err(other),
    }
}

/// How a dry run ends: always by rolling back.
enum Ended {
    Dry(Report),
    Refused(Refusal),
}

impl From<StoreError> for Ended {
    fn from(error: StoreError) -> Self {
        Self::Refused(error.into())
    }
}

/// Says what an import would do, and does nothing.
///
/// # Errors
/// As [`plugs`].
pub fn try_plugs(
    shop: &Shop,
    text: &str,
    progress: &(dyn Fn(u64, u64) + Sync),
) -> Result<Report, Refusal> {
    let ended = shop
        .store
        .write(|session| match plugs(session, text, progress) {
            Ok(imported) => Err::<(), Ended>(Ended::Dry(imported.report)),
            Err(refusal) => Err(Ended::Refused(refusal)),
        });
    match ended {
        Err(Ended::Dry(report)) => Ok(report),
        Err(Ended::Refused(refusal)) => Err(refusal),
        Ok(()) => Err(Refusal::Fault("a dry run was kept".into())),
    }
}
