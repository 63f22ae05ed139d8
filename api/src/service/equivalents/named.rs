//! A part by maker and number, which the catalogue may lack: how else it may be spelled, and what
//! statements say of it.

use plugwell_domain::spelling::{Nearness, nearness};
use plugwell_domain::stand_in::PartName;

use super::claims::{self, Asserted, Claims, Elsewhere, ServedPart, Stocked, asserted, stocked};
use super::{Asked, Found, of};
use crate::service::{Refusal, Shop};

/// Records that are spelled nearly so and looked at.
const LOOKED_AT: usize = 1_000;

/// A part of the catalogue that is spelled nearly so.
#[derive(Debug, Clone)]
pub struct Near {
    /// The part.
    pub part: Stocked,
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
/// was named; of another maker only the same number counts.
fn near(shop: &Shop, name: &PartName, limit: usize) -> Result<Vec<Near>, Refusal> {
    let ids = shop.index.spelled_like(&name.part_number, LOOKED_AT)?;
    let plugs = shop
        .store
        .read(|s| Ok::<_, Refusal>(s.plugs_by_id(&ids)?))?;
    let spelled = plugs.into_iter().filter_map(|plug| {
        let spelling = nearness(&name.part_number, &plug.data.part_number)?;
        let maker_spelling = nearness(&name.maker, &plug.data.maker);
        let meant = maker_spelling.is_some() || spelling != Nearness::OneCharacter;
        (meant && !plug.retired).then_some((plug, (spelling, maker_spelling)))
    });
    let parts = stocked(shop, spelled.collect(), None)?;
    let near = parts
        .into_iter()
        .map(|(part, (spelling, maker_spelling))| Near {
            part,
            spelling,
            maker_spelling,
        });
    let mut near: Vec<Near> = near.collect();
    near.sort_by(|a, b| {
        let order = |near: &Near| {
            (
                near.spelling,
                near.maker_spelling.is_none(),
                near.maker_spelling,
            )
        };
        let name = |near: &Near| (near.part.plug.data.part_number.clone(), near.part.plug.id);
        order(a).cmp(&order(b)).then_with(|| name(a).cmp(&name(b)))
    });
    near.truncate(limit);
    Ok(near)
}
