//! Opening stock from a table: each row is a receipt, through the ledger's own rules.

use std::collections::HashMap;

use plugwell_domain::decimal::Length;
use plugwell_domain::fault::{Check, Fault, FaultCode};
use plugwell_domain::ledger::commands::Receipt;
use plugwell_domain::ledger::rules::Rejection;
use plugwell_domain::ledger::{Money, Place, PlaceKind};
use plugwell_domain::plug::Plug;
use plugwell_domain::policy::Policy;
use plugwell_store::Session;
use serde_json::Value;
use uuid::Uuid;

use super::Taking;
use super::already::Content;
use super::found::{Change, Found};
use super::heading::Heading;
use super::names::{Name, key};
use super::rows::Row;
use crate::service::Refusal;
use crate::service::catalogue::called;
use crate::service::stock::{self, By};

/// Receipts that come from a table.
pub(super) struct Stock<'a> {
    by: By<'a>,
    policy: &'a Policy,
    /// Places by their kind and what rows call them; `None` where there is no such place.
    places: HashMap<(PlaceKind, String), Option<Place>>,
    content: Content,
}

impl<'a> Stock<'a> {
    pub(super) fn of(by: By<'a>, policy: &'a Policy) -> Self {
        Self {
            by,
            policy,
            places: HashMap::new(),
            content: Content::default(),
        }
    }

    /// A bin or quarantine by its name, else by its code.
    fn place(
        &mut self,
        session: &mut Session,
        kind: PlaceKind,
        called: &str,
    ) -> Result<Option<Place>, Refusal> {
        let named = (kind, called.to_owned());
        if let Some(known) = self.places.get(&named) {
            return Ok(known.clone());
        }
        let place = match session.place_named(kind, called)? {
            Some(place) => Some(place),
            None => session
                .place_by_code(called)?
                .filter(|place| place.kind == kind),
        };
        self.places.insert(named, place.clone());
        Ok(place)
    }

    /// Takes one row: everything that is wrong with it is told.
    fn row(
        &mut self,
        session: &mut Session,
        row: &Row,
        part: Option<&Plug>,
        heading: &Heading,
        found: &mut Found<'_>,
    ) -> Result<(), Refusal> {
        let mut whole = heading.complete(row, &mut found.faults);
        let mut faults = Vec::new();
        faults.extend(part_fault(row, part));
        let place = match place_kind(row) {
            Ok(kind) => {
                let place = self.place(session, kind, row.text("place"))?;
                faults.extend(place_fault(row, kind, place.as_ref()));
                place
            }
            Err(fault) => {
                faults.push(fault);
                None
            }
        };
        let mut receipt = Receipt {
            plug_id: part.map(|plug| plug.id).unwrap_or_default(),
            place_id: place.as_ref().map(|place| place.id).unwrap_or_default(),
            ..self.receipt(row)
        };
        let condition = match row.text("condition") {
            "" => Ok(None),
            _ => heading
                .word(row, "condition", &mut found.faults)
                .map(Some)
                .ok_or(()),
        };
        whole &= condition.is_ok();
        receipt.condition = condition.unwrap_or_default();
        let unsaid = |fault: &Fault| {
            let member = column_of(&fault.pointer);
            // Whether a gap belongs there hangs on the condition.
            !heading.is_told(row, member) && (condition.is_ok() || member != "gap_mm")
        };
        faults.extend(receipt.faults());
        faults.extend(self.cost_fault(row, heading));
        if let Some(cost) = &receipt.total_cost {
            faults.extend(self.policy.currency_fault("total_cost", cost));
        }
        faults.retain(unsaid);
        if whole && faults.is_empty() {
            faults = self.receive(session, row, (&receipt, part), found)?;
        }
        for fault in faults {
            let member = column_of(&fault.pointer);
            heading.tell_of(row, member, fault.code, fault.detail, &mut found.faults);
        }
        Ok(())
    }

    /// Receives what a row says; what the ledger has against it.
    fn receive(
        &mut self,
        session: &mut Session,
        row: &Row,
        (receipt, part): (&Receipt, Option<&Plug>),
        found: &mut Found<'_>,
    ) -> Result<Vec<Fault>, Refusal> {
        self.content.take(session, &self.by, row.number, receipt)?;
        match stock::receive_into(session, &self.by, self.policy, receipt, KINDS) {
            Ok((_, touched)) => {
                let touched = touched.into_iter().map(|t| (t.ordinal, t));
                found.touched.extend(touched);
                let name = || part.map_or_else(String::new, |plug| called(&plug.data));
                found.record(row.number, Change::Created, name, Vec::new);
                Ok(Vec::new())
            }
            Err(Refusal::Faults(faults)) => Ok(faults),
            Err(Refusal::Conflict { detail, .. }) => {
                Ok(vec![Fault::at("", FaultCode::Contradiction, detail)])
            }
            Err(other) => Err(other),
        }
    }

    /// What the row says of itself.
    fn receipt(&self, row: &Row) -> Receipt {
        let currency = match row.text("currency") {
            "" => self.policy.values.currency.value.clone(),
            given => given.to_owned(),
        };
        let gap = row.cells.get("gap_mm").and_then(Value::as_f64);
        let reference = row.text("reference");
        Receipt {
            plug_id: Uuid::nil(),
            supplier: row.text("supplier").to_owned(),
            place_id: Uuid::nil(),
            quantity: row.whole("quantity").unwrap_or_default(),
            total_cost: row
                .whole("total_cost_minor")
                .map(|minor| Money { minor, currency }),
            pack_size: row.whole("pack_size"),
            condition: None,
            gap_mm: gap.and_then(|mm| Length::exact(mm).ok()),
            reference: (!reference.is_empty()).then(|| reference.to_owned()),
            order_line_id: None,
        }
    }

    fn cost_fault(&self, row: &Row, heading: &Heading) -> Option<Fault> {
        let lonely = !row.text("currency").is_empty() && row.whole("total_cost_minor").is_none();
        let lonely = lonely && !heading.is_told(row, "total_cost_minor");
        lonely.then(|| {
            let detail = "a currency without a cost says nothing; give total_cost_minor too";
            Fault::at("currency", FaultCode::NotTogether, detail)
        })
    }
}

impl Taking for Stock<'_> {
    fn take(
        &mut self,
        session: &mut Session,
        rows: Vec<Row>,
        heading: &Heading,
        found: &mut Found<'_>,
    ) -> Result<(), Refusal> {
        let names: Vec<(&str, &str)> = rows
            .iter()
            .map(|row| (row.text("maker"), row.text("part_number")))
            .collect();
        let parts: HashMap<Name, Plug> = session
            .plugs_named(&names)?
            .into_iter()
            .map(|plug| (key(&plug.data.maker, &plug.data.part_number), plug))
            .collect();
        for row in &rows {
            let part = parts.get(&key(row.text("maker"), row.text("part_number")));
            self.row(session, row, part, heading, found)?;
        }
        Ok(())
    }

    fn end(
        &mut self,
        session: &mut Session,
        _: &Heading,
        found: &mut Found<'_>,
    ) -> Result<(), Refusal> {
        if found.faults.none() {
            let content = std::mem::take(&mut self.content);
            found.trial.report.already = Some(content.end(session, &self.by)?);
        }
        Ok(())
    }
}

/// The kinds of places that a row may be received into.
const KINDS: &[PlaceKind] = &[PlaceKind::Bin, PlaceKind::Quarantine];

/// What is wrong with the part that a row names.
fn part_fault(row: &Row, part: Option<&Plug>) -> Option<Fault> {
    let (maker, number) = (row.text("maker"), row.text("part_number"));
    // Half a name was told to be half.
    let named = !maker.is_empty() && !number.is_empty();
    match part {
        None => named.then(|| {
            let detail = format!("the catalogue has no {maker} {number}; import it first");
            Fault::at("part_number", FaultCode::NotFound, detail)
        }),
        Some(plug) => plug.retired.then(|| {
            let detail = stock::sentence(Rejection::PlugRetired);
            Fault::at("part_number", FaultCode::Contradiction, detail)
        }),
    }
}

/// The kind of the place that a row names: a bin where nothing is said.
fn place_kind(row: &Row) -> Result<PlaceKind, Fault> {
    let kind = match row.text("place_kind") {
        "" => return Ok(PlaceKind::Bin),
        word => word.parse().ok().filter(|kind| KINDS.contains(kind)),
    };
    kind.ok_or_else(|| {
        let words: Vec<&str> = KINDS.iter().map(|kind| kind.word()).collect();
        let detail = format!("plugs are received into one of {}", words.join(", "));
        Fault::at("place_kind", FaultCode::NotInList, detail)
    })
}

/// What is wrong with the place that a row names.
fn place_fault(row: &Row, kind: PlaceKind, place: Option<&Place>) -> Option<Fault> {
    match place {
        None => {
            let detail = format!("there is no {kind} {:?}; make it first", row.text("place"));
            Some(Fault::at("place", FaultCode::NotFound, detail))
        }
        Some(place) => place.retired.then(|| {
            let detail = stock::sentence(Rejection::PlaceRetired);
            Fault::at("place", FaultCode::Contradiction, detail)
        }),
    }
}

/// The column of a fault's pointer.
fn column_of(pointer: &str) -> &str {
    match pointer.trim_start_matches("#/").trim_start_matches('#') {
        "plug_id" => "part_number",
        "place_id" => "place",
        "total_cost/minor" => "total_cost_minor",
        "total_cost/currency" => "currency",
        other => other,
    }
}
