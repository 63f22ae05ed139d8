//! The fitting card: all that whoever puts a set of plugs in has to know, for one build and one part.

use chrono::{DateTime, Utc};
use plugwell_domain::attribute::Attr;
use plugwell_domain::build::Build;
use plugwell_domain::caution::Caution;
use plugwell_domain::conversion::mm_to_inch;
use plugwell_domain::decimal::Length;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::fit::StockMode;
use plugwell_domain::fitting::{GapAdvice, Turn, gap_advice, how_to_gap, torque_of, turns};
use plugwell_domain::instant;
use plugwell_domain::ledger::rules::Rejection;
use plugwell_domain::ledger::{Condition, Reservation, ReservationState};
use plugwell_domain::plug::Plug;
use plugwell_domain::requirement::{Quantity, Requirement, TorqueNeed, Unanswered};
use plugwell_store::{Session, Stored};
use serde::Serialize;
use serde_json::{Map, Value};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::service::conflict::Conflict;
use crate::service::matching::{self, Asked, Fit, Judged, Subject};
use crate::service::{Refusal, Shop, builds, now};

/// The build that a card is for.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct CardBuild {
    /// Its identifier.
    pub id: Uuid,
    /// What the shop calls it.
    pub name: Option<String>,
    /// The version of it that the card was made for.
    pub version: i64,
}

/// The reservation that the plugs are drawn from.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct CardReservation {
    /// Its identifier.
    pub id: Uuid,
    /// The job that it keeps plugs for.
    pub job: String,
    /// Plugs that it still keeps.
    pub open_quantity: i64,
}

/// The gap to set, in both units.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct CardGap {
    /// What to do about it.
    pub advice: GapAdvice,
    /// The gap, with `set` alone.
    pub set_mm: Option<Length>,
    /// How far the plugs of the set may differ, either way.
    pub tolerance_mm: Length,
    /// The same gap in inches, to a ten-thousandth.
    pub set_in: Option<f64>,
    /// The same tolerance in inches.
    pub tolerance_in: f64,
    /// How to come to it.
    pub how: String,
}

/// Plugs of one lot in one place.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct CardPick {
    /// How many.
    pub quantity: i64,
    /// The lot.
    pub lot_id: Uuid,
    /// The code on its label.
    pub lot_code: String,
    /// Where it lies.
    pub place_id: Uuid,
    /// What the shop calls the place.
    pub place_name: String,
    /// The lot's condition.
    pub condition: Condition,
    /// The gap that a gapped lot is set to.
    pub gap_mm: Option<Length>,
}

/// All that whoever fits a set has to know.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct FittingCard {
    /// The build.
    pub build: CardBuild,
    /// When the card was made: stock and records may have changed since.
    #[serde(serialize_with = "instant::serialize")]
    pub made_at: DateTime<Utc>,
    /// The part.
    #[serde(skip)]
    pub plug: Plug,
    /// Plugs to take.
    pub quantity: Quantity,
    /// The reservation that was named; null where none was.
    pub reservation: Option<CardReservation>,
    /// Plugs that nobody has reserved, those of the named reservation among them.
    pub available: i64,
    /// Where to take them from: what there is, up to the quantity.
    pub picks: Vec<CardPick>,
    /// The gap.
    pub gap: CardGap,
    /// Torque on dry threads; null where nobody knows one.
    pub torque_nm: Option<TorqueNeed>,
    /// Turns from finger-tight, a cross-check of the torque.
    pub turns: Vec<Turn>,
    /// What nobody could answer for.
    pub unconfirmed: Vec<Attr>,
    /// What remains to be asked of the build.
    pub unanswered: Vec<Unanswered>,
    /// What to beware of.
    pub cautions: Vec<Caution>,
}

/// What a card is made for.
#[derive(Debug, Clone, Copy, Default)]
pub struct CardOf {
    /// The part.
    pub plug_id: Option<Uuid>,
    /// The reservation that the plugs are drawn from; it names its part.
    pub reservation_id: Option<Uuid>,
}

/// Makes the card of a stored build: for the part or the reservation that is named, else for the best fit of
/// which there are enough.
///
/// # Errors
/// `NotFound` for the build; faults where part or reservation are not there, or the reservation is for another
/// part; `reservation_closed`, `plug_retired`, `does_not_fit` with what fails; without either
/// `not_enough_stock` where no fit has the quantity.
pub fn card(shop: &Shop, build_id: Uuid, of: CardOf) -> Result<FittingCard, Refusal> {
    let build = builds::get(shop, build_id)?;
    let reservation = match of.reservation_id {
        Some(id) => Some(reserved(shop, id, of.plug_id)?),
        None => None,
    };
    let named_part = of.plug_id.or(reservation.as_ref().map(|r| r.plug_id));
    let plug_id = match named_part {
        Some(id) => id,
        None => best(shop, &build.data)?,
    };
    let policy = shop.policy();
    shop.store.read(|s| {
        let requirement = matching::requirement_of(s, &build.data, &policy)?;
        let fit = named(s, plug_id, &requirement, of.reservation_id)?;
        let picks = picks(s, &fit)?;
        let (head, _) = builds::resolved(s, &build.data)?;
        let turns = turns(head.thread, head.seat);
        let card = put_together(&build, requirement, fit, picks, turns);
        Ok(FittingCard {
            reservation: reservation.map(CardReservation::from),
            ..card
        })
    })
}

impl From<Reservation> for CardReservation {
    fn from(kept: Reservation) -> Self {
        Self {
            id: kept.id,
            job: kept.job,
            open_quantity: kept.open_quantity,
        }
    }
}

/// The reservation that was named, if it still keeps plugs of the part.
fn reserved(shop: &Shop, id: Uuid, part: Option<Uuid>) -> Result<Reservation, Refusal> {
    let fault = |code, detail: &str| Refusal::fault(Fault::at("reservation_id", code, detail));
    let found = shop.store.read(|s| Ok::<_, Refusal>(s.reservation(id)?))?;
    let found = found.ok_or_else(|| fault(FaultCode::NotFound, "there is no such reservation"))?;
    if part.is_some_and(|part| part != found.plug_id) {
        let detail = "the reservation is for another part";
        return Err(fault(FaultCode::Contradiction, detail));
    }
    let state = match found.is_due(now()) {
        true => ReservationState::Expired,
        false => found.state,
    };
    if state != ReservationState::Open {
        let detail = format!("the reservation is {state}");
        let closed = Conflict::Ledger(Rejection::ReservationClosed);
        return Err(Refusal::conflict(closed, detail));
    }
    Ok(found)
}

/// The best fit of which there are enough.
fn best(shop: &Shop, build: &Build) -> Result<Uuid, Refusal> {
    let asked = |stock| Asked {
        stock,
        limit: 1,
        near_misses: 0,
        ..Asked::of(Subject::Build(Box::new(build.clone())))
    };
    let enough = matching::find(shop, &asked(StockMode::Enough))?;
    if let Some(fit) = enough.fits.first() {
        return Ok(fit.plug.id);
    }
    let any = matching::find(shop, &asked(StockMode::Ignore))?;
    let Some(fit) = any.fits.first() else {
        let detail = "no part of the catalogue meets every must of this build";
        return Err(Refusal::conflict(Conflict::DoesNotFit, detail));
    };
    let detail = too_few(any.fits_in_catalogue, any.quantity);
    let members = [
        ("plug_id", Value::from(fit.plug.id.to_string())),
        ("available", fit.available.into()),
        ("on_hand", fit.on_hand.into()),
    ];
    Err(Refusal::Conflict {
        conflict: Conflict::Ledger(Rejection::NotEnoughStock),
        detail,
        members: Map::from_iter(members.map(|(name, value)| (name.to_owned(), value))),
    })
}

fn too_few(parts: u64, quantity: i64) -> String {
    let (none, which) = match parts {
        1 => ("The one part that fits does not have".to_owned(), "it"),
        _ => (format!("None of the {parts} parts that fit has"), "one"),
    };
    format!(
        "{none} {quantity} available; name {which} with ?plug_id= to have its card all the same."
    )
}

/// The part that was named, if it fits.
fn named(
    session: &mut Session,
    id: Uuid,
    requirement: &Requirement,
    own: Option<Uuid>,
) -> Result<Fit, Refusal> {
    let plug = session.plug(id)?.ok_or_else(|| {
        let detail = "there is no such part";
        Refusal::fault(Fault::at("plug_id", FaultCode::NotFound, detail))
    })?;
    let name = format!("{} {}", plug.data.maker, plug.data.part_number);
    if plug.retired {
        let detail = format!("{name} is retired");
        return Err(Refusal::conflict(
            Conflict::Ledger(Rejection::PlugRetired),
            detail,
        ));
    }
    let quantity = i64::from(requirement.quantity.total.unwrap_or(1));
    matching::one(session, plug, requirement, quantity, own)?.map_err(|fails| {
        let told: Vec<_> = fails.iter().map(Judged::told).collect();
        let fails = fails.iter().map(|judged| Value::Object(judged.to_map()));
        Refusal::Conflict {
            conflict: Conflict::DoesNotFit,
            detail: format!("{name} does not fit: {}", told.join("; ")),
            members: Map::from_iter([("fails".to_owned(), fails.collect())]),
        }
    })
}

fn picks(session: &mut Session, fit: &Fit) -> Result<Vec<CardPick>, Refusal> {
    let mut picks = Vec::new();
    for pick in &fit.picks {
        let lot = session.lot(pick.lot_id)?.ok_or(Refusal::NotFound("lot"))?;
        let place = session
            .place(pick.place.id)?
            .ok_or(Refusal::NotFound("place"))?;
        picks.push(CardPick {
            quantity: pick.quantity,
            lot_id: lot.id,
            lot_code: lot.code,
            place_id: place.id,
            place_name: place.name,
            condition: lot.condition,
            gap_mm: lot.gap_mm,
        });
    }
    Ok(picks)
}

fn put_together(
    build: &Stored<Build>,
    requirement: Requirement,
    fit: Fit,
    picks: Vec<CardPick>,
    turns: Vec<Turn>,
) -> FittingCard {
    let inches = |mm: Length| (mm_to_inch(mm.get()) * 1e4).round() / 1e4;
    let tolerance_mm = requirement.gap.tolerance_mm;
    let advice = gap_advice(&fit.plug.data, &requirement);
    let mut cautions = fit.cautions;
    // What is said of this very part stands for what is said of any.
    let general = requirement.cautions.into_iter();
    let general = general.filter(|any| cautions.iter().all(|own| own.code != any.code));
    let general: Vec<_> = general.collect();
    cautions.extend(general);
    FittingCard {
        build: CardBuild {
            id: build.id,
            name: build.data.name.clone(),
            version: build.version,
        },
        made_at: now(),
        quantity: requirement.quantity,
        reservation: None,
        available: fit.available,
        picks,
        gap: CardGap {
            advice,
            set_mm: fit.set_gap_mm,
            tolerance_mm,
            set_in: fit.set_gap_mm.map(inches),
            tolerance_in: inches(tolerance_mm),
            how: how_to_gap(&fit.plug.data, fit.set_gap_mm, advice),
        },
        torque_nm: torque_of(&fit.plug.data, requirement.torque_nm.as_ref()),
        turns,
        unconfirmed: fit.unconfirmed,
        unanswered: requirement.unanswered,
        cautions,
        plug: fit.plug,
    }
}
