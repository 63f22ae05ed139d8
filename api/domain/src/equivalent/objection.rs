//! Why a part is no equivalent, in sentences.

use super::steps::steps;
use crate::attribute::Attr;
use crate::fit::{Verdict, judge, rules_out};
use crate::plug::Shows;
use crate::requirement::{Demand, Requirement, Test};

/// A must of a part that another does not pass.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Objection {
    /// The must.
    pub demand: Demand,
    /// What the other shows; `None` where it is unknown or only assumed.
    pub has: Option<i64>,
    /// How that stands.
    pub verdict: Verdict,
    /// Why it rules the other out, in a sentence.
    pub text: String,
}

/// Every must that rules the other out, in the order of the requirement.
pub(super) fn all(part: &impl Shows, other: &impl Shows, need: &Requirement) -> Vec<Objection> {
    let mut objections: Vec<Objection> = Vec::new();
    for demand in need.musts() {
        let has = other.shown(demand.attribute);
        let verdict = judge(demand, has);
        if rules_out(demand, verdict) {
            objections.push(Objection {
                demand: demand.clone(),
                has,
                verdict,
                text: sentence(demand, part, has),
            });
        }
    }
    objections
}

fn sentence(demand: &Demand, part: &impl Shows, has: Option<i64>) -> String {
    let attr = demand.attribute;
    let label = attr.declared().label.to_lowercase();
    let Some(raw) = has else {
        return if attr == Attr::Resistor {
            "Nobody has established whether it has a resistor.".to_owned()
        } else {
            format!("Nobody has established its {label}.")
        };
    };
    let own = part.shown(attr);
    let beside = own.map_or_else(String::new, |own| {
        format!(", the part's {}", attr.show(own))
    });
    let so = format!("Its {label} is {}{beside}", attr.show(raw));
    match (attr, &demand.test) {
        (Attr::Heat, Test::Range { min, max }) if let Some(own) = own => heat(raw, own, *min, *max),
        (Attr::Seat, _) => format!("{so}: seats are never interchangeable."),
        (Attr::Reach, _) => format!("{so}: never to be fitted."),
        (Attr::Hex, _) => format!("{so}: it may not enter the plug well."),
        (Attr::Projection, _) => {
            format!("{so}: a tip further back fouls, one further out can be hit.")
        }
        (Attr::Resistor, _) if own.is_none() => {
            "It has no resistor, and of the part nobody has established whether it has one."
                .to_owned()
        }
        (Attr::Resistor, _) => "It has no resistor, the part has one.".to_owned(),
        (Attr::Terminal, _) => format!("{so}: lead or coil boot would not hold."),
        (Attr::GapMin, Test::Range { max: Some(gap), .. }) => format!(
            "The part's gap is {}: this one cannot be closed below {}.",
            attr.show(*gap),
            attr.show(raw)
        ),
        (Attr::GapMax, Test::Range { min: Some(gap), .. }) => format!(
            "The part's gap is {}: this one cannot be opened beyond {}.",
            attr.show(*gap),
            attr.show(raw)
        ),
        _ => format!("{so}."),
    }
}

fn heat(raw: i64, own: i64, min: Option<i64>, max: Option<i64>) -> String {
    let by = steps(raw - own).unwrap_or_else(|| "a little".to_owned());
    let [raw_shown, own] = [raw, own].map(|index| Attr::Heat.show(index));
    if min.is_some_and(|min| raw < min) {
        return format!(
            "Its heat index is {raw_shown}, {by} hotter than the part's {own}: a hotter plug is never offered for a \
             colder one."
        );
    }
    let end = max.map_or_else(String::new, |max| {
        format!("beyond {} ", Attr::Heat.show(max))
    });
    format!(
        "Its heat index is {raw_shown}, {by} colder than the part's {own}: {end}it is likely to foul."
    )
}
