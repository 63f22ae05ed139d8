use std::collections::HashMap;

use plugwell_domain::ledger::shelf::OnShelf;
use plugwell_domain::ledger::{MovementKind, Place, Plan, ReservationState, Shelf};
use plugwell_domain::plug::Plug;
use plugwell_store::Store;

use crate::made_up::{
    Shop, bare_plug, gapped_lot, id, lot, movement, moves, read, reservation, write,
};

/// What a shelf holds, as code of the lot, name of the place and quantity.
fn held(store: &Store, shelf: &Shelf) -> Vec<(String, String, i64)> {
    let place = |id| read(store, |s| s.place(id)).unwrap();
    shelf
        .holdings
        .iter()
        .map(|h| {
            let place = place(h.place_id);
            assert_eq!(
                (place.kind, place.code),
                (h.place_kind, format!("P{}", h.place_number))
            );
            let lot = shelf
                .lots
                .iter()
                .find(|l| l.id == h.lot_id)
                .expect("the lot of a holding");
            (lot.code.clone(), place.name, h.quantity)
        })
        .collect()
}

pub fn a_shelf_shows_what_the_rules_need(store: &Store) {
    let shop = Shop::set_up(store);
    assert_eq!(
        read(store, |s| s.shelf(shop.plug.id, &[])),
        Shelf::default()
    );
    assert_eq!(
        read(store, |s| s.shelf(id(), &[shop.job.id])),
        Shelf::default()
    );
    let first = shop.stocked(store, 10);
    let second = shop.stocked(store, 6);
    let gone = shop.stocked(store, 1);
    let to = |lot, place: &Place, quantity| {
        movement(MovementKind::Transfer, lot, &shop.bin, place, quantity)
    };
    shop.apply(
        store,
        &Plan {
            reservations: vec![reservation(shop.plug.id, "Job 7", 2)],
            ..moves(vec![
                to(&first, &shop.second_bin, 3),
                to(&second, &shop.quarantine, 6),
                to(&first, &shop.scrap, 1),
                shop.issue(&first, 2),
                shop.issue(&gone, 1),
            ])
        },
    );
    let row = |lot: &str, place: &str, quantity| (lot.to_owned(), place.to_owned(), quantity);
    let on_shelf = vec![
        row("L1", "Drawer 1", 4),
        row("L1", "Drawer 2", 3),
        row("L2", "Cage", 6),
    ];
    // The same in a read, and in a write, where it also locks.
    let seen = [
        read(store, |s| s.shelf(shop.plug.id, &[])),
        write(store, |s| s.shelf(shop.plug.id, &[])),
    ];
    for shelf in seen {
        assert_eq!(held(store, &shelf), on_shelf);
        assert_eq!(shelf.lots.len(), 2);
        assert_eq!(shelf.reservations.len(), 1);
    }
    let with_job = read(store, |s| {
        s.shelf(shop.plug.id, &[shop.job.id, shop.bin.id, id()])
    });
    let mut expected = on_shelf;
    expected.extend([row("L1", "Job 7", 2), row("L3", "Job 7", 1)]);
    expected.sort();
    let mut all = held(store, &with_job);
    all.sort();
    assert_eq!(all, expected);
}

/// A small generator: the same sequence each time (constants of Knuth's MMIX, from memory).
struct Dice(u64);

impl Dice {
    fn up_to(&mut self, n: i64) -> i64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as i64 % n
    }
}

/// Lots of each part, sealed and gapped, spread over all kinds of places, with reservations in every
/// state.
fn stock_at_random(store: &Store, shop: &Shop, plugs: &[Plug]) {
    let mut dice = Dice(7);
    let places = [
        &shop.bin,
        &shop.second_bin,
        &shop.job,
        &shop.quarantine,
        &shop.scrap,
        &shop.supplier,
    ];
    for plug in plugs {
        let shop = Shop {
            plug: plug.clone(),
            ..shop.clone()
        };
        for _ in 0..dice.up_to(4) {
            let sealed = lot(plug.id);
            let gapped = gapped_lot(plug.id, sealed.id, 6000 + dice.up_to(3) * 1000);
            let mut plan = Plan {
                new_lots: vec![sealed, gapped],
                ..Plan::default()
            };
            for lot in plan.new_lots.clone() {
                plan.movements.push(shop.receipt(&lot, 20));
                let (to, quantity) = (dice.up_to(5) as usize + 1, dice.up_to(20) + 1);
                plan.movements.push(movement(
                    MovementKind::Transfer,
                    &lot,
                    &shop.bin,
                    places[to],
                    quantity,
                ));
            }
            let mut kept = reservation(plug.id, "Job 7", 1 + dice.up_to(3));
            match dice.up_to(3) {
                0 => kept.state = ReservationState::Short,
                1 => (kept.state, kept.open_quantity) = (ReservationState::Released, 0),
                _ => {}
            }
            plan.reservations.push(kept);
            shop.apply(store, &plan);
        }
    }
}

pub fn live_stock_equals_the_shelves(store: &Store) {
    let shop = Shop::set_up(store);
    let plugs: Vec<_> = (0..12)
        .map(|n| bare_plug("Quillmark", &format!("Q-{n}")))
        .collect();
    write(store, |s| {
        plugs
            .iter()
            .try_for_each(|plug| s.insert_plug(plug).map(drop))
    });
    // The last part never has stock.
    stock_at_random(store, &shop, &plugs[..11]);
    let all: HashMap<u32, (i64, OnShelf)> = read(store, |s| s.all_on_shelf())
        .into_iter()
        .map(|(n, version, shelf)| (n, (version, shelf)))
        .collect();
    let mut stocked = 0;
    for plug in &plugs {
        let (number, version, one) = read(store, |s| s.on_shelf(plug.id)).unwrap();
        let shelf = OnShelf::of(&read(store, |s| s.shelf(plug.id, &[])));
        assert_eq!(one, shelf);
        match all.get(&number) {
            Some(live) => assert_eq!(live, &(version, shelf)),
            None => assert_eq!((version, shelf), (0, OnShelf::default())),
        }
        stocked += usize::from(version > 0);
    }
    assert_eq!(all.len(), stocked);
    assert!(
        stocked >= 5,
        "the dice gave too few lots to show anything: {stocked}"
    );
    assert_eq!(read(store, |s| s.on_shelf(id())), None);
    assert_eq!(read(store, |s| s.audit_levels()).differences, []);
}
