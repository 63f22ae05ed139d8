//! The gap that was measured, against the practice band, the coil and the gap to set.

use serde_json::json;

use super::{Case, Finding, FindingCode, Helps, NotJudged, Severity};
use crate::attribute::Attr;
use crate::conversion::mm_to_inch;
use crate::decimal::{Decimal, Length};
use crate::plug::Shows;
use crate::requirement::{Basis, BasisKind, Strength, set_gap_of};

/// 0.01 mm, to which a gap can be measured and to which the ends that it is put to are rounded:
/// 0.032 in is no wider than 0.81 mm.
const HUNDREDTH: i64 = 100;

/// What is wrong with the gap; `replaced` where other plugs have to go in anyway.
pub(super) fn finding<P: Shows>(case: Case<'_, P>, replaced: bool) -> Option<Finding> {
    let has = rounded(case.treatment.gap_mm?);
    let set = set_gap_of(case.plug, case.requirement).0;
    let mut finding = too_large(case, has, set).or_else(|| too_small(case, has, set?))?;
    (finding.remedy, finding.helps) = remedy(case, has, set, replaced);
    Some(finding)
}

/// What cannot be said of the gap.
pub(super) fn not_judged<P: Shows>(case: Case<'_, P>) -> Option<NotJudged> {
    let set = set_gap_of(case.plug, case.requirement).0;
    let both = &[FindingCode::GapTooLarge, FindingCode::GapTooSmall];
    match case.treatment.gap_mm {
        None => {
            let delivered = case
                .plug
                .shown(Attr::GapPreset)
                .map_or_else(String::new, |raw| {
                    format!(
                        " It was delivered with {}, which says nothing of what it is now.",
                        shown(Decimal(raw))
                    )
                });
            let ask = format!(
                "Measure the gap of every plug with a wire gauge and tell the widest.{delivered}"
            );
            Some(NotJudged::of("gap_mm", ask, both))
        }
        Some(_) if set.is_none() => {
            let known = Ends::of(case, None).least().is_some();
            let ask = "Which gap is to be set on this build is not known: see its open questions and cautions.";
            Some(NotJudged::of(
                "gap_mm",
                ask,
                if known { &both[1..] } else { both },
            ))
        }
        Some(_) => None,
    }
}

/// The ends that a gap is put to.
#[derive(Debug, Clone, Copy)]
struct Ends {
    /// What is set on this build. The gap to set is always right: one that the plug of an engine
    /// without boost keeps may lie above the band, and a caller's own word stands in its place.
    set_up_to: Option<Length>,
    /// What the coil fires, its reserve kept.
    fires: Option<Length>,
}

impl Ends {
    fn of<P>(case: Case<'_, P>, set: Option<Length>) -> Self {
        let gap = &case.requirement.gap;
        let set_up_to = match set {
            Some(own) if by_caller(case) => Some(own),
            _ => gap.practice_max_mm.max(set),
        };
        Self {
            set_up_to,
            fires: gap.physical_max_mm,
        }
    }

    /// The smallest of them.
    fn least(self) -> Option<Length> {
        self.set_up_to.into_iter().chain(self.fires).min()
    }
}

/// Whether somebody said which gap is to be set.
fn by_caller<P>(case: Case<'_, P>) -> bool {
    chosen_by(case).kind == BasisKind::Caller
}

fn too_large<P: Shows>(case: Case<'_, P>, has: Length, set: Option<Length>) -> Option<Finding> {
    let ends = Ends::of(case, set);
    let most = ends.least().filter(|most| has > *most)?;
    let wide = ends.set_up_to.filter(|end| has > *end);
    let unfired = ends.fires.filter(|end| has > *end);
    let text = format!(
        "The gap is {}; {}.",
        shown(has),
        over(case, ends, wide, unfired)
    );
    let needed = json!({ "min": null, "max": most.get() });
    let basis = match unfired {
        Some(_) => BasisKind::Physics.into(),
        None => chosen_by(case),
    };
    let figures = (needed, json!(has.get()));
    let mut finding = Finding::of(FindingCode::GapTooLarge, "gap_mm", figures, text, basis);
    // All of a set are gapped within the tolerance: that little is no reason to take them out. Nor
    // is what somebody asked for.
    let little = has.0 - most.0 <= case.requirement.gap.tolerance_mm.0;
    if little || wide.is_none() && by_caller(case) {
        finding.severity = Severity::Watch;
    }
    Some(finding)
}

/// Which ends a gap is over, and what that does.
fn over<P>(case: Case<'_, P>, ends: Ends, wide: Option<Length>, unfired: Option<Length>) -> String {
    let whose = if by_caller(case) {
        "was asked for"
    } else {
        "is set on this build"
    };
    let no_spark = "as cylinder pressure rises the coil's voltage no longer jumps it";
    match (wide, unfired) {
        (Some(wide), Some(fires)) => format!(
            "at most {} {whose}, and the coil, its reserve kept, fires at most {}: {no_spark}",
            shown(wide),
            shown(fires)
        ),
        (None, Some(fires)) => format!(
            "the coil, its reserve kept, fires at most {}: {no_spark}",
            shown(fires)
        ),
        (Some(wide), None) => {
            let reach = ends.fires.map_or_else(
                || "whether the coil still jumps it is not known".to_owned(),
                |fires| format!("by estimate the coil reaches {}", shown(fires)),
            );
            format!(
                "at most {} {whose}: {reach}, and little is left for a weak coil or old leads",
                shown(wide)
            )
        }
        (None, None) => String::new(),
    }
}

fn too_small<P: Shows>(case: Case<'_, P>, has: Length, set: Length) -> Option<Finding> {
    let slack = &case.policy.values.gap_small_by_mm;
    let least: Length = Decimal(set.0 - slack.value.0);
    let text = format!(
        "The gap is {}, the one to set is {}: a small spark lights less mixture, which costs some idle and some power and harms nothing.",
        shown(has),
        shown(set)
    );
    let needed = json!({ "min": least.get(), "max": null });
    (has < least).then(|| {
        Finding::of(
            FindingCode::GapTooSmall,
            "gap_mm",
            (needed, json!(has.get())),
            text,
            slack,
        )
    })
}

/// What the gap to set rests on: that of its demand, or, where each plug keeps its own, the band.
fn chosen_by<P>(case: Case<'_, P>) -> Basis {
    let demand = case.requirement.demand(Attr::GapMin, Strength::Must);
    demand.map_or_else(
        || Basis::from(&case.policy.values.gap_na_max_mm),
        |demand| demand.basis.clone(),
    )
}

/// What to do about a gap, and which plugs help.
fn remedy<P: Shows>(
    case: Case<'_, P>,
    has: Length,
    set: Option<Length>,
    replaced: bool,
) -> (String, Helps) {
    let no_plug = |text: String| (text, Helps::NoPlug);
    let fires = case.requirement.gap.physical_max_mm;
    if let (Some(set), Some(fires)) = (set, fires)
        && by_caller(case)
        && set > fires
        && has > fires
    {
        return no_plug(format!(
            "The gap asked for, {}, is more than the coil is estimated to fire: ask whoever gave it, close it to {}, or fit a stronger coil.",
            shown(set),
            shown(fires)
        ));
    }
    let Some(set) = set else {
        let limit = case.requirement.gap.physical_max_mm;
        let least = case.policy.values.gap_least_mm.value;
        return match limit {
            Some(limit) if limit < least => no_plug(format!(
                "No plug cures this: the coil fires at most {}, and a gap under {} is of no use. Fit a stronger coil.",
                shown(limit),
                shown(least)
            )),
            Some(limit) if set_gap_of(case.plug, case.requirement).1.is_some() => (
                format!(
                    "This plug may not be bent as far as the {} that the coil fires: fit a set that may.",
                    shown(limit)
                ),
                Helps::ASet,
            ),
            _ => no_plug(
                "Answer the build's open questions first: they say which gap to set.".to_owned(),
            ),
        };
    };
    if replaced {
        return no_plug(format!(
            "Other plugs have to go in anyway: gap those to {}.",
            shown(set)
        ));
    }
    let end = |attr| case.plug.shown(attr).map(Decimal);
    let range = match (end(Attr::GapMin), end(Attr::GapMax)) {
        (Some(min), Some(max)) => format!(
            "this plug may be bent from {} to {}",
            shown(min),
            shown(max)
        ),
        _ => "nobody has established how far this plug may be bent, so ask its maker first"
            .to_owned(),
    };
    no_plug(format!(
        "Set all of them to {}, with a screw-type tool; {range}.",
        shown(set)
    ))
}

/// To 0.01 mm, half up.
fn rounded(gap: Length) -> Length {
    Decimal((gap.0 + HUNDREDTH / 2).div_euclid(HUNDREDTH) * HUNDREDTH)
}

/// `0.81 mm (0.032 in)`.
fn shown(gap: Length) -> String {
    format!("{:.2} mm ({:.3} in)", gap.get(), mm_to_inch(gap.get()))
}
