//! The rules between the members of each command's body.

use super::{Issue, NewPlace, PlaceName, Receipt, Reserve, Return, Reversal, Scrapping, Transfer};
use crate::build::{bound_fault, odometer_fault};
use crate::decimal::Length;
use crate::fault::{Check, Fault, FaultCode, name_fault, text_fault};
use crate::ledger::{Condition, Money, QUANTITY_MAX, Returned, ScrapReason};

/// A quantity outside what one movement, or one line of an order, can take.
pub(crate) fn quantity_fault(quantity: i64) -> Option<Fault> {
    (!(1..=QUANTITY_MAX).contains(&quantity)).then(|| {
        let detail = format!("a quantity is from 1 to {QUANTITY_MAX} plugs, not {quantity}");
        Fault::at("quantity", FaultCode::OutOfRange, detail)
    })
}

/// A box of no size that there is.
pub(crate) fn pack_fault(pack_size: Option<i64>) -> Option<Fault> {
    let wrong = pack_size.filter(|p| !(1..=10_000).contains(p))?;
    let detail = format!("a box holds 1 to 10000 plugs, not {wrong}");
    Some(Fault::at("pack_size", FaultCode::OutOfRange, detail))
}

/// A total beyond what the books take.
pub(crate) fn cost_fault(total_cost: Option<&Money>) -> Option<Fault> {
    let wrong = total_cost.filter(|m| !(0..=Money::MOST).contains(&m.minor))?;
    let detail = format!("{} is outside 0 to 1000000000000", wrong.minor);
    Some(Fault::at("total_cost/minor", FaultCode::OutOfRange, detail))
}

fn gap_fault(gap: Option<Length>) -> Option<Fault> {
    bound_fault("gap_mm", gap?.get())
}

/// What to say where nobody knows the gap of gapped plugs.
pub fn gap_missing() -> Fault {
    Fault::at(
        "gap_mm",
        FaultCode::Missing,
        "say which gap the gapped plugs are set to",
    )
}

/// What to say of an odometer of which nobody knows whose it is.
pub fn odometer_of_no_build() -> Fault {
    Fault::at(
        "odometer_km",
        FaultCode::NotTogether,
        "an odometer is that of a build: say which by build_id",
    )
}

/// An odometer goes with a build; the reservation may name it.
fn nameless(issue: &Issue) -> Option<Fault> {
    let named = issue.build_id.or(issue.reservation_id).is_some();
    (issue.odometer_km.is_some() && !named).then(odometer_of_no_build)
}

/// A name of who dropped plugs goes with plugs that fell, and only with them.
fn dropper_fault(fell: bool, name: Option<&str>) -> Option<Fault> {
    if name.is_some() && !fell {
        let detail = "only what was dropped was dropped by somebody";
        return Some(Fault::at("dropped_by", FaultCode::NotTogether, detail));
    }
    name_fault("dropped_by", name)
}

/// A gap goes only with `gapped`.
fn gap_with_condition(gapped: bool, gap: Option<Length>) -> Option<Fault> {
    match (gapped, gap) {
        (false, Some(_)) => Some(Fault::at(
            "gap_mm",
            FaultCode::NotTogether,
            "only plugs that are gapped have a gap here",
        )),
        _ => gap_fault(gap),
    }
}

impl Check for Receipt {
    fn faults(&self) -> Vec<Fault> {
        let gapped = self.condition == Some(Condition::Gapped);
        [
            name_fault("supplier", Some(&self.supplier)),
            quantity_fault(self.quantity),
            cost_fault(self.total_cost.as_ref()),
            pack_fault(self.pack_size),
            gap_with_condition(gapped, self.gap_mm),
            (gapped && self.gap_mm.is_none()).then(gap_missing),
            text_fault("reference", self.reference.as_deref()),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

impl Check for Issue {
    fn faults(&self) -> Vec<Fault> {
        let job = (self.job.is_none() && self.reservation_id.is_none()).then(|| {
            Fault::at(
                "job",
                FaultCode::Missing,
                "say which job, or which reservation",
            )
        });
        [
            quantity_fault(self.quantity),
            job,
            name_fault("job", self.job.as_deref()),
            odometer_fault(self.odometer_km).or_else(|| nameless(self)),
            gap_fault(self.gap_mm),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

impl Check for Return {
    fn faults(&self) -> Vec<Fault> {
        let goes_back = matches!(self.condition, Returned::Sealed | Returned::Gapped);
        let place = (goes_back && self.place_id.is_none()).then(|| {
            Fault::at(
                "place_id",
                FaultCode::Missing,
                "say which bin they go back into",
            )
        });
        [
            quantity_fault(self.quantity),
            place,
            gap_with_condition(self.condition == Returned::Gapped, self.gap_mm),
            dropper_fault(
                self.condition == Returned::Dropped,
                self.dropped_by.as_deref(),
            ),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

impl Check for Transfer {
    fn faults(&self) -> Vec<Fault> {
        let same = (self.from_place_id == self.to_place_id).then(|| {
            Fault::at(
                "to_place_id",
                FaultCode::Contradiction,
                "they lie there already",
            )
        });
        [quantity_fault(self.quantity), same]
            .into_iter()
            .flatten()
            .collect()
    }
}

impl Check for Scrapping {
    fn faults(&self) -> Vec<Fault> {
        let one_of = |a: bool, b: bool, field: &str, what: &str| match (a, b) {
            (false, false) => Some(Fault::at(field, FaultCode::Missing, format!("give {what}"))),
            (true, true) => Some(Fault::at(
                field,
                FaultCode::NotTogether,
                format!("give {what}, not both"),
            )),
            _ => None,
        };
        [
            one_of(
                self.plug_id.is_some(),
                self.lot_id.is_some(),
                "lot_id",
                "plug_id or lot_id",
            ),
            one_of(
                self.place_id.is_some(),
                self.job.is_some(),
                "place_id",
                "place_id or job",
            ),
            name_fault("job", self.job.as_deref()),
            quantity_fault(self.quantity),
            text_fault("note", self.note.as_deref()),
            dropper_fault(
                self.reason == ScrapReason::Dropped,
                self.dropped_by.as_deref(),
            ),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

impl Check for Reversal {
    fn faults(&self) -> Vec<Fault> {
        text_fault("reason", Some(&self.reason))
            .into_iter()
            .collect()
    }
}

impl Check for Reserve {
    fn faults(&self) -> Vec<Fault> {
        [
            quantity_fault(self.quantity),
            name_fault("job", Some(&self.job)),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

impl Check for PlaceName {
    fn faults(&self) -> Vec<Fault> {
        name_fault("name", Some(&self.name)).into_iter().collect()
    }
}

impl Check for NewPlace {
    fn faults(&self) -> Vec<Fault> {
        use crate::ledger::PlaceKind::{Difference, Scrap};
        let single = matches!(self.kind, Scrap | Difference).then(|| {
            Fault::at(
                "kind",
                FaultCode::NotInList,
                format!("there is exactly one place of kind {}", self.kind),
            )
        });
        single
            .into_iter()
            .chain(name_fault("name", Some(&self.name)))
            .collect()
    }
}
