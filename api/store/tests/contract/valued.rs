//! What the books of value are made of: lots and movements, part by part.

use plugwell_domain::instant::Period;
use plugwell_domain::ledger::{Money, MovementKind, Plan};
use plugwell_store::Store;

use crate::made_up::{Shop, bare_plug, gapped_lot, instant, lot, movement, moves, read, write};

/// A lot, one of another currency, and one that descends from the first; four are issued and one comes back.
fn lived(shop: &Shop) -> Plan {
    let first = lot(shop.plug.id);
    let mut foreign = lot(shop.plug.id);
    foreign.total_cost = Some(Money {
        minor: 1,
        currency: "JPY".into(),
    });
    let set = gapped_lot(shop.plug.id, first.id, 8128);
    let issue = shop.issue(&first, 4);
    let mut back = movement(MovementKind::Return, &first, &shop.job, &shop.bin, 1);
    back.answers = Some(issue.id);
    let movements = vec![shop.receipt(&first, 10), issue, back];
    Plan {
        new_lots: vec![first, foreign, set],
        movements,
        reservations: vec![],
    }
}

/// Movements and lots of several parts, in their order, with the kinds of their places.
pub fn books_are_handed_over(store: &Store) {
    let shop = Shop::set_up(store);
    let other = Shop {
        plug: bare_plug("Ferrowick", "FW-3208"),
        ..shop.clone()
    };
    write(store, |s| s.insert_plug(&other.plug));
    let plan = lived(&shop);
    let [first, foreign, set] = &plan.new_lots[..] else {
        panic!("three lots")
    };
    let written = shop.apply(store, &plan).movements;
    other.stocked(store, 10);
    let last = shop
        .apply(store, &moves(vec![shop.issue(first, 1)]))
        .movements;

    let parts = read(store, |s| s.stocked_parts());
    let mut wanted = vec![shop.plug.id, other.plug.id];
    wanted.sort_unstable();
    assert_eq!(parts, wanted);
    let mut found = Vec::new();
    read(store, |s| {
        s.each_part(&parts, "USD", |part| found.push(part))
    });
    let order: Vec<_> = found.iter().map(|part| part.plug_id).collect();
    assert_eq!(order, wanted);
    let own = found.iter().find(|p| p.plug_id == shop.plug.id).unwrap();
    assert_eq!((&*own.maker, &*own.part_number), ("Ferrowick", "FW-3207"));
    let told: Vec<_> = own
        .entries
        .iter()
        .map(|e| {
            (
                e.id,
                e.sequence,
                e.kind,
                e.from.kind.word(),
                e.to.kind.word(),
                e.quantity,
                e.answers,
            )
        })
        .collect();
    let whole: Vec<_> = written
        .iter()
        .chain(&last)
        .zip([
            ("supplier", "bin"),
            ("bin", "job"),
            ("job", "bin"),
            ("bin", "job"),
        ])
        .map(|(m, (from, to))| (m.id, m.sequence, m.kind, from, to, m.quantity, m.answers))
        .collect();
    assert_eq!(told, whole);
    // A cost in another currency cannot be added up.
    let cost = |id| {
        own.lots
            .iter()
            .find(|lot| lot.id == id)
            .map(|lot| (lot.minor, lot.from_lot_id))
    };
    assert_eq!(cost(first.id), Some((Some(12_950), None)));
    assert_eq!(cost(foreign.id), Some((None, None)));
    assert_eq!(cost(set.id), Some((None, Some(first.id))));
}

/// What was scrapped in a period and what was taken back in it, each by its own instant.
pub fn scrap_of_a_period(store: &Store) {
    let shop = Shop::set_up(store);
    let lot = shop.stocked(store, 10);
    let mut scrapped = movement(MovementKind::Scrapping, &lot, &shop.bin, &shop.scrap, 2);
    scrapped.reason = Some("dropped".into());
    scrapped.dropped_by = Some("Odile".into());
    scrapped.created_at = instant(10);
    let mut back = movement(MovementKind::Reversal, &lot, &shop.scrap, &shop.bin, 2);
    back.reverses = Some(scrapped.id);
    back.created_at = instant(20);
    let written = shop.apply(store, &moves(vec![scrapped, back])).movements;
    let period = |from: Option<i64>, to: Option<i64>| Period {
        from: from.map(instant),
        to: to.map(instant),
    };
    for (from, to, out, again) in [
        (None, None, true, true),
        (Some(10), Some(20), true, false),
        (Some(11), Some(21), false, true),
        (Some(20), None, false, true),
        (None, Some(10), false, false),
    ] {
        let scrapped = read(store, |s| s.scrapped_in(period(from, to)));
        assert_eq!(scrapped, written[..usize::from(out)], "{from:?} {to:?}");
        let taken = read(store, |s| s.taken_back_in(period(from, to)));
        let pair = (written[1].clone(), written[0].clone());
        assert_eq!(taken, vec![pair; usize::from(again)], "{from:?} {to:?}");
    }
    let places = read(store, |s| s.places_by_id(&[shop.bin.id, shop.scrap.id]));
    assert_eq!(places.len(), 2);
}
