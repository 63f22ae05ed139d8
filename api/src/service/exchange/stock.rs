//! Opening stock from a table: each row is a receipt, through the ledger's own rules.

use std::collections::HashMap;

use plugwell_domain::decimal::Length;
use plugwell_domain::fault::{Check, Fault, FaultCode};
use plugwell_domain::ledger::commands::Receipt;
use plugwell_domain::ledger::{Money, Place, PlaceKind};
use plugwell_domain::policy::Policy;
use plugwell_store::Session;
use serde_json::Value;
use uuid::Uuid;

use super::Taking;
use super::found::{Change, Found};
use super::rows::{Row, Rows};
use crate::service::Refusal;
use crate::service::stock::{self, By};

/// Receipts that come from a table.
pub(super) struct Stock<'a> {
    by: By<'a>,
    policy: &'a Policy,
    /// Bins by what rows call them; `None` where there is no such bin.
    bins: HashMap<String, Option<Place>>,
}

impl<'a> Stock<'a> {
    pub(super) fn of(by: By<'a>, policy: &'a Policy) -> Self {
        Self {
            by,
            policy,
            bins: HashMap::new(),
        }
    }

    /// A bin by its name, else by its code.
    fn bin(&mut self, session: &mut Session, called: &str) -> Result<Option<Uuid>, Refusal> {
        if !self.bins.contains_key(called) {
            let named = session.place_named(PlaceKind::Bin, called)?;
            let place = match named {
                Some(place) => Some(place),
                None => session.place_by_code(called)?,
            };
            self.bins.insert(called.to_owned(), place);
        }
        Ok(self.bins[called].as_ref().map(|place| place.id))
    }

    fn row(
        &mut self,
        session: &mut Session,
        row: &Row,
        plug_id: Option<Uuid>,
        table: &Rows<'_>,
        found: &mut Found,
    ) -> Result<(), Refusal> {
        let mut faults = Vec::new();
        let bin = self.bin(session, row.text("place"))?;
        let named = format!("{} {}", row.text("maker"), row.text("part_number"));
        if plug_id.is_none() {
            let detail = format!("the catalogue has no {named}; import it first");
            faults.push(Fault::at("part_number", FaultCode::NotFound, detail));
        }
        if bin.is_none() {
            let detail = format!("there is no bin {:?}; make it first", row.text("place"));
            faults.push(Fault::at("place", FaultCode::NotFound, detail));
        }
        let condition = match row.text("condition") {
            "" => Some(None),
            _ => table.word(row, "condition", &mut found.faults).map(Some),
        };
        let Some(condition) = condition else {
            return Ok(());
        };
        let receipt = Receipt {
            plug_id: plug_id.unwrap_or_default(),
            place_id: bin.unwrap_or_default(),
            condition,
            ..self.receipt(row)
        };
        faults.extend(receipt.faults());
        if let Some(fault) = self.cost_fault(row) {
            faults.push(fault);
        }
        if faults.is_empty() {
            match stock::receive(session, &self.by, self.policy, &receipt) {
                Ok((_, touched)) => {
                    found
                        .touched
                        .extend(touched.into_iter().map(|t| (t.ordinal, t)));
                    found.record(row.number, Change::Created, || named, Vec::new);
                    return Ok(());
                }
                Err(Refusal::Faults(found)) => faults = found,
                Err(Refusal::Conflict { detail, .. }) => {
                    faults = vec![Fault::at("", FaultCode::Contradiction, detail)];
                }
                Err(other) => return Err(other),
            }
        }
        for fault in faults {
            let member = column_of(&fault.pointer);
            table.tell_of(row, member, fault.code, fault.detail, &mut found.faults);
        }
        Ok(())
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

    fn cost_fault(&self, row: &Row) -> Option<Fault> {
        let lonely = !row.text("currency").is_empty() && row.whole("total_cost_minor").is_none();
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
        table: &Rows<'_>,
        found: &mut Found,
    ) -> Result<(), Refusal> {
        let names: Vec<(&str, &str)> = rows
            .iter()
            .map(|row| (row.text("maker"), row.text("part_number")))
            .collect();
        let key = |maker: &str, part: &str| (maker.to_lowercase(), part.to_lowercase());
        let parts: HashMap<(String, String), Uuid> = session
            .plugs_named(&names)?
            .into_iter()
            .map(|plug| (key(&plug.data.maker, &plug.data.part_number), plug.id))
            .collect();
        for row in &rows {
            if table.complete(row, &mut found.faults) {
                let part = parts.get(&key(row.text("maker"), row.text("part_number")));
                self.row(session, row, part.copied(), table, found)?;
            }
        }
        Ok(())
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
