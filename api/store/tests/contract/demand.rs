//! What was asked of parts, and what they can count on.

use chrono::{DateTime, Utc};
use plugwell_domain::calendar::CalendarPeriod;
use plugwell_domain::ledger::{Money, MovementKind, Place, Plan};
use plugwell_domain::order::{self, AskedLine, Order, OrderData, OrderState};
use plugwell_domain::reorder::Reordering;
use plugwell_store::{Bought, Demanded, LotFilter, OnHand, Store, StoreError, Stored};

use crate::made_up::{
    Shop, bare_plug, gapped_lot, id, lot, movement, moves, read, reservation, write,
};

fn at(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

/// Issues 8 on a Sunday, 5 on the Monday after and 1 in the next year.
fn sold(store: &Store, shop: &Shop) -> Vec<uuid::Uuid> {
    let lot = shop.stocked(store, 100);
    let days = [
        "2026-11-29T23:59:59.999999Z",
        "2026-11-30T00:00:00Z",
        "2027-01-01T00:00:00Z",
    ];
    let issues = days.iter().zip([8, 5, 1]).map(|(day, quantity)| {
        let mut issue = movement(MovementKind::Issue, &lot, &shop.bin, &shop.job, quantity);
        issue.created_at = at(day);
        issue
    });
    let applied = shop.apply(store, &moves(issues.collect()));
    applied.movements.iter().map(|m| m.id).collect()
}

fn asked(store: &Store, period: CalendarPeriod) -> Vec<(String, i64)> {
    let (from, until) = (at("2026-01-05T00:00:00Z"), at("2027-06-01T00:00:00Z"));
    let found = read(store, |s| s.demand(period, from, until, None));
    found
        .values()
        .flatten()
        .map(|d| (period.first_day(d.period).to_string(), d.quantity))
        .collect()
}

fn told(expected: &[(&str, i64)]) -> Vec<(String, i64)> {
    expected
        .iter()
        .map(|(day, quantity)| ((*day).to_owned(), *quantity))
        .collect()
}

pub fn demand_is_counted_by_week_and_month(store: &Store) {
    let shop = Shop::set_up(store);
    let issues = sold(store, &shop);
    let weeks = [("2026-11-23", 8), ("2026-11-30", 5), ("2026-12-28", 1)];
    assert_eq!(asked(store, CalendarPeriod::Week), told(&weeks));
    let months = [("2026-11-01", 13), ("2027-01-01", 1)];
    assert_eq!(asked(store, CalendarPeriod::Month), told(&months));
    // From and until, by instant; one part alone.
    let only = |from: &str, until: &str, parts: &[uuid::Uuid]| -> Vec<Demanded> {
        let found = read(store, |s| {
            s.demand(CalendarPeriod::Week, at(from), at(until), Some(parts))
        });
        found.into_values().flatten().collect()
    };
    let own = [shop.plug.id];
    assert_eq!(
        only("2026-11-30T00:00:00Z", "2027-01-01T00:00:00Z", &own).len(),
        1
    );
    assert_eq!(
        only("2026-01-01T00:00:00Z", "2028-01-01T00:00:00Z", &[id()]),
        []
    );
    assert_eq!(
        only("2026-01-01T00:00:00Z", "2028-01-01T00:00:00Z", &own).len(),
        3
    );
    assert_eq!(
        read(store, |s| s.last_issued(&own))[&own[0]],
        at("2027-01-01T00:00:00Z")
    );
    assert_eq!(issues.len(), 3);
}

pub fn what_comes_back_is_taken_off_where_it_went_out(store: &Store) {
    let shop = Shop::set_up(store);
    let issues = sold(store, &shop);
    let lots = read(store, |s| s.list_lots(&LotFilter::default(), None, 10));
    let lot = &lots[0];
    let later = at("2026-12-09T12:00:00Z");
    let answer = |kind, to: &Place, quantity, issue: usize| {
        let mut back = movement(kind, lot, &shop.job, to, quantity);
        back.answers = Some(issues[issue]);
        back.created_at = later;
        back
    };
    // Sealed back to the bin; gapped over the difference account; dropped: that is no return to a bin.
    let gapped = gapped_lot(shop.plug.id, lot.id, 8128);
    let mut into = movement(
        MovementKind::Return,
        &gapped,
        &shop.difference,
        &shop.bin,
        3,
    );
    into.answers = Some(issues[0]);
    let back = Plan {
        new_lots: vec![gapped],
        movements: vec![
            answer(MovementKind::Return, &shop.bin, 2, 0),
            answer(MovementKind::Return, &shop.difference, 3, 0),
            into,
            answer(MovementKind::Scrapping, &shop.scrap, 1, 0),
            answer(MovementKind::Return, &shop.bin, 1, 1),
        ],
        reservations: vec![],
    };
    let applied = shop.apply(store, &back).movements;
    let weeks = [("2026-11-23", 3), ("2026-11-30", 4), ("2026-12-28", 1)];
    assert_eq!(asked(store, CalendarPeriod::Week), told(&weeks));
    // Scrapped out of a bin: demand of that week. Scrapped from the job: it went out before.
    let mut scrapped = movement(MovementKind::Scrapping, lot, &shop.bin, &shop.scrap, 6);
    scrapped.created_at = later;
    let mut from_job = movement(MovementKind::Scrapping, lot, &shop.job, &shop.scrap, 1);
    from_job.created_at = later;
    let scrapped = shop
        .apply(store, &moves(vec![scrapped, from_job]))
        .movements
        .remove(0);
    let weeks = [
        ("2026-11-23", 3),
        ("2026-11-30", 4),
        ("2026-12-07", 6),
        ("2026-12-28", 1),
    ];
    assert_eq!(asked(store, CalendarPeriod::Week), told(&weeks));
    // What is put right counts for nothing: a scrapping, a return, an issue.
    let undo = |of: &plugwell_domain::ledger::Movement, from: &Place, to: &Place| {
        let mut back = movement(MovementKind::Reversal, lot, from, to, of.quantity);
        back.reverses = Some(of.id);
        back.created_at = later;
        back
    };
    let last = read(store, |s| s.movement(issues[2])).unwrap();
    let undone = vec![
        undo(&scrapped, &shop.scrap, &shop.bin),
        undo(&applied[4], &shop.bin, &shop.job),
        undo(&last, &shop.job, &shop.bin),
    ];
    shop.apply(store, &moves(undone));
    let weeks = [("2026-11-23", 3), ("2026-11-30", 5)];
    assert_eq!(asked(store, CalendarPeriod::Week), told(&weeks));
}

pub fn what_lots_tell_and_what_is_there(store: &Store) {
    let shop = Shop::set_up(store);
    let part = shop.plug.id;
    let none: Vec<Bought> = read(store, |s| s.bought(None));
    assert_eq!(none, []);
    let mut priced = lot(part);
    priced.total_cost = Some(Money {
        minor: 1290,
        currency: "USD".into(),
    });
    priced.quantity_received = 30;
    priced.pack_size = Some(10);
    priced.received_at = at("2026-03-01T00:00:00Z");
    let mut bare = lot(part);
    (bare.total_cost, bare.pack_size) = (None, None);
    bare.received_at = at("2026-05-01T00:00:00Z");
    let mut wrong = lot(part);
    wrong.total_cost = Some(Money {
        minor: 9,
        currency: "USD".into(),
    });
    let gapped = gapped_lot(part, priced.id, 8128);
    let movements = vec![
        shop.receipt(&priced, 30),
        shop.receipt(&bare, 4),
        shop.receipt(&wrong, 4),
        movement(
            MovementKind::Return,
            &gapped,
            &shop.difference,
            &shop.bin,
            2,
        ),
    ];
    let new_lots = vec![priced, bare, wrong.clone(), gapped];
    let kept = reservation(part, "Job 9", 3);
    let plan = Plan {
        new_lots,
        movements,
        reservations: vec![kept],
    };
    let receipt = shop.apply(store, &plan).movements.remove(2);
    let there = OnHand {
        in_bins: 40,
        sealed: 38,
        reserved: 3,
    };
    assert_eq!(read(store, |s| s.on_hand(None))[&part], there);
    // A receipt that was put right tells nothing.
    let mut undone = movement(MovementKind::Reversal, &wrong, &shop.bin, &shop.supplier, 4);
    undone.reverses = Some(receipt.id);
    shop.apply(store, &moves(vec![undone]));
    let told = read(store, |s| s.bought(Some(&[part])));
    let expected = Bought {
        plug_id: part,
        first_at: Some(at("2026-03-01T00:00:00Z")),
        supplier: Some(shop.supplier.name.clone()),
        cost: Some((1290, 30)),
        pack_size: Some(10),
    };
    assert_eq!(told, [expected]);
    let elsewhere = read(store, |s| s.on_hand(Some(&[id()])));
    assert!(elsewhere.is_empty());
}

/// An order for so many plugs of the shop's part.
fn ordered(
    store: &Store,
    shop: &Shop,
    quantity: i64,
    cost: Option<i64>,
    state: OrderState,
) -> Order {
    let data = OrderData {
        supplier: shop.supplier.name.clone(),
        state: Some(state),
        expected_on: None,
        reference: None,
        note: None,
        lines: vec![AskedLine {
            id: None,
            plug_id: shop.plug.id,
            quantity,
            total_cost: cost.map(|minor| Money {
                minor,
                currency: "USD".into(),
            }),
            pack_size: Some(8),
        }],
    };
    let order = order::draft(&data, &shop.supplier, at("2026-06-01T00:00:00Z"), &mut id).unwrap();
    write(store, |s| s.insert_order(&order))
}

pub fn what_orders_tell(store: &Store) {
    let shop = Shop::set_up(store);
    let part = shop.plug.id;
    assert_eq!(read(store, |s| s.expected(None)), []);
    ordered(store, &shop, 16, None, OrderState::Drafted);
    let latest = ordered(store, &shop, 24, Some(9_600), OrderState::Sent);
    let mut gone = ordered(store, &shop, 8, Some(1), OrderState::Sent);
    gone.state = OrderState::Withdrawn;
    gone.version = 2;
    write(store, |s| s.update_order(&gone));
    // Drafts count, what was withdrawn does not.
    assert_eq!(read(store, |s| s.expected(Some(&[part]))), [(part, 40)]);
    let told = read(store, |s| s.bought_by_order(None));
    let expected = Bought {
        plug_id: part,
        first_at: None,
        supplier: Some(shop.supplier.name.clone()),
        cost: Some((9_600, 24)),
        pack_size: Some(8),
    };
    assert_eq!(told, [expected]);
    // Partly in, and closed short.
    let mut partly = latest.clone();
    partly.lines[0] = partly.lines[0].clone().with_received(10);
    (partly.state, partly.version) = (OrderState::PartlyIn, 2);
    write(store, |s| s.update_order(&partly));
    assert_eq!(read(store, |s| s.expected(None)), [(part, 30)]);
    (partly.state, partly.version) = (OrderState::Closed, 3);
    write(store, |s| s.update_order(&partly));
    assert_eq!(read(store, |s| s.expected(None)), [(part, 16)]);
    assert_eq!(read(store, |s| s.expected(Some(&[id()]))), []);
}

pub fn what_is_given_by_hand(store: &Store) {
    let plug = bare_plug("Ferrowick", "FW-3207");
    write(store, |s| s.insert_plug(&plug));
    let empty = read(store, |s| s.reordering(plug.id, plug.created_at));
    assert_eq!(
        (empty.version, empty.data.clone()),
        (1, Reordering::default())
    );
    let data = Reordering {
        min_quantity: Some(4),
        max_quantity: Some(12),
        ..Reordering::default()
    };
    let next = Stored {
        version: 2,
        data,
        ..empty
    };
    write(store, |s| s.put_reordering(&next));
    assert_eq!(
        read(store, |s| s.reordering(plug.id, plug.created_at)),
        next
    );
    let stale: Result<_, StoreError> = store.write(|s| s.put_reordering(&next));
    assert!(stale.is_err(), "the version was not raised");
    assert_eq!(read(store, |s| s.all_reordering(None)).len(), 1);
    assert!(read(store, |s| s.all_reordering(Some(&[id()]))).is_empty());
    // It goes with the record.
    assert!(write(store, |s| s.delete_plug(plug.id)));
    assert!(read(store, |s| s.all_reordering(None)).is_empty());
}
