//! What parts without history begin with: their own few sales, the builds that are booked, and what
//! their nearest equivalent sells.

use std::collections::{BTreeMap, HashMap};

use plugwell_domain::fit::fits;
use plugwell_domain::plug::Plug;
use plugwell_domain::policy::Policy;
use plugwell_domain::reorder::{Alike, Start, booked_series, share, starts};
use plugwell_domain::requirement::{Requirement, derive};
use plugwell_domain::wording::{agreeing, counted};
use plugwell_store::{BuildFilter, Session};
use uuid::Uuid;

use super::gathered::Gathered;
use super::left_out::unorderable;
use crate::service::{Refusal, builds};

/// Builds read at a time.
const BUILDS: i64 = 1_000;
/// Most parts that a share names.
const NAMED: usize = 5;

/// What parts without history can begin with.
pub(super) struct Beginnings<'a> {
    booked: Vec<(Requirement, i64)>,
    lent: HashMap<Uuid, Lent<'a>>,
}

/// What a part's nearest equivalent that sells lends it: an equal share where several borrow of it, so
/// that no demand is counted twice.
struct Lent<'a> {
    lender: &'a Plug,
    words: String,
    series: Vec<i64>,
    others: Vec<&'a Plug>,
}

impl<'a> Beginnings<'a> {
    /// Reads the stored builds, where any part lacks history.
    pub fn of(
        session: &mut Session,
        gathered: &'a Gathered,
        policy: &Policy,
    ) -> Result<Self, Refusal> {
        let mut parts = gathered.asked_for();
        if parts.any(|plug| gathered.lacks_history(plug, policy)) {
            Ok(Self {
                booked: booked(session, policy)?,
                lent: lent(gathered, policy),
            })
        } else {
            Ok(Self {
                booked: Vec::new(),
                lent: HashMap::new(),
            })
        }
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
        found.extend(self.lent.get(&plug.id).map(Lent::start));
        starts(found, period)
    }
}

impl Lent<'_> {
    fn start(&self) -> Start {
        let mut text = format!(
            "Its nearest equivalent that sells, {} ({})",
            name(self.lender),
            self.words
        );
        if !self.others.is_empty() {
            let named = self.others.iter().take(NAMED).map(|plug| name(plug));
            let mut named: Vec<String> = named.collect();
            match self.others.len().saturating_sub(NAMED) {
                0 => {}
                more => named.push(format!("{more} more")),
            }
            text.push_str(&format!(
                ", one of {} equal shares, since nobody knows how buyers will divide between it and {}",
                self.others.len() + 1,
                named.join(", ")
            ));
        }
        Start {
            series: self.series.clone(),
            text,
        }
    }
}

fn name(plug: &Plug) -> String {
    format!("{} {}", plug.data.maker, plug.data.part_number)
}

/// What parts without history, and that can be ordered, borrow of others: each of its nearest
/// equivalent that sells, of equals the one that sells most.
fn lent<'a>(gathered: &'a Gathered, policy: &Policy) -> HashMap<Uuid, Lent<'a>> {
    let least = policy.values.demand_least_periods.value as usize;
    let parts = gathered.plugs().iter();
    let selling: Alike<'_, &[i64]> = parts
        .map(|plug| (plug, gathered.history(plug.id)))
        .filter(|(_, series)| series.len() >= least && series.iter().any(|n| *n > 0))
        .collect();
    let mut borrowers: BTreeMap<Uuid, Vec<(&Plug, &Plug, String)>> = BTreeMap::new();
    let new = gathered.plugs().iter();
    for plug in new.filter(|p| gathered.lacks_history(p, policy) && unorderable(p).is_none()) {
        let alike = selling.to(plug, policy).into_iter();
        let nearest =
            alike.min_by_key(|(_, series, graded)| (graded.grade, -series.iter().sum::<i64>()));
        if let Some((lender, _, graded)) = nearest {
            let own = borrowers.entry(lender.id).or_default();
            own.push((plug, lender, graded.words()));
        }
    }
    let mut lent = HashMap::new();
    for mut own in borrowers.into_values() {
        own.sort_by_cached_key(|(plug, ..)| (name(plug).to_lowercase(), plug.id));
        let parts: Vec<&Plug> = own.iter().map(|(plug, ..)| *plug).collect();
        for (place, (plug, lender, words)) in own.into_iter().enumerate() {
            let others = parts.iter().filter(|other| other.id != plug.id);
            let lent_to = Lent {
                lender,
                words,
                series: share(gathered.history(lender.id), place, parts.len()),
                others: others.copied().collect(),
            };
            lent.insert(plug.id, lent_to);
        }
    }
    lent
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
