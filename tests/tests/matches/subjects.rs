//! What a match can be made for: a build, a stored one, a requirement, a part.

use plugwell_tests::bodies::{build, head, plug, stored_plug, with};
use plugwell_tests::{Shop, Who, engines};
use serde_json::{Value, json};
use uuid::Uuid;

fn shops() -> impl Iterator<Item = Shop> {
    engines().into_iter().map(Shop::start)
}

fn ask(shop: &Shop, body: Value) -> Value {
    shop.post(
        Who::Reader,
        "/v1/matches",
        &with(json!({ "stock": "ignore" }), body),
    )
    .expect(200)
    .json
}

fn ids(answer: &Value) -> Vec<&str> {
    answer["fits"]
        .as_array()
        .expect("fits")
        .iter()
        .filter_map(|fit| fit["plug"]["id"].as_str())
        .collect()
}

#[test]
fn a_stored_build_is_matched_like_one_that_is_sent() {
    for shop in shops() {
        stored_plug(&shop, &plug("FW-1"));
        let sent = ask(&shop, json!({ "build": build() }));
        let stored = shop
            .post(Who::Tuner, "/v1/builds", &build())
            .expect(201)
            .text("id");
        assert_eq!(ask(&shop, json!({ "build_id": stored })), sent);
        let head_id = shop
            .post(Who::Tuner, "/v1/heads", &head())
            .expect(201)
            .text("id");
        let over = with(build(), json!({ "head": null, "head_id": head_id }));
        assert_eq!(ask(&shop, json!({ "build": over })), sent);
        // A stored build over a stored head follows that head.
        let stored = shop
            .post(Who::Tuner, "/v1/builds", &over)
            .expect(201)
            .text("id");
        shop.patch(
            Who::Tuner,
            &format!("/v1/heads/{head_id}"),
            &json!({ "reach_mm": 26.5 }),
        )
        .expect(200);
        assert_eq!(ids(&ask(&shop, json!({ "build_id": stored }))), [""; 0]);
    }
}

#[test]
fn a_requirement_posted_back_has_the_same_fits() {
    for shop in shops() {
        for name in ["FW-1", "FW-2"] {
            stored_plug(&shop, &plug(name));
        }
        stored_plug(&shop, &with(plug("FW-3"), json!({ "hex_mm": 20.8 })));
        let sent = ask(&shop, json!({ "build": build() }));
        let again = ask(&shop, json!({ "requirement": sent["requirement"] }));
        assert_eq!(ids(&again), ids(&sent));
        assert_eq!(again["totals"], sent["totals"]);
        assert_eq!(again["near_misses"], sent["near_misses"]);
        // Of a requirement, demands, target, set gap and total are read; the last three may be null.
        let bare = json!({ "demands": sent["requirement"]["demands"], "heat": null, "gap": { "set_mm": null }, "quantity": { "total": null } });
        assert_eq!(ids(&ask(&shop, json!({ "requirement": bare }))), ids(&sent));
        // Where there is no total one plug is asked for.
        let one = shop
            .post(Who::Reader, "/v1/matches", &json!({ "requirement": bare }))
            .expect(200)
            .json;
        assert_eq!(one["totals"]["fits_in_stock"], 0);
        // Another demand, another set.
        let mut demands = sent["requirement"]["demands"].clone();
        demands[0]["test"] = json!({ "one_of": ["M10x1"] });
        assert_eq!(
            ids(&ask(
                &shop,
                json!({ "requirement": { "demands": demands } })
            )),
            [""; 0]
        );
    }
}

#[test]
fn the_two_gap_musts_count_as_one() {
    for shop in shops() {
        let unknown = json!({ "gap_min_mm": null, "gap_max_mm": null });
        let id = stored_plug(&shop, &with(plug("FW-1"), unknown.clone()));
        stored_plug(
            &shop,
            &with(plug("FW-2"), with(unknown, json!({ "hex_mm": null }))),
        );
        let must = |attribute: &str, test: Value| json!({ "attribute": attribute, "strength": "must", "test": test, "unknown": "fails" });
        let demands = json!([
            must("thread", json!({ "one_of": ["M14x1.25"] })),
            must("hex_mm", json!({ "min": null, "max": 16.2 })),
            must("gap_min_mm", json!({ "min": null, "max": 0.8 })),
            must("gap_max_mm", json!({ "min": 0.8, "max": null })),
        ]);
        let answer = ask(&shop, json!({ "requirement": { "demands": demands } }));
        assert_eq!(answer["fits"], json!([]));
        let misses = answer["near_misses"].as_array().expect("near misses");
        assert_eq!(misses.len(), 1, "the other lacks its hexagon too");
        assert_eq!(misses[0]["plug"]["id"], *id);
        let fails: Vec<&Value> = misses[0]["fails"]
            .as_array()
            .expect("fails")
            .iter()
            .map(|fail| &fail["attribute"])
            .collect();
        assert_eq!(fails, ["gap_min_mm", "gap_max_mm"], "both are shown");
    }
}

#[test]
fn a_part_is_among_its_own_equivalents() {
    for shop in shops() {
        let own = stored_plug(&shop, &plug("FW-1"));
        let alike = stored_plug(
            &shop,
            &with(
                plug("FW-2"),
                json!({ "electrode": "nickel", "heat_index": 80 }),
            ),
        );
        let hotter = stored_plug(&shop, &with(plug("FW-3"), json!({ "heat_index": 66.9 })));
        let answer = ask(&shop, json!({ "plug_id": own }));
        assert_eq!(
            ids(&answer),
            [&own, &alike],
            "one step colder serves, three points hotter no more"
        );
        assert!(!ids(&answer).contains(&&*hotter));
        assert_eq!(
            answer["requirement"]["quantity"]["total"], 1,
            "one of a part"
        );
        assert_eq!(
            answer["requirement"]["gap"]["set_mm"], 0.8,
            "its own preset"
        );
        // Nobody knows of its resistor: one is demanded, also of the part itself.
        let open = stored_plug(
            &shop,
            &with(
                plug("FW-6"),
                json!({ "resistor": null, "resistance_ohm": null }),
            ),
        );
        assert_eq!(ids(&ask(&shop, json!({ "plug_id": open }))), [&own, &alike]);
        let incomplete = stored_plug(&shop, &with(plug("FW-4"), json!({ "reach_mm": null })));
        let refused = shop
            .post(
                Who::Reader,
                "/v1/matches",
                &json!({ "plug_id": incomplete }),
            )
            .problem(409, "requirement_incomplete");
        assert!(refused.text("detail").contains("reach_mm"), "{refused:?}");
        let assumed = json!({ "provenance": { "heat_index": "assumed" } });
        let incomplete = stored_plug(&shop, &with(plug("FW-5"), assumed));
        shop.post(
            Who::Reader,
            "/v1/matches",
            &json!({ "plug_id": incomplete }),
        )
        .problem(409, "requirement_incomplete");
    }
}

#[test]
fn exactly_one_subject_that_there_is() {
    for shop in shops() {
        let own = stored_plug(&shop, &plug("FW-1"));
        let nowhere = Uuid::now_v7();
        shop.post(Who::Reader, "/v1/matches", &json!({}))
            .problem(400, "invalid");
        shop.post(
            Who::Reader,
            "/v1/matches",
            &json!({ "build": build(), "plug_id": own }),
        )
        .problem(400, "invalid");
        shop.post(Who::Reader, "/v1/matches", &json!({ "build_id": nowhere }))
            .refused_for(&["#/build_id not_found"]);
        shop.post(Who::Reader, "/v1/matches", &json!({ "plug_id": nowhere }))
            .refused_for(&["#/plug_id not_found"]);
        let over = with(build(), json!({ "head": null, "head_id": nowhere }));
        shop.post(Who::Reader, "/v1/matches", &json!({ "build": over }))
            .refused_for(&["#/build/head_id not_found"]);
    }
}

#[test]
fn retired_records_and_assumed_values_are_left_out() {
    for shop in shops() {
        let own = stored_plug(&shop, &plug("FW-1"));
        let found = || ids(&ask(&shop, json!({ "build": build() }))).len();
        assert_eq!(found(), 1);
        let path = format!("/v1/plugs/{own}");
        shop.patch(Who::Clerk, &path, &json!({ "retired": true }))
            .expect(200);
        assert_eq!(found(), 0, "the very next match knows");
        shop.patch(Who::Clerk, &path, &json!({ "retired": false }))
            .expect(200);
        assert_eq!(found(), 1);
        shop.patch(
            Who::Clerk,
            &path,
            &json!({ "provenance": { "hex_mm": "assumed" } }),
        )
        .expect(200);
        assert_eq!(found(), 0);
        shop.patch(
            Who::Clerk,
            &path,
            &json!({ "provenance": { "hex_mm": "measured" } }),
        )
        .expect(200);
        assert_eq!(found(), 1);
        shop.patch(
            Who::Clerk,
            &path,
            &json!({ "provenance": { "terminal": "assumed" } }),
        )
        .expect(200);
        assert_eq!(found(), 1, "no terminal is demanded");
        shop.delete(Who::Clerk, &path).expect(204);
        assert_eq!(found(), 0);
    }
}
