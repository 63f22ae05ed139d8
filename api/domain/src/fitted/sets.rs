//! From issues for a build to the sets that were in its engine.

use std::collections::HashMap;

use chrono::{DateTime, NaiveDate, Utc};
use uuid::Uuid;

use super::{FittedSet, SetState};
use crate::decimal::Length;

/// An issue for a build that stands, with what became of its plugs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct IssueForBuild {
    /// The issue.
    pub movement_id: Uuid,
    /// Its running number.
    pub sequence: i64,
    /// When it was made; the issues of one act share it.
    pub created_at: DateTime<Utc>,
    /// The build.
    pub build_id: Uuid,
    /// The job, by name.
    pub job: String,
    /// The part.
    pub plug_id: Uuid,
    /// The lot.
    pub lot_id: Uuid,
    /// The job's place.
    pub place_id: Uuid,
    /// Plugs that went out.
    pub quantity: i64,
    /// Plugs of it that came back unused.
    pub unused: i64,
    /// Plugs of it that came back into the scrap drum.
    pub scrapped: i64,
    /// Plugs of the lot that are still at the job, whatever they went out with.
    pub at_job: i64,
    /// The odometer that was told.
    pub odometer_km: Option<i64>,
    /// The gap that was set, or that the lot had.
    pub gap_mm: Option<Length>,
}

/// One act of issuing: a set can come out of several lots and bins.
struct Act<'a> {
    issues: Vec<(&'a IssueForBuild, i64)>,
}

impl<'a> Act<'a> {
    fn first(&self) -> &'a IssueForBuild {
        self.issues[0].0
    }

    /// Plugs that went out and did not come back unused.
    fn used(&self) -> i64 {
        self.issues.iter().map(|(i, _)| i.quantity - i.unused).sum()
    }

    fn left(&self) -> i64 {
        self.issues.iter().map(|(_, left)| left).sum()
    }

    fn is_with(&self, issue: &IssueForBuild) -> bool {
        let first = self.first();
        (first.created_at, first.plug_id, first.place_id)
            == (issue.created_at, issue.plug_id, issue.place_id)
    }
}

/// A set in the making.
struct Making {
    set: FittedSet,
    place_id: Uuid,
    used: i64,
    whole: bool,
}

/// The sets that the issues for one build make, the oldest first: those in the engine and those
/// that were.
///
/// The issues stand in the order that they were made; `takes` is the number of plugs that the
/// engine has. What was scrapped from the job without its issue being named is counted to the
/// oldest: what is left is counted to the newest.
pub fn sets(issues: &[IssueForBuild], takes: i64) -> Vec<FittedSet> {
    let mut made: Vec<Making> = Vec::new();
    for act in acts(issues) {
        // All of it came back as it went out: it was never in.
        if act.used() <= 0 {
            continue;
        }
        let small = act.used() < takes;
        let first = act.first();
        let fills_up = |own: &Making| {
            small
                && own.set.state != SetState::Replaced
                && own.place_id == first.place_id
                && own.set.plug_id == first.plug_id
        };
        let place = made.iter().rposition(fills_up);
        let place = match place {
            Some(place) => place,
            None => {
                made.push(begun(first));
                made.len() - 1
            }
        };
        let own = &mut made[place];
        fill(own, &act);
        if !own.whole && own.used >= takes {
            own.whole = true;
            replace(&mut made, place, &act);
        }
    }
    made.into_iter().map(|making| ended(making.set)).collect()
}

/// Which plugs are left of which issue, by the acts that they were made in.
fn acts(issues: &[IssueForBuild]) -> Vec<Act<'_>> {
    let mut at_job: HashMap<(Uuid, Uuid), i64> = HashMap::new();
    let mut left = Vec::with_capacity(issues.len());
    for issue in issues.iter().rev() {
        let there = at_job
            .entry((issue.lot_id, issue.place_id))
            .or_insert(issue.at_job);
        let own = (issue.quantity - issue.unused - issue.scrapped).clamp(0, (*there).max(0));
        *there -= own;
        left.push(own);
    }
    let mut acts: Vec<Act<'_>> = Vec::new();
    for (issue, left) in issues.iter().zip(left.into_iter().rev()) {
        match acts.last_mut().filter(|act| act.is_with(issue)) {
            Some(act) => act.issues.push((issue, left)),
            None => acts.push(Act {
                issues: vec![(issue, left)],
            }),
        }
    }
    acts
}

fn begun(first: &IssueForBuild) -> Making {
    Making {
        set: FittedSet {
            movement_id: first.movement_id,
            movement_ids: Vec::new(),
            build_id: first.build_id,
            job: first.job.clone(),
            plug_id: first.plug_id,
            quantity: 0,
            fitted_at: first.created_at,
            odometer_km: None,
            gap_mm: None,
            state: SetState::Fitted,
            replaced_at: None,
            replaced_at_km: None,
            sequence: first.sequence,
        },
        place_id: first.place_id,
        used: 0,
        whole: false,
    }
}

fn fill(making: &mut Making, act: &Act<'_>) {
    making.used += act.used();
    let set = &mut making.set;
    set.quantity += act.left();
    for (issue, _) in &act.issues {
        set.movement_ids.push(issue.movement_id);
        set.odometer_km = set.odometer_km.or(issue.odometer_km);
        set.gap_mm = set.gap_mm.or(issue.gap_mm);
    }
}

/// A whole set went in: what was in is out.
fn replace(made: &mut [Making], by: usize, act: &Act<'_>) {
    let odometer_km = act.issues.iter().find_map(|(issue, _)| issue.odometer_km);
    for (place, making) in made.iter_mut().enumerate() {
        if place != by && making.set.state == SetState::Fitted {
            making.set.state = SetState::Replaced;
            making.set.replaced_at = Some(act.first().created_at);
            making.set.replaced_at_km = odometer_km;
        }
    }
}

fn ended(mut set: FittedSet) -> FittedSet {
    if set.state == SetState::Fitted && set.quantity == 0 {
        set.state = SetState::TakenOut;
    }
    set
}

/// How many changes the leads of a build have seen: the sets that went in after the day on which
/// they were renewed. The set that went in on that day went on with the new leads. All of them
/// where nobody says that they were renewed.
pub fn lead_changes(sets: &[FittedSet], renewed_on: Option<NaiveDate>) -> u32 {
    let after = |set: &&FittedSet| renewed_on.is_none_or(|day| set.fitted_at.date_naive() > day);
    u32::try_from(sets.iter().filter(after).count()).unwrap_or(u32::MAX)
}
