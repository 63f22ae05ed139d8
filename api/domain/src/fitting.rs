//! What whoever puts a plug in is told beyond the requirement: how to come to the gap, the torque of
//! this very part, and how far it turns once it is finger-tight.

use serde::Serialize;

use crate::attribute::Attr;
use crate::caution::CautionCode;
use crate::decimal::Length;
use crate::plug::{PlugData, Shows};
use crate::requirement::{Requirement, TorqueNeed, set_gap_of};
use crate::thread::Thread;
use crate::words::{Provenance, Seat, closed_list};

closed_list! {
    /// What seals a gasket seat.
    Washer, "washer" {
        /// Never tightened before.
        New = "new",
        /// Crushed already.
        Reused = "reused",
    }
}

closed_list! {
    /// What whoever fits a plug does about its gap.
    GapAdvice, "gap advice" {
        /// Set it to the figure.
        Set = "set",
        /// Leave it as it came.
        Keep = "keep",
        /// Nobody can tell yet.
        Unknown = "unknown",
        /// No gap of this plug always fires with this coil.
        CoilTooWeak = "coil_too_weak",
    }
}

/// What is done about the gap of a plug that fits.
pub fn gap_advice(plug: &PlugData, requirement: &Requirement) -> GapAdvice {
    let (set, _) = set_gap_of(plug, requirement);
    if set.is_some() {
        return GapAdvice::Set;
    }
    let beware = &requirement.cautions;
    if beware.iter().any(|c| c.code == CautionCode::CoilTooWeak) {
        return GapAdvice::CoilTooWeak;
    }
    let Some(own) = requirement.context.own_gap else {
        return GapAdvice::Unknown;
    };
    // It cannot be bent to the gap: what it comes with, or can at least be bent to, has to fire as it is.
    let shown = |attr| plug.shown(attr);
    let comes_with = shown(Attr::GapPreset).or_else(|| shown(Attr::GapMin));
    match (own.limit, comes_with) {
        (Some(limit), Some(gap)) if gap > limit.0 => GapAdvice::CoilTooWeak,
        _ => GapAdvice::Keep,
    }
}

/// How far a plug is turned once it is finger-tight: a cross-check of the torque.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Turn {
    /// The washer that it holds for; null for a conical seat.
    pub washer: Option<Washer>,
    /// Least and greatest turn, in degrees.
    pub turn_deg: [f64; 2],
    /// How far the plug goes in meanwhile, pitch × turn; what crushes a new washer.
    pub travel_mm: [f64; 2],
    /// What the figures rest on.
    pub source: &'static str,
}

/// What the turns rest on.
pub const TURN_SOURCE: &str = "common practice, no source";

/// Turns by seat and washer, in degrees: a new gasket half to two thirds of a turn, a used one a
/// twelfth, a cone a sixteenth. Common practice, no source.
const TURNS: &[(Seat, Option<Washer>, [f64; 2])] = &[
    (Seat::Gasket, Some(Washer::New), [180.0, 240.0]),
    (Seat::Gasket, Some(Washer::Reused), [30.0, 30.0]),
    (Seat::Conical, None, [22.5, 22.5]),
];

/// The turns for a seat; none for a taper thread, which seals in itself.
pub fn turns(thread: Thread, seat: Seat) -> Vec<Turn> {
    let own = TURNS
        .iter()
        .filter(|(of, ..)| *of == seat && thread != Thread::Npt12);
    own.map(|(_, washer, turn_deg)| Turn {
        washer: *washer,
        turn_deg: *turn_deg,
        travel_mm: turn_deg.map(|degrees| thread.pitch_mm() * degrees / 360.0),
        source: TURN_SOURCE,
    })
    .collect()
}

/// The torque of a part: its own stands above the table's row.
pub fn torque_of(plug: &PlugData, row: Option<&TorqueNeed>) -> Option<TorqueNeed> {
    let own = plug
        .shown(Attr::Torque)
        .and_then(|raw| Attr::Torque.to_json(raw).as_f64());
    match own {
        Some(nm) => {
            let from = plug
                .provenance
                .get(&Attr::Torque)
                .copied()
                .unwrap_or(Provenance::MakerSheet);
            Some(TorqueNeed {
                min: nm,
                max: nm,
                source: format!("the part's own: {}", from.word().replace('_', " ")),
            })
        }
        None => row.map(|row| TorqueNeed {
            source: format!("{}, check the maker's sheet", row.source),
            ..row.clone()
        }),
    }
}

/// How to come to the gap that is to be set, or what to do where there is none.
pub fn how_to_gap(plug: &PlugData, set: Option<Length>, advice: GapAdvice) -> String {
    let own = |attr| plug.shown(attr);
    let (min, max) = (own(Attr::GapMin), own(Attr::GapMax));
    let Some(set) = set else {
        return match advice {
            GapAdvice::Keep => "Leave the gap as it came, and check that all of the set are alike.",
            GapAdvice::CoilTooWeak => {
                "No gap of this plug always fires with this coil: do not fit it before that is settled."
            }
            GapAdvice::Set | GapAdvice::Unknown => {
                "No gap can be told for this build yet: settle the cautions and the open questions first."
            }
        }
        .to_owned();
    };
    if min.is_some() && min == max {
        return "The gap of this plug is fixed: check it, and never bend it.".to_owned();
    }
    let set_by = CautionCode::HowToGap.sentence();
    if own(Attr::GapPreset) == Some(set.0) {
        format!(
            "It leaves its maker at this gap: check every one, and set only what is off. {set_by}"
        )
    } else {
        format!("Set every one and check it. {set_by}")
    }
}
