//! What parts without history begin with: their own few sales, the builds that are booked, and what
//! their nearest equivalent sells.

use plugwell_domain::fit::fits;
use plugwell_domain::plug::Plug;
use plugwell_domain::policy::Policy;
use plugwell_domain::reorder::{Alike, Start, booked_series, starts};
use plugwell_domain::requirement::{Requirement, derive};
use plugwell_domain::wording::{agreeing, counted};
use plugwell_store::{BuildFilter, Session};

use super::gathered::Gathered;
use crate::service::{Refusal, builds};

/// Builds read at a time.
const BUILDS: i64 = 1_000;

/// What parts without history can begin with.
pub(super) struct Beginnings<'a> {
    gathered: &'a Gathered,
    least: usize,
    booked: Vec<(Requirement, i64)>,
    selling: Alike<'a, &'a [i64]>,
}

impl<'a> Beginnings<'a> {
    /// Reads the stored builds, where any part lacks history.
    pub fn of(
        session: &mut Session,
        gathered: &'a Gathered,
        policy: &Policy,
    ) -> Result<Self, Refusal> {
        let least = policy.values.demand_least_periods.value as usize;
        let mut own = Self {
            gathered,
            least,
            booked: Vec::new(),
            selling: Alike::from_iter([]),
        };
        if gathered.asked_for().any(|plug| own.lacks_history(plug)) {
            own.booked = booked(session, policy)?;
            let selling = gathered
                .plugs()
                .iter()
                .map(|plug| (plug, gathered.history(plug.id)));
            own.selling = selling
                .filter(|(_, series)| series.len() >= least && series.iter().any(|n| *n > 0))
                .collect();
        }
        Ok(own)
    }

    /// Whether a part has too little history for a forecast.
    pub fn lacks_history(&self, plug: &Plug) -> bool {
        self.gathered.history(plug.id).len() < self.least
    }

    /// What a part begins with.
    pub fn of_part(&self, plug: &Plug, own: &[i64], policy: &Policy) -> Start {
        let period = policy.values.demand_period.value;
        let mut found = Vec::new();
        if own.len() >= 2 && own.iter().any(|n| *n > 0) {
            let text = format!("Its own first {}", counted(own.len(), period.word()));
            found.push(Start {
                series: own.to_vec(),
                text,
            });
        }
        let taking = self.booked.iter().filter(|(needed, _)| fits(needed, plug));
        let sets: Vec<i64> = taking.map(|(_, plugs)| *plugs).collect();
        if !sets.is_empty() {
            let yearly = policy.values.booked_sets_per_year.value;
            let text = format!(
                "{} that {} it, {} a year each",
                counted(sets.len(), "stored build"),
                agreeing(sets.len(), "takes", "take"),
                counted(yearly, "set"),
            );
            found.push(Start {
                series: booked_series(&sets, yearly, period),
                text,
            });
        }
        let mut alike = self.selling.to(plug, policy);
        alike.sort_by_key(|(_, series, graded)| (graded.grade, -series.iter().sum::<i64>()));
        if let Some((other, series, graded)) = alike.first() {
            let text = format!(
                "Its nearest equivalent that sells, {} {} ({})",
                other.data.maker,
                other.data.part_number,
                graded.words()
            );
            found.push(Start {
                series: series.to_vec(),
                text,
            });
        }
        starts(found, period)
    }
}

/// What each stored build needs of its plugs, and how many; builds that nothing can be derived of
/// any more are left out.
fn booked(session: &mut Session, policy: &Policy) -> Result<Vec<(Requirement, i64)>, Refusal> {
    let mut needed = Vec::new();
    let mut after = None;
    loop {
        let page = session.list_builds(&BuildFilter::default(), after, BUILDS)?;
        let last = (page.len() as i64) < BUILDS;
        after = page.last().map(|build| build.id);
        for build in &page {
            let engine = &build.data.engine;
            let (head, base) = match builds::resolved(session, &build.data) {
                Ok(found) => found,
                Err(Refusal::Faults(_)) => continue,
                Err(other) => return Err(other),
            };
            let derived = derive(engine, &head, base.as_ref(), policy).ok();
            needed
                .extend(derived.and_then(|r| r.quantity.total.map(|plugs| (r, i64::from(plugs)))));
        }
        if last {
            return Ok(needed);
        }
    }
}
