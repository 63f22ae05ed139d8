//! Catalogue records from a table: met by maker and part number, stored many at a time.

use std::collections::HashMap;

use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::plug::{Plug, PlugData};
use plugwell_store::Session;
use serde_json::{Map, Value};
use uuid::Uuid;

use super::found::{Change, Found, MemberDifference, differing};
use super::heading::Heading;
use super::names::{Name, Names, Scales, key};
use super::rows::Row;
use super::{Taking, forms};
use crate::service::barcodes::Attached;
use crate::service::catalogue::{self, called};
use crate::service::{Refusal, new_id, now, supersession};

/// Records that come from a table.
pub(super) struct Plugs {
    scales: Scales,
    names: Names,
    /// Rows whose successor stands further down.
    late: Vec<Late>,
    /// Nothing was stored before: no name has to be looked up.
    empty: bool,
    /// Numbers of the rows at hand that are barcodes.
    attached: Attached,
}

/// A record whose successor is not stored yet.
struct Late {
    row: Row,
    id: Uuid,
    successor: Name,
    before: Change,
}

impl Plugs {
    /// Whether nothing was stored before.
    pub(super) fn are_first(&self) -> bool {
        self.empty
    }

    pub(super) fn of(session: &mut Session) -> Result<Self, Refusal> {
        Ok(Self {
            scales: Scales::of(session)?,
            names: Names::default(),
            late: Vec::new(),
            empty: session.count_plugs()? == 0,
            attached: Attached::default(),
        })
    }

    /// The stored records that some rows are or lead to.
    fn stored(&self, session: &mut Session, rows: &[Row]) -> Result<HashMap<Name, Plug>, Refusal> {
        let successors: Vec<(String, &str)> = rows.iter().filter_map(successor_of).collect();
        let own = rows
            .iter()
            .map(|row| (row.text("maker"), row.text("part_number")));
        let mut names: Vec<(&str, &str)> = if self.empty {
            Vec::new()
        } else {
            own.collect()
        };
        names.extend(
            successors
                .iter()
                .map(|(maker, part)| (maker.as_str(), *part)),
        );
        let found = session.plugs_named(&names)?;
        let named = found
            .into_iter()
            .map(|plug| (key(&plug.data.maker, &plug.data.part_number), plug));
        Ok(named.collect())
    }

    /// Takes one row; a new record is put among the `new` ones.
    fn row(
        &mut self,
        session: &mut Session,
        mut row: Row,
        stored: &HashMap<Name, Plug>,
        new: &mut Vec<Plug>,
        heading: &Heading,
        found: &mut Found<'_>,
    ) -> Result<(), Refusal> {
        let name = key(row.text("maker"), row.text("part_number"));
        if let Some(earlier) = self.names.seen(&name, row.number) {
            let detail = format!(
                "{} {} stands in row {earlier} already",
                row.text("maker"),
                row.text("part_number")
            );
            let code = FaultCode::Duplicate;
            heading.tell_of(&row, "part_number", code, detail, &mut found.faults);
            return Ok(());
        }
        let mut faults = Vec::new();
        faults.extend(self.scales.refer(&mut row));
        let late = refer_to_successor(&mut row, stored);
        let old = stored.get(&name);
        let retired = row.cells.shift_remove("retired");
        let retired = retired.and_then(|value| value.as_bool());
        match merged(&mut row, old) {
            Err(more) => faults.extend(more),
            Ok(mut data) => {
                faults.extend(self.settle(session, &mut data, old)?);
                if faults.is_empty() {
                    let (id, change) = kept(session, (data, retired), old, new, &row, found)?;
                    self.late.extend(late.map(|successor| Late {
                        row,
                        id,
                        successor,
                        before: change,
                    }));
                    return Ok(());
                }
            }
        }
        for fault in faults {
            heading.tell(&row, fault, &mut found.faults);
        }
        Ok(())
    }

    /// Completes a record from its scale and looks at what it points to.
    fn settle(
        &mut self,
        session: &mut Session,
        data: &mut PlugData,
        old: Option<&Plug>,
    ) -> Result<Vec<Fault>, Refusal> {
        let mut faults = Vec::new();
        if let Some(id) = data.heat_scale_id {
            let scale = self.scales.relied_on(session, id)?;
            faults.extend(catalogue::heat_fault(data, scale));
        }
        let before = old.and_then(|plug| plug.data.superseded_by);
        if let Some(next) = data.superseded_by.filter(|next| before != Some(*next)) {
            faults.extend(supersession::fault(session, next, old.map(|plug| plug.id))?);
        }
        let taken = self.attached.taken(session, data, old)?;
        faults.extend(
            taken
                .into_iter()
                .map(|(member, detail)| Fault::at(member, FaultCode::Duplicate, detail)),
        );
        Ok(faults)
    }

    /// Points a record to a successor that is stored by now.
    fn supersede(
        &self,
        session: &mut Session,
        late: &Late,
        heading: &Heading,
        found: &mut Found<'_>,
    ) -> Result<(), Refusal> {
        let (maker, part) = &late.successor;
        let Some(successor) = session.plug_named(maker, part)? else {
            // Where there are faults nothing is stored any more, and it may stand in the file.
            if found.faults.none() || !self.names.knows(&late.successor) {
                let detail = "write maker/part number of a part in the catalogue or in this file";
                let (code, faults) = (FaultCode::NotFound, &mut found.faults);
                heading.tell_of(&late.row, "superseded_by", code, detail.into(), faults);
            }
            return Ok(());
        };
        let Some(plug) = session.plug(late.id)? else {
            return Ok(());
        };
        let data = PlugData {
            superseded_by: Some(successor.id),
            ..plug.data.clone()
        };
        let was = plug.data.superseded_by;
        match catalogue::update(session, &plug, data, plug.retired) {
            Ok(_) => {
                found.plugs.push(late.id);
                if late.before == Change::Unchanged {
                    found.trial.report.unchanged -= 1;
                    let id = |id: Option<Uuid>| id.map(|id| id.to_string()).into();
                    let member = MemberDifference {
                        member: "superseded_by".into(),
                        old: id(was),
                        new: id(Some(successor.id)),
                    };
                    let name = || called(&plug.data);
                    found.record(late.row.number, Change::Updated, name, || vec![member]);
                }
            }
            Err(Refusal::Faults(faults)) => {
                for fault in faults {
                    heading.tell(&late.row, fault, &mut found.faults);
                }
            }
            Err(other) => return Err(other),
        }
        Ok(())
    }
}

impl Taking for Plugs {
    fn take(
        &mut self,
        session: &mut Session,
        rows: Vec<Row>,
        heading: &Heading,
        found: &mut Found<'_>,
    ) -> Result<(), Refusal> {
        let stored = self.stored(session, &rows)?;
        if !self.empty {
            let numbers = rows
                .iter()
                .flat_map(|row| [row.text("part_number"), row.text("gtin")]);
            self.attached = Attached::among(session, &numbers.collect::<Vec<_>>())?;
        }
        let mut new = Vec::with_capacity(rows.len());
        for row in rows {
            self.row(session, row, &stored, &mut new, heading, found)?;
        }
        // Once there is a fault the rest is only checked.
        if found.faults.none() {
            let ordinals = session
                .insert_plugs(&new)
                .map_err(|e| catalogue::duplicate(e, "a part of this table"))?;
            match &mut found.along {
                Some(index) => index.add(session, &ordinals, &new)?,
                None => found.plugs.extend(new.iter().map(|plug| plug.id)),
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
        for late in std::mem::take(&mut self.late) {
            self.supersede(session, &late, heading, found)?;
        }
        Ok(())
    }
}

/// Cells that only the stored records give a meaning, and the one that is no attribute.
const REFERRING: [&str; 3] = ["heat_scale", "superseded_by", "retired"];

/// The record that a row makes by itself: worked out while others are stored. None where it names another.
pub(super) fn alone(cells: &mut Map<String, Value>) -> Option<Result<PlugData, Vec<Fault>>> {
    let names = |member: &str| cells.get(member).is_some_and(|value| !value.is_null());
    if names("heat_scale") || names("superseded_by") {
        return None;
    }
    let apart = REFERRING.map(|member| cells.shift_remove_entry(member));
    let made = PlugData::from_map(cells);
    cells.extend(apart.into_iter().flatten());
    Some(made)
}

/// The record as the row makes it.
fn merged(row: &mut Row, old: Option<&Plug>) -> Result<PlugData, Vec<Fault>> {
    let Some(old) = old else {
        return match row.alone.take() {
            Some(made) => made,
            None => PlugData::from_map(&row.cells),
        };
    };
    let mut whole = old.data.to_map();
    for (member, value) in &row.cells {
        whole.insert(member.clone(), value.clone());
    }
    catalogue::ask_scale_again(
        &old.data,
        |member| row.cells.contains_key(member),
        &mut whole,
    );
    PlugData::from_map(&whole)
}

/// Keeps a record: a new one among the new, a changed one at once.
fn kept(
    session: &mut Session,
    (data, retired): (PlugData, Option<bool>),
    old: Option<&Plug>,
    new: &mut Vec<Plug>,
    row: &Row,
    found: &mut Found<'_>,
) -> Result<(Uuid, Change), Refusal> {
    let at = now();
    let Some(old) = old else {
        let plug = Plug {
            id: new_id(),
            data,
            retired: retired.unwrap_or(false),
            version: 1,
            created_at: at,
            updated_at: at,
        };
        let id = plug.id;
        found.record(row.number, Change::Created, || called(&plug.data), Vec::new);
        new.push(plug);
        return Ok((id, Change::Created));
    };
    let retired = retired.unwrap_or(old.retired);
    if old.data == data && old.retired == retired {
        found.record(row.number, Change::Unchanged, String::new, Vec::new);
        return Ok((old.id, Change::Unchanged));
    }
    let members = || {
        let [mut before, mut after] = [old.data.to_map(), data.to_map()];
        before.insert("retired".into(), old.retired.into());
        after.insert("retired".into(), retired.into());
        differing(&before, &after)
    };
    found.record(row.number, Change::Updated, || called(&data), members);
    if found.faults.none() {
        let plug = Plug {
            data,
            retired,
            version: old.version + 1,
            updated_at: at,
            ..old.clone()
        };
        session
            .update_plug(&plug)
            .map_err(|e| catalogue::duplicate(e, &called(&plug.data)))?;
        found.plugs.push(plug.id);
    }
    Ok((old.id, Change::Updated))
}

/// A successor that is named rather than given by its identifier.
fn successor_of(row: &Row) -> Option<(String, &str)> {
    let text = row.text("superseded_by");
    let named = !text.is_empty() && text.parse::<Uuid>().is_err();
    named.then(|| forms::parted(text)).flatten()
}

/// Puts the successor's identifier in the place of its name. One that is not stored may stand further
/// down in the file: it is taken out of the row and given back.
fn refer_to_successor(row: &mut Row, stored: &HashMap<Name, Plug>) -> Option<Name> {
    let text = row.text("superseded_by");
    if text.is_empty() || text.parse::<Uuid>().is_ok() {
        return None;
    }
    let name = match forms::parted(text) {
        Some((maker, part)) => key(&maker, part),
        // Nobody's name; the end says so.
        None => key("", text),
    };
    match stored.get(&name) {
        Some(plug) => {
            let id = plug.id.to_string();
            row.cells.insert("superseded_by".into(), id.into());
            None
        }
        None => {
            row.cells.shift_remove("superseded_by");
            Some(name)
        }
    }
}
