//! What is said of plugs that are issued, or received or given back set to a gap: it is booked, but not
//! without a word.

use plugwell_domain::attribute::Attr;
use plugwell_domain::caution::{Caution, CautionCode};
use plugwell_domain::decimal::Length;
use plugwell_domain::fit::{Verdict, judge};
use plugwell_domain::ledger::{Condition, Movement, MovementKind};
use plugwell_domain::plug::{Plug, Shows};
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::{Requirement, range_musts, set_gap_of};
use plugwell_store::Session;
use uuid::Uuid;

use super::refused::missing;
use crate::service::judged::{Judged, beware_of, ruled_out};
use crate::service::matching::requirement_of;
use crate::service::{Refusal, Shop, orders};

/// What fails, and what to beware of.
#[derive(Debug, Clone, Default)]
pub struct Beware {
    /// Musts that the part fails, or that nobody can say it passes: of its build, and of the gap.
    pub fails: Vec<Judged>,
    /// What to beware of.
    pub cautions: Vec<Caution>,
}

impl Beware {
    fn warn(&mut self, caution: Caution) {
        if self.cautions.iter().all(|c| c.code != caution.code) {
            self.cautions.push(caution);
        }
    }

    /// Whether the plug's own range holds a gap.
    fn of_range(&mut self, plug: &Plug, gap: Length) {
        let as_delivered = plug.shown(Attr::GapPreset) == Some(gap.0);
        for demand in range_musts(gap) {
            let has = plug.shown(demand.attribute);
            let verdict = judge(&demand, has);
            let judged = Judged {
                demand,
                has,
                verdict,
            };
            match verdict {
                Verdict::Meets => {}
                Verdict::Fails => {
                    self.warn(Caution::of(CautionCode::GapOutsidePlugRange).with(told(&[&judged])));
                    self.fails.push(judged);
                }
                Verdict::Unknown if as_delivered => {}
                Verdict::Unknown => self.warn(Caution::of(CautionCode::GapRangeUnconfirmed)),
            }
        }
    }

    /// How the part stands to what its build needs.
    fn of_build(&mut self, plug: &Plug, needed: &Requirement, policy: &Policy) {
        self.fails = ruled_out(plug, needed);
        let all: Vec<&Judged> = self.fails.iter().collect();
        if !all.is_empty() {
            let by_reach = all.iter().any(|j| j.demand.attribute == Attr::Reach);
            let caution = Caution::of(CautionCode::FailsItsBuild).with(told(&all));
            self.warn(caution);
            if by_reach {
                self.warn(Caution::of(CautionCode::ReachNeverFitted));
            }
        }
        for caution in beware_of(plug, Some(needed), policy) {
            self.warn(caution);
        }
    }

    /// Whether a gap is the one that the build asks for.
    fn of_asked_gap(&mut self, plug: &Plug, needed: &Requirement, gap: Length) {
        let Some(asked) = set_gap_of(plug, needed).0 else {
            return;
        };
        if (asked.0 - gap.0).abs() > needed.gap.tolerance_mm.0 {
            let detail = format!("It is {gap} mm, and the build asks for {asked} mm.");
            self.warn(Caution::of(CautionCode::GapNotTheBuilds).with(detail));
        }
    }
}

/// What the plug has against what is needed, in sentences.
fn told(fails: &[&Judged]) -> String {
    let each = fails.iter().map(|judged| judged.told());
    let text = each.collect::<Vec<_>>().join("; ");
    let mut letters = text.chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string());
    format!("{}{}.", first.unwrap_or_default(), letters.as_str())
}

/// What is said of plugs that go to a job.
///
/// # Errors
/// Where the database fails.
pub(super) fn of_issue(
    session: &mut Session,
    policy: &Policy,
    plug: &Plug,
    build_id: Option<Uuid>,
    gap: Option<Length>,
) -> Result<Beware, Refusal> {
    let mut said = Beware::default();
    let needed = match build_id {
        None => None,
        Some(id) => {
            let build = session
                .build(id)?
                .ok_or_else(|| missing("build_id", "build"))?;
            match requirement_of(session, &build.data, policy) {
                Ok(needed) => Some(needed),
                // The record of its head or base plug has lost what it is judged by: the plugs go
                // out, and nobody says that they fit.
                Err(Refusal::Faults(faults)) => {
                    let why: Vec<String> = faults.into_iter().map(|f| f.detail).collect();
                    let detail = format!("It lacks something: {}.", why.join("; "));
                    said.warn(Caution::of(CautionCode::FitUnjudged).with(detail));
                    None
                }
                Err(other) => return Err(other),
            }
        }
    };
    match &needed {
        Some(needed) => said.of_build(plug, needed, policy),
        None => beware_of(plug, None, policy)
            .into_iter()
            .for_each(|caution| said.warn(caution)),
    }
    if let Some(gap) = gap {
        said.of_range(plug, gap);
        if let Some(needed) = &needed {
            said.of_asked_gap(plug, needed, gap);
        }
    }
    Ok(said)
}

/// What is said of plugs that come in, or come back, set to a gap.
pub(super) fn of_gap(plug: &Plug, gap: Option<Length>) -> Beware {
    let mut said = Beware::default();
    if let Some(gap) = gap {
        said.of_range(plug, gap);
    }
    said
}

/// What is said of plugs that come back sealed of an issue.
pub(super) fn sealed_after_gap(issued: &Movement) -> Option<Caution> {
    let gap = issued.gap_mm?;
    let detail = format!("The issue says {gap} mm.");
    Some(Caution::of(CautionCode::SealedAfterGap).with(detail))
}

/// What is to be said of plugs that may go to a build, before they do; nothing where part or build is not
/// there.
///
/// # Errors
/// Where the database fails.
pub fn beware_of_build(shop: &Shop, plug_id: Uuid, build_id: Uuid) -> Result<Beware, Refusal> {
    let policy = shop.policy();
    shop.store.read(|session| {
        let (Some(plug), Some(_)) = (session.plug(plug_id)?, session.build(build_id)?) else {
            return Ok(Beware::default());
        };
        of_issue(session, &policy, &plug, Some(build_id), None)
    })
}

/// What is to be said of a movement that was booked, as the records are now.
///
/// # Errors
/// Where the database fails.
pub fn beware_of_movement(shop: &Shop, movement: &Movement) -> Result<Beware, Refusal> {
    let policy = shop.policy();
    shop.store.read(|session| {
        let plug = session
            .plug(movement.plug_id)?
            .ok_or_else(|| Refusal::Fault("a movement without its part".into()))?;
        match movement.kind {
            MovementKind::Issue => {
                let (build, gap) = (movement.build_id, movement.gap_mm);
                of_issue(session, &policy, &plug, build, gap)
            }
            MovementKind::Receipt | MovementKind::Return => {
                let lot = session
                    .lot(movement.lot_id)?
                    .ok_or_else(|| Refusal::Fault("a movement without its lot".into()))?;
                let mut said = of_gap(&plug, lot.gap_mm);
                let more = match movement.answers {
                    None => orders::priced_as_ordered(session, movement, &lot)?,
                    Some(id) => {
                        let issued = session.movement(id)?;
                        let issued = issued.filter(|_| lot.condition == Condition::Sealed);
                        issued.and_then(|issued| sealed_after_gap(&issued))
                    }
                };
                more.into_iter().for_each(|caution| said.warn(caution));
                Ok(said)
            }
            _ => Ok(Beware::default()),
        }
    })
}
