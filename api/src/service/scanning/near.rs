//! Parts that a text may mean, none for certain.

use plugwell_domain::plug::Plug;
use plugwell_domain::spelling::{Nearness, nearness};

use super::{SHOWN, SpelledPart};
use crate::service::{Refusal, Shop};

/// Records that are spelled nearly so and looked at.
const LOOKED_AT: usize = 200;

/// A part that bears the very number.
pub(super) fn same(plug: &Plug) -> SpelledPart {
    spelled_part(plug, Nearness::Same)
}

fn spelled_part(plug: &Plug, spelling: Nearness) -> SpelledPart {
    SpelledPart {
        plug_id: plug.id,
        maker: plug.data.maker.clone(),
        part_number: plug.data.part_number.clone(),
        spelling,
    }
}

/// Parts that are spelled nearly so, by whichever maker, nearest first.
pub(super) fn spelled(shop: &Shop, text: &str) -> Result<Vec<SpelledPart>, Refusal> {
    let ids = shop.index.spelled_like(text, LOOKED_AT)?;
    let plugs = shop
        .store
        .read(|s| Ok::<_, Refusal>(s.plugs_by_id(&ids)?))?;
    let mut near: Vec<SpelledPart> = plugs
        .iter()
        .filter(|plug| !plug.retired)
        .filter_map(|plug| Some(spelled_part(plug, nearness(text, &plug.data.part_number)?)))
        .collect();
    near.sort_by(|a, b| (a.spelling, &a.part_number).cmp(&(b.spelling, &b.part_number)));
    near.truncate(SHOWN);
    Ok(near)
}
