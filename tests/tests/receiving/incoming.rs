//! Incoming checks: what contradicts the record is put aside, and a manager decides.

use plugwell_tests::bodies::{bin, issue, receive, stock_of, unique, with};
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};

use crate::dock::{Dock, text};
use crate::van::{CHECKS, Van};

#[test]
fn what_the_record_allows_passes_and_stays_where_it_is() {
    for shop in shared() {
        let van = Van::unloaded(Dock::new(shop));
        let readings = json!({ "reach_mm": [18.7, 19.3], "gap_mm": [0.7, 0.9], "resistance_ohm": [4600, 5600] });
        let answer = van.check(readings).expect(201);
        let check = &answer.json["check"];
        assert_eq!(
            (&check["state"], &answer.json["movements"]),
            (&json!("passed"), &json!([]))
        );
        assert_eq!(
            answer.header("location"),
            Some(&*format!("{CHECKS}/{}", text(check, "id")))
        );
        let verdicts = check["judged"].as_array().expect("judged");
        assert!(verdicts.iter().all(|j| j["verdict"] == "agrees"), "{check}");
        assert_eq!(verdicts.len(), 3);
        assert_eq!(van.dock.held(&van.part, "bin"), 12);
        let kept = shop
            .get(Who::Reader, &format!("{CHECKS}/{}", text(check, "id")))
            .expect(200)
            .json;
        assert_eq!(kept, *check);
        // Nothing waits: there is nothing to decide.
        let id = text(check, "id");
        van.decide(Who::Manager, &id, json!({ "decision": "scrap" }))
            .problem(409, "already_decided");
    }
}

#[test]
fn a_reading_that_contradicts_the_record_puts_the_whole_lot_aside() {
    for shop in shared() {
        let van = Van::unloaded(Dock::new(shop));
        let other = bin(shop, &unique("far"));
        let moved = json!({ "lot_id": van.lot, "from_place_id": van.dock.bin, "to_place_id": other, "quantity": 5 });
        shop.once(Who::Clerk, "/v1/stock/transfers", &moved)
            .expect(201);
        let job = unique("Kestrel");
        van.issue(&job, 2).expect(201);
        let answer = van
            .check(json!({ "resistance_ohm": [5000, 2, 5100], "gap_mm": [0.8] }))
            .expect(201)
            .json;
        let check = &answer["check"];
        assert_eq!(
            (&check["state"], &check["set_aside"]),
            (&json!("waiting"), &json!(10))
        );
        let ohms = &check["judged"][0];
        assert_eq!(ohms["reading"], "resistance_ohm");
        assert_eq!(
            (&ohms["measured"], &ohms["contradicting"]),
            (&json!(3), &json!(1))
        );
        assert_eq!(ohms["verdict"], "contradicts");
        assert_eq!(check["judged"][1]["verdict"], "agrees");
        assert_eq!(
            check["out_with_jobs"],
            json!([{ "job": job, "quantity": 2 }])
        );
        let said = text(check, "text");
        assert!(
            said.contains("10 plugs of the lot are in quarantine"),
            "{said}"
        );
        let movements = answer["movements"].as_array().expect("movements");
        assert_eq!(movements.len(), 2, "one for each bin");
        for movement in movements {
            assert_eq!(movement["kind"], "transfer");
            assert_eq!(movement["to_place_id"], check["quarantine_id"]);
        }
        assert_eq!(van.bin_and_quarantine(), (0, 10));
        let waiting = shop.all(
            Who::Reader,
            &format!("{CHECKS}?state=waiting&lot_id={}", van.lot),
        );
        assert_eq!(waiting, std::slice::from_ref(check));
    }
}

#[test]
fn nothing_in_quarantine_is_matched_issued_or_kept_for_a_job() {
    for shop in shared() {
        let van = Van::unloaded(Dock::new(shop));
        let kept = json!({ "plug_id": van.part, "quantity": 4, "job": "later" });
        shop.once(Who::Tuner, "/v1/stock/reservations", &kept)
            .expect(201);
        assert_eq!(stock_of(shop, &van.part), (8, 12));
        let answer = van.check(json!({ "reach_mm": [17.5] })).expect(201).json;
        // The reservation can no longer be met, and says so.
        let short = &answer["reservations"][0];
        assert_eq!(short["state"], "short");
        let path = format!("/v1/stock/reservations/{}", text(short, "id"));
        assert_eq!(shop.get(Who::Reader, &path).expect(200).json, *short);
        assert_eq!(stock_of(shop, &van.part), (0, 0));
        let job = unique("Kestrel");
        van.issue(&job, 1).problem(409, "not_enough_stock");
        let ask = |over: Value| {
            let body = with(issue(&van.part, &job, 1), over);
            shop.once(Who::Clerk, "/v1/stock/issues", &body)
        };
        ask(json!({ "lot_id": van.lot })).problem(409, "not_enough_stock");
        ask(json!({ "place_id": answer["check"]["quarantine_id"] }))
            .refused_for(&["#/place_id contradiction"]);
        shop.once(Who::Tuner, "/v1/stock/reservations", &kept)
            .problem(409, "not_enough_stock");
    }
}

#[test]
fn what_comes_back_of_a_lot_in_quarantine_follows_it() {
    for shop in shared() {
        let van = Van::unloaded(Dock::new(shop));
        let job = unique("Kestrel");
        let out = van.issue(&job, 2).expect(201).json["movements"][0].clone();
        let other = van.issue(&job, 3).expect(201).json["movements"][0].clone();
        van.aside();
        assert_eq!(van.bin_and_quarantine(), (0, 7));
        let back = json!({ "movement_id": out["id"], "quantity": 1, "condition": "sealed", "place_id": van.dock.bin });
        let back = shop
            .once(Who::Clerk, "/v1/stock/returns", &back)
            .expect(201)
            .json;
        let kinds = back["movements"].as_array().expect("movements");
        let kinds: Vec<&Value> = kinds.iter().map(|m| &m["kind"]).collect();
        assert_eq!(kinds, ["return", "transfer"]);
        assert_eq!(van.bin_and_quarantine(), (0, 8));
        van.dock.reverse(Who::Clerk, &other).expect(201);
        assert_eq!(van.bin_and_quarantine(), (0, 11));
    }
}

#[test]
fn only_a_manager_lets_plugs_out_of_quarantine() {
    for shop in shared() {
        let van = Van::unloaded(Dock::new(shop));
        let answer = van.check(json!({ "reach_mm": [17.5] })).expect(201).json;
        let (check, moved) = (&answer["check"], &answer["movements"][0]);
        let id = text(check, "id");
        let out = json!({ "lot_id": van.lot, "from_place_id": check["quarantine_id"], "to_place_id": van.dock.bin, "quantity": 1 });
        shop.once(Who::Clerk, "/v1/stock/transfers", &out)
            .problem(403, "forbidden");
        van.dock
            .reverse(Who::Clerk, moved)
            .problem(403, "forbidden");
        let release =
            json!({ "decision": "release", "place_id": van.dock.bin, "note": "the gauge was off" });
        van.decide(Who::Clerk, &id, release.clone())
            .problem(403, "forbidden");
        assert_eq!(van.dock.held(&van.part, "quarantine"), 12);
        let done = van.decide(Who::Manager, &id, release).expect(200).json;
        assert_eq!(done["check"]["state"], "released");
        assert_eq!(
            done["check"]["decided"]["by"],
            done["movements"][0]["actor"]
        );
        assert_eq!(done["check"]["decided"]["note"], "the gauge was off");
        assert_eq!(
            (
                van.dock.held(&van.part, "bin"),
                van.dock.held(&van.part, "quarantine")
            ),
            (12, 0)
        );
        assert_eq!(stock_of(shop, &van.part), (12, 12));
        van.decide(Who::Manager, &id, json!({ "decision": "scrap" }))
            .problem(409, "already_decided");
    }
}

#[test]
fn a_manager_scraps_it_or_sends_the_whole_lot_back() {
    for shop in shared() {
        let van = Van::unloaded(Dock::new(shop));
        let id = van.aside();
        let done = van
            .decide(
                Who::Manager,
                &id,
                json!({ "decision": "scrap", "note": "short thread" }),
            )
            .expect(200)
            .json;
        assert_eq!(done["check"]["state"], "scrapped");
        let movement = &done["movements"][0];
        assert_eq!(
            (&movement["kind"], &movement["reason"]),
            (&json!("scrapping"), &json!("other"))
        );
        assert_eq!(
            (&movement["note"], van.dock.held(&van.part, "scrap")),
            (&json!("short thread"), 12)
        );

        // By an order: the supplier still owes them.
        let dock = Dock::new(shop);
        let part = dock.part(json!({}));
        let order = dock.order(&[(&part, 12)]);
        let receipt = dock.receive(&order["lines"][0], 12).expect(201).json["movements"][0].clone();
        let van = Van {
            lot: text(&receipt, "lot_id"),
            dock,
            part,
            receipt,
        };
        let id = van.aside();
        let done = van
            .decide(Who::Manager, &id, json!({ "decision": "send_back" }))
            .expect(200)
            .json;
        assert_eq!(done["check"]["state"], "sent_back");
        let told = text(&done["check"], "text");
        assert!(
            told.contains("12 plugs of the lot were put into quarantine.")
                && told.ends_with("A manager has decided: 12 plugs went back to the supplier."),
            "{told}"
        );
        let again = van.decide(Who::Manager, &id, json!({ "decision": "scrap" }));
        assert_eq!(
            text(&again.problem(409, "already_decided").json, "detail"),
            "a manager has sent the plugs back to the supplier: nothing of this check waits for a decision"
        );
        let kinds: Vec<&Value> = done["movements"]
            .as_array()
            .expect("movements")
            .iter()
            .map(|m| &m["kind"])
            .collect();
        assert_eq!(kinds, ["transfer", "reversal"]);
        assert_eq!(done["movements"][1]["reverses"], van.receipt["id"]);
        assert_eq!(done["delivery"]["received_now"], -12);
        assert_eq!(van.dock.now(&order)["state"], "sent");
        for kind in ["bin", "quarantine", "scrap", "supplier"] {
            assert_eq!(van.dock.held(&van.part, kind), 0, "{kind}");
        }
        van.dock
            .reverse(Who::Clerk, &van.receipt)
            .problem(409, "already_reversed");
    }
}

#[test]
fn of_a_lot_of_which_some_has_gone_the_rest_is_sent_back() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let part = dock.part(json!({}));
        let order = dock.order(&[(&part, 12)]);
        let receipt = dock.receive(&order["lines"][0], 12).expect(201).json["movements"][0].clone();
        let lot = text(&receipt, "lot_id");
        let van = Van {
            lot: lot.clone(),
            dock,
            part,
            receipt,
        };
        let job = unique("J");
        van.issue(&job, 4).expect(201);
        let fell = json!({ "lot_id": lot, "job": job, "quantity": 1, "reason": "dropped" });
        shop.once(Who::Clerk, "/v1/stock/scrappings", &fell)
            .expect(201);
        let id = van.aside();
        // A manager lets two out before deciding.
        let check = shop
            .get(Who::Reader, &format!("{CHECKS}/{id}"))
            .expect(200)
            .json;
        let out = json!({ "lot_id": lot, "from_place_id": check["quarantine_id"], "to_place_id": van.dock.bin, "quantity": 2 });
        shop.once(Who::Manager, "/v1/stock/transfers", &out)
            .expect(201);
        let done = van
            .decide(Who::Manager, &id, json!({ "decision": "send_back" }))
            .expect(200)
            .json;
        let decided = &done["check"]["decided"];
        let stays = decided["not_reached"].as_array().expect("a list");
        let stays: Vec<(&Value, &Value)> = stays
            .iter()
            .map(|s| (&s["place_kind"], &s["quantity"]))
            .collect();
        for (kind, quantity) in [("bin", 2), ("job", 3), ("scrap", 1)] {
            assert!(
                stays.contains(&(&json!(kind), &json!(quantity))),
                "{decided}"
            );
            assert_eq!(van.dock.held(&van.part, kind), quantity, "{kind}");
        }
        assert_eq!(stays.len(), 3, "{decided}");
        let said = text(decided, "text");
        assert!(
            said.starts_with("6 plugs went back to the supplier."),
            "{said}"
        );
        assert!(said.contains(&format!("with job {job}")), "{said}");
        assert_eq!(van.dock.held(&van.part, "quarantine"), 0);
        assert_eq!(van.dock.held(&van.part, "supplier"), -6);
        assert_eq!(done["delivery"]["received_now"], -6);
        let order = van.dock.now(&order);
        assert_eq!(
            (&order["state"], &order["lines"][0]["received"]),
            (&json!("partly_in"), &json!(6))
        );
        let again = van.decide(Who::Manager, &id, json!({ "decision": "send_back" }));
        again.problem(409, "already_decided");
    }
}

#[test]
fn nothing_is_sent_back_of_what_left_quarantine() {
    for shop in shared() {
        let van = Van::unloaded(Dock::new(shop));
        let answer = van.check(json!({ "reach_mm": [17.5] })).expect(201).json;
        let check = &answer["check"];
        let out = json!({ "lot_id": van.lot, "from_place_id": check["quarantine_id"], "to_place_id": van.dock.bin, "quantity": 12 });
        shop.once(Who::Manager, "/v1/stock/transfers", &out)
            .expect(201);
        let id = text(check, "id");
        let refused = van
            .decide(Who::Manager, &id, json!({ "decision": "send_back" }))
            .problem(409, "not_enough_stock");
        assert_eq!(refused.json["available"], 0);
        let now = shop
            .get(Who::Reader, &format!("{CHECKS}/{id}"))
            .expect(200)
            .json;
        assert_eq!(
            (&now["state"], van.bin_and_quarantine()),
            (&json!("waiting"), (12, 0))
        );
    }
}

#[test]
fn what_nobody_has_established_contradicts_nothing_and_an_empty_lot_is_only_noted() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let part = dock.part(json!({ "resistance_ohm": null, "resistor": null, "gap_preset_mm": null, "provenance": { "reach_mm": "assumed" } }));
        let lot = text(&receive(shop, &part, &dock.bin, 4), "lot_id");
        let body = json!({ "lot_id": lot, "sample": 1, "reach_mm": [12.0], "gap_mm": [0.2], "resistance_ohm": [7] });
        let check = shop.once(Who::Clerk, CHECKS, &body).expect(201).json["check"].clone();
        assert_eq!(check["state"], "passed");
        let judged = check["judged"].as_array().expect("judged");
        assert!(judged.iter().all(|j| j["verdict"] == "unknown"), "{check}");
        assert!(
            text(&check, "text").contains("nobody has established"),
            "{check}"
        );
        // Only the flag is known: a reading of a resistor contradicts it.
        shop.patch(
            Who::Clerk,
            &format!("/v1/plugs/{part}"),
            &json!({ "resistor": false }),
        )
        .expect(200);
        let body = json!({ "lot_id": lot, "sample": 1, "resistance_ohm": [5000] });
        let check = shop.once(Who::Clerk, CHECKS, &body).expect(201).json["check"].clone();
        assert_eq!(check["state"], "waiting");
        let again = shop.once(Who::Clerk, CHECKS, &body).expect(201).json["check"].clone();
        assert_eq!(
            (&again["state"], &again["set_aside"]),
            (&json!("noted"), &json!(0))
        );
        assert!(
            text(&again, "text").contains("Nothing of the lot lies in a bin"),
            "{again}"
        );
    }
}
