//! Tuning days: fresh plugs planned, priced and kept for a day of readings.

use std::collections::HashMap;

use plugwell_domain::attribute::Attr;
use plugwell_domain::build::Engine;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::fit::{StockMode, fits, judge, rules_out};
use plugwell_domain::ledger::commands::Reserve;
use plugwell_domain::ledger::{PlaceKind, Reservation, ReservationState};
use plugwell_domain::plug::{Plug, Shows};
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::Requirement;
use plugwell_domain::tuning_day::{
    DayPlan, DayQuantity, Filling, Offer, PlannedDay, StandingDay, TuningDay, put_in_order,
    requirement,
};
use plugwell_indexer::Question;
use plugwell_store::{Session, Stored, TuningDayFilter};
use uuid::Uuid;

use crate::service::conflict::Conflict;
use crate::service::matching::under;
use crate::service::shop::Touched;
use crate::service::stock::{self, By};
use crate::service::{Refusal, Shop, builds, new_id};

/// Parts that are priced, best fits first.
const LOOKED_AT: usize = 200;

/// One tuning day as it stands.
///
/// # Errors
/// `NotFound`.
pub fn get(shop: &Shop, id: Uuid) -> Result<Stored<StandingDay>, Refusal> {
    shop.store.read(|s| {
        let day = s.tuning_day(id)?.ok_or(Refusal::NotFound("tuning day"))?;
        standing(s, day)
    })
}

/// Tuning days in the order they were planned.
///
/// # Errors
/// Where the database fails.
pub fn list(
    shop: &Shop,
    filter: &TuningDayFilter,
    after: Option<Uuid>,
    limit: i64,
) -> Result<Vec<Stored<StandingDay>>, Refusal> {
    shop.store.read(|s| {
        let days = s.list_tuning_days(filter, after, limit)?;
        days.into_iter().map(|day| standing(s, day)).collect()
    })
}

/// A day with its reservation; its version counts the changes of both.
fn standing(
    session: &mut Session,
    day: Stored<PlannedDay>,
) -> Result<Stored<StandingDay>, Refusal> {
    let reservation = match day.data.reservation_id {
        None => None,
        Some(id) => session.reservation(id)?,
    };
    Ok(stood(day, reservation))
}

fn stood(day: Stored<PlannedDay>, reservation: Option<Reservation>) -> Stored<StandingDay> {
    Stored {
        id: day.id,
        version: day.version + reservation.as_ref().map_or(0, |r| r.version - 1),
        created_at: day.created_at,
        updated_at: day.updated_at,
        data: StandingDay {
            state: day.data.state(reservation.as_ref()),
            planned: day.data,
            reservation,
        },
    }
}

/// Plans a day: how many plugs, which part, what they cost; keeps them for it as far as they are
/// there, says what is short.
///
/// # Errors
/// Faults of the day, of the build and of the part that the caller names.
pub fn plan(
    shop: &Shop,
    session: &mut Session,
    by: &By<'_>,
    policy: &Policy,
    asked: &TuningDay,
) -> Result<(Stored<StandingDay>, Vec<Touched>), Refusal> {
    let today = by.at.date_naive();
    let (engine, needed) = needed(session, policy, asked)?;
    let quantity = quantity(asked, &engine, policy, today)?;
    let look = Look {
        shop,
        policy,
        needed: &needed,
        quantity: quantity.total,
    };
    let mut offers = match asked.plug_id {
        Some(id) => vec![look.named(session, id)?],
        None => look.best(session)?,
    };
    let reserve = asked.reserve.unwrap_or(true);
    if reserve {
        // Made before any part is locked, as every command does that keeps plugs for a job.
        session.place_for(PlaceKind::Job, asked.name.trim(), by.at, new_id())?;
        look.settle(session, &mut offers)?;
    }
    let fillings = match offers.first() {
        Some(offer) if !offer.enough => look.fillings(session)?,
        _ => Vec::new(),
    };
    let plan = DayPlan::of(
        asked,
        quantity,
        needed.clone(),
        offers,
        fillings,
        &policy.values,
        today,
    );
    let (reservation, touched) = match plan.proposed.as_ref().filter(|_| reserve) {
        Some(offer) => keep(session, by, asked, offer, quantity.total)?,
        None => (None, Vec::new()),
    };
    let day = Stored {
        id: new_id(),
        version: 1,
        created_at: by.at,
        updated_at: by.at,
        data: PlannedDay {
            asked: asked.clone(),
            plan,
            reservation_id: reservation.as_ref().map(|r| r.id),
            withdrawn_at: None,
        },
    };
    session.insert_tuning_day(&day)?;
    Ok((stood(day, reservation), touched))
}

/// The engine and what its reading plugs have to be.
fn needed(
    session: &mut Session,
    policy: &Policy,
    asked: &TuningDay,
) -> Result<(Engine, Requirement), Refusal> {
    let (build, outer) = match (&asked.build, asked.build_id) {
        (Some(build), _) => (build.clone(), Some("build")),
        (None, id) => {
            let found = id.map(|id| session.build(id)).transpose()?.flatten();
            let missing = Fault::at("build_id", FaultCode::NotFound, "there is no such build");
            (found.ok_or_else(|| Refusal::fault(missing))?.data, None)
        }
    };
    let metals = asked.electrode.as_deref();
    let derived = builds::resolved(session, &build).and_then(|(head, base)| {
        requirement(&build.engine, &head, base.as_ref(), metals, policy).map_err(Refusal::fault)
    });
    let needed = derived.map_err(|refusal| match outer {
        Some(outer) => under(outer, refusal),
        None => refusal,
    })?;
    Ok((build.engine, needed))
}

/// The plugs of the day; every fault of day and cylinders at once.
fn quantity(
    asked: &TuningDay,
    engine: &Engine,
    policy: &Policy,
    today: chrono::NaiveDate,
) -> Result<DayQuantity, Refusal> {
    let mut faults: Vec<Fault> = asked.day_fault(today).into_iter().collect();
    match DayQuantity::of(asked, engine, &policy.values) {
        Ok(quantity) if faults.is_empty() => Ok(quantity),
        Ok(_) => Err(Refusal::Faults(faults)),
        Err(fault) => {
            faults.push(fault);
            Err(Refusal::Faults(faults))
        }
    }
}

/// A look at what the shelf has for a day.
struct Look<'a> {
    shop: &'a Shop,
    policy: &'a Policy,
    needed: &'a Requirement,
    quantity: i64,
}

impl Look<'_> {
    /// What the parts that fit offer, in the order of preference: those there in full, else those
    /// there at all, else whatever the catalogue has.
    fn best(&self, session: &mut Session) -> Result<Vec<Offer>, Refusal> {
        let mut offers = self.offers(session, StockMode::Enough)?;
        // Gapped plugs count for a match, not for a reading.
        if offers.iter().any(|offer| offer.enough) {
            return Ok(offers);
        }
        offers = self.offers(session, StockMode::Some)?;
        if offers.iter().any(|o| o.available > 0 && o.orderable) {
            return Ok(offers);
        }
        self.offers(session, StockMode::Ignore)
    }

    fn offers(&self, session: &mut Session, stock: StockMode) -> Result<Vec<Offer>, Refusal> {
        let question = Question {
            requirement: self.needed,
            quantity: self.quantity,
            stock,
            limit: LOOKED_AT,
            near_misses: 0,
        };
        let found = {
            let shelves = self.shop.shelves.read();
            self.shop.index.search(&question, &shelves)?
        };
        let ids: Vec<Uuid> = found.fits.iter().map(|hit| hit.id).collect();
        let mut records: HashMap<Uuid, Plug> = session
            .plugs_by_id(&ids)?
            .into_iter()
            .map(|plug| (plug.id, plug))
            .collect();
        let mut shelves = session.shelves_in_bins(&ids)?;
        // The index may be a moment behind the records: what no longer fits is left out.
        let parts = ids
            .iter()
            .filter_map(|id| records.remove(id))
            .filter(|p| !p.retired && fits(self.needed, p));
        let mut offers: Vec<Offer> = parts
            .map(|plug| {
                let shelf = shelves.remove(&plug.id).unwrap_or_default();
                self.offer(&plug, &shelf)
            })
            .collect();
        put_in_order(&mut offers);
        Ok(offers)
    }

    fn offer(&self, plug: &Plug, shelf: &plugwell_domain::ledger::Shelf) -> Offer {
        let currency = &self.policy.values.currency.value;
        Offer::of(plug, self.needed, shelf, self.quantity, currency)
    }

    /// What the part offers that the caller names.
    fn named(&self, session: &mut Session, id: Uuid) -> Result<Offer, Refusal> {
        let refused = |code, detail: String| Refusal::fault(Fault::at("plug_id", code, detail));
        let plug = session
            .plug(id)?
            .ok_or_else(|| refused(FaultCode::NotFound, "there is no such part".into()))?;
        if plug.retired {
            let detail = "the part is retired; bring it back, or leave plug_id null".into();
            return Err(refused(FaultCode::Contradiction, detail));
        }
        let failed: Vec<&str> = self
            .needed
            .musts()
            .filter(|d| rules_out(d, judge(d, plug.shown(d.attribute))))
            .map(|d| Attr::word(d.attribute))
            .collect();
        if !failed.is_empty() {
            let detail = format!(
                "the part does not meet what the build needs of {}; a match says why",
                failed.join(", ")
            );
            return Err(refused(FaultCode::Contradiction, detail));
        }
        let shelf = session.shelf(id, &[])?;
        Ok(self.offer(&plug, &shelf))
    }

    /// Looks at the shelf of the first offer again under its lock, until the first is first still:
    /// somebody else may have taken plugs since it was looked at.
    fn settle(&self, session: &mut Session, offers: &mut [Offer]) -> Result<(), Refusal> {
        for _ in 0..offers.len() {
            let id = offers[0].plug.id;
            let Some(plug) = session.plug(id)? else {
                return Ok(());
            };
            let shelf = session.shelf(id, &[])?;
            offers[0] = self.offer(&plug, &shelf);
            put_in_order(offers);
            if offers[0].plug.id == id {
                return Ok(());
            }
        }
        Ok(())
    }

    /// What else lies sealed on the shelf.
    fn fillings(&self, session: &mut Session) -> Result<Vec<Filling>, Refusal> {
        let offers = self.offers(session, StockMode::Some)?;
        Ok(offers
            .iter()
            .filter(|offer| offer.available > 0)
            .map(Filling::from)
            .collect())
    }
}

/// Keeps the plugs of an offer for the day, as many as there are.
fn keep(
    session: &mut Session,
    by: &By<'_>,
    asked: &TuningDay,
    offer: &Offer,
    total: i64,
) -> Result<(Option<Reservation>, Vec<Touched>), Refusal> {
    let quantity = offer.available.min(total);
    if quantity == 0 {
        return Ok((None, Vec::new()));
    }
    let kept = Reserve {
        plug_id: offer.plug.id,
        quantity,
        job: asked.name.trim().to_owned(),
        expires_at: None,
    };
    let (outcome, touched) = stock::reserve(session, by, &kept)?;
    let made = outcome.reservations.into_iter().find(|r| r.version == 1);
    Ok((made, touched))
}

/// Calls a day off; what is still kept for it can be had by others.
///
/// # Errors
/// `NotFound`; `already_withdrawn`.
pub fn withdraw(
    session: &mut Session,
    by: &By<'_>,
    id: Uuid,
) -> Result<(Stored<StandingDay>, Vec<Touched>), Refusal> {
    let old = session
        .tuning_day(id)?
        .ok_or(Refusal::NotFound("tuning day"))?;
    let mut reservation = match old.data.reservation_id {
        None => None,
        Some(id) => session.reservation(id)?,
    };
    if let Some(kept) = &reservation {
        // Under the part's lock, under which reservations change.
        session.shelf(kept.plug_id, &[])?;
        reservation = session.reservation(kept.id)?;
    }
    let old = session.tuning_day(id)?.unwrap_or(old);
    if old.data.withdrawn_at.is_some() {
        return Err(Refusal::conflict(
            Conflict::AlreadyWithdrawn,
            "the tuning day was called off before",
        ));
    }
    let waiting = reservation
        .as_ref()
        .filter(|r| matches!(r.state, ReservationState::Open | ReservationState::Short))
        .map(|r| r.id);
    let mut touched = Vec::new();
    if let Some(own) = waiting {
        let (outcome, changed) = stock::release(session, by, own)?;
        reservation = outcome.reservations.into_iter().find(|r| r.id == own);
        touched = changed;
    }
    let mut day = Stored {
        version: old.version + 1,
        updated_at: by.at,
        ..old
    };
    day.data.withdrawn_at = Some(by.at);
    session.update_tuning_day(&day)?;
    Ok((stood(day, reservation), touched))
}
