//! The part that somebody means: by part number, barcode or words.

use std::collections::HashMap;

use plugwell_domain::ledger::{PlaceKind, Reservation, ReservationState};
use plugwell_domain::plug::Plug;
use plugwell_store::{LevelFilter, ReservationFilter};
use uuid::Uuid;

use crate::pages::figures::in_short;
use crate::service::scanning::{self, Scan};
use crate::service::{Refusal, Shop, catalogue, stock_lists};

/// Most parts that a search offers to choose from.
const CHOICES: usize = 12;
/// Most levels and reservations of a part that a page looks at.
const LINES: i64 = 1_000;

/// What a text means.
#[derive(Debug)]
pub(super) enum Meant {
    /// This part: its number or barcode was typed.
    This(Box<Plug>),
    /// Perhaps one of these; none where nothing was found.
    Perhaps(Vec<Plug>),
}

/// Looks a text up.
pub(super) fn meant(shop: &Shop, text: &str) -> Result<Meant, Refusal> {
    // A barcode that the shop attached is no word of the record.
    if let Ok(Scan {
        plug: Some(plug), ..
    }) = scanning::read(shop, text)
    {
        return Ok(Meant::This(Box::new(plug)));
    }
    let mut found = catalogue::find(shop, text, CHOICES)?;
    let mut exact = found
        .iter()
        .enumerate()
        .filter(|(_, plug)| is_named(plug, text))
        .map(|(place, _)| place);
    match (exact.next(), exact.next()) {
        (Some(only), None) => Ok(Meant::This(Box::new(found.swap_remove(only)))),
        (Some(_), Some(_)) => {
            found.retain(|plug| is_named(plug, text));
            Ok(Meant::Perhaps(found))
        }
        (None, _) => Ok(Meant::Perhaps(found)),
    }
}

/// Whether a text is this part's number, with or without its maker, or its barcode.
fn is_named(plug: &Plug, text: &str) -> bool {
    let data = &plug.data;
    let said = bare(text);
    let barcode = data
        .gtin
        .as_ref()
        .is_some_and(|gtin| gtin.as_str().trim_start_matches('0') == said.trim_start_matches('0'));
    let number = bare(&data.part_number);
    barcode || said == number || said == format!("{}{number}", bare(&data.maker))
}

/// Letters and digits only, in small letters: how a part number is compared.
fn bare(text: &str) -> String {
    text.chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect()
}

/// Maker and part number.
pub(super) fn name(plug: &Plug) -> String {
    format!("{} {}", plug.data.maker, plug.data.part_number)
}

/// What a page shows of a part that stands fast.
#[derive(Debug, Clone)]
pub(super) struct Card {
    /// The part.
    pub id: Uuid,
    /// Maker and part number.
    pub name: String,
    /// The maker's words.
    pub description: String,
    /// What tells it from others.
    pub in_short: String,
    /// Where it lies, in bins and quarantine: kind, name, plugs.
    pub lies: Vec<(PlaceKind, String, i64)>,
    /// Plugs in bins.
    pub on_hand: i64,
    /// Plugs that are kept for jobs.
    pub reserved: i64,
}

/// What a page shows of a part.
pub(super) fn card(shop: &Shop, plug: &Plug) -> Result<Card, Refusal> {
    let mut lies = Vec::new();
    for kind in [PlaceKind::Bin, PlaceKind::Quarantine] {
        let held = held(shop, plug.id, kind)?;
        lies.extend(
            held.into_iter()
                .map(|(name, quantity)| (kind, name, quantity)),
        );
    }
    Ok(Card {
        id: plug.id,
        name: name(plug),
        description: plug.data.description.clone().unwrap_or_default(),
        in_short: in_short(&plug.data),
        on_hand: lies
            .iter()
            .filter(|(kind, ..)| *kind == PlaceKind::Bin)
            .map(|(.., quantity)| quantity)
            .sum(),
        reserved: open_reservations(shop, plug.id)?
            .iter()
            .map(|r| r.open_quantity)
            .sum(),
        lies,
    })
}

/// How many plugs of a part places of a kind hold, by name.
pub(super) fn held(
    shop: &Shop,
    plug_id: Uuid,
    kind: PlaceKind,
) -> Result<Vec<(String, i64)>, Refusal> {
    let filter = LevelFilter {
        plug_id: Some(plug_id),
        kind: Some(kind),
        ..LevelFilter::default()
    };
    let mut quantities: HashMap<Uuid, i64> = HashMap::new();
    for level in stock_lists::levels(shop, &filter, None, LINES)? {
        *quantities.entry(level.place_id).or_default() += level.quantity;
    }
    let named = quantities
        .into_iter()
        .map(|(id, quantity)| Ok((stock_lists::place(shop, id)?.name, quantity)));
    let mut held = named.collect::<Result<Vec<_>, Refusal>>()?;
    held.sort();
    Ok(held)
}

/// What is kept for jobs of a part, and not issued yet.
pub(super) fn open_reservations(shop: &Shop, plug_id: Uuid) -> Result<Vec<Reservation>, Refusal> {
    let filter = ReservationFilter {
        plug_id: Some(plug_id),
        ..ReservationFilter::default()
    };
    let mut all = stock_lists::reservations(shop, &filter, None, LINES)?;
    all.retain(|r| matches!(r.state, ReservationState::Open | ReservationState::Short));
    Ok(all)
}

#[cfg(test)]
mod tests {
    use super::*;
    use plugwell_domain::plug::PlugData;

    #[test]
    fn a_part_is_named_by_number_or_barcode() {
        let mut data = PlugData::named("Ferrowick", "FW-3207");
        // In-shop range of GS1; the check digit is right.
        data.gtin = Some("2000000000015".parse().unwrap());
        let at = crate::service::now();
        let plug = Plug {
            id: crate::service::new_id(),
            data,
            retired: false,
            version: 1,
            created_at: at,
            updated_at: at,
        };
        for text in [
            "FW-3207",
            "fw 3207",
            "fw3207",
            "Ferrowick FW-3207",
            "2000000000015",
            "02000000000015",
        ] {
            assert!(is_named(&plug, text), "{text}");
        }
        for text in ["FW-320", "FW-32070", "Ferrowick", "2000000000016", ""] {
            assert!(!is_named(&plug, text), "{text:?}");
        }
    }
}
