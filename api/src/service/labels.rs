//! What stands on the labels of lots and places.

use plugwell_domain::attribute::Attr;
use plugwell_domain::decimal::as_f64;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::ledger::{Lot, Place};
use plugwell_domain::plug::{PlugData, Shows};
use plugwell_store::Session;
use uuid::Uuid;

use crate::service::{Refusal, Shop};
use crate::shown::short;

/// What stands on a label.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
    /// What the bars say: `L` or `P` and a running number.
    pub code: String,
    /// What stands largest.
    pub name: String,
    /// What stands below it, line by line.
    pub lines: Vec<String>,
}

/// The label of a lot.
///
/// # Errors
/// `NotFound`.
pub fn of_lot(shop: &Shop, id: Uuid) -> Result<Label, Refusal> {
    shop.store
        .read(|s| lot(s, id)?.ok_or(Refusal::NotFound("lot")))
}

/// The label of a place.
///
/// # Errors
/// `NotFound`.
pub fn of_place(shop: &Shop, id: Uuid) -> Result<Label, Refusal> {
    shop.store
        .read(|s| place(s, id)?.ok_or(Refusal::NotFound("place")))
}

/// The labels of lots, then of places, in the order that they are named in.
///
/// # Errors
/// A fault for each that there is not, of the members `lots` and `places`.
pub fn of_all(shop: &Shop, lots: &[Uuid], places: &[Uuid]) -> Result<Vec<Label>, Refusal> {
    shop.store.read(|session| {
        let (mut labels, mut faults) = (Vec::new(), Vec::new());
        let mut put = |label: Option<Label>, member: &str, what: &str, id: &Uuid| match label {
            Some(label) => labels.push(label),
            None => faults.push(Fault::at(
                member,
                FaultCode::NotFound,
                format!("there is no {what} {id}"),
            )),
        };
        for id in lots {
            put(lot(session, *id)?, "lots", "lot", id);
        }
        for id in places {
            put(place(session, *id)?, "places", "place", id);
        }
        if faults.is_empty() {
            Ok(labels)
        } else {
            Err(Refusal::Faults(faults))
        }
    })
}

fn lot(session: &mut Session, id: Uuid) -> Result<Option<Label>, Refusal> {
    let Some(lot) = session.lot(id)? else {
        return Ok(None);
    };
    let plug = session
        .plug(lot.plug_id)?
        .ok_or_else(|| Refusal::Fault("a lot without a part".into()))?;
    Ok(Some(lot_label(&lot, &plug.data)))
}

fn lot_label(lot: &Lot, data: &PlugData) -> Label {
    let resistor = resistor(data);
    let last = match lot.gap_mm {
        Some(gap) => format!("{resistor} · gapped to {gap} mm"),
        None => resistor,
    };
    Label {
        code: lot.code.clone(),
        name: data.part_number.clone(),
        lines: vec![data.maker.clone(), shape(data), last],
    }
}

/// What a hand in a drawer needs to see; what is only assumed is not known.
fn shape(data: &PlugData) -> String {
    let told = |attr: Attr| data.shown(attr).map(|raw| attr.show(raw));
    let unknown = |what: &str| format!("{what} unknown");
    [
        told(Attr::Thread).unwrap_or_else(|| unknown("thread")),
        told(Attr::Reach).map_or_else(|| unknown("reach"), |mm| format!("reach {mm}")),
        told(Attr::Heat).map_or_else(|| unknown("heat"), |index| format!("heat {index}")),
    ]
    .join(" · ")
}

fn resistor(data: &PlugData) -> String {
    let ohm = data
        .shown(Attr::Resistance)
        .map(|raw| as_f64(raw, Attr::Resistance.decimals()));
    match (data.shown(Attr::Resistor), ohm) {
        (Some(1), Some(ohm)) => format!("with resistor, {} kΩ", short(ohm / 1000.0)),
        (Some(1), None) => "with resistor".to_owned(),
        (Some(_), _) => "without resistor".to_owned(),
        (None, _) => "resistor unknown".to_owned(),
    }
}

fn place(session: &mut Session, id: Uuid) -> Result<Option<Label>, Refusal> {
    Ok(session.place(id)?.map(|place| place_label(&place)))
}

fn place_label(place: &Place) -> Label {
    Label {
        code: place.code.clone(),
        name: place.name.clone(),
        lines: vec![place.kind.word().to_owned()],
    }
}
