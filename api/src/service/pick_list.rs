//! The pick list of a job: what is kept for it, where it lies, in the order of the bins.

use std::collections::{BTreeMap, HashMap};

use chrono::{DateTime, Utc};
use plugwell_domain::attribute::Attr;
use plugwell_domain::caution::Caution;
use plugwell_domain::decimal::Length;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::fit::StockMode;
use plugwell_domain::fitting::{GapAdvice, gap_advice, how_to_gap};
use plugwell_domain::instant;
use plugwell_domain::ledger::rules::{Wanted, picks_of_issue};
use plugwell_domain::ledger::{Condition, Place, PlaceKind, Reservation, Shelf};
use plugwell_domain::plug::Plug;
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::{Requirement, set_gap_of, unconfirmed_of};
use plugwell_store::Session;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use crate::service::judged::{beware_of, ruled_out};
use crate::service::matching::{self, Judged, Subject, requirement_of};
use crate::service::stock::{InStead, instead};
use crate::service::{Refusal, Shop, now};

/// What is said of the gap where nobody says which engine the plugs go into.
const NO_BUILD: &str = "No gap can be told without the build: say which build the plugs are for.";

/// Plugs of one lot to be taken out of one bin: one row of the list.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct PickLine {
    /// The bin.
    pub place_id: Uuid,
    /// The code on its label.
    pub place_code: String,
    /// What the shop calls it.
    pub place_name: String,
    /// The lot.
    pub lot_id: Uuid,
    /// The code on its label.
    pub lot_code: String,
    /// The part.
    pub plug_id: Uuid,
    /// Its maker.
    pub maker: String,
    /// Its part number.
    pub part_number: String,
    /// How many to take.
    pub quantity: i64,
    /// The lot's condition.
    pub condition: Condition,
    /// The gap that a gapped lot has already.
    pub gap_mm: Option<Length>,
    /// The gap to set; null where `advice` says why there is none.
    pub set_gap_mm: Option<Length>,
    /// What to do about the gap.
    pub advice: GapAdvice,
    /// The reservation to issue it on; null for what a match would pick.
    pub reservation_id: Option<Uuid>,
    /// Running number of the bin: their order.
    #[serde(skip)]
    place_number: i64,
}

/// A part that the job wants.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct PickPart {
    /// The part.
    pub plug_id: Uuid,
    /// Its maker.
    pub maker: String,
    /// Its part number.
    pub part_number: String,
    /// The reservation that keeps it; null for what a match would pick.
    pub reservation_id: Option<Uuid>,
    /// When that runs out.
    #[serde(serialize_with = "instant::serialize_option")]
    pub expires_at: Option<DateTime<Utc>>,
    /// The build that it is for.
    pub build_id: Option<Uuid>,
    /// What the shop calls the build.
    pub build_name: Option<String>,
    /// Plugs wanted.
    pub quantity: i64,
    /// Plugs that the lines take.
    pub picked: i64,
    /// Plugs that are not there.
    pub missing: i64,
    /// The gap to set.
    pub set_gap_mm: Option<Length>,
    /// What to do about it.
    pub advice: GapAdvice,
    /// How to come to it, or why there is none.
    pub how: String,
    /// Whether it fits the build; null without one.
    pub fits: Option<bool>,
    /// Why it does not.
    pub fails: Vec<String>,
    /// What nobody could answer for.
    pub unconfirmed: Vec<Attr>,
    /// Where some are missing: what is equal to it and on the shelf, never hotter.
    pub equivalents: Vec<InStead>,
}

/// The pick list of a job.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct PickList {
    /// The job, by name.
    pub job: String,
    /// When the list was made: the stock may have changed since.
    #[serde(serialize_with = "instant::serialize")]
    pub made_at: DateTime<Utc>,
    /// What to take, in the order of the bins.
    pub lines: Vec<PickLine>,
    /// What the job wants, in the order that it was reserved.
    pub parts: Vec<PickPart>,
    /// What to beware of.
    pub cautions: Vec<Caution>,
}

/// What one line of wants is made from.
struct Want {
    plug_id: Uuid,
    quantity: i64,
    reservation: Option<Reservation>,
    build_id: Option<Uuid>,
}

/// A build with what it needs.
struct Needed {
    name: Option<String>,
    requirement: Requirement,
}

/// Makes the list of a job: of its open reservations and, where a build is named for which none is
/// open, of what the build's match would pick.
///
/// # Errors
/// Faults of the query where there is no such job or build.
pub fn of_job(shop: &Shop, job: &str, build_id: Option<Uuid>) -> Result<PickList, Refusal> {
    let job = job.trim();
    let at = now();
    let (place, mut wants) = shop.store.read(|s| wanted(s, job, build_id, at))?;
    let open = wants.iter().any(|want| want.build_id == build_id);
    if let Some(id) = build_id.filter(|_| !open) {
        wants.extend(matched(shop, id)?);
    } else if place.is_none() && build_id.is_none() {
        let fault = Fault::at("job", FaultCode::NotFound, "there is no such job");
        return Err(Refusal::fault(fault));
    }
    let policy = shop.policy();
    let mut list = shop.store.read(|s| put_together(s, &wants, &policy, at))?;
    for part in list.parts.iter_mut().filter(|part| part.missing > 0) {
        part.equivalents = instead(shop, part.plug_id, part.missing)?;
    }
    list.job = place.map_or_else(|| job.to_owned(), |place| place.name);
    Ok(list)
}

/// The job and what is kept for it; a build that is asked for is that of reservations without one.
fn wanted(
    session: &mut Session,
    job: &str,
    build_id: Option<Uuid>,
    at: DateTime<Utc>,
) -> Result<(Option<Place>, Vec<Want>), Refusal> {
    let place = session.place_named(PlaceKind::Job, job)?;
    let open = session.waiting_reservations_for(job)?;
    let wants = open.into_iter().filter(|r| r.holds(at)).map(|r| Want {
        plug_id: r.plug_id,
        quantity: r.open_quantity,
        build_id: r.build_id.or(build_id),
        reservation: Some(r),
    });
    Ok((place, wants.collect()))
}

/// What the match of a build would pick: its best fit of which there are enough, else of which there
/// are any.
fn matched(shop: &Shop, build_id: Uuid) -> Result<Option<Want>, Refusal> {
    let mut asked = matching::Asked::of(Subject::Stored(build_id));
    asked.limit = 1;
    asked.near_misses = 0;
    for stock in [StockMode::Enough, StockMode::Some, StockMode::Ignore] {
        asked.stock = stock;
        let found = matching::find(shop, &asked)?;
        if let Some(best) = found.fits.first() {
            return Ok(Some(Want {
                plug_id: best.plug.id,
                quantity: found.quantity,
                reservation: None,
                build_id: Some(build_id),
            }));
        }
    }
    Ok(None)
}

fn put_together(
    session: &mut Session,
    wants: &[Want],
    policy: &Policy,
    at: DateTime<Utc>,
) -> Result<PickList, Refusal> {
    let ids: Vec<Uuid> = wants.iter().map(|want| want.plug_id).collect();
    let records = session.plugs_by_id(&ids)?;
    let plugs: HashMap<Uuid, Plug> = records.into_iter().map(|plug| (plug.id, plug)).collect();
    let mut shelves = session.shelves_in_bins(&ids)?;
    let builds = needed(session, wants, policy)?;
    let mut list = PickList {
        job: String::new(),
        made_at: at,
        lines: Vec::new(),
        parts: Vec::new(),
        cautions: Vec::new(),
    };
    for want in wants {
        let Some(plug) = plugs.get(&want.plug_id) else {
            continue;
        };
        let need = want.build_id.and_then(|id| builds.get(&id));
        let shelf = shelves.entry(plug.id).or_default();
        let mut part = part_of(want, plug, need);
        let lines = taken(session, shelf, want, plug, &part, policy, at)?;
        part.picked = lines.iter().map(|line| line.quantity).sum();
        part.missing = part.quantity - part.picked;
        list.lines.extend(lines);
        for caution in beware_of(plug, need.map(|need| &need.requirement), policy) {
            if list.cautions.iter().all(|c| c.code != caution.code) {
                list.cautions.push(caution);
            }
        }
        list.parts.push(part);
    }
    list.lines
        .sort_by(|a, b| (a.place_number, &a.lot_code).cmp(&(b.place_number, &b.lot_code)));
    Ok(list)
}

/// What each build needs that the list is for.
fn needed(
    session: &mut Session,
    wants: &[Want],
    policy: &Policy,
) -> Result<BTreeMap<Uuid, Needed>, Refusal> {
    let mut builds = BTreeMap::new();
    for id in wants.iter().filter_map(|want| want.build_id) {
        if builds.contains_key(&id) {
            continue;
        }
        let build = matching::stored_build(session, id)?;
        let requirement = requirement_of(session, &build, policy)?;
        let needed = Needed {
            name: build.name,
            requirement,
        };
        builds.insert(id, needed);
    }
    Ok(builds)
}

fn part_of(want: &Want, plug: &Plug, need: Option<&Needed>) -> PickPart {
    let requirement = need.map(|need| &need.requirement);
    let fails = requirement.map(|needed| ruled_out(plug, needed));
    let set_gap_mm = requirement.and_then(|needed| set_gap_of(plug, needed).0);
    let advice = requirement.map_or(GapAdvice::Unknown, |needed| gap_advice(&plug.data, needed));
    let how = match requirement {
        None => NO_BUILD.to_owned(),
        Some(_) => how_to_gap(&plug.data, set_gap_mm, advice),
    };
    let fails_told = fails.iter().flatten().map(Judged::told).collect();
    PickPart {
        plug_id: plug.id,
        maker: plug.data.maker.clone(),
        part_number: plug.data.part_number.clone(),
        reservation_id: want.reservation.as_ref().map(|r| r.id),
        expires_at: want.reservation.as_ref().and_then(|r| r.expires_at),
        build_id: want.build_id,
        build_name: need.and_then(|need| need.name.clone()),
        quantity: want.quantity,
        picked: 0,
        missing: 0,
        set_gap_mm,
        advice,
        how,
        fits: fails.map(|fails| fails.is_empty()),
        fails: fails_told,
        unconfirmed: requirement.map_or_else(Vec::new, |needed| unconfirmed_of(plug, needed)),
        equivalents: Vec::new(),
    }
}

/// The lines that an issue of it would take, which the shelf then lacks for what follows.
fn taken(
    session: &mut Session,
    shelf: &mut Shelf,
    want: &Want,
    plug: &Plug,
    part: &PickPart,
    policy: &Policy,
    at: DateTime<Utc>,
) -> Result<Vec<PickLine>, Refusal> {
    let wanted = Wanted {
        quantity: want.quantity,
        gap_mm: part.set_gap_mm,
        tolerance: policy.values.gap_tolerance_mm.value,
        lot_id: None,
        place_id: None,
        reservation_id: part.reservation_id,
    };
    let picks = picks_of_issue(shelf, &wanted, at);
    let mut lines = Vec::with_capacity(picks.len());
    for pick in &picks {
        let place = session
            .place(pick.place.id)?
            .ok_or_else(|| Refusal::Fault("a bin without a place".into()))?;
        let (Some(lot), Some(held)) = (
            shelf.lots.iter().find(|lot| lot.id == pick.lot_id),
            shelf.holding(pick),
        ) else {
            return Err(Refusal::Fault("a pick from no lot".into()));
        };
        lines.push(PickLine {
            place_id: place.id,
            place_code: place.code,
            place_name: place.name,
            lot_id: lot.id,
            lot_code: lot.code.clone(),
            plug_id: plug.id,
            maker: plug.data.maker.clone(),
            part_number: plug.data.part_number.clone(),
            quantity: pick.quantity,
            condition: lot.condition,
            gap_mm: lot.gap_mm,
            set_gap_mm: part.set_gap_mm,
            advice: part.advice,
            reservation_id: part.reservation_id,
            place_number: held.place_number,
        });
    }
    shelf.take_out(&picks, part.reservation_id);
    Ok(lines)
}
