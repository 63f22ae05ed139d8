//! A second opinion on what is fitted, with what lies on the shelf to put it right.

use plugwell_domain::build::Build;
use plugwell_domain::caution::{Caution, CautionCode};
use plugwell_domain::decimal::{Decimal, Length};
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::fit::{StockMode, fits};
use plugwell_domain::fitment::{Case, Finding, Helps, Opinion, Symptom, ToldPlug, Treatment, look};
use plugwell_domain::plug::{Plug, PlugData};
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::{Requirement, fit_cautions, set_gap_of};
use plugwell_domain::wording::counted;
use plugwell_domain::words::Induction;
use plugwell_store::Session;
use uuid::Uuid;

use crate::service::matching::{self, Judged, Subject, requirement_of, stored_build, under};
use crate::service::{Refusal, Shop, catalogue};

/// How many parts from the shelf a remedy names at the most.
const OFFERED: usize = 3;

/// The engine that it is in.
#[derive(Debug, Clone)]
pub enum Engine {
    /// In full, or over a stored head.
    Build(Box<Build>),
    /// A stored build.
    Stored(Uuid),
}

/// The plug that is in it.
#[derive(Debug, Clone)]
pub enum Fitted {
    /// A record of the catalogue.
    Part(Uuid),
    /// As it was told.
    Told(Box<ToldPlug>),
}

impl Fitted {
    /// What an ohmmeter read on it.
    fn resistance(&self) -> Option<Decimal<1>> {
        match self {
            Self::Told(told) => told.resistance(),
            Self::Part(_) => None,
        }
    }
}

/// What an opinion is asked on.
#[derive(Debug, Clone)]
pub struct Asked {
    /// The engine.
    pub engine: Engine,
    /// The plug.
    pub fitted: Fitted,
    /// How the set has been treated.
    pub treatment: Treatment,
    /// What the driver complains of.
    pub symptoms: Vec<Symptom>,
}

/// A part on the shelf that helps.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offer {
    /// The part.
    pub plug_id: Uuid,
    /// Its maker.
    pub maker: String,
    /// Its part number.
    pub part_number: String,
    /// Plugs that nobody has reserved.
    pub available: i64,
    /// The gap to set on it.
    pub set_gap_mm: Option<Length>,
}

/// What to do about a finding, and with what.
#[derive(Debug, Clone)]
pub struct Remedy {
    /// In a sentence or two.
    pub advice: String,
    /// What of it lies on the shelf, as the sentence on it begins; empty where no plug helps.
    pub shelf: String,
    /// Parts on the shelf, best first; none where no plug helps or none is there.
    pub plugs: Vec<Offer>,
}

/// The answer.
#[derive(Debug, Clone)]
pub struct Checked {
    /// What the build needs.
    pub requirement: Requirement,
    /// How the plug stands to every demand.
    pub verdicts: Vec<Judged>,
    /// What is wrong, and what could not be judged.
    pub opinion: Opinion,
    /// What to do about each finding, in their order.
    pub remedies: Vec<Remedy>,
    /// What to beware of.
    pub cautions: Vec<Caution>,
}

/// What the database says of a question.
struct Known {
    requirement: Requirement,
    boosted: bool,
    plug: PlugData,
    /// The record, where it is one of the catalogue, and how many of it are there.
    same: Option<Offer>,
}

/// Looks at what is fitted.
///
/// # Errors
/// Faults where the question points to records that there are not, and where more plugs were
/// dropped than the engine has.
pub fn check(shop: &Shop, asked: &Asked) -> Result<Checked, Refusal> {
    let policy = shop.policy();
    let known = shop.store.read(|s| known(s, asked, &policy))?;
    let Known {
        requirement,
        boosted,
        plug,
        same,
    } = known;
    let case = Case {
        requirement: &requirement,
        policy: &policy,
        boosted,
        plug: &plug,
        resistance: asked.fitted.resistance(),
        treatment: &asked.treatment,
    };
    let opinion = look(case, &asked.symptoms);
    let shelf = Shelf {
        same,
        sets: if opinion.findings.iter().any(|f| f.helps != Helps::NoPlug) {
            sets(shop, &requirement)?
        } else {
            Vec::new()
        },
        set: i64::from(requirement.quantity.fitted.unwrap_or(1)),
        dropped: i64::from(asked.treatment.dropped.unwrap_or(0)),
    };
    let remedies = opinion.findings.iter().map(|f| shelf.remedy(f)).collect();
    let mut cautions = requirement.cautions.clone();
    let own = fit_cautions(&plug, &requirement);
    cautions.extend(
        own.into_iter()
            .chain([Caution::of(CautionCode::OnlyAsTold)]),
    );
    Ok(Checked {
        verdicts: matching::verdicts(&plug, &requirement),
        opinion,
        remedies,
        cautions,
        requirement,
    })
}

fn known(session: &mut Session, asked: &Asked, policy: &Policy) -> Result<Known, Refusal> {
    let needed = needed(session, &asked.engine, policy);
    let fitted = fitted(session, &asked.fitted, policy);
    let (build, requirement, (plug, record)) = match (needed, fitted) {
        (Ok((build, requirement)), Ok(fitted)) => (build, requirement, fitted),
        // What the question points to is looked up as a whole.
        (Err(Refusal::Faults(mut faults)), Err(Refusal::Faults(more))) => {
            faults.extend(more);
            return Err(Refusal::Faults(faults));
        }
        (Err(refusal), _) | (_, Err(refusal)) => return Err(refusal),
    };
    let plugs = requirement.quantity.fitted.unwrap_or(u32::MAX);
    if asked
        .treatment
        .dropped
        .is_some_and(|dropped| dropped > plugs)
    {
        let detail = format!(
            "the engine has {}; spares that fell are scrap as well",
            counted(plugs, "plug")
        );
        let fault = Fault::at("fitted/dropped", FaultCode::OutOfRange, detail);
        return Err(Refusal::fault(fault));
    }
    let same = match record.filter(|plug| !plug.retired && fits(&requirement, plug)) {
        Some(record) => offer(session, &record, &requirement)?,
        None => None,
    };
    Ok(Known {
        boosted: build.engine.induction != Induction::NaturallyAspirated,
        requirement,
        plug,
        same,
    })
}

fn needed(
    session: &mut Session,
    engine: &Engine,
    policy: &Policy,
) -> Result<(Build, Requirement), Refusal> {
    match engine {
        Engine::Build(build) => {
            let requirement =
                requirement_of(session, build, policy).map_err(|e| under("build", e))?;
            Ok(((**build).clone(), requirement))
        }
        Engine::Stored(id) => {
            let build = stored_build(session, *id)?;
            let requirement = requirement_of(session, &build, policy)?;
            Ok((build, requirement))
        }
    }
}

fn fitted(
    session: &mut Session,
    fitted: &Fitted,
    policy: &Policy,
) -> Result<(PlugData, Option<Plug>), Refusal> {
    match fitted {
        Fitted::Part(id) => {
            let found = session.plug(*id)?.ok_or_else(|| {
                Refusal::fault(Fault::at(
                    "fitted/plug_id",
                    FaultCode::NotFound,
                    "there is no such part",
                ))
            })?;
            Ok((found.data.clone(), Some(found)))
        }
        Fitted::Told(told) => {
            let mut data = (**told).clone().into_data(policy);
            catalogue::settle(session, &mut data, None).map_err(|e| under("fitted/plug", e))?;
            Ok((data, None))
        }
    }
}

fn offer(
    session: &mut Session,
    plug: &Plug,
    requirement: &Requirement,
) -> Result<Option<Offer>, Refusal> {
    let set_gap_mm = set_gap_of(plug, requirement).0;
    let Some((.., shelf)) = session.on_shelf(plug.id)? else {
        return Ok(None);
    };
    Ok(Some(Offer {
        plug_id: plug.id,
        maker: plug.data.maker.clone(),
        part_number: plug.data.part_number.clone(),
        available: shelf.available(set_gap_mm, requirement.gap.tolerance_mm),
        set_gap_mm,
    }))
}

/// Parts on the shelf that meet the requirement, in the order of a match: those of which there is a
/// whole set, or, where there is none, those of which there are any.
pub(super) fn sets(shop: &Shop, requirement: &Requirement) -> Result<Vec<Offer>, Refusal> {
    let subject = Subject::Requirement(Box::new(requirement.clone()));
    let mut asked = matching::Asked::of(subject);
    asked.quantity = requirement.quantity.fitted.map(i64::from);
    asked.limit = OFFERED;
    asked.near_misses = 0;
    let mut found = matching::find(shop, &asked)?;
    if found.fits.is_empty() {
        asked.stock = StockMode::Some;
        found = matching::find(shop, &asked)?;
    }
    let offers = found.fits.into_iter().map(|fit| Offer {
        plug_id: fit.plug.id,
        maker: fit.plug.data.maker,
        part_number: fit.plug.data.part_number,
        available: fit.available,
        set_gap_mm: fit.set_gap_mm,
    });
    Ok(offers.collect())
}

/// What there is to put it right with.
struct Shelf {
    /// The part that is in, where it is right for the engine.
    same: Option<Offer>,
    /// Parts that meet the requirement.
    sets: Vec<Offer>,
    /// Plugs in the engine.
    set: i64,
    /// Plugs that fell.
    dropped: i64,
}

impl Shelf {
    fn remedy(&self, finding: &Finding) -> Remedy {
        let advice = finding.remedy.clone();
        let same = self.same.as_ref().filter(|o| o.available >= self.dropped);
        match (finding.helps, same) {
            (Helps::NoPlug, _) => Remedy {
                advice,
                shelf: String::new(),
                plugs: Vec::new(),
            },
            (Helps::TheDropped, Some(same)) => Remedy {
                advice,
                shelf: "The same part is on the shelf".to_owned(),
                plugs: vec![same.clone()],
            },
            (Helps::TheDropped, None) => Remedy {
                advice: format!("{advice} Unlike plugs do not go together: take a whole set."),
                shelf: self.sets_said(),
                plugs: self.sets.clone(),
            },
            (Helps::ASet, _) => Remedy {
                advice,
                shelf: self.sets_said(),
                plugs: self.sets.clone(),
            },
        }
    }

    fn sets_said(&self) -> String {
        if self.sets.is_empty() {
            "Nothing on the shelf meets this build: a set has to be ordered".to_owned()
        } else if self.sets.iter().any(|o| o.available >= self.set) {
            "On the shelf".to_owned()
        } else {
            format!("On the shelf, but no whole set of {}", self.set)
        }
    }
}

impl Remedy {
    /// All of it in sentences, the parts among them.
    pub fn text(&self) -> String {
        match (self.shelf.as_str(), self.plugs.as_slice()) {
            ("", _) => self.advice.clone(),
            (shelf, []) => format!("{} {shelf}.", self.advice),
            (shelf, plugs) => format!("{} {shelf}: {}.", self.advice, listed(plugs)),
        }
    }
}

/// `Ferrowick FW-3207 (24)`.
fn listed(offers: &[Offer]) -> String {
    let named = offers
        .iter()
        .map(|o| format!("{} {} ({})", o.maker, o.part_number, o.available));
    named.collect::<Vec<_>>().join(", ")
}
