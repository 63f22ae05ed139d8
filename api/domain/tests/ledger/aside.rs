//! A lot that is put aside as a whole, and what a manager's decision does.

use chrono::DateTime;
use plugwell_domain::ledger::aside::{SentBack, Settled, set_aside, settle};
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
    let plan = acting(|act| set_aside(&held, id(10), &cage, act));
    let moved = MovementKind::Transfer;
    assert_eq!(
        told(&plan),
        [(moved, one.id, cage.id, 5), (moved, two.id, cage.id, 4)]
    );
    let nothing = acting(|act| set_aside(&shelf(&[(11, &one, 7)]), id(10), &cage, act));
    assert_eq!(told(&nothing), []);
}

#[test]
fn what_lies_there_goes_where_the_manager_says() {
    let (bin, drum) = (place(2, PlaceKind::Bin), place(5, PlaceKind::Scrap));
    let cage = place(4, PlaceKind::Quarantine);
    let held = shelf(&[(10, &cage, 9), (11, &cage, 3)]);
    let decide = |held: &Shelf, settled| acting(|act| settle(held, id(10), &cage, settled, act));
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

#[test]
fn only_a_whole_lot_goes_back_and_only_once() {
    let (supplier, bin) = (place(6, PlaceKind::Supplier), place(2, PlaceKind::Bin));
    let cage = place(4, PlaceKind::Quarantine);
    let receipt = acting(|act| {
        let held = shelf(&[(10, &bin, 12)]);
        set_aside(&held, id(10), &cage, act).movements.remove(0)
    });
    let receipt = Movement {
        kind: MovementKind::Receipt,
        from_place_id: supplier.id,
        to_place_id: bin.id,
        ..receipt
    };
    let back = |there: i64, reversed: bool| -> Result<Plan, Rejected> {
        let settled = Settled::SendBack(SentBack {
            receipt: &receipt,
            reversed,
            supplier: &supplier,
            bin: &bin,
            reason: "wrong reach",
        });
        acting(|act| settle(&shelf(&[(10, &cage, there)]), id(10), &cage, settled, act))
    };
    let plan = back(12, false).expect("all of it is there");
    assert_eq!(
        told(&plan),
        [
            (MovementKind::Transfer, cage.id, bin.id, 12),
            (MovementKind::Reversal, bin.id, supplier.id, 12)
        ]
    );
    assert_eq!(plan.movements[1].reverses, Some(receipt.id));
    let short = back(11, false).expect_err("one has gone");
    assert_eq!(
        (short.rule, short.available),
        (Rejection::NotEnoughStock, Some(11))
    );
    let twice = back(12, true).map_err(|r| r.rule);
    assert_eq!(twice.err(), Some(Rejection::AlreadyReversed));
}
