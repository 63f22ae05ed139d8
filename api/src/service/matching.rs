//! From a build to what it needs, and from there to the plugs on the shelf that meet it.

mod offered;

use std::collections::HashMap;
use std::time::Instant;

use plugwell_domain::attribute::Attr;
use plugwell_domain::build::Build;
use plugwell_domain::caution::{Caution, CautionCode};
use plugwell_domain::decimal::Length;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::fit::StockMode;
use plugwell_domain::ledger::rules::Pick;
use plugwell_domain::plug::Plug;
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::{
    Requirement, derive, fit_cautions, of_part, set_gap_of, unconfirmed_of,
};
use plugwell_indexer::{Hit, Question};
use plugwell_store::Session;
use uuid::Uuid;

use crate::service::conflict::Conflict;
use crate::service::judged::ruled_out;
pub use crate::service::judged::{Judged, verdicts};
use crate::service::{Refusal, Shop, builds};
use offered::{Stock, picked};
pub(super) use offered::{offered, one};

/// What a match is made for.
#[derive(Debug, Clone)]
pub enum Subject {
    /// A build, in full or over a stored head.
    Build(Box<Build>),
    /// A stored build.
    Stored(Uuid),
    /// A requirement that the caller brings.
    Requirement(Box<Requirement>),
    /// A part whose equivalents are wanted.
    Part(Uuid),
}

/// A question for plugs.
#[derive(Debug, Clone)]
pub struct Asked {
    /// What for.
    pub subject: Subject,
    /// Plugs wanted; the requirement's total where `None`.
    pub quantity: Option<i64>,
    /// How much has to be there.
    pub stock: StockMode,
    /// Most fits answered.
    pub limit: usize,
    /// Most near misses answered.
    pub near_misses: usize,
}

impl Asked {
    /// The question with what is taken where the caller says nothing.
    pub fn of(subject: Subject) -> Self {
        Self {
            subject,
            quantity: None,
            stock: StockMode::Enough,
            limit: 20,
            near_misses: 5,
        }
    }
}

/// A plug that fits.
#[derive(Debug, Clone)]
pub struct Fit {
    /// The record.
    pub plug: Plug,
    /// Plugs that nobody has reserved.
    pub available: i64,
    /// Plugs in bins.
    pub on_hand: i64,
    /// Shows the order only.
    pub closeness: f64,
    /// The gap to set on this plug.
    pub set_gap_mm: Option<Length>,
    /// Every demand.
    pub verdicts: Vec<Judged>,
    /// What nobody could answer for.
    pub unconfirmed: Vec<Attr>,
    /// Where to take the plugs from.
    pub picks: Vec<Pick>,
    /// What to beware of.
    pub cautions: Vec<Caution>,
}

/// A plug that one must alone rules out.
#[derive(Debug, Clone)]
pub struct NearMiss {
    /// The record.
    pub plug: Plug,
    /// Plugs that nobody has reserved.
    pub available: i64,
    /// The must, or both gap musts.
    pub fails: Vec<Judged>,
    /// What to beware of, for each of `fails`.
    pub caution: Option<Caution>,
}

/// The answer.
#[derive(Debug, Clone)]
pub struct Matched {
    /// What was asked for.
    pub requirement: Requirement,
    /// Plugs wanted.
    pub quantity: i64,
    /// What fits, best first.
    pub fits: Vec<Fit>,
    /// What nearly does, best first.
    pub near_misses: Vec<NearMiss>,
    /// Records that pass every must.
    pub fits_in_catalogue: u64,
    /// Those of them of which there are enough.
    pub fits_in_stock: u64,
}

/// What a build needs.
///
/// # Errors
/// Faults where it points to records that there are not.
pub fn requirement(shop: &Shop, build: &Build) -> Result<Requirement, Refusal> {
    let policy = shop.policy();
    shop.store.read(|s| requirement_of(s, build, &policy))
}

pub(super) fn requirement_of(
    session: &mut Session,
    build: &Build,
    policy: &Policy,
) -> Result<Requirement, Refusal> {
    let (head, base) = builds::resolved(session, build)?;
    derive(&build.engine, &head, base.as_ref(), policy).map_err(Refusal::fault)
}

pub(super) fn requirement_for(
    session: &mut Session,
    subject: &Subject,
    policy: &Policy,
) -> Result<Requirement, Refusal> {
    match subject {
        Subject::Build(build) => {
            requirement_of(session, build, policy).map_err(|e| under("build", e))
        }
        Subject::Stored(id) => {
            let build = stored_build(session, *id)?;
            requirement_of(session, &build, policy)
        }
        Subject::Requirement(given) => {
            let mut requirement = (**given).clone();
            requirement.gap.tolerance_mm = policy.values.gap_tolerance_mm.value;
            Ok(requirement)
        }
        Subject::Part(id) => {
            let plug = session.plug(*id)?.ok_or_else(|| {
                Refusal::fault(Fault::at(
                    "plug_id",
                    FaultCode::NotFound,
                    "there is no such part",
                ))
            })?;
            of_part(&plug, policy).map_err(|lacks| incomplete(&lacks))
        }
    }
}

/// A part that lacks what its equivalents are found by.
pub fn incomplete(lacks: &[Attr]) -> Refusal {
    let lacks: Vec<_> = lacks.iter().map(|a| a.word()).collect();
    let detail = format!("nobody has established {} of this part", lacks.join(", "));
    Refusal::conflict(Conflict::RequirementIncomplete, detail)
}

/// The stored build that a body points to by `build_id`.
pub(super) fn stored_build(session: &mut Session, id: Uuid) -> Result<Build, Refusal> {
    let found = session.build(id)?.ok_or_else(|| {
        Refusal::fault(Fault::at(
            "build_id",
            FaultCode::NotFound,
            "there is no such build",
        ))
    })?;
    Ok(found.data)
}

/// The faults of a refusal, seen from one level further out.
pub(super) fn under(outer: &str, refusal: Refusal) -> Refusal {
    match refusal {
        Refusal::Faults(faults) => {
            Refusal::Faults(faults.into_iter().map(|f| f.under(outer)).collect())
        }
        other => other,
    }
}

/// Finds the plugs that meet a question, in stock as it is after the last answered movement.
///
/// # Errors
/// Faults where the subject points to records that there are not; `requirement_incomplete` for a
/// part that lacks what its equivalents are found by.
pub fn find(shop: &Shop, asked: &Asked) -> Result<Matched, Refusal> {
    let policy = shop.policy();
    let requirement = shop
        .store
        .read(|s| requirement_for(s, &asked.subject, &policy))?;
    meet(shop, requirement, asked)
}

/// Finds the plugs that meet a requirement, whatever it was made for.
///
/// # Errors
/// Where database or index fail.
pub(super) fn meet(
    shop: &Shop,
    requirement: Requirement,
    asked: &Asked,
) -> Result<Matched, Refusal> {
    let started = Instant::now();
    let (matched, candidates) = met(shop, requirement, asked)?;
    shop.metrics.matched(started.elapsed(), candidates);
    Ok(matched)
}

/// The same, with the number of records that were looked at.
fn met(shop: &Shop, requirement: Requirement, asked: &Asked) -> Result<(Matched, u64), Refusal> {
    let quantity = asked
        .quantity
        .unwrap_or_else(|| i64::from(requirement.quantity.total.unwrap_or(1)));
    let question = Question {
        requirement: &requirement,
        quantity,
        stock: asked.stock,
        limit: asked.limit,
        near_misses: asked.near_misses,
    };
    let found = {
        let shelves = shop.shelves.read();
        shop.index.search(&question, &shelves)?
    };
    let ids: Vec<Uuid> = found
        .fits
        .iter()
        .map(|hit| hit.id)
        .chain(found.near_misses.iter().map(|(hit, _)| hit.id))
        .collect();
    let (mut records, mut picks) = shop.store.read(|s| {
        let records: HashMap<Uuid, Plug> = s
            .plugs_by_id(&ids)?
            .into_iter()
            .map(|p| (p.id, p))
            .collect();
        let mut picks = HashMap::new();
        for hit in found.fits.iter().filter(|hit| hit.available > 0) {
            picks.insert(
                hit.id,
                picked(
                    &s.shelf(hit.id, &[])?,
                    &Stock::from(hit),
                    quantity,
                    &requirement,
                ),
            );
        }
        Ok::<_, Refusal>((records, picks))
    })?;
    let fits = found.fits.iter().filter_map(|hit| {
        let plug = records.remove(&hit.id)?;
        Some(fit(
            plug,
            &Stock::from(hit),
            picks.remove(&hit.id).unwrap_or_default(),
            &requirement,
        ))
    });
    let fits = fits.collect();
    let near_misses = found.near_misses.iter().filter_map(|(hit, _)| {
        let plug = records.remove(&hit.id)?;
        Some(near_miss(plug, hit, &requirement))
    });
    let near_misses = near_misses.collect();
    let matched = Matched {
        requirement,
        quantity,
        fits,
        near_misses,
        fits_in_catalogue: found.fits_in_catalogue,
        fits_in_stock: found.fits_in_stock,
    };
    Ok((matched, found.candidates))
}

fn fit(plug: Plug, stock: &Stock, picks: Vec<Pick>, requirement: &Requirement) -> Fit {
    Fit {
        available: stock.available,
        on_hand: stock.on_hand,
        closeness: stock.standing.closeness(),
        set_gap_mm: set_gap_of(&plug, requirement).0,
        verdicts: verdicts(&plug, requirement),
        unconfirmed: unconfirmed_of(&plug, requirement),
        picks,
        cautions: fit_cautions(&plug.data, requirement),
        plug,
    }
}

fn near_miss(plug: Plug, hit: &Hit, requirement: &Requirement) -> NearMiss {
    let fails = ruled_out(&plug, requirement);
    let by_reach = fails.iter().any(|j| j.demand.attribute == Attr::Reach);
    NearMiss {
        plug,
        available: hit.available,
        fails,
        caution: by_reach.then(|| Caution::of(CautionCode::ReachNeverFitted)),
    }
}
