//! A tuning day: every pull is read on fresh plugs, so it eats pulls × cylinders read × plugs, plus
//! spares. The plan says how many, which part, what it costs and what is short.
//!
//! [`Offer`] puts a price to a part as it lies on the shelf, [`put_in_order`] finds the one to
//! take, [`Short`] says what is missing and by when it has to be ordered.

mod offer;
mod short;
mod standing;
mod why;

use chrono::{DateTime, NaiveDate, NaiveTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::attribute::Attr;
use crate::build::{Build, Engine, Head, bound_fault};
use crate::caution::{Caution, CautionCode};
use crate::decimal::HeatIndex;
use crate::fault::{Check, Fault, FaultCode, name_fault};
use crate::plug::Plug;
use crate::policy::{Policy, Values};
use crate::requirement::{Requirement, Strength, Unanswered, derive};
use crate::wording::counted;
use crate::words::{Electrode, closed_list};

pub use offer::{Cost, LotShare, Offer, put_in_order};
pub use short::{Filling, Short};
pub use standing::{DayState, PlannedDay, StandingDay};

/// How far ahead a day can be planned, in days: further is a slip of the year.
pub const FURTHEST_DAYS: i64 = 731;
/// Pulls of one day.
pub const PULLS: std::ops::RangeInclusive<u32> = 1..=100;

/// A tuning day as it is asked for: exactly one of `build` and `build_id`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct TuningDay {
    /// What the shop calls it; its plugs are reserved for a job of this name.
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub name: String,
    /// The build, in full or over a stored head.
    #[serde(default)]
    pub build: Option<Build>,
    /// A stored build.
    #[serde(default)]
    pub build_id: Option<Uuid>,
    /// The day: from today (UTC) to two years ahead.
    pub day: NaiveDate,
    /// Full-load pulls or passes, each on fresh plugs.
    #[cfg_attr(feature = "schema", schema(minimum = 1, maximum = 100))]
    pub pulls: u32,
    /// Cylinders that are read at each pull; all where null.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(minimum = 1, maximum = 16))]
    pub cylinders_read: Option<u32>,
    /// Spare plugs for the day; the build's, else the policy's for one set, where null.
    #[serde(default)]
    pub spares: Option<u32>,
    /// The part to read on; the least costly that meets the requirement where null.
    #[serde(default)]
    pub plug_id: Option<Uuid>,
    /// Tip metals that the tuner insists on for the reading; any where null, whatever the build
    /// itself asks for: reading plugs are used once.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_items = 1))]
    pub electrode: Option<Vec<Electrode>>,
    /// Whether the plugs are reserved; yes where null.
    #[serde(default)]
    pub reserve: Option<bool>,
}

impl Check for TuningDay {
    fn faults(&self) -> Vec<Fault> {
        let mut faults: Vec<Fault> = name_fault("name", Some(&self.name)).into_iter().collect();
        match (&self.build, self.build_id) {
            (None, None) => faults.push(Fault::at(
                "build_id",
                FaultCode::Missing,
                "give build or build_id",
            )),
            (Some(_), Some(_)) => faults.push(Fault::at(
                "build_id",
                FaultCode::NotTogether,
                "give either build or build_id, not both",
            )),
            _ => {}
        }
        let build = self.build.iter().flat_map(Check::faults);
        faults.extend(build.map(|f| f.under("build")));
        if !PULLS.contains(&self.pulls) {
            let detail = format!("a day has 1 to 100 pulls, not {}", self.pulls);
            faults.push(Fault::at("pulls", FaultCode::OutOfRange, detail));
        }
        if self.cylinders_read == Some(0) {
            let detail = "at least one cylinder is read; leave it null for all";
            faults.push(Fault::at("cylinders_read", FaultCode::OutOfRange, detail));
        }
        faults.extend(self.spares.and_then(|n| bound_fault("spares", n.into())));
        if self.electrode.as_ref().is_some_and(Vec::is_empty) {
            let detail = "an empty list rules out every metal; leave it null to accept any";
            faults.push(Fault::at("electrode", FaultCode::OutOfRange, detail));
        }
        faults
    }
}

impl TuningDay {
    /// The fault of a day that has passed or lies too far ahead.
    pub fn day_fault(&self, today: NaiveDate) -> Option<Fault> {
        let last = today + TimeDelta::days(FURTHEST_DAYS);
        let detail = if self.day < today {
            format!("{} has passed; today is {today}", self.day)
        } else if self.day > last {
            format!("{} is too far ahead; at most {last}", self.day)
        } else {
            return None;
        };
        Some(Fault::at("day", FaultCode::OutOfRange, detail))
    }

    /// What to beware of on any such day.
    fn cautions(&self) -> Vec<Caution> {
        let changes = format!("This day changes plugs {} times.", self.pulls);
        vec![
            Caution::of(CautionCode::FreshPlugsOnly),
            Caution::of(CautionCode::LeadsSuffer).with(changes),
        ]
    }

    /// The last day to order what it lacks.
    pub fn order_by(&self, values: &Values) -> NaiveDate {
        self.day - TimeDelta::days(values.order_lead_days.value.into())
    }

    /// Until when plugs are kept for it: the end of the day (UTC), and the policy's days more.
    pub fn kept_until(&self, values: &Values) -> DateTime<Utc> {
        let days = 1 + i64::from(values.tuning_day_kept_days.value);
        (self.day + TimeDelta::days(days))
            .and_time(NaiveTime::MIN)
            .and_utc()
    }
}

/// How many fresh plugs a day takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct DayQuantity {
    /// Pulls.
    pub pulls: u32,
    /// Cylinders read at each.
    pub cylinders_read: u32,
    /// Plugs in each of them.
    pub plugs_per_cylinder: u32,
    /// Spares.
    pub spares: u32,
    /// Pulls × cylinders read × plugs per cylinder + spares.
    pub total: i64,
}

impl DayQuantity {
    /// What a day takes of an engine.
    ///
    /// # Errors
    /// A [`Fault`] where more cylinders would be read than there are.
    pub fn of(asked: &TuningDay, engine: &Engine, values: &Values) -> Result<Self, Fault> {
        let cylinders_read = asked.cylinders_read.unwrap_or(engine.cylinders);
        if cylinders_read > engine.cylinders {
            let detail = format!(
                "the engine has {}, {cylinders_read} cannot be read",
                counted(engine.cylinders, "cylinder")
            );
            return Err(Fault::at(
                "cylinders_read",
                FaultCode::Contradiction,
                detail,
            ));
        }
        let plugs_per_cylinder = engine.plugs_per_cylinder.unwrap_or(1);
        let spares = asked
            .spares
            .or(engine.spares)
            .unwrap_or(values.spares_per_set.value);
        let total =
            i64::from(asked.pulls) * i64::from(cylinders_read) * i64::from(plugs_per_cylinder)
                + i64::from(spares);
        Ok(Self {
            pulls: asked.pulls,
            cylinders_read,
            plugs_per_cylinder,
            spares,
            total,
        })
    }
}

/// What a plug has to be to be read in an engine: all that the engine asks for, but the metal is
/// free unless the caller names some for the reading.
///
/// # Errors
/// As [`derive()`].
pub fn requirement(
    engine: &Engine,
    head: &Head,
    base: Option<&Plug>,
    electrode: Option<&[Electrode]>,
    policy: &Policy,
) -> Result<Requirement, Fault> {
    let engine = Engine {
        electrode: electrode.map(<[Electrode]>::to_vec),
        ..engine.clone()
    };
    let mut needed = derive(&engine, head, base, policy)?;
    needed
        .demands
        .retain(|d| d.attribute != Attr::Electrode || d.strength == Strength::Must);
    Ok(needed)
}

closed_list! {
    /// How the part of a plan was come by.
    Choice, "way of choosing a part" {
        /// The caller named it.
        Named = "named",
        /// The least costly of those that lie sealed on the shelf in full.
        InFull = "in_full",
        /// None is there in full: of those that are there at all the least costly, or where the rest
        /// cannot be ordered in time the one that lacks least.
        InPart = "in_part",
        /// None is there at all: the one that comes first in the order of fits.
        NotOnShelf = "not_on_shelf",
        /// Nothing in the catalogue meets the requirement.
        NothingFits = "nothing_fits",
    }
}

/// The plan as it was made, from what lay on the shelf then.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct DayPlan {
    /// The policy that it was made with.
    pub policy_version: i64,
    /// Fresh plugs, with the arithmetic.
    pub quantity: DayQuantity,
    /// Heat that the engine asks for: never hotter.
    pub target_heat_index: Option<HeatIndex>,
    /// How the part was come by.
    pub choice: Choice,
    /// The same in a sentence.
    pub why: String,
    /// The one part for the whole day; null where nothing fits.
    pub proposed: Option<Offer>,
    /// What else fits and was looked at, in the order of preference, five at the most.
    pub others: Vec<Offer>,
    /// What is missing, by when it has to be ordered and what could stand in; null where nothing is.
    pub short: Option<Short>,
    /// What to beware of.
    pub cautions: Vec<Caution>,
    /// What remains to be asked about the build.
    pub unanswered: Vec<Unanswered>,
}

/// Most other parts that a plan shows.
const OTHERS: usize = 5;

/// What was looked at for a day.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Looked {
    /// Parts that meet the requirement, the chosen first.
    pub offers: Vec<Offer>,
    /// How many were priced, where there are more.
    pub nearest: Option<usize>,
    /// What other parts have lying sealed.
    pub fillings: Vec<Filling>,
}

impl DayPlan {
    /// The plan for a day, by what was looked at.
    pub fn of(
        asked: &TuningDay,
        quantity: DayQuantity,
        needed: Requirement,
        looked: Looked,
        values: &Values,
        today: NaiveDate,
    ) -> Self {
        let Looked {
            mut offers,
            nearest,
            fillings,
        } = looked;
        let in_full = offers.iter().filter(|offer| offer.enough).count();
        let fullest = offers.iter().max_by_key(|offer| offer.available).cloned();
        let proposed = (!offers.is_empty()).then(|| offers.remove(0));
        offers.truncate(OTHERS);
        let choice = match &proposed {
            None => Choice::NothingFits,
            Some(_) if asked.plug_id.is_some() => Choice::Named,
            Some(offer) if offer.enough => Choice::InFull,
            Some(offer) if offer.available > 0 => Choice::InPart,
            Some(_) => Choice::NotOnShelf,
        };
        let there = proposed.as_ref().map_or(0, |offer| offer.available);
        let lacking = quantity.total - there.min(quantity.total);
        let short = (lacking > 0).then(|| {
            let heat = proposed.as_ref().and_then(|offer| offer.plug.heat_index);
            let other = |f: &Filling| {
                heat.is_some()
                    && f.plug.heat_index == heat
                    && proposed.as_ref().is_none_or(|own| own.plug.id != f.plug.id)
            };
            let pack_size = proposed.as_ref().and_then(|offer| offer.pack_size);
            Short {
                quantity: lacking,
                pack_size,
                packs: pack_size.map(|size| lacking / size + i64::from(lacking % size > 0)),
                order_by: asked.order_by(values),
                days_late: 0,
                text: String::new(),
                fill_with: fillings.into_iter().filter(other).take(OTHERS).collect(),
            }
            .told(values.order_lead_days.value, today, proposed.as_ref())
        });
        let mut cautions = asked.cautions();
        cautions.extend(needed.cautions);
        Self {
            policy_version: needed.policy_version.unwrap_or_default(),
            quantity,
            target_heat_index: needed.heat.target_index,
            why: why::Why {
                choice,
                in_full,
                in_time: today <= asked.order_by(values),
                lacking,
                proposed: proposed.as_ref(),
                fullest: fullest.as_ref(),
                nearest,
            }
            .told(),
            choice,
            proposed,
            others: offers,
            short,
            cautions,
            unanswered: needed.unanswered,
        }
    }
}
