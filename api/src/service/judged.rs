//! How a plug stands to demands, as answers and sentences tell it.

use plugwell_domain::attribute::Attr;
use plugwell_domain::caution::{Caution, CautionCode};
use plugwell_domain::fit::{Verdict, judge, rules_out};
use plugwell_domain::plug::{Plug, Shows};
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::{Demand, Requirement, fit_cautions, of_part};
use serde_json::{Map, Value};

use crate::shown::{measured, test};

/// How a plug stands to one demand.
#[derive(Debug, Clone)]
pub struct Judged {
    /// The demand.
    pub demand: Demand,
    /// What the plug shows; `None` where unknown or assumed.
    pub has: Option<i64>,
    /// How that stands.
    pub verdict: Verdict,
}

impl Judged {
    /// As it stands in JSON.
    pub fn to_map(&self) -> Map<String, Value> {
        let attr = self.demand.attribute;
        let has = self.has.map_or(Value::Null, |raw| attr.to_json(raw));
        let members = [
            ("attribute", attr.word().into()),
            ("strength", self.demand.strength.word().into()),
            ("needed", self.demand.test.to_json(attr)),
            ("has", has),
            ("verdict", self.verdict.word().into()),
        ];
        Map::from_iter(members.map(|(name, value)| (name.to_owned(), value)))
    }

    /// As it stands in JSON where the plug is ruled out by it, with what is to be said of that.
    pub fn failed(&self) -> Map<String, Value> {
        let mut map = self.to_map();
        if self.demand.attribute == Attr::Reach {
            let text = CautionCode::ReachNeverFitted.sentence();
            map.insert("caution".to_owned(), text.into());
        }
        map
    }

    /// What the plug has against what is needed.
    pub fn told(&self) -> String {
        let attr = self.demand.attribute;
        let has = self.has.map_or(Value::Null, |raw| attr.to_json(raw));
        let needed = test(attr.word(), &self.demand.test.to_json(attr));
        format!(
            "{} is {}, not {needed}",
            attr.declared().label.to_lowercase(),
            measured(attr.word(), &has)
        )
    }
}

/// How a plug stands to every demand.
pub fn verdicts(plug: &impl Shows, requirement: &Requirement) -> Vec<Judged> {
    let judged = requirement.demands.iter().map(|demand| {
        let has = plug.shown(demand.attribute);
        Judged {
            demand: demand.clone(),
            has,
            verdict: judge(demand, has),
        }
    });
    judged.collect()
}

/// The demands that rule a plug out.
pub(super) fn ruled_out(plug: &impl Shows, requirement: &Requirement) -> Vec<Judged> {
    let mut fails = verdicts(plug, requirement);
    fails.retain(|judged| rules_out(&judged.demand, judged.verdict));
    fails
}

/// What is said of a part, then what is said of any plug for the build that it goes into.
pub(super) fn beware_of(
    plug: &Plug,
    needed: Option<&Requirement>,
    policy: &Policy,
) -> Vec<Caution> {
    match needed {
        Some(needed) => {
            let mut cautions = fit_cautions(&plug.data, needed);
            cautions.extend(needed.cautions.iter().cloned());
            cautions
        }
        None => of_part(plug, policy)
            .map(|own| fit_cautions(&plug.data, &own))
            .unwrap_or_default(),
    }
}
