//! What is said of a single plug that fits: the gap to set, what is unconfirmed, what to beware of.

use super::{BasisKind, Demand, Requirement, WhenUnknown, gap::held};
use crate::attribute::Attr;
use crate::caution::{Caution, CautionCode};
use crate::decimal::{Decimal, Length};
use crate::plug::{PlugData, Shows};
use crate::words::{Electrode, Ground, Status};

/// The gap to set on a plug, and a caution where there is none that it can be bent to.
///
/// The requirement's own gap where it has one. An engine without boost leaves each plug its own, else
/// the policy's, lowered to what the coil fires; `None` where that leaves the plug's range, or where
/// the requirement cannot say.
pub fn set_gap_of(
    plug: &impl Shows,
    requirement: &Requirement,
) -> (Option<Length>, Option<CautionCode>) {
    if requirement.gap.set_mm.is_some() {
        return (requirement.gap.set_mm, None);
    }
    let Some(own) = requirement.context.own_gap else {
        return (None, None);
    };
    let preset = plug.shown(Attr::GapPreset).map_or(own.otherwise, Decimal);
    let gap = own.limit.map_or(preset, |limit| preset.min(limit));
    let too_small = plug.shown(Attr::GapMin).is_some_and(|min| gap.0 < min);
    let too_large = plug.shown(Attr::GapMax).is_some_and(|max| gap.0 > max);
    if too_small || too_large {
        (None, Some(CautionCode::GapOutOfRange))
    } else {
        (Some(gap), None)
    }
}

/// The attributes of a fit that nobody could answer for: those that stay open whatever the plug is,
/// and those of the plug that a must lets pass unknown.
pub fn unconfirmed_of(plug: &impl Shows, requirement: &Requirement) -> Vec<Attr> {
    let mut open = requirement.context.unconfirmed.clone();
    let passed = requirement
        .musts()
        .filter(|d| passes_unknown(d, plug))
        .map(|d| d.attribute);
    for attr in passed {
        if !open.contains(&attr) {
            open.push(attr);
        }
    }
    open
}

/// The two musts of a plug that is set to a gap, whatever it goes into: its own range has to hold it.
pub fn range_musts(gap: Length) -> [Demand; 2] {
    let reason = format!("The plug is set to {gap} mm: its own range has to hold that.");
    held(gap).map(|(attr, test)| {
        Demand::must(
            attr,
            test,
            WhenUnknown::Allowed,
            reason.as_str(),
            BasisKind::PlugMaker,
        )
    })
}

fn passes_unknown(demand: &Demand, plug: &impl Shows) -> bool {
    demand.unknown == Some(WhenUnknown::Allowed) && plug.shown(demand.attribute).is_none()
}

/// What to beware of with a plug that fits, beyond the requirement's own cautions.
pub fn fit_cautions(plug: &PlugData, requirement: &Requirement) -> Vec<Caution> {
    let mut cautions: Vec<Caution> = set_gap_of(plug, requirement)
        .1
        .map(Caution::of)
        .into_iter()
        .collect();
    for demand in requirement.musts().filter(|d| passes_unknown(d, plug)) {
        let code = match demand.attribute {
            Attr::Projection => CautionCode::ProjectionUnconfirmed,
            Attr::Hex => CautionCode::HexUnconfirmed,
            Attr::Terminal => CautionCode::TerminalUnconfirmed,
            Attr::GapMin | Attr::GapMax | Attr::GapPreset => CautionCode::GapRangeUnconfirmed,
            _ => CautionCode::ValueUnconfirmed,
        };
        if !cautions.iter().any(|c| c.code == code) {
            let caution = Caution::of(code);
            let named = code == CautionCode::ValueUnconfirmed;
            cautions.push(if named {
                caution.with(format!("It is {}.", demand.attribute))
            } else {
                caution
            });
        }
    }
    if let Some(from) = requirement.context.nitrous_projected_from {
        cautions.extend(nitrous(plug, from));
    }
    if plug.status == Status::Discontinued {
        cautions.push(Caution::of(CautionCode::DiscontinuedPart));
    }
    if plug.superseded_by.is_some() {
        cautions.push(Caution::of(CautionCode::SupersededPart));
    }
    cautions
}

/// The caution for a tip that nitrous is hard on; none where nobody knows what the tip is like.
fn nitrous(plug: &PlugData, projected_from: Length) -> Option<Caution> {
    let projected = plug
        .shown(Attr::Projection)
        .is_some_and(|p| p >= projected_from.0);
    let strap = plug.shown(Attr::Ground).and_then(Ground::at);
    let metal = plug.shown(Attr::Electrode).and_then(Electrode::at);
    let fine = strap == Some(Ground::FineWire) || metal.is_some_and(is_fine_wire);
    let which = match (projected, fine) {
        (false, false) => return None,
        (true, false) => "This tip is projected.",
        (false, true) => "This tip is a fine wire.",
        (true, true) => "This tip is a projected fine wire.",
    };
    Some(Caution::of(CautionCode::NitrousTip).with(which))
}

/// Metals that come as a fine wire. Common practice, no source.
fn is_fine_wire(metal: Electrode) -> bool {
    match metal {
        Electrode::GoldPalladium
        | Electrode::Platinum
        | Electrode::DoublePlatinum
        | Electrode::Iridium
        | Electrode::Ruthenium => true,
        Electrode::Nickel | Electrode::Silver | Electrode::Other => false,
    }
}
