//! What plugs cost: first in, first out, shares by largest remainder, unknown is not free.

use plugwell_domain::ledger::Condition::{Gapped, Sealed};
use plugwell_domain::ledger::cost::share;
use plugwell_domain::ledger::{Condition, Money};
use plugwell_domain::tuning_day::{Offer, put_in_order};
use proptest::prelude::*;

use crate::shelf::{Made, OWN, offer, part, sealed, shelf};

fn minor(money: &Option<Money>) -> Option<i64> {
    money.as_ref().map(|m| m.minor)
}

/// Quantity and cost of each lot that plugs are taken from.
fn lots(offer: &Offer) -> Vec<(i64, Option<i64>)> {
    let share = |s: &plugwell_domain::tuning_day::LotShare| (s.quantity, minor(&s.cost));
    offer.lots.iter().map(share).collect()
}

#[test]
fn the_dearer_shares_come_first_and_add_up() {
    // 1000 over 7: six times 143 and once 142 (own arithmetic: 1000 = 7 × 142 + 6).
    let each: Vec<i64> = (0..7).map(|gone| share(1000, 7, gone, 1)).collect();
    assert_eq!(each, [143, 143, 143, 143, 143, 143, 142]);
    assert_eq!(share(1000, 7, 0, 7), 1000);
    assert_eq!(share(1000, 7, 2, 3), 429);
    assert_eq!(share(0, 7, 3, 4), 0);
    assert_eq!(share(3, 7, 0, 5), 3, "less than a minor unit to the plug");
}

#[test]
fn one_lot_that_has_it_all_is_taken_else_the_oldest_first() {
    let two = sealed(&[(4, Some(400)), (10, Some(2_005))]);
    let both = offer(1, &two, 12);
    assert_eq!(lots(&both), [(4, Some(400)), (8, Some(1_605))]);
    assert_eq!(minor(&both.cost.total), Some(2_005));
    assert_eq!(minor(&both.cost.per_plug), Some(167), "167.08");
    // Nine are in the newer lot alone.
    let one = offer(1, &two, 9);
    assert_eq!(lots(&one), [(9, Some(1_805))]);
    assert_eq!(minor(&one.cost.per_plug), Some(201), "200.56");
    assert_eq!((both.available, both.enough), (14, true));
    let short = offer(1, &two, 15);
    assert_eq!((short.available, short.enough), (14, false));
    assert_eq!(minor(&short.cost.total), Some(2_405), "of what is there");
}

#[test]
fn what_has_left_the_lot_took_the_dearer_shares_along() {
    // 1000 over 7, five gone: 143 and 142 are left.
    let rest = shelf(&[(7, 2, Some(1000), Sealed)], 0);
    assert_eq!(lots(&offer(1, &rest, 2)), [(2, Some(285))]);
    assert_eq!(lots(&offer(1, &rest, 1)), [(1, Some(143))]);
}

#[test]
fn gapped_and_reserved_plugs_do_not_count() {
    let mixed = shelf(
        &[(8, 8, Some(800), Gapped), (10, 10, Some(1_000), Sealed)],
        3,
    );
    let made = offer(1, &mixed, 8);
    assert_eq!((made.available, made.enough), (7, false));
    assert_eq!(lots(&made), [(7, Some(700))]);
    let none = offer(1, &shelf(&[(8, 8, Some(800), Gapped)], 0), 1);
    assert_eq!((none.available, lots(&none)), (0, vec![]));
    assert_eq!((none.cost.total, none.cost.unknown_quantity), (None, 0));
}

#[test]
fn unknown_is_not_free() {
    let partly = offer(1, &sealed(&[(3, None), (5, Some(500))]), 8);
    assert_eq!(lots(&partly), [(3, None), (5, Some(500))]);
    assert_eq!((&partly.cost.total, &partly.cost.per_plug), (&None, &None));
    assert_eq!(partly.cost.unknown_quantity, 3);
    // Money of another currency is not converted.
    let mut foreign = sealed(&[(8, Some(100))]);
    foreign.lots[0].total_cost.as_mut().unwrap().currency = "EUR".into();
    assert_eq!(offer(1, &foreign, 8).cost.unknown_quantity, 8);
    let dear = offer(2, &sealed(&[(8, Some(900_000))]), 8);
    let mut both = [partly, dear];
    put_in_order(&mut both, true);
    assert_eq!(both[0].plug.part_number, "FW-2", "known before unknown");
}

#[test]
fn the_order_of_preference() {
    let needed = crate::engine::need(serde_json::json!({}));
    let gone = |number: u128, over: &serde_json::Value, stock: i64, cost: i64| {
        let shelf = if stock == 0 {
            sealed(&[])
        } else {
            sealed(&[(stock, Some(cost))])
        };
        Offer::of(&part(number, over.clone()), &needed, &shelf, 8, OWN)
    };
    let still_made = serde_json::json!({});
    let no_longer = serde_json::json!({ "status": "discontinued" });
    let mut offers = [
        gone(1, &no_longer, 4, 4),
        gone(2, &still_made, 0, 0),
        gone(3, &still_made, 4, 401),
        gone(4, &still_made, 4, 400),
        gone(5, &still_made, 9, 8_000),
        gone(6, &no_longer, 9, 7_000),
        gone(7, &still_made, 5, 500),
        gone(8, &no_longer, 7, 70_000),
    ];
    let mut order = |in_time: bool| -> Vec<String> {
        put_in_order(&mut offers, in_time);
        offers.iter().map(|o| o.plug.part_number.clone()).collect()
    };
    // In full by cost, old stock being good stock; then what can be ordered, by cost to the plug,
    // more of it first; a discontinued part that lacks some cannot be completed: fewest missing.
    assert_eq!(
        order(true),
        [
            "FW-6", "FW-5", "FW-7", "FW-4", "FW-3", "FW-2", "FW-8", "FW-1"
        ]
    );
    // Too late to order: seven that are there beat five that cost less.
    assert_eq!(
        order(false),
        [
            "FW-6", "FW-5", "FW-8", "FW-7", "FW-1", "FW-4", "FW-3", "FW-2"
        ]
    );
}

fn made() -> impl Strategy<Value = Made> {
    (
        1i64..60,
        0i64..60,
        prop::option::of(0i64..1_000_000),
        any::<bool>(),
    )
        .prop_map(|(received, gone, cost, gapped)| {
            let condition = if gapped { Condition::Gapped } else { Sealed };
            (received, (received - gone).max(0), cost, condition)
        })
}

proptest! {
    #[test]
    fn totals_are_the_sum_of_the_shares_and_no_more_is_taken_than_there_is(
        lots in prop::collection::vec(made(), 0..6), reserved in 0i64..80, quantity in 1i64..200,
    ) {
        let mut there = shelf(&lots, reserved);
        there.holdings.retain(|h| h.quantity > 0);
        let in_bins: i64 = lots.iter().filter(|l| l.3 == Sealed).map(|l| l.1).sum();
        let made = offer(1, &there, quantity);
        let taken: i64 = made.lots.iter().map(|s| s.quantity).sum();
        prop_assert_eq!(made.available, (in_bins - reserved).max(0));
        prop_assert_eq!(taken, quantity.min(made.available));
        prop_assert_eq!(made.enough, made.available >= quantity);
        let unknown: i64 = made.lots.iter().filter(|s| s.cost.is_none()).map(|s| s.quantity).sum();
        prop_assert_eq!(made.cost.unknown_quantity, unknown);
        let sum: i64 = made.lots.iter().filter_map(|s| minor(&s.cost)).sum();
        let known = taken > 0 && unknown == 0;
        prop_assert_eq!(minor(&made.cost.total), known.then_some(sum));
        if let Some(each) = minor(&made.cost.per_plug) {
            prop_assert!((2 * each * taken - 2 * sum).abs() <= taken, "{} of {} for {}", each, sum, taken);
        }
    }

    #[test]
    fn however_a_lot_is_taken_apart_its_shares_add_up(
        total in 0i64..1_000_000_000_000, received in 1i64..1_000_000, cuts in prop::collection::vec(0.0f64..1.0, 0..5),
    ) {
        let mut at: Vec<i64> = cuts.iter().map(|c| (c * received as f64) as i64).collect();
        at.extend([0, received]);
        at.sort_unstable();
        let parts = at.windows(2).map(|pair| share(total, received, pair[0], pair[1] - pair[0]));
        prop_assert_eq!(parts.sum::<i64>(), total);
    }
}
