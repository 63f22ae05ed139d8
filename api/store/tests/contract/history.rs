//! What movements come to over time, and lists of them in any combination of filters.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use plugwell_domain::calendar::DAY_MICROS;
use plugwell_domain::instant::Period;
use plugwell_domain::ledger::{Lot, Movement, MovementKind, PlaceKind};
use plugwell_domain::report::dead_stock::InStock;
use plugwell_domain::report::stock_outs::InBins;
use plugwell_domain::report::usage::{Flow, Used};
use plugwell_domain::stand_in::PartName;
use plugwell_store::{MovementFilter, Store};
use uuid::Uuid;

use crate::made_up::{Shop, bare_plug, gapped_lot, id, instant, lot, movement, moves, read, write};

/// Days after the fixed instant.
fn day(days: i64) -> DateTime<Utc> {
    instant(days * DAY_MICROS)
}

/// A movement as it was made: by whom, when, for which build.
fn made(mut movement: Movement, day_of: i64, actor: &str, build_id: Option<Uuid>) -> Movement {
    movement.created_at = day(day_of);
    actor.clone_into(&mut movement.actor);
    movement.build_id = build_id;
    movement
}

/// The reversal of a movement.
fn reversal(of: &Movement, day_of: i64) -> Movement {
    Movement {
        id: id(),
        kind: MovementKind::Reversal,
        from_place_id: of.to_place_id,
        to_place_id: of.from_place_id,
        reverses: Some(of.id),
        created_at: day(day_of),
        ..of.clone()
    }
}

/// Two parts that lived for a month: what happened, in order.
struct Lived {
    shop: Shop,
    other: Shop,
    lot: Lot,
    gapped: Lot,
    build: Uuid,
    movements: Vec<Movement>,
}

/// What happened to the first part.
fn first_part(shop: &Shop, lot: &Lot, gapped: &Lot, build: Uuid) -> Vec<Movement> {
    let issue = made(shop.issue(lot, 6), 3, "Ann", Some(build));
    let wrong = made(shop.issue(lot, 2), 4, "Ann", None);
    let kind = MovementKind::Return;
    let mut out = made(
        movement(kind, lot, &shop.job, &shop.difference, 1),
        6,
        "Bea",
        None,
    );
    let mut back = made(
        movement(kind, gapped, &shop.difference, &shop.bin, 1),
        6,
        "Bea",
        None,
    );
    let pair = Some(id());
    (out.pair_id, back.pair_id) = (pair, pair);
    let scrapping = |from, quantity| {
        let kind = MovementKind::Scrapping;
        made(
            movement(kind, lot, from, &shop.scrap, quantity),
            9,
            "Ann",
            None,
        )
    };
    let slip = scrapping(&shop.bin, 1);
    vec![
        made(shop.receipt(lot, 10), 0, "Ann", None),
        issue,
        wrong.clone(),
        reversal(&wrong, 5),
        out,
        back,
        scrapping(&shop.bin, 2),
        slip.clone(),
        reversal(&slip, 10),
        scrapping(&shop.job, 1),
        made(
            crate::made_up::moved(lot, &shop.bin, &shop.quarantine, 2),
            12,
            "Bea",
            None,
        ),
    ]
}

fn lived(store: &Store) -> Lived {
    let shop = Shop::set_up(store);
    let mut other = shop.clone();
    other.plug = bare_plug("Quillmark", "Q-1");
    write(store, |s| s.insert_plug(&other.plug));
    let (lot, build) = (lot(shop.plug.id), id());
    let gapped = gapped_lot(shop.plug.id, lot.id, 8_128);
    let others = crate::made_up::lot(other.plug.id);
    let first = first_part(&shop, &lot, &gapped, build);
    let second = vec![
        made(other.receipt(&others, 4), 1, "Bea", None),
        made(other.issue(&others, 4), 20, "Bea", Some(build)),
        // Written last, but earlier by the clock: running numbers do not always follow it.
        made(other.receipt(&others, 3), 19, "Bea", None),
    ];
    let mut movements = Vec::new();
    for (shop, lots, own) in [
        (&shop, vec![lot.clone(), gapped.clone()], first),
        (&other, vec![others], second),
    ] {
        let mut plan = moves(own);
        plan.new_lots = lots;
        movements.extend(shop.apply(store, &plan).movements);
    }
    Lived {
        shop,
        other,
        lot,
        gapped,
        build,
        movements,
    }
}

/// A filter by its name: how a list is narrowed by it, and what it leaves.
type Narrow = (
    &'static str,
    Box<dyn Fn(&mut MovementFilter)>,
    Box<dyn Fn(&Movement) -> bool>,
);

fn narrow(
    name: &'static str,
    narrow: impl Fn(&mut MovementFilter) + 'static,
    leaves: impl Fn(&Movement) -> bool + 'static,
) -> Narrow {
    (name, Box::new(narrow), Box::new(leaves))
}

fn filters(lived: &Lived) -> Vec<Narrow> {
    let (plug, bin, build) = (lived.shop.plug.id, lived.shop.bin.id, lived.build);
    let issue = MovementKind::Issue;
    vec![
        narrow(
            "part",
            move |f| f.plug_id = Some(plug),
            move |m| m.plug_id == plug,
        ),
        narrow(
            "place",
            move |f| f.place_id = Some(bin),
            move |m| m.from_place_id == bin || m.to_place_id == bin,
        ),
        narrow(
            "kind",
            move |f| f.kind = Some(issue),
            move |m| m.kind == issue,
        ),
        narrow(
            "job",
            |f| f.job = Some("JOB 7".into()),
            |m| m.job.as_deref() == Some("Job 7"),
        ),
        narrow(
            "actor",
            |f| f.actor = Some("Bea".into()),
            |m| m.actor == "Bea",
        ),
        narrow(
            "build",
            move |f| f.build_id = Some(build),
            move |m| m.build_id == Some(build),
        ),
        narrow(
            "from",
            |f| f.from = Some(day(4)),
            |m| m.created_at >= day(4),
        ),
        narrow("to", |f| f.to = Some(day(19)), |m| m.created_at < day(19)),
        narrow("newest", |f| f.newest = true, |_| true),
    ]
}

pub fn movements_in_any_combination(store: &Store) {
    let lived = lived(store);
    let filters = filters(&lived);
    let mut seen = 0;
    for chosen in 0..1usize << filters.len() {
        let of = |place: &usize| chosen & (1 << place) != 0;
        let own: Vec<_> = (0..filters.len())
            .filter(of)
            .map(|place| &filters[place])
            .collect();
        let mut filter = MovementFilter::default();
        own.iter().for_each(|(_, narrow, _)| narrow(&mut filter));
        let fits = |m: &&Movement| own.iter().all(|(_, _, leaves)| leaves(m));
        let left = lived.movements.iter().filter(fits);
        let mut wanted: Vec<i64> = left.map(|m| m.sequence).collect();
        if filter.newest {
            wanted.reverse();
        }
        seen += usize::from(!wanted.is_empty());
        let names: Vec<&str> = own.iter().map(|(name, ..)| *name).collect();
        assert_eq!(paged(store, &filter), wanted, "{names:?}");
    }
    assert!(seen > 150, "many combinations leave something: {seen}");
}

/// Two to a page: nothing is lost and nothing comes twice.
fn paged(store: &Store, filter: &MovementFilter) -> Vec<i64> {
    let (mut paged, mut after) = (Vec::new(), None);
    loop {
        let page = read(store, |s| s.list_movements(filter, after, 2));
        let Some(last) = page.last() else {
            return paged;
        };
        after = Some(last.sequence);
        paged.extend(page.iter().map(|m| m.sequence));
    }
}

fn kind_of(lived: &Lived, place: Uuid) -> PlaceKind {
    let shop = &lived.shop;
    let all = [
        &shop.supplier,
        &shop.bin,
        &shop.job,
        &shop.quarantine,
        &shop.scrap,
        &shop.difference,
    ];
    all.into_iter()
        .find(|p| p.id == place)
        .expect("a place")
        .kind
}

/// The flow of a movement as the ledger tells it.
fn flow(lived: &Lived, movement: &Movement) -> Flow {
    let original = |id: Uuid| lived.movements.iter().find(|m| m.id == id);
    let put_right = movement.reverses.and_then(original);
    Flow {
        kind: put_right.unwrap_or(movement).kind,
        reversal: put_right.is_some(),
        from: kind_of(lived, movement.from_place_id),
        to: kind_of(lived, movement.to_place_id),
        quantity: movement.quantity,
    }
}

fn summed<K: Ord>(flows: impl IntoIterator<Item = (K, Flow)>) -> BTreeMap<K, Used> {
    let mut sums: BTreeMap<K, Used> = BTreeMap::new();
    for (key, flow) in flows {
        sums.entry(key).or_default().count(flow);
    }
    sums.retain(|_, used| !used.is_nothing());
    sums
}

pub fn flows(store: &Store) {
    let lived = lived(store);
    for (from, to) in [
        (None, None),
        (Some(4), None),
        (None, Some(9)),
        (Some(5), Some(10)),
    ] {
        let period = Period {
            from: from.map(day),
            to: to.map(day),
        };
        let own = || {
            lived
                .movements
                .iter()
                .filter(|m| period.holds(m.created_at))
        };
        let days = own().map(|m| {
            let days = m.created_at.timestamp_micros() / DAY_MICROS;
            (days, flow(&lived, m))
        });
        let got = read(store, |s| s.flows_by_day(period));
        assert_eq!(summed(got), summed(days), "{period:?}");
        let parts = own().map(|m| (m.plug_id, flow(&lived, m)));
        let got = read(store, |s| s.flows_by_part(period));
        assert_eq!(summed(got), summed(parts), "{period:?}");
        let jobs = own().map(|m| (m.job.clone(), flow(&lived, m)));
        let got = read(store, |s| s.flows_by_job(period));
        assert_eq!(summed(got), summed(jobs), "{period:?}");
    }
    // By hand: 6 issued and 2 more put right, 1 came back set to a gap, 2 fell and 1 more was put
    // right; what the job scrapped was used before.
    let all = read(store, |s| s.flows_by_part(Period::default()));
    let used = summed(all)[&lived.shop.plug.id];
    assert_eq!(
        (used.issued, used.returned, used.scrapped, used.used),
        (6, 1, 2, 7)
    );
    assert_eq!(read(store, |s| s.first_movement_at()), Some(day(0)));
}

pub fn changes_in_bins(store: &Store) {
    let lived = lived(store);
    let bin = |place| i64::from(kind_of(&lived, place) == PlaceKind::Bin);
    for before in [0, 5, 19, 20, 40] {
        let mut got = Vec::new();
        read(store, |s| {
            s.each_change_in_bins(day(before), |change| got.push(change))
        });
        let mut wanted: Vec<InBins> = Vec::new();
        let mut parts = [lived.shop.plug.id, lived.other.plug.id];
        parts.sort_unstable();
        for part in parts {
            let own = lived.movements.iter().filter(|m| m.plug_id == part);
            let own = own.filter(|m| m.created_at < day(before));
            let changes = own.map(|m| InBins {
                plug_id: part,
                at: m.created_at,
                change: m.quantity * (bin(m.to_place_id) - bin(m.from_place_id)),
            });
            wanted.extend(changes.filter(|change| change.change != 0));
        }
        assert_eq!(got, wanted, "{before}");
    }
}

pub fn parts_in_stock(store: &Store) {
    let lived = lived(store);
    let mut wanted = [
        // The last issue that stands: the one a day later was put right.
        InStock {
            plug_id: lived.shop.plug.id,
            on_hand: 1,
            received_at: instant(1),
            last_issue_at: Some(day(3)),
        },
        InStock {
            plug_id: lived.other.plug.id,
            on_hand: 3,
            received_at: instant(1),
            last_issue_at: Some(day(20)),
        },
    ];
    wanted.sort_by_key(|part| part.plug_id);
    assert_eq!(read(store, |s| s.parts_in_stock()), wanted);
    let ids = [lived.shop.plug.id, id()];
    let names = read(store, |s| s.part_names(&ids));
    let name = PartName::new("Ferrowick", "FW-3207");
    assert_eq!(names, [(ids[0], name)].into());
}

pub fn families_of_lots(store: &Store) {
    let lived = lived(store);
    let grandchild = gapped_lot(lived.shop.plug.id, lived.gapped.id, 7_100);
    let mut plan = moves(vec![movement(
        MovementKind::Return,
        &grandchild,
        &lived.shop.difference,
        &lived.shop.bin,
        1,
    )]);
    plan.new_lots = vec![grandchild.clone()];
    lived.shop.apply(store, &plan);
    let ids = |asked: Uuid| -> Vec<Uuid> {
        let family = read(store, |s| s.lot_family(asked));
        family.iter().map(|lot| lot.id).collect()
    };
    let whole = vec![lived.lot.id, lived.gapped.id, grandchild.id];
    for asked in &whole {
        assert_eq!(ids(*asked), whole, "from any of them");
    }
    assert!(ids(id()).is_empty());
    let movements = read(store, |s| s.movements_of_lots(&whole));
    assert_eq!(movements.len(), 12);
    assert!(movements.is_sorted_by_key(|m| m.sequence));
    let codes = read(store, |s| s.lot_codes(&whole));
    assert_eq!(codes.len(), 3);
    let family = read(store, |s| s.lot_family(lived.lot.id));
    assert!(family.iter().all(|lot| codes[&lot.id] == lot.code));
}
