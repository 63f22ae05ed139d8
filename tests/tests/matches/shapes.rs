//! The answer to a match, member by member as contract.md has it.

use plugwell_tests::bodies::{bin, build, plug, receive, stored_plug, unique, with};
use plugwell_tests::{Shop, Who, engines};
use serde_json::{Value, json};

/// The members of an object, sorted.
fn members(value: &Value) -> Vec<&str> {
    let mut names: Vec<&str> = value
        .as_object()
        .expect("an object")
        .keys()
        .map(String::as_str)
        .collect();
    names.sort_unstable();
    names
}

fn shops() -> impl Iterator<Item = Shop> {
    engines().into_iter().map(Shop::start)
}

#[test]
fn a_fit_shows_every_member_of_the_contract() {
    for shop in shops() {
        let id = stored_plug(&shop, &plug("FW-3207"));
        let place_id = bin(&shop, "A1");
        let lot_id = receive(&shop, &id, &place_id, 24)["lot_id"].clone();
        let answer = shop
            .post(Who::Reader, "/v1/matches", &json!({ "build": build() }))
            .expect(200)
            .json;
        for member in ["requirement", "fits", "near_misses", "totals", "cautions"] {
            assert!(!answer[member].is_null(), "{member} in {answer}");
        }
        assert_eq!(
            answer["totals"],
            json!({ "fits_in_catalogue": 1, "fits_in_stock": 1 })
        );
        assert_eq!(answer["near_misses"], json!([]));
        assert_eq!(answer["cautions"], answer["requirement"]["cautions"]);
        let fit = &answer["fits"][0];
        let wanted = [
            "available",
            "cautions",
            "closeness",
            "on_hand",
            "picks",
            "plug",
            "set_gap_mm",
            "unconfirmed",
            "verdicts",
        ];
        assert_eq!(members(fit), wanted);
        assert_eq!(
            (&fit["available"], &fit["on_hand"]),
            (&json!(24), &json!(24))
        );
        assert_eq!(fit["unconfirmed"], json!([]));
        assert_eq!(fit["cautions"], json!([]));
        // Eight cylinders and one spare (common practice, no source).
        assert_eq!(
            fit["picks"],
            json!([{ "lot_id": lot_id, "place_id": place_id, "quantity": 9 }])
        );
        let closeness = fit["closeness"].as_f64().expect("a number");
        assert!((0.0..=1.0).contains(&closeness), "{closeness}");
        // 500 kW is 670 hp: 0.71 to 0.81 mm (common practice, no source), and the coil fires more.
        assert_eq!(fit["set_gap_mm"], 0.81);
        assert_eq!(
            fit["plug"],
            shop.get(Who::Reader, &format!("/v1/plugs/{id}"))
                .expect(200)
                .json
        );
        verdicts_follow_the_demands(fit, &answer["requirement"]["demands"]);
    }
}

fn verdicts_follow_the_demands(fit: &Value, demands: &Value) {
    let (verdicts, demands) = (
        fit["verdicts"].as_array().expect("verdicts"),
        demands.as_array().expect("demands"),
    );
    assert_eq!(verdicts.len(), demands.len(), "one verdict to the demand");
    for (verdict, demand) in verdicts.iter().zip(demands) {
        assert_eq!(
            members(verdict),
            ["attribute", "has", "needed", "strength", "verdict"]
        );
        let attribute = demand["attribute"].as_str().expect("an attribute");
        let wanted = json!({
            "attribute": attribute, "strength": demand["strength"], "needed": demand["test"],
            "has": fit["plug"][attribute], "verdict": "meets"
        });
        assert_eq!(verdict, &wanted);
    }
}

#[test]
fn what_fails_one_must_is_a_near_miss() {
    for shop in shops() {
        let make = |over: Value| stored_plug(&shop, &with(plug(&unique("NM")), over));
        let short = make(json!({ "projection_mm": 1.0 }));
        let long = make(json!({ "reach_mm": 26.5 }));
        let cold = make(json!({ "heat_index": 95 }));
        let open = make(json!({ "projection_mm": null }));
        let narrow = make(json!({ "gap_min_mm": 0.5, "gap_preset_mm": 0.6, "gap_max_mm": 0.7 }));
        let never = [
            json!({ "thread": "M12x1.25" }),
            json!({ "seat": "conical" }),
            json!({ "heat_index": 50 }),
            json!({ "heat_index": null }),
            json!({ "reach_mm": null }),
            json!({ "reach_mm": 19.0, "provenance": { "reach_mm": "assumed" } }),
            json!({ "projection_mm": 1.0, "hex_mm": 20.8 }),
        ];
        let never: Vec<String> = never.into_iter().map(make).collect();
        let body = json!({ "build": build(), "stock": "ignore", "near_misses": 50 });
        let answer = shop
            .post(Who::Reader, "/v1/matches", &body)
            .expect(200)
            .json;
        assert_eq!(answer["fits"], json!([]));
        let misses = answer["near_misses"].as_array().expect("near misses");
        let of = |id: &str| misses.iter().find(|miss| miss["plug"]["id"] == id);
        for id in &never {
            assert_eq!(of(id), None, "never a near miss");
        }
        assert_eq!(misses.len(), 5, "{misses:#?}");
        let miss = of(&short).expect("a near miss by its projection");
        assert_eq!(members(miss), ["available", "fails", "plug"]);
        assert_eq!(miss["available"], 0);
        let fail = &miss["fails"][0];
        assert_eq!(
            (&fail["attribute"], &fail["has"], &fail["verdict"]),
            (&json!("projection_mm"), &json!(1.0), &json!("fails"))
        );
        assert_eq!(fail["needed"], json!({ "min": 2.0, "max": 4.0 }));
        // By its reach only with the caution that it is never to be fitted.
        let caution = of(&long).expect("a near miss by its reach")["fails"][0]["caution"]
            .as_str()
            .map(str::to_lowercase);
        assert!(
            caution.as_ref().is_some_and(|text| text.contains("never")),
            "{caution:?}"
        );
        assert_eq!(
            of(&cold).expect("a near miss on the cold side")["fails"][0]["attribute"],
            "heat_index"
        );
        // A null that fails a must is unknown, not failed.
        let open = &of(&open).expect("a near miss by what nobody knows")["fails"][0];
        assert_eq!(
            (&open["has"], &open["verdict"]),
            (&Value::Null, &json!("unknown"))
        );
        let narrow = of(&narrow).expect("a near miss by its range")["fails"]
            .as_array()
            .expect("fails");
        let attributes: Vec<&Value> = narrow.iter().map(|fail| &fail["attribute"]).collect();
        assert_eq!(
            attributes,
            ["gap_max_mm"],
            "0.81 mm is above its greatest gap, not under its least"
        );
    }
}

#[test]
fn near_misses_are_as_many_as_asked_for() {
    for shop in shops() {
        for _ in 0..7 {
            stored_plug(
                &shop,
                &with(plug(&unique("FEW")), json!({ "projection_mm": 1.0 })),
            );
        }
        let asked = |near_misses: Value| {
            let body = with(json!({ "build": build(), "stock": "ignore" }), near_misses);
            shop.post(Who::Reader, "/v1/matches", &body)
                .expect(200)
                .json["near_misses"]
                .as_array()
                .expect("a list")
                .len()
        };
        assert_eq!(asked(json!({})), 5, "five where nobody says");
        assert_eq!(asked(json!({ "near_misses": 0 })), 0);
        assert_eq!(asked(json!({ "near_misses": 50 })), 7);
        let body = json!({ "build": build(), "near_misses": 51, "limit": 201, "quantity": 0, "stock": "plenty", "colour": 1 });
        let refused = shop.post(Who::Reader, "/v1/matches", &body);
        refused.refused_for(&[
            "#/colour unknown_member",
            "#/limit out_of_range",
            "#/near_misses out_of_range",
            "#/quantity out_of_range",
            "#/stock not_in_list",
        ]);
        // They obey the stock condition too.
        let in_stock = shop
            .post(Who::Reader, "/v1/matches", &json!({ "build": build() }))
            .expect(200)
            .json;
        assert_eq!(in_stock["near_misses"], json!([]));
    }
}

#[test]
fn what_nobody_can_answer_for_is_unconfirmed() {
    for shop in shops() {
        let known = stored_plug(&shop, &plug("KNOWN"));
        let open = json!({ "terminal": null, "gap_min_mm": null, "gap_max_mm": null, "status": "discontinued", "superseded_by": known });
        let open = stored_plug(&shop, &with(plug("OPEN"), open));
        let mut engine = build();
        engine["head"]["terminal"] = json!("solid_nut");
        engine["head"]["projection_max_mm"] = Value::Null;
        let body = json!({ "build": engine, "stock": "ignore" });
        let answer = shop
            .post(Who::Reader, "/v1/matches", &body)
            .expect(200)
            .json;
        let fit = |id: &str| {
            let fits = answer["fits"].as_array().expect("fits").iter();
            fits.clone()
                .find(|fit| fit["plug"]["id"] == id)
                .unwrap_or_else(|| panic!("{id} in {answer}"))
                .clone()
        };
        assert_eq!(
            fit(&known)["unconfirmed"],
            json!(["projection_mm"]),
            "the window has one known end"
        );
        let fit = fit(&open);
        let mut unconfirmed: Vec<&str> = fit["unconfirmed"]
            .as_array()
            .expect("a list")
            .iter()
            .filter_map(Value::as_str)
            .collect();
        unconfirmed.sort_unstable();
        assert_eq!(
            unconfirmed,
            ["gap_max_mm", "gap_min_mm", "projection_mm", "terminal"]
        );
        let codes: Vec<&str> = fit["cautions"]
            .as_array()
            .expect("cautions")
            .iter()
            .filter_map(|c| c["code"].as_str())
            .collect();
        for code in [
            "terminal_unconfirmed",
            "gap_range_unconfirmed",
            "discontinued_part",
            "superseded_part",
        ] {
            assert!(codes.contains(&code), "{code} in {codes:?}");
        }
        assert!(
            fit["cautions"][0]["text"]
                .as_str()
                .is_some_and(|text| text.len() > 10),
            "{fit}"
        );
    }
}

#[test]
fn the_same_question_has_the_same_answer() {
    for shop in shops() {
        // Equal in everything but their names: part number, then id, decides.
        for number in [7, 3, 9, 1, 5] {
            stored_plug(&shop, &plug(&format!("SAME-{number}")));
        }
        for maker in ["Zinnwerk", "Altfeuer"] {
            stored_plug(&shop, &with(plug("SAME-4"), json!({ "maker": maker })));
        }
        let body = json!({ "build": build(), "stock": "ignore" });
        let first = shop.post(Who::Reader, "/v1/matches", &body).expect(200);
        let numbers: Vec<&Value> = first.json["fits"]
            .as_array()
            .expect("fits")
            .iter()
            .map(|fit| &fit["plug"]["part_number"])
            .collect();
        assert_eq!(
            numbers,
            [
                "SAME-1", "SAME-3", "SAME-4", "SAME-4", "SAME-5", "SAME-7", "SAME-9"
            ]
        );
        let ids: Vec<&Value> = first.json["fits"].as_array().expect("fits")[2..4]
            .iter()
            .map(|fit| &fit["plug"]["id"])
            .collect();
        assert!(ids[0].as_str() < ids[1].as_str(), "{ids:?}");
        for _ in 0..5 {
            assert_eq!(
                shop.post(Who::Reader, "/v1/matches", &body)
                    .expect(200)
                    .body,
                first.body
            );
        }
    }
}
