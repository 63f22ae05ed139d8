//! Statements from a table: met by both parts and who says so. A statement never changes: one that the
//! table says otherwise is withdrawn, and stated anew.

use plugwell_domain::fault::{Check, FaultCode};
use plugwell_domain::stand_in::{Direction, PartName, StandIn, StandInData};
use plugwell_store::Session;
use serde_json::{Map, Value, json};

use super::Taking;
use super::found::{Change, Found, differing};
use super::heading::Heading;
use super::rows::Row;
use crate::service::stock::By;
use crate::service::{Refusal, new_id};

/// Statements that come from a table.
pub(super) struct StandIns<'a> {
    by: By<'a>,
    /// The rows of statements so far, by both parts and who.
    seen: std::collections::HashMap<[String; 5], u64>,
}

impl<'a> StandIns<'a> {
    pub(super) fn of(by: By<'a>) -> Self {
        Self {
            by,
            seen: std::collections::HashMap::new(),
        }
    }

    fn row(
        &mut self,
        session: &mut Session,
        row: &Row,
        heading: &Heading,
        found: &mut Found<'_>,
    ) -> Result<(), Refusal> {
        let mut whole = heading.complete(row, &mut found.faults);
        let direction = match heading.is_told(row, "direction") {
            true => None,
            false => heading.word(row, "direction", &mut found.faults),
        };
        whole &= direction.is_some();
        let own = |member: &str| {
            let text = row.text(member);
            (!text.is_empty()).then(|| text.to_owned())
        };
        let data = StandInData {
            part: PartName::new(row.text("maker"), row.text("part_number")),
            stands_in_for: PartName::new(row.text("for_maker"), row.text("for_part_number")),
            // Nothing is stored where it was not understood.
            direction: direction.unwrap_or(Direction::OneWay),
            who: row.text("who").to_owned(),
            source: own("source"),
            note: own("note"),
        };
        for fault in data.faults() {
            let member = column_of(&fault.pointer);
            if !heading.is_told(row, member) {
                whole = false;
                heading.tell_of(row, member, fault.code, fault.detail, &mut found.faults);
            }
        }
        if MET_BY.iter().any(|member| row.text(member).is_empty()) {
            return Ok(());
        }
        if let Some(earlier) = self.seen.insert(met_by(&data), row.number) {
            let detail = format!(
                "{} says something of the two in row {earlier} already",
                data.who
            );
            heading.tell_of(row, "who", FaultCode::Duplicate, detail, &mut found.faults);
            return Ok(());
        }
        if !whole {
            return Ok(());
        }
        self.kept(session, data, row, found)
    }

    fn kept(
        &self,
        session: &mut Session,
        data: StandInData,
        row: &Row,
        found: &mut Found<'_>,
    ) -> Result<(), Refusal> {
        let stated = session.stand_ins_of(&data.part)?;
        let own = met_by(&data);
        let old = stated.into_iter().find(|old| met_by(&old.data) == own);
        let change = match &old {
            None => Change::Created,
            Some(old) if old.data == data => Change::Unchanged,
            Some(_) => Change::Updated,
        };
        let name = || format!("{} for {} by {}", data.part, data.stands_in_for, data.who);
        let members = || {
            old.as_ref()
                .map_or_else(Vec::new, |old| differing(&flat(&old.data), &flat(&data)))
        };
        found.record(row.number, change, name, members);
        if change == Change::Unchanged || !found.faults.none() {
            return Ok(());
        }
        if let Some(old) = &old {
            session.delete_stand_in(old.id)?;
        }
        let stand_in = StandIn {
            id: new_id(),
            data,
            recorded_by: self.by.actor.name.clone(),
            version: StandIn::VERSION,
            created_at: self.by.at,
        };
        Ok(session.insert_stand_in(&stand_in)?)
    }
}

impl Taking for StandIns<'_> {
    fn take(
        &mut self,
        session: &mut Session,
        rows: Vec<Row>,
        heading: &Heading,
        found: &mut Found<'_>,
    ) -> Result<(), Refusal> {
        for row in rows {
            self.row(session, &row, heading, found)?;
        }
        Ok(())
    }
}

/// The columns that a statement is met by.
const MET_BY: [&str; 5] = [
    "maker",
    "part_number",
    "for_maker",
    "for_part_number",
    "who",
];

/// What a statement is met by: both parts in a fixed order and who, without case.
fn met_by(data: &StandInData) -> [String; 5] {
    let mut parts = [data.part.key(), data.stands_in_for.key()];
    parts.sort();
    let [(a, b), (c, d)] = parts;
    [a, b, c, d, data.who.to_lowercase()]
}

/// The column of a fault's pointer.
fn column_of(pointer: &str) -> &str {
    match pointer.trim_start_matches("#/") {
        "part/maker" => "maker",
        "part/part_number" => "part_number",
        "stands_in_for/maker" => "for_maker",
        "stands_in_for" | "stands_in_for/part_number" => "for_part_number",
        other => other,
    }
}

/// A statement by the names of the columns.
pub(super) fn flat(data: &StandInData) -> Map<String, Value> {
    let value = json!({
        "maker": data.part.maker,
        "part_number": data.part.part_number,
        "for_maker": data.stands_in_for.maker,
        "for_part_number": data.stands_in_for.part_number,
        "direction": data.direction,
        "who": data.who,
        "source": data.source,
        "note": data.note,
    });
    value.as_object().cloned().unwrap_or_default()
}
