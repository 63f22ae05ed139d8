//! A second opinion on the plugs that are in an engine: what is wrong with them, which complaints
//! that explains, what nobody has told, and what nothing explains.
//!
//! Every demand of the requirement is judged by the same code as a match; [`RULES`] says what each
//! finding means.

mod demands;
mod gap;
mod history;
mod resistor;
mod rule;
mod told;
mod words;

use serde::Serialize;
use serde_json::Value;

use crate::decimal::Decimal;
use crate::plug::Shows;
use crate::policy::Policy;
use crate::requirement::{Basis, Requirement, sentence};

pub use history::{ASK_LIFE, Life, Past, distance, leads, life, wear};
pub use rule::{Helps, RULES, Rule};
pub use told::{ToldPlug, Treatment};
pub use words::{FindingCode, Severity, Symptom};

/// What an opinion is asked on.
#[derive(Debug)]
pub struct Case<'a, P> {
    /// What the build needs.
    pub requirement: &'a Requirement,
    /// The policy that it was made with.
    pub policy: &'a Policy,
    /// Whether the engine is boosted.
    pub boosted: bool,
    /// The plug that is fitted.
    pub plug: &'a P,
    /// The resistance that was measured on it, terminal to centre electrode; a record's own figure
    /// is none.
    pub resistance: Option<Decimal<1>>,
    /// How the set has been treated.
    pub treatment: &'a Treatment,
}

// By hand, since a derived copy would ask the same of the plug.
impl<P> Clone for Case<'_, P> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<P> Copy for Case<'_, P> {}

/// One thing that is not as it should be.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// Which.
    pub code: FindingCode,
    /// How urgent.
    pub severity: Severity,
    /// The attribute of the plug, or the member of its treatment, that it is about.
    pub attribute: &'static str,
    /// What is needed: a test as in a demand.
    pub needed: Value,
    /// What is there; null where nobody knows.
    pub has: Value,
    /// What a good tuner would say.
    pub text: String,
    /// Complaints that it explains.
    pub explains: Vec<Symptom>,
    /// Those of them that were complained of.
    pub reported: Vec<Symptom>,
    /// What to do.
    pub remedy: String,
    /// Which plugs help.
    pub helps: Helps,
    /// What it rests on.
    pub basis: Basis,
}

impl Finding {
    /// A finding with what its rule says.
    fn of(
        code: FindingCode,
        attribute: &'static str,
        (needed, has): (Value, Value),
        text: String,
        basis: impl Into<Basis>,
    ) -> Self {
        let rule = code.rule();
        Self {
            code,
            severity: rule.severity,
            attribute,
            needed,
            has,
            text,
            explains: rule.explains.to_vec(),
            reported: Vec::new(),
            remedy: rule.remedy.to_owned(),
            helps: rule.helps,
            basis: basis.into(),
        }
    }
}

/// What could not be judged, since nobody told.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct NotJudged {
    /// The attribute of the plug, or the member of `fitted`, that is missing.
    pub attribute: String,
    /// What to ask or to measure.
    pub ask: String,
    /// Complaints that it could explain.
    pub bears_on: Vec<Symptom>,
}

impl NotJudged {
    /// What is missing, and the findings that it could lead to.
    fn of(attribute: &str, ask: impl Into<String>, codes: &[FindingCode]) -> Self {
        let mut bears_on: Vec<Symptom> = codes
            .iter()
            .flat_map(|code| code.rule().explains)
            .copied()
            .collect();
        bears_on.sort_unstable();
        bears_on.dedup();
        Self {
            attribute: attribute.to_owned(),
            ask: ask.into(),
            bears_on,
        }
    }
}

/// Where to look for the cause of a complaint that nothing found explains.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct LookNext {
    /// The complaint.
    pub symptom: Symptom,
    /// What to find out about the plugs, and where else to look (common practice, no source).
    pub text: String,
}

/// The opinion.
#[derive(Debug, Clone, PartialEq)]
pub struct Opinion {
    /// The most urgent first; of one urgency those first that explain a complaint.
    pub findings: Vec<Finding>,
    /// Complaints that no finding explains.
    pub unexplained: Vec<Symptom>,
    /// Where to look for their causes.
    pub look_next: Vec<LookNext>,
    /// What could not be judged.
    pub not_judged: Vec<NotJudged>,
}

/// Looks at what is fitted.
pub fn look<P: Shows>(case: Case<'_, P>, complaints: &[Symptom]) -> Opinion {
    let mut complaints = complaints.to_vec();
    complaints.sort_unstable();
    complaints.dedup();
    let mut findings = demands::findings(case);
    findings.extend(resistor::finding(case));
    findings.extend(history::findings(case));
    let replaced = findings.iter().any(|f| f.helps == Helps::ASet);
    findings.extend(gap::finding(case, replaced));
    for finding in &mut findings {
        let complained = |symptom: &&Symptom| complaints.contains(symptom);
        finding.reported = finding
            .explains
            .iter()
            .filter(complained)
            .copied()
            .collect();
    }
    findings.sort_by_key(|f| (f.severity, f.reported.is_empty(), f.code));
    let explained = |symptom: &Symptom| findings.iter().any(|f| f.explains.contains(symptom));
    complaints.retain(|symptom| !explained(symptom));
    let mut not_judged = demands::not_judged(case, &complaints);
    not_judged.extend(resistor::not_judged(case));
    not_judged.extend(gap::not_judged(case));
    not_judged.extend(history::not_judged(case));
    let look_next = complaints
        .iter()
        .map(|symptom| look_next(*symptom, &findings, &not_judged))
        .collect();
    Opinion {
        findings,
        unexplained: complaints,
        look_next,
        not_judged,
    }
}

fn look_next(symptom: Symptom, findings: &[Finding], not_judged: &[NotJudged]) -> LookNext {
    let open: Vec<String> = not_judged
        .iter()
        .filter(|open| open.bears_on.contains(&symptom))
        .map(|open| spoken(&open.attribute))
        .collect();
    let complaint = symptom.spoken();
    let cold = findings.iter().any(|f| f.code == FindingCode::TooCold)
        && matches!(symptom, Symptom::Fouling | Symptom::MisfireAtIdle);
    let known = if open.is_empty() {
        "about these plugs"
    } else {
        "that was told"
    };
    let nothing = if cold {
        format!(
            "The plugs stand a little cold, which may add to the {complaint}; nothing else {known} explains it."
        )
    } else {
        format!("Nothing {known} explains the {complaint}.")
    };
    let first = match open.as_slice() {
        [] => String::new(),
        open => format!(
            " First find out what could: the {}.",
            sentence::list(open, "and the")
        ),
    };
    let then = if findings.iter().any(|f| f.severity != Severity::Watch) {
        "Put right what was found; if it stays, look at"
    } else if open.is_empty() {
        "Look at"
    } else {
        "Otherwise look at"
    };
    LookNext {
        symptom,
        text: format!("{nothing}{first} {then} {}.", symptom.look_next()),
    }
}

/// An attribute, or a member of the treatment, as it is spoken of.
fn spoken(attribute: &str) -> String {
    match attribute {
        "gap_mm" => "gap".to_owned(),
        "distance_km" => "distance run".to_owned(),
        "dropped" => "number dropped".to_owned(),
        "lead_changes" => "age of the leads".to_owned(),
        "electronics" => "electronics on board".to_owned(),
        attribute => attribute.parse::<crate::attribute::Attr>().map_or_else(
            |_| attribute.to_owned(),
            |a| a.declared().label.to_lowercase(),
        ),
    }
}
