//! What is equal to a part: by its attributes, graded, and by what statements say, which the
//! attributes confirm, leave open or contradict.

mod claims;
mod named;

use std::collections::HashMap;

use plugwell_domain::attribute::Attr;
use plugwell_domain::equivalent::{Finding, Graded, Objection, Opinion};
use plugwell_domain::fit::{StockMode, fits};
use plugwell_domain::plug::Plug;
use plugwell_domain::policy::{Policy, Values};
use plugwell_domain::requirement::{Requirement, of_part};
use plugwell_domain::stand_in::PartName;
use uuid::Uuid;

use crate::service::matching::{self, Fit, Subject};
use crate::service::{Refusal, Shop, supersession};
pub use claims::{Asserted, Elsewhere, ServedPart, Step, Stocked, Way};
use claims::{Claim, Claims, asserted, stocked};
pub use named::{Named, Near, of_name};

/// How equivalents are asked for.
#[derive(Debug, Clone, Copy)]
pub struct Asked {
    /// Plugs wanted.
    pub quantity: i64,
    /// How much of an equivalent has to be there.
    pub stock: StockMode,
    /// Most equivalents by attributes.
    pub limit: usize,
}

/// A part that passes every must of the part.
#[derive(Debug, Clone)]
pub struct Item {
    /// As a match shows it.
    pub fit: Fit,
    /// How near it comes.
    pub graded: Graded,
    /// The statements that name it as well, if any do.
    pub way: Option<Way>,
    /// What took its own place, to the end.
    pub successors: Vec<Successor>,
}

/// A part that statements name and the attributes do not let in.
#[derive(Debug, Clone)]
pub struct Disagreement {
    /// The part.
    pub part: Stocked,
    /// Whether the attributes contradict the statements or only leave them open.
    pub finding: Finding,
    /// The musts that rule it out.
    pub objections: Vec<Objection>,
    /// The statements.
    pub way: Way,
    /// Both sides in words.
    pub text: String,
}

/// A part that took the place of another.
#[derive(Debug, Clone)]
pub struct Successor {
    /// The part.
    pub part: Stocked,
    /// What its attributes say of its being an equivalent of the part that was asked for; `None`
    /// where that part lacks what its equivalents are found by.
    pub opinion: Option<Opinion>,
}

/// The equivalents of a part.
#[derive(Debug, Clone)]
pub struct Equivalents {
    /// The part.
    pub plug_id: Uuid,
    /// What an equivalent has to be.
    pub requirement: Requirement,
    /// Plugs wanted.
    pub quantity: i64,
    /// Equivalents in the order of fits; then those that statements name and `limit` cut off.
    pub items: Vec<Item>,
    /// What statements name and the attributes do not let in, whatever the stock.
    pub disagreements: Vec<Disagreement>,
    /// What statements name and the catalogue lacks, nearest first.
    pub elsewhere: Vec<Elsewhere>,
    /// Other records that pass every must.
    pub in_catalogue: u64,
    /// Those of them of which there are enough.
    pub in_stock: u64,
    /// What took the part's place, to the end.
    pub successors: Vec<Successor>,
}

/// A part that lacks what equivalents are found by: only statements tell.
#[derive(Debug, Clone)]
pub struct Incomplete {
    /// The part.
    pub plug_id: Uuid,
    /// What nobody has established.
    pub lacks: Vec<Attr>,
    /// What statements say stands in for it.
    pub asserted: Vec<Asserted>,
    /// What they name and the catalogue lacks, nearest first.
    pub elsewhere: Vec<Elsewhere>,
    /// What took its place, to the end.
    pub successors: Vec<Successor>,
}

/// What was found for a part of the catalogue.
#[derive(Debug, Clone)]
pub enum Found {
    /// Its equivalents.
    Equivalents(Box<Equivalents>),
    /// It lacks what they are found by.
    Incomplete(Incomplete),
}

/// The part that was asked for, and what the database says of it.
struct Subjected {
    plug: Plug,
    claims: Claims,
    line: Vec<Plug>,
}

/// The equivalents of a part, itself left out.
///
/// # Errors
/// `NotFound`; where database or index fail.
pub fn of(shop: &Shop, id: Uuid, asked: Asked) -> Result<Found, Refusal> {
    let policy = shop.policy();
    let subject = shop.store.read(|s| {
        let plug = s.plug(id)?.ok_or(Refusal::NotFound("plug"))?;
        let name = PartName::new(&plug.data.maker, &plug.data.part_number);
        let claims = claims::of(s, &name)?;
        let line = supersession::line(s, plug.data.superseded_by)?;
        Ok::<_, Refusal>(Subjected { plug, claims, line })
    })?;
    match of_part(&subject.plug, &policy) {
        Ok(requirement) => {
            let found = equivalents(shop, subject, requirement, asked, &policy)?;
            Ok(Found::Equivalents(Box::new(found)))
        }
        Err(lacks) => {
            let line = subject.line.into_iter().map(|plug| (plug, ()));
            let line = stocked(shop, line.collect(), None)?;
            let successors = line.into_iter().map(|(part, ())| Successor {
                part,
                opinion: None,
            });
            Ok(Found::Incomplete(Incomplete {
                plug_id: id,
                lacks,
                asserted: asserted(shop, subject.claims.here, asked)?,
                elsewhere: subject.claims.elsewhere,
                successors: successors.collect(),
            }))
        }
    }
}

fn equivalents(
    shop: &Shop,
    subject: Subjected,
    requirement: Requirement,
    asked: Asked,
    policy: &Policy,
) -> Result<Equivalents, Refusal> {
    let Subjected { plug, claims, line } = subject;
    let question = matching::Asked {
        quantity: Some(asked.quantity),
        stock: asked.stock,
        // The part is among its own fits, mostly.
        limit: asked.limit + 1,
        near_misses: 0,
        ..matching::Asked::of(Subject::Part(plug.id))
    };
    let mut matched = matching::meet(shop, requirement, &question)?;
    matched.fits.retain(|fit| fit.plug.id != plug.id);
    matched.fits.truncate(asked.limit);
    let requirement = matched.requirement;
    let itself = itself(shop, &plug, &requirement, asked)?;
    let told = Told {
        part: &plug,
        requirement: &requirement,
        values: &policy.values,
    };
    let (confirmed, disagreeing): (Vec<Claim>, Vec<Claim>) = claims
        .here
        .into_iter()
        .partition(|claim| fits(&requirement, &claim.plug));
    let mut fitting = matched.fits;
    fitting.extend(cut_off(shop, &fitting, &confirmed, &requirement, asked)?);
    let ways = confirmed
        .into_iter()
        .map(|claim| (claim.plug.id, claim.way));
    let items = told.items(shop, fitting, ways.collect())?;
    Ok(Equivalents {
        plug_id: plug.id,
        quantity: asked.quantity,
        items,
        disagreements: told.disagreements(shop, disagreeing)?,
        elsewhere: claims.elsewhere,
        in_catalogue: matched
            .fits_in_catalogue
            .saturating_sub(itself.in_catalogue),
        in_stock: matched.fits_in_stock.saturating_sub(itself.in_stock),
        successors: told.successors(shop, line)?,
        requirement,
    })
}

/// How often the part stands among its own fits: once or not at all.
struct Itself {
    in_catalogue: u64,
    in_stock: u64,
}

fn itself(
    shop: &Shop,
    plug: &Plug,
    requirement: &Requirement,
    asked: Asked,
) -> Result<Itself, Refusal> {
    let among = !plug.retired && fits(requirement, plug);
    let own = stocked(shop, vec![(plug.clone(), ())], Some(requirement))?;
    let enough = own.iter().any(|(own, ())| own.available >= asked.quantity);
    Ok(Itself {
        in_catalogue: u64::from(among),
        in_stock: u64::from(among && enough),
    })
}

/// Parts that statements name and that fit, but that stand behind the limit.
fn cut_off(
    shop: &Shop,
    fitting: &[Fit],
    confirmed: &[Claim],
    requirement: &Requirement,
    asked: Asked,
) -> Result<Vec<Fit>, Refusal> {
    let behind = confirmed
        .iter()
        .filter(|claim| fitting.iter().all(|fit| fit.plug.id != claim.plug.id));
    let plugs: Vec<Plug> = behind.map(|claim| claim.plug.clone()).collect();
    shop.store
        .read(|s| matching::offered(s, plugs, requirement, asked.quantity, asked.stock))
}

/// Whom everything is told of.
struct Told<'a> {
    part: &'a Plug,
    requirement: &'a Requirement,
    values: &'a Values,
}

impl Told<'_> {
    fn opinion(&self, other: &Plug) -> Opinion {
        Opinion::of(self.part, other, self.requirement, self.values)
    }

    fn items(
        &self,
        shop: &Shop,
        fitting: Vec<Fit>,
        mut ways: HashMap<Uuid, Way>,
    ) -> Result<Vec<Item>, Refusal> {
        let mut items = Vec::with_capacity(fitting.len());
        for mut fit in fitting {
            // Changed since the index was asked: it fits no more.
            let Opinion::Equivalent(graded) = self.opinion(&fit.plug) else {
                continue;
            };
            fit.cautions.extend(graded.cautions());
            let next = fit.plug.data.superseded_by;
            let line = match next {
                None => Vec::new(),
                Some(_) => shop.store.read(|s| supersession::line(s, next))?,
            };
            items.push(Item {
                way: ways.remove(&fit.plug.id),
                successors: self.successors(shop, line)?,
                graded,
                fit,
            });
        }
        Ok(items)
    }

    fn disagreements(&self, shop: &Shop, claims: Vec<Claim>) -> Result<Vec<Disagreement>, Refusal> {
        let claims = claims.into_iter().map(|claim| (claim.plug, claim.way));
        let parts = stocked(shop, claims.collect(), Some(self.requirement))?;
        let told = parts.into_iter().filter_map(|(part, way)| {
            let opinion = self.opinion(&part.plug);
            let (finding, words) = (opinion.finding(), opinion.words());
            let (objections, say) = match opinion {
                Opinion::Equivalent(_) => return None,
                Opinion::Unconfirmed(objections) => (objections, "do not confirm it"),
                Opinion::Contradicted(objections) => (objections, "contradict it"),
            };
            let [other, own] = [&part.plug, self.part]
                .map(|plug| PartName::new(&plug.data.maker, &plug.data.part_number));
            let text = format!(
                "By the word of {}, {other} stands in for {own}, but its attributes {say}: {words}",
                way.signed_by.join(" and ")
            );
            Some(Disagreement {
                part,
                finding,
                objections,
                way,
                text,
            })
        });
        Ok(told.collect())
    }

    fn successors(&self, shop: &Shop, line: Vec<Plug>) -> Result<Vec<Successor>, Refusal> {
        let line = line.into_iter().map(|plug| (plug, ()));
        let line = stocked(shop, line.collect(), Some(self.requirement))?;
        let told = line.into_iter().map(|(part, ())| Successor {
            opinion: Some(self.opinion(&part.plug)),
            part,
        });
        Ok(told.collect())
    }
}
