//! A step of a lot's life in a sentence.

use super::{IntoEngine, LifeBooks, StepEnd};
use crate::ledger::{Lot, Movement, PlaceKind};

/// The other lot of two movements that made plugs of one lot those of another, by way of the difference
/// account: nothing of it is a difference.
fn other_half<'a>(movement: &Movement, books: &'a LifeBooks) -> Option<&'a Lot> {
    let pair = movement.pair_id?;
    let mut others = books.movements.iter();
    let other = others.find(|other| other.pair_id == Some(pair) && other.id != movement.id)?;
    books.family.iter().find(|lot| lot.id == other.lot_id)
}

/// `4 of lot L7 from bin Drawer 2 to job Heron`; of plugs that became another lot, which.
pub(super) fn way(
    movement: &Movement,
    lot: &Lot,
    [from, to]: [&StepEnd; 2],
    books: &LifeBooks,
) -> String {
    let end = |end: &StepEnd| match end.kind {
        PlaceKind::Scrap | PlaceKind::Difference => end.name.clone(),
        kind => format!("{kind} {}", end.name),
    };
    let (plugs, code) = (movement.quantity, &lot.code);
    let gap = |lot: &Lot| {
        lot.gap_mm
            .map_or_else(String::new, |gap| format!(", set to {gap} mm"))
    };
    match other_half(movement, books) {
        Some(new) if to.kind == PlaceKind::Difference => {
            let (from, code_now, gap) = (end(from), &new.code, gap(new));
            format!("{plugs} of lot {code} from {from} became lot {code_now}{gap}")
        }
        Some(old) if from.kind == PlaceKind::Difference => {
            let (to, code_before, gap) = (end(to), &old.code, gap(lot));
            format!("{plugs} of lot {code}, before of lot {code_before}, to {to}{gap}")
        }
        _ => format!("{plugs} of lot {code} from {} to {}", end(from), end(to)),
    }
}

/// `4 of lot L7 from bin Drawer 2 to job Heron, into Heron blown at 41 200 km`.
pub(super) fn told(movement: &Movement, way: String, engine: Option<&IntoEngine>) -> String {
    let mut text = way;
    if let Some(gap) = movement.gap_mm {
        text += &format!(", set to {gap} mm");
    }
    if let Some(engine) = engine {
        let name = engine.build_name.as_deref().unwrap_or("an engine");
        text += &format!(", for {name}");
        if let Some(km) = engine.odometer_km {
            text += &format!(" at {km} km");
        }
        if let Some(km) = engine.distance_km {
            text += &format!(", changed after {km} km");
        }
    }
    if let Some(reason) = &movement.reason {
        text += &format!(" ({})", reason.replace('_', " "));
    }
    text
}
