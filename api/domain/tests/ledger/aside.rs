//! A lot that is put aside as a whole, and what a manager's decision does.

use chrono::DateTime;
use plugwell_domain::ledger::aside::{SentBack, Settled, set_aside, settle};
use plugwell_domain::ledger::family::{descended, forebears};
use plugwell_domain::ledger::rules::{Act, Rejected, Rejection};
use plugwell_domain::ledger::{
    Condition, Holding, Lot, Movement, MovementKind, Place, PlaceKind, Plan, Shelf,
};
use uuid::Uuid;

fn id(number: u128) -> Uuid {
    Uuid::from_u128(number)
}

fn place(number: u128, kind: PlaceKind) -> Place {
    Place {
        id: id(number),
        code: format!("P{number}"),
        kind,
        name: kind.word().to_owned(),
        retired: false,
        version: 1,
        created_at: DateTime::UNIX_EPOCH,
    }
}

fn lot(number: u128) -> Lot {
    Lot {
        id: id(number),
        code: String::new(),
        plug_id: id(1),
        supplier: "Hollis".into(),
        received_at: DateTime::UNIX_EPOCH,
        quantity_received: 12,
        total_cost: None,
        pack_size: None,
        condition: Condition::Sealed,
        gap_mm: None,
        from_lot_id: None,
        order_line_id: None,
    }
}

/// What two lots have in places.
fn shelf(held: &[(u128, &Place, i64)]) -> Shelf {
    let holding = |(lot, place, quantity): &(u128, &Place, i64)| Holding {
        lot_id: id(*lot),
        place_id: place.id,
        place_kind: place.kind,
        place_number: 1,
        quantity: *quantity,
    };
    Shelf {
        lots: vec![lot(10), lot(11)],
        holdings: held.iter().map(holding).collect(),
        reservations: Vec::new(),
    }
}

fn acting<T>(run: impl FnOnce(&mut Act<'_>) -> T) -> T {
    let mut last = 0x1000;
    let mut new_id = || {
        last += 1;
        id(last)
    };
    run(&mut Act {
        now: DateTime::UNIX_EPOCH,
        actor: "manager",
        new_id: &mut new_id,
    })
}

fn told(plan: &Plan) -> Vec<(MovementKind, Uuid, Uuid, i64)> {
    let all = plan.movements.iter();
    all.map(|m| (m.kind, m.from_place_id, m.to_place_id, m.quantity))
        .collect()
}

#[test]
fn only_what_the_lot_has_in_bins_is_put_aside() {
    let (one, two) = (place(2, PlaceKind::Bin), place(3, PlaceKind::Bin));
    let cage = place(4, PlaceKind::Quarantine);
    let held = shelf(&[(10, &one, 5), (10, &two, 4), (10, &cage, 1), (11, &one, 7)]);
    let plan = acting(|act| set_aside(&held, &[id(10)], &cage, act));
    let moved = MovementKind::Transfer;
    assert_eq!(
        told(&plan),
        [(moved, one.id, cage.id, 5), (moved, two.id, cage.id, 4)]
    );
    let nothing = acting(|act| set_aside(&shelf(&[(11, &one, 7)]), &[id(10)], &cage, act));
    assert_eq!(told(&nothing), []);
}

#[test]
fn what_lies_there_goes_where_the_manager_says() {
    let (bin, drum) = (place(2, PlaceKind::Bin), place(5, PlaceKind::Scrap));
    let cage = place(4, PlaceKind::Quarantine);
    let held = shelf(&[(10, &cage, 9), (11, &cage, 3)]);
    let decide = |held: &Shelf, settled| acting(|act| settle(held, &[id(10)], &cage, settled, act));
    let released = decide(&held, Settled::Release(&bin)).expect("released");
    assert_eq!(
        told(&released),
        [(MovementKind::Transfer, cage.id, bin.id, 9)]
    );
    let scrapped = decide(&held, Settled::Scrap(&drum, "short thread")).expect("scrapped");
    assert_eq!(
        told(&scrapped),
        [(MovementKind::Scrapping, cage.id, drum.id, 9)]
    );
    assert_eq!(scrapped.movements[0].note.as_deref(), Some("short thread"));
    // A manager may have taken it out before: nothing is left to move, and nothing to scrap.
    let gone = shelf(&[(11, &cage, 3)]);
    assert_eq!(
        decide(&gone, Settled::Release(&bin)).map(|p| told(&p)),
        Ok(vec![])
    );
    let refused = decide(&gone, Settled::Scrap(&drum, "x")).map_err(|r| r.rule);
    assert_eq!(refused.err(), Some(Rejection::NotEnoughStock));
}

/// A gapped lot that descends from another.
fn set_to_a_gap(number: u128, from: u128) -> Lot {
    Lot {
        condition: Condition::Gapped,
        from_lot_id: Some(id(from)),
        ..lot(number)
    }
}

#[test]
fn what_descends_from_a_lot_is_put_aside_and_decided_with_it() {
    let (one, two) = (place(2, PlaceKind::Bin), place(3, PlaceKind::Bin));
    let (cage, drum) = (place(4, PlaceKind::Quarantine), place(5, PlaceKind::Scrap));
    // 13 descends from 12, that from 10; 14 from 11.
    let lots = [
        lot(10),
        lot(11),
        set_to_a_gap(12, 10),
        set_to_a_gap(13, 12),
        set_to_a_gap(14, 11),
    ];
    assert_eq!(descended(id(10), &lots), [id(10), id(12), id(13)]);
    assert_eq!(descended(id(13), &lots), [id(13)]);
    assert_eq!(forebears(id(13), &lots), [id(12), id(10)]);
    assert!(forebears(id(10), &lots).is_empty());
    let held = Shelf {
        lots: lots.to_vec(),
        ..shelf(&[(10, &one, 5), (13, &two, 4), (14, &two, 3)])
    };
    let family = descended(id(10), &lots);
    let plan = acting(|act| set_aside(&held, &family, &cage, act));
    let moved = MovementKind::Transfer;
    assert_eq!(
        told(&plan),
        [(moved, one.id, cage.id, 5), (moved, two.id, cage.id, 4)]
    );
    let held = Shelf {
        lots: lots.to_vec(),
        ..shelf(&[(10, &cage, 5), (13, &cage, 4), (14, &cage, 3)])
    };
    let why = Settled::Scrap(&drum, "short thread");
    let plan = acting(|act| settle(&held, &family, &cage, why, act)).expect("nine are there");
    let thrown = plan.movements.iter().map(|m| (m.lot_id, m.quantity));
    assert_eq!(thrown.collect::<Vec<_>>(), [(id(10), 5), (id(13), 4)]);
}

#[test]
fn a_circle_of_lots_ends() {
    let lots = [set_to_a_gap(10, 11), set_to_a_gap(11, 10)];
    assert_eq!(descended(id(10), &lots), [id(10), id(11)]);
    assert_eq!(forebears(id(10), &lots), [id(11)]);
}

/// A send-back of a receipt of twelve, of which so much of lot 10 and of its descendant 12 lies aside.
fn back(lies: &[(u128, i64)], reversed: bool) -> Result<Vec<Movement>, Rejected> {
    let (supplier, bin) = (place(6, PlaceKind::Supplier), place(2, PlaceKind::Bin));
    let (cage, account) = (
        place(4, PlaceKind::Quarantine),
        place(7, PlaceKind::Difference),
    );
    let receipt = acting(|act| {
        let held = shelf(&[(10, &bin, 12)]);
        set_aside(&held, &[id(10)], &cage, act).movements.remove(0)
    });
    let receipt = Movement {
        kind: MovementKind::Receipt,
        from_place_id: supplier.id,
        to_place_id: bin.id,
        ..receipt
    };
    let settled = Settled::SendBack(SentBack {
        lot: &lot(10),
        receipt: &receipt,
        reversed,
        supplier: &supplier,
        bin: &bin,
        difference: &account,
        reason: "wrong reach",
    });
    let lies: Vec<(u128, &Place, i64)> = lies.iter().map(|(l, q)| (*l, &cage, *q)).collect();
    let held = Shelf {
        lots: vec![lot(10), set_to_a_gap(12, 10)],
        ..shelf(&lies)
    };
    let plan = acting(|act| settle(&held, &[id(10), id(12)], &cage, settled, act))?;
    let reverses = plan.movements.last().and_then(|m| m.reverses);
    assert_eq!(reverses, Some(receipt.id));
    Ok(plan.movements)
}

fn quantities(movements: &[Movement]) -> Vec<(MovementKind, Uuid, i64)> {
    let all = movements.iter();
    all.map(|m| (m.kind, m.lot_id, m.quantity)).collect()
}

#[test]
fn what_lies_there_goes_back_and_only_once() {
    use MovementKind::{Reversal, Transfer};
    for there in [12, 7, 1] {
        let moved = back(&[(10, there)], false).expect("some are there");
        assert_eq!(
            quantities(&moved),
            [(Transfer, id(10), there), (Reversal, id(10), there)]
        );
        let way = [moved[0].from_place_id, moved[0].to_place_id];
        assert_eq!((way, moved[1].to_place_id), ([id(4), id(2)], id(6)));
    }
    let rule = |lies: &[(u128, i64)], reversed| back(lies, reversed).map_err(|r| r.rule).err();
    assert_eq!(rule(&[], false), Some(Rejection::NotEnoughStock));
    assert_eq!(rule(&[(10, 12)], true), Some(Rejection::AlreadyReversed));
    assert_eq!(rule(&[], true), Some(Rejection::AlreadyReversed));
}

#[test]
fn what_was_set_to_a_gap_goes_back_as_plugs_of_the_lot_that_came() {
    use MovementKind::{Reversal, Transfer};
    let moved = back(&[(10, 5), (12, 3)], false).expect("eight are there");
    assert_eq!(
        quantities(&moved),
        [
            (Transfer, id(12), 3),
            (Transfer, id(10), 3),
            (Transfer, id(10), 8),
            (Reversal, id(10), 8)
        ]
    );
    assert!(moved[0].pair_id.is_some() && moved[0].pair_id == moved[1].pair_id);
    let all_of_it = back(&[(12, 3)], false).expect("three are there");
    assert_eq!(
        all_of_it.last().map(|m| (m.lot_id, m.quantity)),
        Some((id(10), 3))
    );
    // A count found one more than were delivered: that one stays.
    let more = back(&[(10, 11), (12, 2)], false).expect("thirteen are there");
    assert_eq!(more.last().map(|m| m.quantity), Some(12));
}
