use plugwell_domain::attribute::Attr;
use plugwell_domain::ledger::{
    Condition, Level, Lot, MovementKind, PlaceKind, Plan, ReservationState,
};
use plugwell_domain::plug::Plug;
use plugwell_domain::words::Status;
use plugwell_store::{
    FactFilter, LevelFilter, LotFilter, MovementFilter, PlugFilter, ReservationFilter, Store,
};

use crate::catalogue::scale;
use crate::made_up::{
    Shop, bare_plug, gapped_lot, id, instant, moved, movement, moves, read, reservation, write,
};

/// Six parts: numbers and words that rise, the last one unknown.
fn rising(store: &Store) -> Vec<Plug> {
    let mut plugs: Vec<Plug> = (0..6)
        .map(|n| bare_plug("Ferrowick", &format!("FW-{n}")))
        .collect();
    for (n, plug) in (0..).zip(&mut plugs[..5]) {
        plug.data.facts.set(Attr::Heat, Some(500 + 100 * n));
        plug.data.facts.set(Attr::Electrode, Some(n));
        plug.data.facts.set(Attr::Resistor, Some(n % 2));
    }
    let scale = scale("Ferrowick", "rising");
    plugs[1].data.maker = "Quillmark".into();
    plugs[1].data.gtin = Some("2000000000015".parse().unwrap());
    plugs[2].data.status = Status::Discontinued;
    plugs[3].data.heat_scale_id = Some(scale.id);
    plugs[4].retired = true;
    plugs[5].data.superseded_by = Some(plugs[0].id);
    write(store, |s| {
        s.insert_scale(&scale)?;
        plugs.iter().try_for_each(|p| s.insert_plug(p).map(drop))
    });
    plugs
}

/// Which of them a filter leaves.
fn left(store: &Store, plugs: &[Plug], filter: &PlugFilter) -> Vec<usize> {
    let found = read(store, |s| s.list_plugs(filter, None, 100));
    let place = |found: &Plug| plugs.iter().position(|p| p == found);
    found.iter().map(|p| place(p).expect("as stored")).collect()
}

pub fn plugs_by_attribute(store: &Store) {
    use FactFilter::{AtLeast, AtMost, Is, Null, OneOf};
    let plugs = rising(store);
    let all = |facts: &[(Attr, FactFilter)]| {
        let filter = PlugFilter {
            facts: facts.to_vec(),
            retired: true,
            ..PlugFilter::default()
        };
        left(store, &plugs, &filter)
    };
    let heat = |fact| all(&[(Attr::Heat, fact)]);
    assert_eq!(heat(Is(600)), [1]);
    assert_eq!(heat(AtLeast(700)), [2, 3, 4]);
    assert_eq!(heat(AtMost(600)), [0, 1]);
    assert_eq!(heat(OneOf(vec![500, 900, 901])), [0, 4]);
    assert_eq!(heat(OneOf(vec![])), [0usize; 0]);
    assert_eq!(heat(Null), [5]);
    // Words are kept as text, whose order is not that of the list.
    let metal = |fact| all(&[(Attr::Electrode, fact)]);
    assert_eq!(metal(Is(2)), [2]);
    assert_eq!(metal(AtLeast(3)), [3, 4]);
    assert_eq!(metal(AtMost(0)), [0]);
    assert_eq!(metal(OneOf(vec![1, 4])), [1, 4]);
    assert_eq!(metal(Null), [5]);
    assert_eq!(all(&[(Attr::Resistor, Is(1))]), [1, 3]);
    let between = [(Attr::Heat, AtLeast(600)), (Attr::Heat, AtMost(700))];
    assert_eq!(all(&between), [1, 2]);
}

pub fn plugs_by_the_rest(store: &Store) {
    let plugs = rising(store);
    let all = |narrow: &dyn Fn(&mut PlugFilter)| {
        let mut filter = PlugFilter::default();
        narrow(&mut filter);
        left(store, &plugs, &filter)
    };
    assert_eq!(all(&|_| {}), [0, 1, 2, 3, 5]);
    assert_eq!(all(&|f| f.retired = true), [0, 1, 2, 3, 4, 5]);
    assert_eq!(all(&|f| f.maker = Some("QUILLMARK".into())), [1]);
    assert_eq!(all(&|f| f.part_number = Some("fw-3".into())), [3]);
    assert_eq!(all(&|f| f.gtin = Some("2000000000015".into())), [1]);
    assert_eq!(all(&|f| f.status = Some(Status::Discontinued)), [2]);
    let scale = plugs[3].data.heat_scale_id;
    assert_eq!(all(&|f| f.heat_scale_id = scale), [3]);
    assert_eq!(all(&|f| f.superseded_by = Some(plugs[0].id)), [5]);
    let ids = vec![plugs[3].id, plugs[0].id, id()];
    assert_eq!(all(&|f| f.ids = ids.clone()), [0, 3]);
}

pub fn plugs_page_by_page(store: &Store) {
    rising(store);
    let mut paged = Vec::new();
    let mut after = None;
    loop {
        let page = read(store, |s| s.list_plugs(&PlugFilter::default(), after, 2));
        let Some(last) = page.last() else { break };
        after = Some(last.id);
        paged.extend(page.into_iter().map(|p| p.data.part_number));
    }
    assert_eq!(paged, ["FW-0", "FW-1", "FW-2", "FW-3", "FW-5"]);
}

pub fn movements(store: &Store) {
    let shop = Shop::set_up(store);
    let mut other = shop.clone();
    other.plug = bare_plug("Quillmark", "Q-1");
    write(store, |s| s.insert_plug(&other.plug));
    let lots = [&shop, &shop, &other].map(|shop| shop.stocked(store, 10));
    shop.apply(store, &moves(vec![shop.issue(&lots[0], 1)]));
    let (first, second) = (&shop.bin, &shop.second_bin);
    other.apply(store, &moves(vec![moved(&lots[2], first, second, 2)]));
    other.apply(store, &moves(vec![moved(&lots[2], second, first, 2)]));

    let page = |narrow: &dyn Fn(&mut MovementFilter), after, limit| -> Vec<i64> {
        let mut filter = MovementFilter::default();
        narrow(&mut filter);
        let found = read(store, |s| s.list_movements(&filter, after, limit));
        found.iter().map(|m| m.sequence).collect()
    };
    let all = |narrow: &dyn Fn(&mut MovementFilter)| page(narrow, None, 9);
    assert_eq!(all(&|_| {}), [1, 2, 3, 4, 5, 6]);
    assert_eq!(page(&|_| {}, Some(2), 2), [3, 4]);
    assert_eq!(all(&|f| f.plug_id = Some(other.plug.id)), [3, 5, 6]);
    assert_eq!(all(&|f| f.plug_id = Some(id())), [0i64; 0]);
    assert_eq!(all(&|f| f.lot_id = Some(lots[0].id)), [1, 4]);
    assert_eq!(all(&|f| f.kind = Some(MovementKind::Transfer)), [5, 6]);
    assert_eq!(all(&|f| f.job = Some("JOB 7".into())), [4]);
    assert_eq!(all(&|f| f.place_id = Some(second.id)), [5, 6]);
    let through_first = |f: &mut MovementFilter| f.place_id = Some(first.id);
    assert_eq!(all(&through_first), [1, 2, 3, 4, 5, 6]);
    assert_eq!(page(&through_first, Some(2), 3), [3, 4, 5]);
    let narrow = |f: &mut MovementFilter| {
        through_first(f);
        f.lot_id = Some(lots[2].id);
        f.kind = Some(MovementKind::Transfer);
    };
    assert_eq!(page(&narrow, Some(5), 9), [6]);
}

pub fn reservations(store: &Store) {
    let shop = Shop::set_up(store);
    let mut kept = ["Job 7", "Job 8", "Job 7"].map(|job| reservation(shop.plug.id, job, 3));
    kept[1].expires_at = Some(instant(50));
    // Made in another order than their ids run.
    kept[0].created_at = instant(20);
    let plan = |reservations: &[_]| Plan {
        reservations: reservations.to_vec(),
        ..Plan::default()
    };
    shop.apply(store, &plan(&kept));

    let page = |narrow: &dyn Fn(&mut ReservationFilter), after| {
        let mut filter = ReservationFilter::default();
        narrow(&mut filter);
        read(store, |s| s.list_reservations(&filter, after, 9))
    };
    let all = |narrow: &dyn Fn(&mut ReservationFilter)| page(narrow, None);
    assert_eq!(all(&|_| {}), kept);
    assert_eq!(page(&|_| {}, Some(kept[0].id)), kept[1..]);
    assert_eq!(all(&|f| f.plug_id = Some(id())), []);
    assert_eq!(all(&|f| f.plug_id = Some(shop.plug.id)), kept);
    assert_eq!(all(&|f| f.job = Some("job 8".into())), kept[1..2]);
    assert_eq!(all(&|f| f.expires_by = Some(instant(49))), []);
    assert_eq!(all(&|f| f.expires_by = Some(instant(50))), kept[1..2]);

    let waiting = || -> Vec<_> {
        let shelf = read(store, |s| s.shelf(shop.plug.id, &[]));
        shelf.reservations.iter().map(|r| r.id).collect()
    };
    assert_eq!(waiting(), [kept[1].id, kept[2].id, kept[0].id]);
    kept[1].open_quantity = 0;
    kept[1].state = ReservationState::Issued;
    kept[1].version = 2;
    kept[2].state = ReservationState::Short;
    kept[2].version = 2;
    shop.apply(store, &plan(&kept[1..]));
    assert_eq!(all(&|_| {}), kept);
    let short = |f: &mut ReservationFilter| f.state = Some(ReservationState::Short);
    assert_eq!(all(&short), kept[2..]);
    assert_eq!(waiting(), [kept[2].id, kept[0].id]);
    // Over another version than it was read at: not written.
    kept[2].version = 5;
    let stale = plan(&kept[2..]);
    assert!(store.write(|s| s.apply(shop.plug.id, &stale)).is_err());
    let stored = read(store, |s| s.reservation(kept[2].id)).unwrap();
    assert_eq!(stored.version, 2);
}

/// A sealed lot in the bin and one that descends from it.
fn two_lots(store: &Store, shop: &Shop) -> [Lot; 2] {
    let sealed = shop.stocked(store, 10);
    let gapped = gapped_lot(shop.plug.id, sealed.id, 8128);
    let kind = MovementKind::Return;
    let into = movement(kind, &gapped, &shop.difference, &shop.bin, 4);
    let mut plan = moves(vec![into]);
    plan.new_lots.push(gapped);
    let gapped = shop.apply(store, &plan).lots.remove(0);
    [sealed, gapped]
}

pub fn lots(store: &Store) {
    let shop = Shop::set_up(store);
    let lots = two_lots(store, &shop);
    let page = |narrow: &dyn Fn(&mut LotFilter), after| {
        let mut filter = LotFilter::default();
        narrow(&mut filter);
        read(store, |s| s.list_lots(&filter, after, 9))
    };
    let all = |narrow: &dyn Fn(&mut LotFilter)| page(narrow, None);
    assert_eq!(all(&|_| {}), lots);
    assert_eq!(page(&|_| {}, Some(lots[0].id)), lots[1..]);
    assert_eq!(all(&|f| f.plug_id = Some(id())), []);
    assert_eq!(all(&|f| f.plug_id = Some(shop.plug.id)), lots);
    assert_eq!(all(&|f| f.code = Some("l2".into())), lots[1..]);
    assert_eq!(all(&|f| f.code = Some("drawer".into())), []);
    let sealed = |f: &mut LotFilter| f.condition = Some(Condition::Sealed);
    assert_eq!(all(&sealed), lots[..1]);
}

pub fn levels(store: &Store) {
    let shop = Shop::set_up(store);
    let [sealed, gapped] = two_lots(store, &shop);
    // All of the gapped lot leaves the bin: a level of zero is not listed.
    let away = moved(&gapped, &shop.bin, &shop.quarantine, 4);
    shop.apply(store, &moves(vec![away]));
    let level = |lot: &Lot, place_id, quantity| Level {
        plug_id: shop.plug.id,
        lot_id: lot.id,
        place_id,
        quantity,
    };
    let in_bin = level(&sealed, shop.bin.id, 10);
    let mut expected = [
        level(&sealed, shop.supplier.id, -10),
        in_bin.clone(),
        level(&gapped, shop.difference.id, -4),
        level(&gapped, shop.quarantine.id, 4),
    ];
    expected.sort_by_key(|l| (l.lot_id, l.place_id));

    let page = |narrow: &dyn Fn(&mut LevelFilter), after| {
        let mut filter = LevelFilter::default();
        narrow(&mut filter);
        read(store, |s| s.list_levels(&filter, after, 9))
    };
    let all = |narrow: &dyn Fn(&mut LevelFilter)| page(narrow, None);
    assert_eq!(all(&|_| {}), expected);
    let first = (expected[0].lot_id, expected[0].place_id);
    assert_eq!(page(&|_| {}, Some(first)), expected[1..]);
    assert_eq!(all(&|f| f.plug_id = Some(shop.plug.id)), expected);
    assert_eq!(all(&|f| f.plug_id = Some(id())), []);
    assert_eq!(all(&|f| f.lot_id = Some(sealed.id)).len(), 2);
    let in_bin = [in_bin];
    assert_eq!(all(&|f| f.place_id = Some(shop.bin.id)), in_bin);
    assert_eq!(all(&|f| f.kind = Some(PlaceKind::Bin)), in_bin);

    // Several parts, one level to a page: nothing is lost and nothing comes twice.
    let mut other = shop.clone();
    other.plug = bare_plug("Quillmark", "Q-1");
    write(store, |s| s.insert_plug(&other.plug));
    (0..2).for_each(|_| drop(other.stocked(store, 5)));
    let whole = all(&|_| {});
    assert_eq!(whole.len(), 8);
    let mut paged = Vec::new();
    let mut after = None;
    loop {
        let filter = LevelFilter::default();
        let page = read(store, |s| s.list_levels(&filter, after, 1));
        let Some(last) = page.last() else { break };
        after = Some((last.lot_id, last.place_id));
        paged.extend(page);
    }
    assert_eq!(paged, whole);
}
