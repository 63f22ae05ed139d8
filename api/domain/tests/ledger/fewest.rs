//! The fewest lots, oldest first, against every choice that there is.

use plugwell_domain::ledger::rules::{pick, pick_leaving};
use plugwell_domain::ledger::{Condition, PlaceKind};
use proptest::prelude::*;
use uuid::Uuid;

use crate::books::Books;

/// A lot in bins: plugs, and whether they are gapped.
type Lying = (i64, bool);

/// The places of the lots that are to be taken, by trying all choices: the fewest, then those with the
/// oldest; all where all have less. Of sealed plugs no more than are left may go.
fn by_trying(lots: &[Lying], sealed_left: i64, quantity: i64) -> Vec<usize> {
    let has = |choice: &[usize]| {
        let of = |gapped| -> i64 {
            let own = choice.iter().filter(|place| lots[**place].1 == gapped);
            own.map(|place| lots[*place].0).sum()
        };
        of(false).min(sealed_left) + of(true)
    };
    let all: Vec<usize> = (0..lots.len()).collect();
    let choices = (0u32..1 << lots.len()).map(|bits| {
        let chosen = all.iter().filter(|place| bits >> **place & 1 == 1);
        chosen.copied().collect::<Vec<usize>>()
    });
    let enough = choices.filter(|choice| has(choice) >= quantity);
    enough
        .min_by_key(|choice| (choice.len(), choice.clone()))
        .unwrap_or(all)
}

proptest! {
    #[test]
    fn the_fewest_lots_and_of_those_the_oldest(
        lots in prop::collection::vec((1i64..12, prop::bool::weighted(0.3)), 0..7),
        reserved in 0i64..12,
        quantity in 1i64..40,
    ) {
        let mut books = Books::new();
        for (plugs, gapped) in &lots {
            books.receive(0, *plugs, gapped.then_some(0.81));
        }
        let shelf = books.shelf(&[]);
        let sealed: i64 = lots.iter().filter(|(_, gapped)| !gapped).map(|(plugs, _)| plugs).sum();
        for (sealed_left, picks) in [
            (i64::MAX, pick(&shelf, |_, h| h.place_kind == PlaceKind::Bin, quantity)),
            (
                (sealed - reserved).max(0),
                pick_leaving(reserved, &shelf, |_, h| h.place_kind == PlaceKind::Bin, quantity),
            ),
        ] {
            let place = |id: Uuid| books.lots.iter().position(|lot| lot.id == id).expect("a lot");
            // Where no sealed plug may go, a sealed lot is none.
            let want: Vec<usize> = by_trying(&lots, sealed_left, quantity)
                .into_iter()
                .filter(|place| lots[*place].1 || sealed_left > 0)
                .collect();
            let taken: Vec<usize> = picks.iter().map(|pick| place(pick.lot_id)).collect();
            let total: i64 = picks.iter().map(|pick| pick.quantity).sum();
            let had = sealed.min(sealed_left)
                + lots.iter().filter(|(_, gapped)| *gapped).map(|(plugs, _)| plugs).sum::<i64>();
            prop_assert_eq!(total, quantity.min(had));
            if had >= quantity {
                prop_assert_eq!(&taken, &want, "{:?} of {:?}, {} sealed", quantity, lots, sealed_left);
            }
            // The oldest go whole, the last gives the rest.
            for (n, picked) in picks.iter().enumerate() {
                let lot = &books.lots[place(picked.lot_id)];
                let whole = picked.quantity == lot.quantity_received;
                let capped = lot.condition == Condition::Sealed && sealed_left < sealed;
                prop_assert!(whole || n + 1 == picks.len() || capped);
            }
        }
    }
}
