//! What is in which engine since when, and what of it nears the end of its life.

use std::cmp::Reverse;
use std::collections::{BTreeSet, HashMap};

use chrono::NaiveDate;
use plugwell_domain::build::Build;
use plugwell_domain::fitment::Severity;
use plugwell_domain::fitted::{
    Due, DueState, Fitted, FittedSet, IssueForBuild, SetState, due, lead_changes,
};
use plugwell_domain::plug::Plug;
use plugwell_domain::policy::Policy;
use plugwell_domain::words::Induction;
use plugwell_store::{FittedSetFilter, Session, Stored};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::service::fitment::{self, Offer};
use crate::service::matching::requirement_of;
use crate::service::{Refusal, Shop};

/// Builds whose sets are looked at in one go.
const AT_ONCE: usize = 1_000;

/// A set with what is known of its engine.
#[derive(Debug, Clone)]
pub struct SetInEngine {
    /// The set.
    pub set: FittedSet,
    /// What the shop calls the build.
    pub build_name: Option<String>,
    /// Readings that were kept of its plugs.
    pub readings: i64,
    /// Plug changes that the leads of the build have seen by now.
    pub lead_changes: u32,
    /// When the leads were renewed, as far as somebody said.
    pub leads_renewed_on: Option<NaiveDate>,
}

/// Sets that a filter leaves, the newest first.
///
/// # Errors
/// Where the database fails.
pub fn list(
    shop: &Shop,
    filter: &FittedSetFilter,
    before: Option<i64>,
    limit: i64,
) -> Result<Vec<SetInEngine>, Refusal> {
    shop.store.read(|s| {
        let sets = s.list_fitted_sets(filter, before, limit)?;
        in_engines(s, sets)
    })
}

/// One set, by the first issue that it went out with.
///
/// # Errors
/// `NotFound`.
pub fn get(shop: &Shop, id: Uuid) -> Result<SetInEngine, Refusal> {
    shop.store.read(|s| {
        let set = s.fitted_set(id)?;
        let found = in_engines(s, set.into_iter().collect())?;
        found
            .into_iter()
            .next()
            .ok_or(Refusal::NotFound("fitted set"))
    })
}

fn in_engines(session: &mut Session, sets: Vec<FittedSet>) -> Result<Vec<SetInEngine>, Refusal> {
    let builds: BTreeSet<Uuid> = sets.iter().map(|set| set.build_id).collect();
    let builds = Vec::from_iter(builds);
    let cars = cars(session, &builds)?;
    let movements: Vec<Uuid> = sets.iter().flat_map(|s| s.movement_ids.clone()).collect();
    let readings = session.readings_of_each(&movements)?;
    let known = sets.into_iter().map(|set| {
        let car = cars.get(&set.build_id);
        let read = set.movement_ids.iter().filter_map(|id| readings.get(id));
        SetInEngine {
            build_name: car.and_then(|car| car.build.data.name.clone()),
            readings: read.sum(),
            lead_changes: car.map_or(0, Car::lead_changes),
            leads_renewed_on: car.and_then(|car| car.build.data.leads_renewed_on),
            set,
        }
    });
    Ok(known.collect())
}

/// A build with all sets that it has had, and the issues that they are made of.
struct Car {
    build: Stored<Build>,
    sets: Vec<FittedSet>,
    issues: Vec<IssueForBuild>,
}

impl Car {
    fn lead_changes(&self) -> u32 {
        lead_changes(&self.sets, self.build.data.leads_renewed_on)
    }

    /// The latest odometer that was told after a set went in: with a later issue, or of the build.
    fn odometer_after(&self, set: &FittedSet) -> Option<i64> {
        let own = |issue: &&IssueForBuild| set.movement_ids.contains(&issue.movement_id);
        let last = self.issues.iter().filter(own).map(|i| i.sequence).max();
        let later = self.issues.iter().filter(|i| Some(i.sequence) > last);
        let told = later.filter_map(|issue| issue.odometer_km).max();
        told.max(self.build.data.odometer_km)
    }
}

/// Builds with what went into them, in three queries.
fn cars(session: &mut Session, builds: &[Uuid]) -> Result<HashMap<Uuid, Car>, Refusal> {
    let mut cars: HashMap<Uuid, Car> = HashMap::with_capacity(builds.len());
    for build in session.builds_by_id(builds)? {
        let car = Car {
            build,
            sets: Vec::new(),
            issues: Vec::new(),
        };
        cars.insert(car.build.id, car);
    }
    for issue in session.issues_for_builds(builds)? {
        if let Some(car) = cars.get_mut(&issue.build_id) {
            car.issues.push(issue);
        }
    }
    for car in cars.values_mut() {
        let takes = car.build.data.engine.plugs();
        car.sets = plugwell_domain::fitted::sets(&car.issues, takes);
    }
    Ok(cars)
}

/// A set of which something is due.
#[derive(Debug, Clone)]
pub struct DueSet {
    /// The set.
    pub set: FittedSet,
    /// What the shop calls the build.
    pub build_name: Option<String>,
    /// The part.
    pub plug: Plug,
    /// What is due.
    pub due: Due,
    /// Plug changes that the leads have seen.
    pub lead_changes: u32,
    /// When the leads were renewed, as far as somebody said.
    pub leads_renewed_on: Option<NaiveDate>,
    /// What lies on the shelf to replace it, best first.
    pub replace_with: Vec<Offer>,
}

/// The order of what is due: the most urgent first, of one urgency by what is due, then
/// that which is furthest gone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct DueKey {
    severity: Severity,
    state: usize,
    left_km: i64,
    newest: Reverse<i64>,
}

impl DueSet {
    /// Where it stands in the list.
    pub fn key(&self) -> DueKey {
        let state = DueState::ALL.iter().position(|s| *s == self.due.state);
        DueKey {
            severity: self.due.severity,
            state: state.unwrap_or(usize::MAX),
            left_km: self.due.left_km().unwrap_or(i64::MAX),
            newest: Reverse(self.set.sequence),
        }
    }
}

/// What the list of what is due is narrowed by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct DueFilter {
    /// The build.
    pub build_id: Option<Uuid>,
    /// The part.
    pub plug_id: Option<Uuid>,
    /// What is due.
    pub state: Option<DueState>,
}

/// Sets in engines of which something is due, or of which nobody can say: the most urgent first.
///
/// All builds are looked at, a thousand at a time; what lies on the shelf is looked up for the page.
///
/// # Errors
/// Where database or index fail.
pub fn list_due(
    shop: &Shop,
    filter: &DueFilter,
    after: Option<DueKey>,
    limit: i64,
) -> Result<Vec<DueSet>, Refusal> {
    let policy = shop.policy();
    let mut found = shop.store.read(|s| {
        let builds = match filter.build_id {
            Some(id) => vec![id],
            None => s.builds_with_issues()?,
        };
        let mut found = Vec::new();
        for some in builds.chunks(AT_ONCE) {
            found.extend(due_of(s, some, &policy)?);
        }
        Ok::<_, Refusal>(found)
    })?;
    found.retain(|own| {
        filter.plug_id.is_none_or(|id| id == own.set.plug_id)
            && filter.state.is_none_or(|state| state == own.due.state)
            && after.is_none_or(|after| own.key() > after)
    });
    found.sort_by_key(DueSet::key);
    found.truncate(usize::try_from(limit).unwrap_or(usize::MAX));
    for own in &mut found {
        own.replace_with = replacements(shop, own.set.build_id, &policy)?;
    }
    Ok(found)
}

fn due_of(session: &mut Session, builds: &[Uuid], policy: &Policy) -> Result<Vec<DueSet>, Refusal> {
    let cars = cars(session, builds)?;
    let fitted = |car: &Car| {
        let sets = car.sets.iter().filter(|s| s.state == SetState::Fitted);
        sets.cloned().collect::<Vec<_>>()
    };
    let parts: BTreeSet<Uuid> = cars.values().flat_map(&fitted).map(|s| s.plug_id).collect();
    let records = session.plugs_by_id(&Vec::from_iter(parts))?;
    let plugs: HashMap<Uuid, Plug> = records.into_iter().map(|plug| (plug.id, plug)).collect();
    let mut found = Vec::new();
    for car in cars.values() {
        for set in fitted(car) {
            let Some(plug) = plugs.get(&set.plug_id) else {
                continue;
            };
            found.extend(due_set(car, set, plug, policy));
        }
    }
    Ok(found)
}

fn due_set(car: &Car, set: FittedSet, plug: &Plug, policy: &Policy) -> Option<DueSet> {
    let build = &car.build.data;
    let due = due(&Fitted {
        policy,
        boosted: build.engine.induction != Induction::NaturallyAspirated,
        plug,
        odometer_then: set.odometer_km,
        odometer_now: car.odometer_after(&set),
        lead_changes: car.lead_changes(),
        leads_known: build.leads_renewed_on.is_some(),
    })?;
    Some(DueSet {
        build_name: build.name.clone(),
        plug: plug.clone(),
        due,
        lead_changes: car.lead_changes(),
        leads_renewed_on: build.leads_renewed_on,
        replace_with: Vec::new(),
        set,
    })
}

/// Parts on the shelf that meet what the build needs; none where that cannot be told any more.
fn replacements(shop: &Shop, build_id: Uuid, policy: &Policy) -> Result<Vec<Offer>, Refusal> {
    let needed = shop.store.read(|s| match s.build(build_id)? {
        Some(build) => requirement_of(s, &build.data, policy).map(Some),
        None => Ok(None),
    });
    match needed {
        Ok(Some(needed)) => fitment::sets(shop, &needed),
        // The head or the plug that was in says no more what it needs.
        Ok(None) | Err(Refusal::Faults(_)) => Ok(Vec::new()),
        Err(other) => Err(other),
    }
}
