//! How far a set is from the end of its life, by the same rules as a second opinion.

use crate::attribute::Attr;
use crate::fitment::{ASK_LIFE, Past, Severity, Treatment, distance, leads, life, wear};
use crate::plug::Shows;
use crate::policy::Policy;
use crate::requirement::{Basis, Unanswered};
use crate::words::closed_list;

closed_list! {
    /// What is due about a fitted set; the order of the list.
    DueState, "state of what is due" {
        /// Run beyond its life.
        WornOut = "worn_out",
        /// Boost has left less of its life than it has run.
        WearsEarly = "wears_early",
        /// Near the end of its life.
        NearsEnd = "nears_end",
        /// The plugs are not; leads or boots have seen many changes.
        LeadsDue = "leads_due",
        /// Nobody can say: distance or life are not known.
        Unknown = "unknown",
    }
}

/// A set in an engine, and what is known of both.
#[derive(Debug, Clone, Copy)]
pub struct Fitted<'a, P> {
    /// The policy.
    pub policy: &'a Policy,
    /// Whether the engine is boosted.
    pub boosted: bool,
    /// The part.
    pub plug: &'a P,
    /// The odometer when the set went in.
    pub odometer_then: Option<i64>,
    /// The latest odometer that was told afterwards.
    pub odometer_now: Option<i64>,
    /// Plug changes that the leads have seen.
    pub lead_changes: u32,
    /// Whether somebody says when the leads were renewed; changes count from there.
    pub leads_known: bool,
}

/// What is due about a set.
#[derive(Debug, Clone, PartialEq)]
pub struct Due {
    /// The most urgent of it.
    pub state: DueState,
    /// How urgent the most urgent is.
    pub severity: Severity,
    /// How far the set has run.
    pub distance_km: Option<i64>,
    /// How far it lasts in this engine: boost reckoned with.
    pub life_km: Option<i64>,
    /// What such a life rests on.
    pub basis: Option<Basis>,
    /// What a good tuner would say, of the plugs and then of the leads.
    pub text: Vec<String>,
    /// What nobody could say.
    pub unanswered: Vec<Unanswered>,
}

impl Due {
    /// How far it may still run; below zero where that is past.
    pub fn left_km(&self) -> Option<i64> {
        Some(self.life_km? - self.distance_km?)
    }
}

/// What is due about a set; `None` where distance and life are known and neither they nor the leads
/// ask for anything yet.
pub fn due<P: Shows>(fitted: &Fitted<'_, P>) -> Option<Due> {
    let (run, asked) = distance_run(fitted.odometer_then, fitted.odometer_now);
    let treatment = Treatment {
        distance_km: run.map(|km| km as f64),
        lead_changes: Some(fitted.lead_changes),
        leads_renewed: fitted.leads_known.then_some(false),
        ..Treatment::default()
    };
    let past = Past {
        policy: fitted.policy,
        boosted: fitted.boosted,
        plug: fitted.plug,
        treatment: &treatment,
    };
    let life = life(past);
    let lasts = life
        .as_ref()
        .map(|life| life.left_by_boost(past).unwrap_or(life.km as f64));
    let mut unanswered: Vec<Unanswered> = asked.into_iter().collect();
    if life.is_none() {
        unanswered.push(open(Attr::ServiceLife.word(), ASK_LIFE));
    }
    let mut text = Vec::new();
    let mut found = wear(past).map(|finding| {
        text.push(finding.text);
        let state = match finding.severity {
            Severity::Watch => DueState::WearsEarly,
            Severity::Stop | Severity::Fix => DueState::WornOut,
        };
        (state, finding.severity)
    });
    if let (None, Some(run), Some(lasts)) = (found, treatment.distance_km, lasts)
        && run >= lasts * fitted.policy.values.life_near_share.value
    {
        text.push(near(run, lasts));
        found = Some((DueState::NearsEnd, Severity::Watch));
    }
    if !unanswered.is_empty() {
        text.extend(unanswered.iter().map(|open| open.ask.clone()));
        found = Some((DueState::Unknown, Severity::Watch));
    }
    if let Some(finding) = leads(past) {
        text.push(format!("{} {}", finding.text, finding.remedy));
        found = match found {
            None | Some((DueState::Unknown, _)) => Some((DueState::LeadsDue, finding.severity)),
            Some((plugs, severity)) => Some((plugs, severity.min(finding.severity))),
        };
    }
    let (state, severity) = found?;
    Some(Due {
        state,
        severity,
        distance_km: run,
        life_km: lasts.map(|km| km as i64),
        basis: life.map(|life| life.basis),
        text,
        unanswered,
    })
}

/// How far a set has run by two readings, or what to ask.
fn distance_run(then: Option<i64>, now: Option<i64>) -> (Option<i64>, Option<Unanswered>) {
    let ask = match (then, now) {
        (Some(then), Some(now)) if now >= then => return (Some(now - then), None),
        (Some(then), Some(now)) => format!(
            "What does the odometer read now? The build says {now} km, and when this set went in it read {then} km."
        ),
        (Some(_), None) => {
            "What does the odometer read now? Tell it of the build.".to_owned()
        }
        (None, _) => {
            "What did the odometer read when this set went in? It was not told with the issue: measure the gaps, and tell it with the next set.".to_owned()
        }
    };
    (None, Some(open("odometer_km", ask)))
}

fn open(attribute: &str, ask: impl Into<String>) -> Unanswered {
    Unanswered {
        attribute: attribute.to_owned(),
        ask: ask.into(),
    }
}

fn near(run: f64, lasts: f64) -> String {
    let left = lasts - run;
    if left < 1.0 {
        return format!(
            "They have run {}, all that they last in this engine: the next set is due now.",
            distance(run)
        );
    }
    format!(
        "They have run {} of about {} that they last in this engine: the next set is due in about {}.",
        distance(run),
        distance(lasts),
        distance(left)
    )
}
