//! Whether a plug meets a requirement, and in which order those that do are offered.

use std::cmp::Reverse;

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::attribute::Attr;
use crate::plug::Shows;
use crate::requirement::{Demand, Requirement, Strength, WhenUnknown};
use crate::words::closed_list;

closed_list! {
    /// How a plug stands to a demand.
    Verdict, "verdict" {
        /// Its value passes the test.
        Meets = "meets",
        /// Its value does not.
        Fails = "fails",
        /// Nobody has established its value.
        Unknown = "unknown",
    }
}

closed_list! {
    /// What a match asks of the shelf.
    StockMode, "stock condition" {
        /// The whole quantity is available.
        Enough = "enough",
        /// At least one plug is available.
        Some = "some",
        /// Stock does not matter.
        Ignore = "ignore",
    }
}

impl StockMode {
    /// Plugs that have to be available at the least.
    pub fn least(self, quantity: i64) -> i64 {
        match self {
            Self::Enough => quantity,
            Self::Some => 1,
            Self::Ignore => 0,
        }
    }
}

/// How a value stands to a demand. Every verdict of the service is made here.
#[inline]
pub fn judge(demand: &Demand, shown: Option<i64>) -> Verdict {
    match shown {
        None => Verdict::Unknown,
        Some(raw) if demand.test.passes(raw) => Verdict::Meets,
        Some(_) => Verdict::Fails,
    }
}

/// Whether a verdict rules a plug out.
#[inline]
pub fn rules_out(demand: &Demand, verdict: Verdict) -> bool {
    demand.strength == Strength::Must
        && match verdict {
            Verdict::Meets => false,
            Verdict::Fails => true,
            Verdict::Unknown => demand.unknown != Some(WhenUnknown::Allowed),
        }
}

/// Whether a plug passes every must.
pub fn fits(requirement: &Requirement, plug: &impl Shows) -> bool {
    requirement
        .musts()
        .all(|d| !rules_out(d, judge(d, plug.shown(d.attribute))))
}

/// The must that alone rules a plug out, where it is worth showing as a near miss.
///
/// Never thread, seat, heat on the hot side, or an unknown heat or reach; the two gap musts count
/// as one.
pub fn near_miss(requirement: &Requirement, plug: &impl Shows) -> Option<Attr> {
    let mut failed: Option<Attr> = None;
    for demand in requirement.musts() {
        let shown = plug.shown(demand.attribute);
        if !rules_out(demand, judge(demand, shown)) {
            continue;
        }
        if !worth_showing(demand, shown) {
            return None;
        }
        match failed {
            None => failed = Some(demand.attribute),
            Some(Attr::GapMin | Attr::GapMax) if is_gap(demand.attribute) => {}
            Some(_) => return None,
        }
    }
    failed
}

fn is_gap(attr: Attr) -> bool {
    matches!(attr, Attr::GapMin | Attr::GapMax)
}

fn worth_showing(demand: &Demand, shown: Option<i64>) -> bool {
    match demand.attribute {
        Attr::Thread | Attr::Seat => false,
        Attr::Reach => shown.is_some(),
        // Hotter is a smaller index: only a plug beyond the cold end may be shown.
        Attr::Heat => shown.is_some_and(|raw| match &demand.test {
            crate::requirement::Test::Range { min, .. } => min.is_none_or(|m| raw >= m),
            crate::requirement::Test::OneOf(values) => values.iter().all(|v| raw > *v),
        }),
        _ => true,
    }
}

/// The fixed order of fits, best first: heat distance from the target, projection distance,
/// preferences missed, one lot enough, more available first, part number, id.
///
/// The part number comes from the caller, since the index looks it up only where all before it is
/// equal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Standing {
    /// Tenths of the heat index from the target.
    pub heat_distance: i64,
    /// Twice the distance of the projection, in 0.1 µm; unknown stands last.
    pub projection_distance: i64,
    /// Preferences missed.
    pub preferences_missed: u32,
    /// False (one lot has the quantity) stands first.
    pub several_lots: bool,
    /// Plugs available; more stands first.
    pub available: Reverse<i64>,
}

/// The last two members of the order.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Name {
    /// Compared byte by byte.
    pub part_number: String,
    /// The last resort.
    pub id: Uuid,
}

impl Standing {
    /// Where a plug stands among the fits.
    pub fn of(
        requirement: &Requirement,
        plug: &impl Shows,
        available: i64,
        one_lot_enough: bool,
    ) -> Self {
        let heat_distance = match (requirement.heat.target_index, plug.shown(Attr::Heat)) {
            (Some(target), Some(heat)) => (heat - target.0).abs(),
            (Some(_), None) => i64::MAX,
            (None, _) => 0,
        };
        let projection_distance = match (
            requirement.context.projection_twice,
            plug.shown(Attr::Projection),
        ) {
            (Some(middle), Some(projection)) => (2 * projection - middle).abs(),
            (Some(_), None) => i64::MAX,
            (None, _) => 0,
        };
        Self {
            heat_distance,
            projection_distance,
            preferences_missed: preferences_missed(requirement, plug),
            several_lots: !one_lot_enough,
            available: Reverse(available),
        }
    }

    /// A figure from 0 to 1 that only shows the order's first three members: 1 is on target,
    /// in the middle and misses no preference.
    pub fn closeness(&self) -> f64 {
        let heat = 1.0 / (1.0 + self.heat_distance.min(2000) as f64 / 100.0);
        let projection = 1.0 / (1.0 + self.projection_distance.min(400_000) as f64 / 100_000.0);
        let preferences = 1.0 / (1.0 + f64::from(self.preferences_missed) / 4.0);
        (heat * 0.5 + projection * 0.3 + preferences * 0.2).clamp(0.0, 1.0)
    }
}

fn preferences_missed(requirement: &Requirement, plug: &impl Shows) -> u32 {
    let missed = requirement.demands.iter().filter(|d| {
        d.strength == Strength::Prefer && judge(d, plug.shown(d.attribute)) != Verdict::Meets
    });
    missed.count() as u32
}
