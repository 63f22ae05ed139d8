//! Orders: kept, counted, timed; what else is kept at the dock.

use chrono::TimeDelta;
use plugwell_domain::incoming::{CheckState, KeptCheck};
use plugwell_domain::ledger::{Lot, Money, Plan};
use plugwell_domain::order::{Order, OrderLine, OrderState, take_back, take_in};
use plugwell_domain::scan::barcode::{Barcode, BarcodeData};
use plugwell_store::{
    Difference, IncomingFilter, Key, OnOrder, OrderFilter, Store, StoreError, Stored,
};
use serde_json::json;
use uuid::Uuid;

use crate::made_up::{Shop, bare_plug, id, instant, lot, movement, read, write};

/// An order that was sent at the first instant, so many of each part.
fn order(shop: &Shop, lines: &[(Uuid, i64)]) -> Order {
    let line = |(plug_id, quantity): &(Uuid, i64)| {
        let line = OrderLine {
            id: id(),
            plug_id: *plug_id,
            quantity: *quantity,
            total_cost: Some(Money {
                minor: 900,
                currency: "USD".into(),
            }),
            pack_size: Some(4),
            received: 0,
            missing: 0,
            too_many: 0,
        };
        line.with_received(0)
    };
    Order {
        id: id(),
        code: String::new(),
        supplier: shop.supplier.name.clone(),
        supplier_id: shop.supplier.id,
        state: OrderState::Sent,
        expected_on: Some("2030-05-01".parse().unwrap()),
        reference: Some("A-1".into()),
        note: None,
        lines: lines.iter().map(line).collect(),
        sent_at: Some(instant(0)),
        closed_at: None,
        version: 1,
        created_at: instant(0),
        updated_at: instant(0),
    }
}

/// Receives for a line, so many hours after the order was sent; the order as it is now.
fn deliver(
    store: &Store,
    shop: &Shop,
    order: &Order,
    line: usize,
    quantity: i64,
    hours: i64,
) -> Order {
    let line = &order.lines[line];
    let at = instant(0) + TimeDelta::hours(hours);
    let came = Lot {
        plug_id: line.plug_id,
        received_at: at,
        quantity_received: quantity,
        order_line_id: Some(line.id),
        ..lot(line.plug_id)
    };
    let plan = Plan {
        movements: vec![shop.receipt(&came, quantity)],
        new_lots: vec![came],
        reservations: Vec::new(),
    };
    write(store, |s| s.apply(line.plug_id, &plan));
    let (next, _) = take_in(order, line.id, quantity, at).unwrap().unwrap();
    write(store, |s| s.update_order(&next));
    next
}

pub fn an_order_survives_and_changes(store: &Store) {
    let shop = Shop::set_up(store);
    let made = write(store, |s| {
        s.insert_order(&order(&shop, &[(shop.plug.id, 8), (shop.plug.id, 4)]))
    });
    assert_eq!(made.code, "O1");
    assert_eq!(read(store, |s| s.order(made.id)), Some(made.clone()));
    let mut next = made.clone();
    next.lines.swap(0, 1);
    next.lines.remove(1);
    next.note = Some("by van".into());
    next.version = 2;
    write(store, |s| s.update_order(&next));
    assert_eq!(read(store, |s| s.order(made.id)), Some(next.clone()));
    // Over another version than the one before it nothing is written.
    assert!(store.write(|s| s.update_order(&next)).is_err());
    let found = |filter: OrderFilter| read(store, |s| s.list_orders(&filter, None, 10)).len();
    let by = OrderFilter::default;
    assert_eq!(
        found(OrderFilter {
            plug_id: Some(shop.plug.id),
            ..by()
        }),
        1
    );
    assert_eq!(
        found(OrderFilter {
            plug_id: Some(id()),
            ..by()
        }),
        0
    );
    assert_eq!(
        found(OrderFilter {
            supplier_id: Some(shop.supplier.id),
            ..by()
        }),
        1
    );
    assert_eq!(
        found(OrderFilter {
            state: Some(OrderState::Closed),
            ..by()
        }),
        0
    );
    assert_eq!(
        found(OrderFilter {
            code: Some("o1".into()),
            ..by()
        }),
        1
    );
    assert_eq!(
        found(OrderFilter {
            code: Some("O01".into()),
            ..by()
        }),
        0
    );
    assert_eq!(read(store, |s| s.order_by_code("O1")), Some(made.id));
    let line = next.lines[0].id;
    assert_eq!(read(store, |s| s.order_of_line(line)), Some(made.id));
    assert!(read(store, |s| s.plug_has_history(shop.plug.id)));
}

pub fn what_is_to_come_is_summed_up(store: &Store) {
    let shop = Shop::set_up(store);
    let other = bare_plug("Quillmark", "Q-1");
    write(store, |s| s.insert_plug(&other));
    let sent = write(store, |s| {
        s.insert_order(&order(&shop, &[(shop.plug.id, 8), (other.id, 4)]))
    });
    let mut draft = order(&shop, &[(shop.plug.id, 100)]);
    draft.state = OrderState::Drafted;
    write(store, |s| s.insert_order(&draft));
    let mut later = order(&shop, &[(shop.plug.id, 2)]);
    later.expected_on = None;
    let later = write(store, |s| s.insert_order(&later));
    // Six of eight are in, and one too many of the other: that counts for nothing.
    let sent = deliver(store, &shop, &sent, 0, 6, 1);
    deliver(store, &shop, &sent, 1, 5, 1);
    let own = OnOrder {
        plug_id: shop.plug.id,
        quantity: 4,
    };
    assert_eq!(
        read(store, |s| s.on_order(&[shop.plug.id, other.id])),
        [own]
    );
    assert_eq!(read(store, |s| s.all_on_order()), [own]);
    let open = read(store, |s| s.open_lines(shop.plug.id));
    let told: Vec<_> = open
        .iter()
        .map(|line| (line.order_id, line.missing))
        .collect();
    assert_eq!(
        told,
        [(sent.id, 2), (later.id, 2)],
        "those without a date last"
    );
    assert_eq!(open[0].supplier, shop.supplier.name);
}

pub fn lead_times_are_those_of_deliveries(store: &Store) {
    let shop = Shop::set_up(store);
    let other = bare_plug("Quillmark", "Q-1");
    write(store, |s| s.insert_plug(&other));
    let both = [(shop.plug.id, 8), (other.id, 4)];
    let times = || {
        let all = read(store, |s| s.lead_times(shop.supplier.id, None));
        all.into_iter()
            .map(|time| time.days())
            .collect::<Vec<f64>>()
    };
    let first = write(store, |s| s.insert_order(&order(&shop, &both)));
    let first = deliver(store, &shop, &first, 0, 4, 24);
    assert_eq!(times(), [] as [f64; 0], "half a line is no delivery yet");
    // Both lines are filled on one day: one delivery, at its last receipt.
    let first = deliver(store, &shop, &first, 0, 4, 48);
    deliver(store, &shop, &first, 1, 4, 49);
    assert_eq!(times(), [49.0 / 24.0]);
    // On two days: two.
    let second = write(store, |s| s.insert_order(&order(&shop, &both)));
    let second = deliver(store, &shop, &second, 0, 8, 72);
    deliver(store, &shop, &second, 1, 4, 120);
    assert_eq!(times(), [49.0 / 24.0, 3.0, 5.0]);
    // Closed short: what came counts, a line of which nothing came does not.
    let third = write(store, |s| s.insert_order(&order(&shop, &both)));
    let mut third = deliver(store, &shop, &third, 0, 1, 240);
    third.state = OrderState::Closed;
    third.version += 1;
    write(store, |s| s.update_order(&third));
    assert_eq!(times(), [49.0 / 24.0, 3.0, 5.0, 10.0]);
    // A receipt that was put right never came.
    let came = read(store, |s| s.list_lots(&Default::default(), None, 100));
    let wrong = came
        .iter()
        .find(|l| l.order_line_id == Some(third.lines[0].id))
        .unwrap();
    let receipt = read(store, |s| s.receipt_of(wrong.id)).unwrap();
    let mut back = movement(
        plugwell_domain::ledger::MovementKind::Reversal,
        wrong,
        &shop.bin,
        &shop.supplier,
        1,
    );
    back.reverses = Some(receipt.id);
    let plan = Plan {
        movements: vec![back],
        ..Plan::default()
    };
    write(store, |s| s.apply(wrong.plug_id, &plan));
    let (third, _) = take_back(&third, third.lines[0].id, 1, instant(9)).unwrap();
    write(store, |s| s.update_order(&third));
    assert_eq!(times(), [49.0 / 24.0, 3.0, 5.0]);
    let since = Some(instant(1));
    assert_eq!(read(store, |s| s.lead_times(shop.supplier.id, since)), []);
    assert_eq!(read(store, |s| s.audit_levels()).differences, []);
}

pub fn a_line_that_counts_wrong_is_found(store: &Store) {
    let shop = Shop::set_up(store);
    let made = write(store, |s| {
        s.insert_order(&order(&shop, &[(shop.plug.id, 8)]))
    });
    let now = deliver(store, &shop, &made, 0, 8, 1);
    assert_eq!(read(store, |s| s.audit_levels()).differences, []);
    // Counted once more than it came.
    let (wrong, _) = take_in(&now, now.lines[0].id, 2, instant(9))
        .unwrap()
        .unwrap();
    write(store, |s| s.update_order(&wrong));
    let found = Difference::OrderLine {
        id: now.lines[0].id,
        kept: 10,
        summed: 8,
    };
    assert_eq!(read(store, |s| s.audit_levels()).differences, [found]);
    assert!(
        found
            .to_string()
            .contains("it says that 10 came in, its lots say 8")
    );
}

pub fn checks_and_barcodes(store: &Store) {
    let shop = Shop::set_up(store);
    let lot = shop.stocked(store, 8);
    let kept: KeptCheck = serde_json::from_value(json!({
        "lot_id": lot.id, "sample": 2, "reach_mm": [19.0], "plug_id": shop.plug.id, "checked_by": "clerk",
        "judged": [], "policy_version": 1, "state": "waiting", "quarantine_id": shop.quarantine.id,
        "set_aside": 8, "movement_ids": [], "out_with_jobs": [], "text": "…", "decided": null
    }))
    .unwrap();
    let mut check = Stored {
        id: id(),
        version: 1,
        created_at: instant(1),
        updated_at: instant(1),
        data: kept,
    };
    write(store, |s| s.insert_incoming_check(&check));
    let listed = |state, lot_id| {
        let filter = IncomingFilter { state, lot_id };
        read(store, |s| s.list_incoming_checks(&filter, None, 10))
    };
    assert_eq!(
        listed(Some(CheckState::Waiting), Some(lot.id)),
        std::slice::from_ref(&check)
    );
    check.data.state = CheckState::Released;
    check.version = 2;
    write(store, |s| s.update_incoming_check(&check));
    assert_eq!(read(store, |s| s.incoming_check(check.id)), Some(check));
    assert_eq!(listed(Some(CheckState::Waiting), None), []);
    assert_eq!(listed(None, Some(id())), []);

    let barcode = |code, plugs| barcode(shop.plug.id, code, plugs);
    let (one, same) = (
        barcode("2012345000124", Some(20)),
        barcode("02012345000124", None),
    );
    write(store, |s| s.insert_barcode(&one));
    let twice = store.write(|s| s.insert_barcode(&same));
    assert_eq!(twice, Err(StoreError::Duplicate { what: Key::Barcode }));
    assert_eq!(
        read(store, |s| s.barcode_read("02012345000124")),
        Some(one.clone())
    );
    assert_eq!(
        read(store, |s| s.list_barcodes(shop.plug.id, None, 10)),
        std::slice::from_ref(&one)
    );
    assert!(write(store, |s| s.delete_barcode(one.id)));
    assert_eq!(read(store, |s| s.barcode(one.id)), None);
    let bins = read(store, |s| s.bins_of(shop.plug.id));
    assert_eq!((bins[0].place_id, bins[0].quantity), (shop.bin.id, 8));
    let last = read(store, |s| s.last_bin_of(shop.plug.id)).unwrap();
    assert_eq!((last.code, last.quantity), (shop.bin.code.clone(), 0));
    assert_eq!(read(store, |s| s.places_called("DRAWER 1")), [shop.bin]);
}

fn barcode(plug_id: Uuid, code: &str, plugs: Option<i64>) -> Barcode {
    Barcode {
        id: id(),
        plug_id,
        data: BarcodeData {
            code: code.into(),
            plugs,
        },
        recorded_by: "clerk".into(),
        version: Barcode::VERSION,
        created_at: instant(2),
    }
}

pub fn barcodes_are_found_by_what_they_can_mean(store: &Store) {
    let shop = Shop::set_up(store);
    let [item, code] = ["2012345000124", "QP/a1"].map(|code| barcode(shop.plug.id, code, None));
    write(store, |s| s.insert_barcode(&item));
    write(store, |s| s.insert_barcode(&code));
    let like = |texts: &[&str]| read(store, |s| s.barcodes_like(texts));
    assert_eq!(like(&["qp/A1"]), std::slice::from_ref(&code));
    assert_eq!(
        like(&["12012345000121", "02012345000124"]),
        std::slice::from_ref(&item)
    );
    assert_eq!(like(&["QP/a", "", "Ω", "a\0b"]), []);
}
