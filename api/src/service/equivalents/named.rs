//! A part by maker and number, which the catalogue may lack: how else it may be spelled, and what
//! statements say of it.

use std::collections::HashSet;

use plugwell_domain::spelling::{Nearness, SPELLINGS, bare, lookalikes, nearness};
use plugwell_domain::stand_in::PartName;

use super::claims::{self, Asserted, Claims, Elsewhere, ServedPart, Stocked, asserted, stocked};
use super::{Asked, Found, of};
use crate::service::{Refusal, Shop};

/// Records that are spelled nearly so and looked at.
const LOOKED_AT: usize = 1_000;

/// A part that is spelled nearly so.
#[derive(Debug, Clone)]
pub struct Near {
    /// Its name.
    pub name: PartName,
    /// The part; `None` where only statements name it and the catalogue lacks it.
    pub part: Option<Stocked>,
    /// How near its number comes.
    pub spelling: Nearness,
    /// How near its maker's name comes; `None` where it is another maker.
    pub maker_spelling: Option<Nearness>,
}

/// What was found for a name.
#[derive(Debug, Clone)]
pub struct Named {
    /// The name, as it was asked for.
    pub name: PartName,
    /// Where the catalogue has exactly that part: what was found for it.
    pub known: Option<Found>,
    /// Else: parts that are spelled nearly so, nearest first.
    pub near: Vec<Near>,
    /// And what statements say stands in for it, nearest first.
    pub asserted: Vec<Asserted>,
    /// What they name and the catalogue lacks as well, nearest first.
    pub elsewhere: Vec<Elsewhere>,
    /// What it stands in for itself by statements, wherever it is known.
    pub stands_in_for: Vec<ServedPart>,
}

/// What is known of a part by its name.
///
/// # Errors
/// Where database or index fail.
pub fn of_name(shop: &Shop, name: PartName, asked: Asked) -> Result<Named, Refusal> {
    let (known, claims, stands_in_for) = shop.store.read(|s| {
        let known = s.plug_named(&name.maker, &name.part_number)?;
        let claims = match known {
            Some(_) => Claims::default(),
            None => claims::of(s, &name)?,
        };
        Ok::<_, Refusal>((known, claims, claims::served(s, &name)?))
    })?;
    let (known, near) = match known {
        Some(plug) => (Some(of(shop, plug.id, asked)?), Vec::new()),
        None => (None, near(shop, &name, asked.limit)?),
    };
    Ok(Named {
        asserted: asserted(shop, claims.here, asked)?,
        elsewhere: claims.elsewhere,
        stands_in_for,
        name,
        known,
        near,
    })
}

/// Parts that are spelled nearly so. A slip in the number is forgiven where the maker is the one that
/// was named; of another maker only the same number counts. Of parts that only statements name, only
/// the same number and one that looks like it.
fn near(shop: &Shop, name: &PartName, limit: usize) -> Result<Vec<Near>, Refusal> {
    let mut near = in_catalogue(shop, name)?;
    near.extend(in_statements(shop, name)?);
    near.sort_by(|a, b| {
        let order = |near: &Near| {
            (
                near.spelling,
                near.maker_spelling.is_none(),
                near.maker_spelling,
            )
        };
        let id = |near: &Near| near.part.as_ref().map(|part| part.plug.id);
        let (one, other) = (&a.name, &b.name);
        order(a)
            .cmp(&order(b))
            .then_with(|| one.part_number.cmp(&other.part_number))
            .then_with(|| id(a).cmp(&id(b)))
            .then_with(|| one.maker.cmp(&other.maker))
    });
    near.truncate(limit);
    Ok(near)
}

/// How near number and maker of one name come to those of another, where it can be meant.
fn meant(asked: &PartName, other: &PartName) -> Option<(Nearness, Option<Nearness>)> {
    let spelling = nearness(&asked.part_number, &other.part_number)?;
    let maker_spelling = nearness(&asked.maker, &other.maker);
    let meant = maker_spelling.is_some() || spelling != Nearness::OneCharacter;
    meant.then_some((spelling, maker_spelling))
}

fn in_catalogue(shop: &Shop, asked: &PartName) -> Result<Vec<Near>, Refusal> {
    let ids = shop.index.spelled_like(&asked.part_number, LOOKED_AT)?;
    let plugs = shop
        .store
        .read(|s| Ok::<_, Refusal>(s.plugs_by_id(&ids)?))?;
    let spelled = plugs.into_iter().filter(|plug| !plug.retired);
    let spelled = spelled.filter_map(|plug| {
        let name = PartName::new(&plug.data.maker, &plug.data.part_number);
        let near = meant(asked, &name)?;
        Some((plug, (name, near)))
    });
    let parts = stocked(shop, spelled.collect(), None)?;
    let near = parts
        .into_iter()
        .map(|(part, (name, (spelling, maker_spelling)))| Near {
            name,
            part: Some(part),
            spelling,
            maker_spelling,
        });
    Ok(near.collect())
}

/// Those that statements name and the catalogue lacks, each once as it was first written; not the
/// name itself, of which the answer tells anyway.
fn in_statements(shop: &Shop, asked: &PartName) -> Result<Vec<Near>, Refusal> {
    let own = bare(&asked.part_number);
    if own.is_empty() {
        return Ok(Vec::new());
    }
    let spellings = lookalikes(&own, SPELLINGS);
    shop.store.read(|s| {
        let mut seen = HashSet::from([asked.key()]);
        let mut all = Vec::new();
        let statements = s.stand_ins_spelled(&spellings)?;
        let named = statements
            .into_iter()
            .flat_map(|one| [one.data.part, one.data.stands_in_for]);
        for name in named {
            let number = bare(&name.part_number);
            if !spellings.contains(&number) || !seen.insert(name.key()) {
                continue;
            }
            let Some((spelling, maker_spelling)) = meant(asked, &name) else {
                continue;
            };
            if s.plug_named(&name.maker, &name.part_number)?.is_none() {
                all.push(Near {
                    name,
                    part: None,
                    spelling,
                    maker_spelling,
                });
            }
        }
        Ok(all)
    })
}
