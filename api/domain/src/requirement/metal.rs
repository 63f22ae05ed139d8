//! The metal of the firing tip: independent of heat, never a must unless the tuner says so.

use super::derive::Findings;
use super::sentence::list;
use super::{Basis, BasisKind, Demand, Test, WhenUnknown};
use crate::attribute::Attr;
use crate::build::Engine;
use crate::policy::Values;
use crate::words::{Electrode, Use};

/// The caller's metals as a must, else the street's as a preference, else nothing.
pub(super) fn metal(engine: &Engine, values: &Values, found: &mut Findings) {
    if let Some(asked) = &engine.electrode {
        let reason = format!("You asked for {} and nothing else.", named(asked));
        let test = one_of(asked);
        found.demands.push(Demand::must(
            Attr::Electrode,
            test,
            WhenUnknown::Fails,
            reason,
            BasisKind::Caller,
        ));
    } else if engine.purpose == Use::Street && !values.street_metals.value.is_empty() {
        let metals = &values.street_metals;
        let reason = format!(
            "On the street a long life counts: {} lasts longest; the metal says nothing of heat.",
            named(&metals.value)
        );
        found.demands.push(Demand::prefer(
            Attr::Electrode,
            one_of(&metals.value),
            reason,
            Basis::from(metals),
        ));
    }
}

fn named(metals: &[Electrode]) -> String {
    list(&metals.iter().map(|m| m.word()).collect::<Vec<_>>(), "or")
}

fn one_of(metals: &[Electrode]) -> Test {
    let mut places: Vec<i64> = Vec::new();
    for metal in metals {
        if !places.contains(&metal.position()) {
            places.push(metal.position());
        }
    }
    Test::OneOf(places)
}
