//! Heat scales from a table: a row for each code, in the maker's order; met by maker and scale.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use plugwell_domain::decimal::{Decimal, HeatIndex};
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::heat_scale::{HeatCode, HeatScale, HeatScaleData};
use plugwell_store::Session;
use serde_json::{Map, Value};

use super::Taking;
use super::found::{Change, Found, differing};
use super::heading::Heading;
use super::rows::Row;
use crate::service::{Refusal, new_id, now, scales};

/// Scales that come from a table; they are taken once all of their codes are there.
#[derive(Default)]
pub(super) struct HeatScales {
    whole: Vec<Whole>,
    /// The places of scales among them, by maker and name without case.
    places: HashMap<(String, String), usize>,
}

/// A scale with the rows that it stands in.
struct Whole {
    data: HeatScaleData,
    calibrated_at: Option<DateTime<Utc>>,
    rows: Vec<Row>,
}

impl Taking for HeatScales {
    fn take(
        &mut self,
        _: &mut Session,
        rows: Vec<Row>,
        heading: &Heading,
        found: &mut Found<'_>,
    ) -> Result<(), Refusal> {
        for row in rows {
            let whole = heading.complete(&row, &mut found.faults);
            match calibrated_at(&row) {
                Ok(at) if whole => self.code(row, at),
                Ok(_) => {}
                Err(detail) => {
                    let (code, faults) = (FaultCode::WrongForm, &mut found.faults);
                    heading.tell_of(&row, "calibrated_at", code, detail, faults);
                }
            }
        }
        Ok(())
    }

    fn end(
        &mut self,
        session: &mut Session,
        heading: &Heading,
        found: &mut Found<'_>,
    ) -> Result<(), Refusal> {
        for whole in std::mem::take(&mut self.whole) {
            let (data, calibrated_at) = (whole.data, whole.calibrated_at);
            for fault in kept(session, data, calibrated_at, whole.rows[0].number, found)? {
                let (row, member) = place_of(&fault, &whole.rows);
                heading.tell_of(
                    row,
                    member,
                    fault.code,
                    fault.detail.clone(),
                    &mut found.faults,
                );
            }
        }
        Ok(())
    }
}

/// When a calibration put a row's code where it is.
fn calibrated_at(row: &Row) -> Result<Option<DateTime<Utc>>, String> {
    match row.text("calibrated_at") {
        "" => Ok(None),
        text => match DateTime::parse_from_rfc3339(text) {
            Ok(at) => Ok(Some(at.to_utc())),
            Err(_) => Err(format!(
                "{text:?} is no instant; write 2026-01-31T12:00:00Z"
            )),
        },
    }
}

impl HeatScales {
    /// Puts a row's code to its scale.
    fn code(&mut self, row: Row, calibrated_at: Option<DateTime<Utc>>) {
        let name = [row.text("maker"), row.text("scale")];
        let next = self.whole.len();
        let key = (name[0].to_lowercase(), name[1].to_lowercase());
        let place = *self.places.entry(key).or_insert(next);
        if place == next {
            let [maker, name] = name.map(str::to_owned);
            self.whole.push(Whole {
                data: HeatScaleData {
                    maker,
                    name,
                    codes: Vec::new(),
                },
                calibrated_at: None,
                rows: Vec::new(),
            });
        }
        let whole = &mut self.whole[place];
        whole.calibrated_at = whole.calibrated_at.max(calibrated_at);
        let index = row.cells.get("heat_index").and_then(Value::as_f64);
        whole.data.codes.push(HeatCode {
            code: row.text("code").to_owned(),
            heat_index: index
                .and_then(|i| HeatIndex::exact(i).ok())
                .unwrap_or(Decimal(0)),
        });
        whole.rows.push(row);
    }
}

/// Keeps a scale, new or in the place of the stored one; what hangs on it follows.
fn kept(
    session: &mut Session,
    data: HeatScaleData,
    calibrated_at: Option<DateTime<Utc>>,
    row: u64,
    found: &mut Found<'_>,
) -> Result<Vec<Fault>, Refusal> {
    let stored = session.scale_named(&data.maker, &data.name)?;
    let old = match stored {
        Some(scale) => session.scale_for_change(scale.id)?,
        None => None,
    };
    // Codes that a calibration put where they are may tie.
    let before = match (calibrated_at, &old) {
        (Some(_), _) => data.codes.clone(),
        (None, Some(old)) => old.data.codes.clone(),
        (None, None) => Vec::new(),
    };
    let faults = data.faults_after(&before);
    if !faults.is_empty() {
        return Ok(faults);
    }
    let name = format!("{} {}", data.maker, data.name);
    let Some(old) = old else {
        let at = now();
        let scale = HeatScale {
            id: new_id(),
            data,
            calibrated_at,
            version: 1,
            created_at: at,
            updated_at: at,
        };
        found.record(row, Change::Created, || name, Vec::new);
        if found.faults.none() {
            session.insert_scale(&scale)?;
        }
        return Ok(Vec::new());
    };
    if old.data == data {
        found.record(row, Change::Unchanged, || name, Vec::new);
        return Ok(Vec::new());
    }
    let members = || differing(&flat(&old.data), &flat(&data));
    found.record(row, Change::Updated, || name, members);
    if !found.faults.none() {
        return Ok(Vec::new());
    }
    match scales::replace(session, &old, data, calibrated_at) {
        Ok(changed) => {
            found.plugs.extend(changed.followed.plug_ids());
            Ok(Vec::new())
        }
        Err(Refusal::Faults(faults)) => Ok(faults),
        Err(other) => Err(other),
    }
}

/// The row and the column of a fault of a whole scale.
fn place_of<'r>(fault: &Fault, rows: &'r [Row]) -> (&'r Row, &'static str) {
    let path = fault.pointer.trim_start_matches("#/");
    let mut parts = path.split('/');
    match (parts.next(), parts.next(), parts.next()) {
        (Some("codes"), Some(place), member) => {
            let row = place.parse().ok().and_then(|place: usize| rows.get(place));
            let member = if member == Some("heat_index") {
                "heat_index"
            } else {
                "code"
            };
            (row.unwrap_or(&rows[0]), member)
        }
        (Some("name"), ..) => (&rows[0], "scale"),
        (Some("maker"), ..) => (&rows[0], "maker"),
        _ => (&rows[0], "code"),
    }
}

/// A scale by its codes.
fn flat(data: &HeatScaleData) -> Map<String, Value> {
    let mut members = Map::new();
    members.insert("maker".into(), data.maker.clone().into());
    members.insert("name".into(), data.name.clone().into());
    let codes = serde_json::to_value(&data.codes).unwrap_or_default();
    members.insert("codes".into(), codes);
    members
}
