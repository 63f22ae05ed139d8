//! What distance, a fall and old leads have done.

use serde_json::json;

use super::{Case, Finding, FindingCode, NotJudged, Treatment};
use crate::attribute::Attr;
use crate::conversion::km_to_mile;
use crate::plug::Shows;
use crate::policy::Policy;
use crate::requirement::{Basis, BasisKind};
use crate::words::Electrode;

/// What distance, a fall and old leads are judged on.
#[derive(Debug)]
pub struct Past<'a, P> {
    /// The policy.
    pub policy: &'a Policy,
    /// Whether the engine is boosted.
    pub boosted: bool,
    /// The plug that is fitted.
    pub plug: &'a P,
    /// How the set has been treated.
    pub treatment: &'a Treatment,
}

// By hand, since a derived copy would ask the same of the plug.
impl<P> Clone for Past<'_, P> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<P> Copy for Past<'_, P> {}

impl<'a, P> From<Case<'a, P>> for Past<'a, P> {
    fn from(case: Case<'a, P>) -> Self {
        Self {
            policy: case.policy,
            boosted: case.boosted,
            plug: case.plug,
            treatment: case.treatment,
        }
    }
}

/// What is wrong by what the set has gone through.
pub(super) fn findings<P: Shows>(case: Case<'_, P>) -> impl Iterator<Item = Finding> {
    let past = Past::from(case);
    [wear(past), dropped(past), leads(past)]
        .into_iter()
        .flatten()
}

/// What was not told of it.
pub(super) fn not_judged<P: Shows>(case: Case<'_, P>) -> impl Iterator<Item = NotJudged> {
    let treatment = case.treatment;
    let missing = |is: bool, attribute: &str, ask: &str, code| {
        is.then(|| NotJudged::of(attribute, ask, &[code]))
    };
    let run = treatment.distance_km;
    [
        missing(
            run.is_none(),
            "distance_km",
            "How far have these plugs run?",
            FindingCode::WornOut,
        ),
        missing(
            run.is_some() && life(case.into()).is_none(),
            Attr::ServiceLife.word(),
            ASK_LIFE,
            FindingCode::WornOut,
        ),
        missing(
            treatment.dropped.is_none(),
            "dropped",
            "Was one of them dropped, or may it have been?",
            FindingCode::Dropped,
        ),
        missing(
            treatment.lead_changes.is_none() && treatment.leads_renewed != Some(true),
            "lead_changes",
            "How many plug changes have leads or boots seen, and were they renewed since?",
            FindingCode::LeadsDue,
        ),
    ]
    .into_iter()
    .flatten()
}

/// What to ask where nobody knows how long a plug lasts.
pub const ASK_LIFE: &str =
    "How long do these plugs last? Ask the maker's sheet, or tell the metal of the tip.";

/// How long a plug lasts, and who says so.
#[derive(Debug, Clone, PartialEq)]
pub struct Life {
    /// The distance.
    pub km: i64,
    /// What it rests on.
    pub basis: Basis,
    by_maker: bool,
    /// Whether it reckons with boost already.
    boosted: bool,
}

impl Life {
    /// What boost leaves of it, where the engine is boosted and the figure does not reckon with that.
    pub fn left_by_boost<P>(&self, case: Past<'_, P>) -> Option<f64> {
        let share = case.policy.values.life_boosted_share.value;
        (case.boosted && !self.boosted).then_some(self.km as f64 * share)
    }

    /// Whose figure it is: `their maker gives them`.
    pub fn whose<P>(&self, case: Past<'_, P>) -> &'static str {
        if self.by_maker {
            "their maker gives them"
        } else if self.boosted && case.boosted {
            "such tips last in a boosted engine"
        } else {
            "such tips last"
        }
    }
}

/// The maker's figure, else the policy's for the metal.
pub fn life<P: Shows>(case: Past<'_, P>) -> Option<Life> {
    if let Some(km) = case.plug.shown(Attr::ServiceLife) {
        return Some(Life {
            km,
            basis: BasisKind::PlugMaker.into(),
            by_maker: true,
            boosted: false,
        });
    }
    let metal = case.plug.shown(Attr::Electrode).and_then(Electrode::at)?;
    let judged = case.policy.life_of(metal, case.boosted)?;
    Some(Life {
        km: judged.value.into(),
        basis: judged.into(),
        by_maker: false,
        boosted: metal == Electrode::Nickel,
    })
}

/// Whether the set has run beyond its life.
pub fn wear<P: Shows>(case: Past<'_, P>) -> Option<Finding> {
    let run = case.treatment.distance_km?;
    let life = life(case)?;
    let km = life.km as f64;
    let finding = |code, most: f64, text, basis| {
        let figures = (json!({ "min": null, "max": most }), json!(run));
        Finding::of(code, "distance_km", figures, text, basis)
    };
    if run > km {
        let whose = life.whose(case);
        let text = format!(
            "They have run {}, past the {} that {whose}: by then edges are round and gaps grow, and the spark asks for more voltage.",
            distance(run),
            distance(km)
        );
        return Some(finding(FindingCode::WornOut, km, text, life.basis));
    }
    let share = &case.policy.values.life_boosted_share;
    let early = life.left_by_boost(case)?;
    (run > early).then(|| {
        let whose = if life.by_maker {
            "the maker's"
        } else {
            "what such tips last,"
        };
        let text = format!(
            "They have run {}; {whose} {} is meant for the engine as it left the works, and boost leaves about {}.",
            distance(run),
            distance(km),
            distance(early)
        );
        finding(FindingCode::WearsEarly, early, text, share.into())
    })
}

fn dropped<P>(case: Past<'_, P>) -> Option<Finding> {
    let dropped = case.treatment.dropped.filter(|dropped| *dropped > 0)?;
    let fell = if dropped == 1 {
        "One plug was".to_owned()
    } else {
        format!("{dropped} plugs were")
    };
    let text = format!(
        "{fell} dropped: the insulator can be cracked where nobody sees it, and then the spark takes the crack instead of the gap."
    );
    let figures = (json!({ "min": null, "max": 0 }), json!(dropped));
    Some(Finding::of(
        FindingCode::Dropped,
        "dropped",
        figures,
        text,
        BasisKind::CommonPractice,
    ))
}

/// Whether leads have seen so many changes that they are looked at first.
pub fn leads<P>(case: Past<'_, P>) -> Option<Finding> {
    let due = &case.policy.values.lead_changes_due;
    let seen = case.treatment.lead_changes.filter(|n| *n >= due.value)?;
    let renewed = match case.treatment.leads_renewed {
        Some(true) => return None,
        Some(false) => "and were not renewed",
        None => "and nobody says that they were renewed",
    };
    let text = format!(
        "Leads and boots have been pulled off {seen} times {renewed}: every pull strains them, and a torn one misfires like a bad plug."
    );
    let figures = (
        json!({ "min": null, "max": due.value.saturating_sub(1) }),
        json!(seen),
    );
    Some(Finding::of(
        FindingCode::LeadsDue,
        "lead_changes",
        figures,
        text,
        due,
    ))
}

/// `16 000 km (9 900 mi)`: whole kilometres, hundreds of miles from a thousand on.
pub fn distance(km: f64) -> String {
    let mile = km_to_mile(km);
    let mile = if mile < 1000.0 {
        mile
    } else {
        (mile / 100.0).round() * 100.0
    };
    format!("{} km ({} mi)", grouped(km), grouped(mile))
}

/// A whole number in groups of three.
fn grouped(number: f64) -> String {
    let digits = format!("{number:.0}");
    let mut text = String::new();
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            text.push(' ');
        }
        text.push(digit);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::distance;

    #[test]
    fn distances_are_read_in_groups_and_in_miles() {
        // 1 mi = 1.609 344 km exactly (NIST SP 811).
        assert_eq!(distance(0.0), "0 km (0 mi)");
        assert_eq!(distance(850.4), "850 km (528 mi)");
        assert_eq!(distance(16_000.0), "16 000 km (9 900 mi)");
        assert_eq!(distance(1_000_000.0), "1 000 000 km (621 400 mi)");
    }
}
