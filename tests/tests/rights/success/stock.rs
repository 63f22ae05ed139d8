//! What moves, reserves, counts and orders plugs.

use plugwell_tests::Who;
use plugwell_tests::bodies::{issue, receipt, unique};
use serde_json::json;

use super::floor::Floor;
use super::{Asks, Row};

pub const ASKED: &[Row] = &[
    ("create_place", 201, |_| {
        Asks::at("/v1/stock/places").json(json!({ "kind": "bin", "name": unique("Bin") }))
    }),
    ("patch_place", 200, |floor| {
        Asks::at(format!("/v1/stock/places/{}", floor.bin())).json(json!({ "name": unique("Bin") }))
    }),
    ("receive", 201, |floor| {
        Asks::at("/v1/stock/receipts").json(receipt(&floor.plug(), &floor.bin(), 8))
    }),
    ("issue", 201, |floor| {
        Asks::at("/v1/stock/issues").json(issue(&floor.lot().plug, &unique("J"), 4))
    }),
    ("give_back", 201, |floor| {
        let (_, lot, movement) = floor.fitted();
        let body = json!({
            "movement_id": movement, "quantity": 1, "place_id": lot.bin, "condition": "sealed"
        });
        Asks::at("/v1/stock/returns").json(body)
    }),
    ("transfer", 201, |floor| {
        let (lot, to) = (floor.lot(), floor.bin());
        let body = json!({
            "lot_id": lot.lot, "from_place_id": lot.bin, "to_place_id": to, "quantity": 3
        });
        Asks::at("/v1/stock/transfers").json(body)
    }),
    ("discard", 201, |floor| {
        // From a job, which a tuner may; from a bin it takes a clerk.
        let (plug, job) = (floor.lot().plug, unique("J"));
        floor.done("/v1/stock/issues", &issue(&plug, &job, 4));
        let body = json!({ "plug_id": plug, "job": job, "quantity": 1, "reason": "dropped" });
        Asks::at("/v1/stock/scrappings").json(body)
    }),
    ("reverse", 201, |floor| {
        let body = json!({ "movement_id": floor.lot().movement, "reason": "slip of the scanner" });
        Asks::at("/v1/stock/reversals").json(body)
    }),
    ("reserve", 201, |floor| {
        let body = json!({ "plug_id": floor.lot().plug, "quantity": 2, "job": unique("J") });
        Asks::at("/v1/stock/reservations").json(body)
    }),
    ("release", 200, |floor| {
        let reservation = floor.reservation();
        Asks::at(format!("/v1/stock/reservations/{reservation}/release"))
    }),
    ("begin_count", 201, |floor| {
        Asks::at("/v1/stock/counts").json(json!({ "places": [floor.lot().bin] }))
    }),
    ("patch_count", 200, |floor| {
        let (count, lot) = floor.count();
        Asks::at(format!("/v1/stock/counts/{count}")).json(Floor::counted(&lot))
    }),
    ("approve_count", 200, |floor| {
        let (count, lot) = floor.count();
        let path = format!("/v1/stock/counts/{count}");
        let counted = floor.shop.patch(Who::Clerk, &path, &Floor::counted(&lot));
        counted.expect(200);
        Asks::at(format!("{path}/approval")).json(json!({ "reason": "looked at twice" }))
    }),
    ("check_incoming", 201, |floor| {
        let body = json!({ "lot_id": floor.lot().lot, "sample": 2, "reach_mm": [19.0, 19.0] });
        Asks::at("/v1/stock/incoming-checks").json(body)
    }),
    ("decide_incoming", 200, |floor| {
        Asks::at(format!(
            "/v1/stock/incoming-checks/{}/decision",
            floor.check()
        ))
        .json(json!({ "decision": "scrap", "note": "short thread" }))
    }),
    ("create_supplier", 201, |_| {
        Asks::at("/v1/suppliers").json(json!({ "name": unique("Stores"), "lead_time_days": 5 }))
    }),
    ("patch_supplier", 200, |floor| {
        let supplier = floor.made("/v1/suppliers", &json!({ "name": unique("Stores") }));
        Asks::at(format!("/v1/suppliers/{supplier}")).json(json!({ "lead_time_days": 7 }))
    }),
    ("create_order", 201, |floor| {
        Asks::at("/v1/orders").json(floor.ordering())
    }),
    ("patch_order", 200, |floor| {
        let order = floor.made("/v1/orders", &floor.ordering());
        Asks::at(format!("/v1/orders/{order}")).json(json!({ "state": "sent" }))
    }),
    ("order_proposed", 201, |floor| {
        Asks::at("/v1/reorder/orders").json(json!({ "plug_ids": [floor.wanted()] }))
    }),
    ("ask_for_plugs", 201, |floor| {
        Asks::at("/v1/waiting-jobs").json(floor.waits())
    }),
    ("delete_waiting_job", 204, |floor| {
        let waiting = floor.made("/v1/waiting-jobs", &floor.waits());
        Asks::at(format!("/v1/waiting-jobs/{waiting}"))
    }),
];
