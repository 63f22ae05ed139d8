use chrono::NaiveDate;
use plugwell_domain::build::Build;
use plugwell_domain::ledger::{Condition, Lot, PlaceKind, Plan};
use plugwell_domain::reading::KeptReading;
use plugwell_domain::tuning_day::PlannedDay;
use plugwell_store::{ReadingFilter, Store, StoreError, Stored, TuningDayFilter};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::made_up::{
    Shop, bare_plug, gapped_lot, id, instant, lot, moved, moves, read, reservation, write,
};

fn stored<T>(data: T) -> Stored<T> {
    Stored {
        id: id(),
        version: 1,
        created_at: instant(0),
        updated_at: instant(1),
        data,
    }
}

fn build() -> Stored<Build> {
    let data = json!({
        "head": {"thread": "M14x1.25", "reach_mm": 19.0, "seat": "gasket", "heat_index": 50}, "cylinders": 8,
        "induction": "supercharged", "use": "street"
    });
    stored(serde_json::from_value(data).unwrap())
}

/// A day of a build, with a part and a reservation where they are given.
fn day(
    build_id: Option<Uuid>,
    on: &str,
    plug_id: Option<Uuid>,
    kept: Option<Uuid>,
) -> Stored<PlannedDay> {
    let offer = |id: Uuid| {
        json!({
            "plug": {"id": id, "maker": "Ferrowick", "part_number": "FW-1", "heat_index": 70.5, "electrode": null},
            "available": 30, "enough": true, "orderable": true, "set_gap_mm": 0.81,
            "cost": {"total": {"minor": 7939, "currency": "USD"}, "per_plug": null, "unknown_quantity": 0},
            "lots": [], "unconfirmed": ["terminal"], "cautions": []
        })
    };
    let data = json!({
        "name": "Heron", "build_id": build_id, "day": on, "pulls": 3, "plan": {
            "policy_version": 1, "target_heat_index": 70, "choice": "in_full", "why": "…", "short": null,
            "quantity": {"pulls": 3, "cylinders_read": 8, "plugs_per_cylinder": 1, "spares": 1, "total": 25},
            "proposed": plug_id.map(offer), "others": [], "cautions": [], "unanswered": []
        },
        "reservation_id": kept, "withdrawn_at": null
    });
    stored(serde_json::from_value(data).unwrap())
}

fn reading(build_id: Uuid, over: Value) -> Stored<KeptReading> {
    let mut data = json!({
        "build_id": build_id, "run": 1, "cylinder": 3, "heat_line": "midway", "gap_before_mm": 0.8001,
        "plug_id": null, "evidence": false, "refused_because": [], "gap_growth_mm": null, "suggestions": [],
        "contradictions": [], "not_seen": ["speckles"], "cautions": []
    });
    data.as_object_mut()
        .unwrap()
        .extend(over.as_object().unwrap().clone());
    stored(serde_json::from_value(data).unwrap())
}

pub fn tuning_days(store: &Store) {
    let shop = Shop::set_up(store);
    let (build, kept) = (build(), reservation(shop.plug.id, "Heron", 25));
    write(store, |s| s.insert_build(&build));
    shop.apply(
        store,
        &Plan {
            reservations: vec![kept.clone()],
            ..Plan::default()
        },
    );
    let days = [
        day(
            Some(build.id),
            "2030-05-31",
            Some(shop.plug.id),
            Some(kept.id),
        ),
        day(None, "2030-06-01", None, None),
        day(Some(build.id), "2030-12-05", None, None),
    ];
    write(store, |s| {
        days.iter().try_for_each(|day| s.insert_tuning_day(day))
    });
    assert_eq!(
        read(store, |s| s.tuning_day(days[0].id)),
        Some(days[0].clone())
    );
    assert_eq!(read(store, |s| s.tuning_day(id())), None);
    let list = |filter: TuningDayFilter, after: Option<Uuid>| -> Vec<Uuid> {
        let found = read(store, |s| s.list_tuning_days(&filter, after, 10));
        found.iter().map(|day| day.id).collect()
    };
    let all = TuningDayFilter::default();
    assert_eq!(list(all, None), days.each_ref().map(|d| d.id));
    assert_eq!(list(all, Some(days[1].id)), [days[2].id]);
    let of_build = TuningDayFilter {
        build_id: Some(build.id),
        ..all
    };
    assert_eq!(list(of_build, None), [days[0].id, days[2].id]);
    let date = |text: &str| text.parse::<NaiveDate>().ok();
    let between = |from: &str, to: &str| TuningDayFilter {
        from: date(from),
        to: date(to),
        ..all
    };
    assert_eq!(
        list(between("2030-05-31", "2030-06-01"), None),
        [days[0].id, days[1].id]
    );
    assert!(list(between("2030-06-02", "2030-12-04"), None).is_empty());
}

pub fn tuning_days_change_and_keep_what_they_name(store: &Store) {
    let shop = Shop::set_up(store);
    let build = build();
    let first = day(Some(build.id), "2030-05-31", None, None);
    write(store, |s| {
        s.insert_build(&build)?;
        s.insert_tuning_day(&first)
    });
    let mut called_off = first.clone();
    called_off.version = 2;
    called_off.updated_at = instant(9);
    called_off.data.withdrawn_at = Some(instant(9));
    let kept = reservation(shop.plug.id, "Heron", 25);
    let plan = Plan {
        reservations: vec![kept.clone()],
        ..Plan::default()
    };
    shop.apply(store, &plan);
    called_off.data.add_reservation(kept.id);
    write(store, |s| s.update_tuning_day(&called_off));
    assert_eq!(
        read(store, |s| s.tuning_day(first.id)),
        Some(called_off.clone())
    );
    // Over another version than the one before it nothing is written.
    called_off.version = 4;
    assert!(store.write(|s| s.update_tuning_day(&called_off)).is_err());
    assert!(read(store, |s| s.build_in_use(build.id)));
    // A part that only a plan names has its history, too.
    let other = bare_plug("Ferrowick", "FW-9");
    write(store, |s| s.insert_plug(&other));
    assert!(!read(store, |s| s.plug_has_history(other.id)));
    let naming = day(None, "2030-05-31", Some(other.id), None);
    write(store, |s| s.insert_tuning_day(&naming));
    assert!(read(store, |s| s.plug_has_history(other.id)));
    let refused: Result<bool, StoreError> = store.write(|s| s.delete_plug(other.id));
    assert!(matches!(refused, Err(StoreError::Fault(_))), "{refused:?}");
}

pub fn readings(store: &Store) {
    let shop = Shop::set_up(store);
    let builds = [build(), build()];
    let day = day(Some(builds[0].id), "2030-05-31", None, None);
    let lot = shop.stocked(store, 9);
    let issue = shop.apply(store, &moves(vec![shop.issue(&lot, 2)]));
    let movement_id = issue.movements[0].id;
    write(store, |s| {
        builds.iter().try_for_each(|build| s.insert_build(build))?;
        s.insert_tuning_day(&day)
    });
    assert!(!read(store, |s| s.build_in_use(builds[1].id)));
    let kept = [
        reading(
            builds[0].id,
            json!({ "movement_id": movement_id, "plug_id": shop.plug.id, "evidence": true,
                    "tuning_day_id": day.id, "note": "left bank" }),
        ),
        reading(builds[0].id, json!({ "movement_id": movement_id })),
        reading(builds[1].id, json!({ "lot_id": lot.id })),
        reading(builds[0].id, json!({})),
    ];
    write(store, |s| {
        kept.iter()
            .try_for_each(|reading| s.insert_reading(reading))
    });
    assert_eq!(
        read(store, |s| s.reading(kept[0].id)),
        Some(kept[0].clone())
    );
    assert_eq!(read(store, |s| s.reading(id())), None);
    let list = |filter: ReadingFilter, before: Option<Uuid>, limit: i64| -> Vec<Uuid> {
        let found = read(store, |s| s.list_readings(&filter, before, limit));
        found.iter().map(|reading| reading.id).collect()
    };
    let all = ReadingFilter::default();
    let newest_first: Vec<Uuid> = kept.iter().rev().map(|r| r.id).collect();
    assert_eq!(list(all, None, 10), newest_first);
    assert_eq!(list(all, None, 2), newest_first[..2]);
    assert_eq!(list(all, Some(newest_first[1]), 10), newest_first[2..]);
    let of = |build_id: Uuid| ReadingFilter {
        build_id: Some(build_id),
        ..all
    };
    assert_eq!(
        list(of(builds[0].id), None, 10),
        [kept[3].id, kept[1].id, kept[0].id]
    );
    let told = |evidence: bool| ReadingFilter {
        evidence: Some(evidence),
        ..of(builds[0].id)
    };
    assert_eq!(list(told(true), None, 10), [kept[0].id]);
    assert_eq!(list(told(false), None, 10), [kept[3].id, kept[1].id]);
    let on_day = ReadingFilter {
        tuning_day_id: Some(day.id),
        ..all
    };
    assert_eq!(list(on_day, None, 10), [kept[0].id]);
    let of_issue = ReadingFilter {
        movement_id: Some(movement_id),
        ..all
    };
    assert_eq!(list(of_issue, None, 10), [kept[1].id, kept[0].id]);
    assert_eq!(read(store, |s| s.readings_of(movement_id)), 2);
    assert_eq!(read(store, |s| s.readings_of(id())), 0);
    assert!(read(store, |s| s.build_in_use(builds[1].id)));
    let refused: Result<bool, StoreError> = store.write(|s| s.delete_build(builds[1].id));
    assert!(matches!(refused, Err(StoreError::Fault(_))), "{refused:?}");
}

pub fn shelves_of_several_parts(store: &Store) {
    let shop = Shop::set_up(store);
    let (bare, unknown) = (bare_plug("Quillmark", "Q-1"), id());
    write(store, |s| s.insert_plug(&bare));
    let first = shop.stocked(store, 9);
    let second = shop.stocked(store, 4);
    let gapped = gapped_lot(shop.plug.id, first.id, 8100);
    let aside = lot(shop.plug.id);
    shop.apply(
        store,
        &Plan {
            new_lots: vec![gapped.clone(), aside.clone()],
            movements: vec![
                shop.receipt(&gapped, 2),
                shop.receipt(&aside, 3),
                moved(&aside, &shop.bin, &shop.quarantine, 3),
                moved(&first, &shop.bin, &shop.second_bin, 5),
                shop.issue(&second, 1),
            ],
            reservations: vec![reservation(shop.plug.id, "Heron", 6)],
        },
    );
    let ids = [shop.plug.id, bare.id, unknown];
    let shelves = read(store, |s| s.shelves_in_bins(&ids));
    assert_eq!(shelves.len(), 3);
    let whole = read(store, |s| s.shelf(shop.plug.id, &[]));
    let shown = &shelves[&shop.plug.id];
    // The same as the shelf of one part, but for what is set aside.
    let in_bins: Vec<_> = whole
        .holdings
        .iter()
        .filter(|h| h.place_kind == PlaceKind::Bin)
        .cloned()
        .collect();
    assert_eq!(shown.holdings, in_bins);
    assert_eq!(in_bins.len(), 4);
    let held = |lot: &&Lot| in_bins.iter().any(|h| h.lot_id == lot.id);
    let lots: Vec<Lot> = whole.lots.iter().filter(held).cloned().collect();
    assert_eq!(shown.lots, lots);
    assert!(lots.iter().any(|lot| lot.condition == Condition::Gapped));
    assert_eq!(shown.reservations, whole.reservations);
    for empty in [bare.id, unknown] {
        assert_eq!(shelves[&empty], plugwell_domain::ledger::Shelf::default());
    }
    assert_eq!(read(store, |s| s.shelves_in_bins(&[])).len(), 0);
}
