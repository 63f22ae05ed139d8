//! What is said of an issue, a gapped receipt and a gapped return: booked, but never without a word.

use plugwell_tests::bodies::{build, issue, plug, receipt, stored_plug, unique, with};
use plugwell_tests::{Answer, Shop, Who, shared};
use serde_json::{Value, json};

use crate::counter::{Shelf, word};
use crate::fitted::engine;

/// Eight of a part, known in full but for what is said here.
fn shelf_of(shop: &Shop, over: Value) -> Shelf<'_> {
    let shelf = Shelf {
        plug_id: stored_plug(shop, &with(plug(&unique("BW")), over)),
        ..Shelf::empty(shop)
    };
    shelf.receive(8);
    shelf
}

fn issued(shelf: &Shelf<'_>, over: Value) -> Answer {
    let body = with(issue(&shelf.plug_id, &unique("Beware"), 1), over);
    shelf.command("issues", body)
}

fn codes(answer: &Value) -> Vec<String> {
    let cautions = answer["cautions"].as_array().expect("cautions");
    assert!(cautions.iter().all(|c| !word(c, "text").is_empty()));
    cautions.iter().map(|c| word(c, "code")).collect()
}

/// Attribute and verdict of each must that fails.
fn fails(answer: &Value) -> Vec<(String, String)> {
    let fails = answer["fails"].as_array().expect("fails").iter();
    fails
        .map(|f| (word(f, "attribute"), word(f, "verdict")))
        .collect()
}

fn has(answer: &Value, code: &str) -> bool {
    codes(answer).iter().any(|own| own == code)
}

fn pair(attribute: &str, verdict: &str) -> (String, String) {
    (attribute.to_owned(), verdict.to_owned())
}

#[test]
fn a_part_that_fits_is_issued_without_a_fault() {
    for shop in shared() {
        let (shelf, build_id) = (shelf_of(shop, json!({})), engine(shop));
        let out = issued(&shelf, json!({ "build_id": build_id, "gap_mm": 0.81 }))
            .expect(201)
            .json;
        assert_eq!(out["fails"], json!([]));
        for code in [
            "fails_its_build",
            "gap_outside_plug_range",
            "gap_not_the_builds",
        ] {
            assert!(!has(&out, code), "{out}");
        }
        assert!(
            has(&out, "confirm_with_head_maker"),
            "the makers have the last word"
        );
        // Without a build and a gap there is nothing to say.
        let out = issued(&shelf, json!({})).expect(201).json;
        assert_eq!((&out["fails"], &out["cautions"]), (&json!([]), &json!([])));
        // An issue that was sent twice says the same twice.
        let other = stored_plug(
            shop,
            &with(plug(&unique("BW")), json!({ "reach_mm": 12.7 })),
        );
        let shelf = Shelf {
            plug_id: other,
            ..shelf
        };
        shelf.receive(4);
        let body = with(
            issue(&shelf.plug_id, "Twice", 1),
            json!({ "build_id": build_id }),
        );
        let key = unique("twice");
        let once = |_| {
            shop.once_with(Who::Clerk, "/v1/stock/issues", &key, &body)
                .expect(201)
                .json
        };
        let [first, second] = [0, 1].map(once);
        assert_eq!(first, second);
        assert!(has(&second, "fails_its_build"));
    }
}

#[test]
fn a_part_that_fails_its_build_is_booked_and_said() {
    for shop in shared() {
        let build_id = engine(shop);
        let asked = json!({ "build_id": build_id });
        let short = shelf_of(shop, json!({ "reach_mm": 12.7 }));
        let out = issued(&short, asked.clone()).expect(201).json;
        assert_eq!(fails(&out), [pair("reach_mm", "fails")]);
        assert_eq!(out["fails"][0]["has"], 12.7);
        assert!(word(&out["fails"][0], "caution").contains("Never fit it"));
        assert!(has(&out, "fails_its_build") && has(&out, "reach_never_fitted"));
        assert_eq!(out["movements"].as_array().map(Vec::len), Some(1));
        assert_eq!(short.held("job"), 1);
        // Hotter than the build bears.
        let hot = shelf_of(shop, json!({ "heat_index": 40 }));
        let out = issued(&hot, asked.clone()).expect(201).json;
        assert_eq!(fails(&out), [pair("heat_index", "fails")]);
        // What nobody knows is not taken for fit, and is not said to fail.
        let unknown = shelf_of(shop, json!({ "heat_index": null, "terminal": null }));
        let out = issued(&unknown, asked).expect(201).json;
        assert_eq!(fails(&out), [pair("heat_index", "unknown")]);
        let said = &out["cautions"][0];
        assert_eq!(said["code"], "fails_its_build");
        assert!(word(said, "text").contains("unknown"), "{said}");
        // The build of the reservation counts where the issue names none.
        let kept =
            json!({ "plug_id": hot.plug_id, "quantity": 1, "job": "Kept", "build_id": build_id });
        let kept = hot.command("reservations", kept).expect(201).json;
        let body = json!({ "plug_id": hot.plug_id, "quantity": 1, "reservation_id": kept["id"] });
        let out = hot.command("issues", body).expect(201).json;
        assert_eq!(fails(&out), [pair("heat_index", "fails")]);
    }
}

#[test]
fn what_a_build_lets_pass_unknown_is_said_to_be_unknown() {
    for shop in shared() {
        let head = with(
            plugwell_tests::bodies::head(),
            json!({ "terminal": "solid_nut" }),
        );
        let body = with(build(), json!({ "name": unique("Heron"), "head": head }));
        let build_id = shop
            .post(Who::Tuner, "/v1/builds", &body)
            .expect(201)
            .text("id");
        let bare = json!({ "terminal": null, "gap_min_mm": null, "gap_max_mm": null, "gap_preset_mm": null });
        let shelf = shelf_of(shop, bare);
        let out = issued(&shelf, json!({ "build_id": build_id, "gap_mm": 0.81 }))
            .expect(201)
            .json;
        assert_eq!(out["fails"], json!([]));
        assert!(
            has(&out, "terminal_unconfirmed") && has(&out, "gap_range_unconfirmed"),
            "{out}"
        );
    }
}

#[test]
fn a_gap_outside_the_plugs_own_range_is_said_wherever_it_is_written_down() {
    for shop in shared() {
        // The plug may be bent to 0.6 to 1.1 mm.
        let shelf = shelf_of(shop, json!({}));
        let out = issued(&shelf, json!({ "gap_mm": 1.2 })).expect(201).json;
        assert_eq!(fails(&out), [pair("gap_max_mm", "fails")]);
        assert_eq!(
            out["fails"][0]["needed"],
            json!({ "min": 1.2, "max": null })
        );
        assert!(has(&out, "gap_outside_plug_range"));
        let back = json!({ "movement_id": out["movements"][0]["id"], "quantity": 1, "condition": "gapped", "place_id": shelf.bin_id });
        let back = shelf.command("returns", back).expect(201).json;
        assert_eq!(
            fails(&back),
            [pair("gap_max_mm", "fails")],
            "the gap that was set at issue"
        );
        let comes = |gap: f64| {
            let over = json!({ "condition": "gapped", "gap_mm": gap });
            let body = with(receipt(&shelf.plug_id, &shelf.bin_id, 4), over);
            shelf.command("receipts", body).expect(201).json
        };
        assert_eq!(fails(&comes(0.55)), [pair("gap_min_mm", "fails")]);
        for gap in [0.6, 1.1] {
            let fine = comes(gap);
            assert_eq!(
                (&fine["fails"], &fine["cautions"]),
                (&json!([]), &json!([])),
                "{gap}"
            );
        }
        // Nobody knows the range: not a fault, but said.
        let bare = json!({ "gap_min_mm": null, "gap_max_mm": null });
        let shelf = shelf_of(shop, bare);
        let out = issued(&shelf, json!({ "gap_mm": 0.9 })).expect(201).json;
        assert_eq!(
            (&out["fails"], codes(&out)),
            (&json!([]), vec!["gap_range_unconfirmed".to_owned()])
        );
    }
}

#[test]
fn a_gap_that_is_not_the_builds_is_said() {
    for shop in shared() {
        let (shelf, build_id) = (shelf_of(shop, json!({})), engine(shop));
        let asked = |gap: f64| {
            let over = json!({ "build_id": build_id, "gap_mm": gap });
            issued(&shelf, over).expect(201).json
        };
        let requirement = shop
            .post(Who::Reader, "/v1/requirements", &build())
            .expect(200)
            .json;
        let set = requirement["gap"]["set_mm"].as_f64().expect("a gap");
        assert!(!has(&asked(set), "gap_not_the_builds"));
        let other = asked(1.0);
        assert!(has(&other, "gap_not_the_builds"), "{other}");
        assert_eq!(other["fails"], json!([]));
    }
}

#[test]
fn a_gapped_lot_that_is_named_writes_its_own_gap_down() {
    for shop in shared() {
        let shelf = shelf_of(shop, json!({}));
        let over = json!({ "condition": "gapped", "gap_mm": 0.9 });
        let body = with(receipt(&shelf.plug_id, &shelf.bin_id, 4), over);
        let lot = shelf.command("receipts", body).expect(201).json["lots"][0].clone();
        let out = issued(&shelf, json!({ "lot_id": lot["id"] }))
            .expect(201)
            .json;
        assert_eq!(out["movements"][0]["gap_mm"], 0.9);
        assert_eq!(codes(&out), ["gap_of_the_lot"]);
        assert!(word(&out["cautions"][0], "text").contains(&word(&lot, "code")));
        // Told, it is not said.
        let told = issued(&shelf, json!({ "lot_id": lot["id"], "gap_mm": 0.9 }))
            .expect(201)
            .json;
        assert_eq!(told["cautions"], json!([]));
        // A sealed lot has none.
        let sealed = word(&shelf.receive(4), "lot_id");
        let out = issued(&shelf, json!({ "lot_id": sealed })).expect(201).json;
        assert_eq!(
            (&out["movements"][0]["gap_mm"], &out["cautions"]),
            (&Value::Null, &json!([]))
        );
    }
}

#[test]
fn an_odometer_is_a_builds_and_never_runs_backwards() {
    for shop in shared() {
        let (shelf, build_id) = (shelf_of(shop, json!({})), engine(shop));
        issued(&shelf, json!({ "odometer_km": 10 })).refused_for(&["#/odometer_km not_together"]);
        let kept = shelf.reserve(1, "Nobody's");
        issued(
            &shelf,
            json!({ "odometer_km": 10, "reservation_id": kept["id"], "job": null }),
        )
        .refused_for(&["#/odometer_km not_together"]);
        let at = |km: i64| issued(&shelf, json!({ "build_id": build_id, "odometer_km": km }));
        let first = at(50_000).expect(201).json;
        at(49_999).refused_for(&["#/odometer_km contradiction"]);
        at(50_000).expect(201);
        let path = format!("/v1/builds/{build_id}");
        let patch = |km: Value| shop.patch(Who::Tuner, &path, &json!({ "odometer_km": km }));
        patch(json!(49_000)).refused_for(&["#/odometer_km contradiction"]);
        patch(json!(60_000)).expect(200);
        at(59_999).refused_for(&["#/odometer_km contradiction"]);
        patch(json!(59_000)).refused_for(&["#/odometer_km contradiction"]);
        // Any other change leaves it as it is, and a slip is cleared first.
        shop.patch(Who::Tuner, &path, &json!({ "spares": 2 }))
            .expect(200);
        patch(Value::Null).expect(200);
        patch(json!(55_000)).expect(200);
        // An issue that was put right says nothing of the odometer.
        let slip = at(99_000).expect(201).json;
        at(56_000).refused_for(&["#/odometer_km contradiction"]);
        let reversal = json!({ "movement_id": slip["movements"][0]["id"], "reason": "misread" });
        shelf.command("reversals", reversal).expect(201);
        at(56_000).expect(201);
        assert_eq!(first["movements"][0]["odometer_km"], 50_000);
        assert_eq!(shelf.held("bin"), 8 - 3);
    }
}
