//! Customers' engines as built: over a head in full or a stored one, with or without the plug that
//! was in.

use plugwell_tests::bodies::{build, head, plug, stored_plug, unique, with, without};
use plugwell_tests::{Answer, Shop, Who, shared};
use serde_json::{Value, json};

#[test]
fn a_build_is_made_read_changed_and_removed() {
    for shop in shared() {
        let made = shop.post(Who::Tuner, "/v1/builds", &build()).expect(201);
        let own = format!("/v1/builds/{}", made.text("id"));
        assert_eq!(made.header("location"), Some(own.as_str()));
        assert_eq!(
            (&made.json["head_id"], &made.json["base_plug_id"]),
            (&Value::Null, &Value::Null)
        );
        assert_eq!(made.json["head"]["thread"], "M14x1.25");
        assert_eq!(
            made.json["electronics"],
            json!(["fuel_injection", "radio", "data_logger"])
        );
        assert_eq!(made.json["use"], "street");
        assert_eq!(shop.get(Who::Reader, &own).expect(200).json, made.json);

        let patch = json!({ "power_kw": 600, "electronics": null, "head": { "tight_gap": true, "hex_max_mm": null } });
        let changed = shop.patch(Who::Tuner, &own, &patch).expect(200);
        assert_eq!(
            (
                changed.json["power_kw"].as_f64(),
                &changed.json["electronics"]
            ),
            (Some(600.0), &Value::Null)
        );
        assert_eq!(
            (
                &changed.json["head"]["tight_gap"],
                &changed.json["head"]["hex_max_mm"]
            ),
            (&json!(true), &Value::Null)
        );
        assert_eq!(
            changed.json["head"]["seat"], "gasket",
            "a merge patch goes into inner objects"
        );
        shop.patch(Who::Tuner, &own, &json!({ "cylinders": null }))
            .refused_for(&["#/cylinders missing"]);
        shop.patch(Who::Tuner, &own, &json!({ "head": { "reach_mm": 4 } }))
            .refused_for(&["#/head/reach_mm out_of_range"]);

        shop.delete(Who::Tuner, &own).expect(204);
        shop.get(Who::Reader, &own).problem(404, "not_found");
    }
}

#[test]
fn a_build_stands_on_one_head() {
    for shop in shared() {
        let id = shop
            .post(Who::Tuner, "/v1/heads", &head())
            .expect(201)
            .text("id");
        let over_it = with(without(build(), &["head"]), json!({ "head_id": id }));
        for path in ["/v1/builds", "/v1/requirements"] {
            shop.post(Who::Tuner, path, &with(build(), json!({ "head_id": id })))
                .refused_for(&["#/head_id not_together"]);
            shop.post(Who::Tuner, path, &without(build(), &["head"]))
                .refused_for(&["#/head missing"]);
        }
        let made = shop.post(Who::Tuner, "/v1/builds", &over_it).expect(201);
        assert_eq!(
            (&made.json["head_id"], &made.json["head"]),
            (&json!(id), &Value::Null)
        );
        // A stored head says the same as one in full, also after it has changed.
        let asked = |body: &Value| {
            shop.post(Who::Reader, "/v1/requirements", body)
                .expect(200)
                .json
        };
        assert_eq!(asked(&over_it), asked(&build()));
        shop.patch(
            Who::Tuner,
            &format!("/v1/heads/{id}"),
            &json!({ "heat_index": 60 }),
        )
        .expect(200);
        assert_eq!(asked(&over_it)["heat"]["base_index"].as_f64(), Some(60.0));
    }
}

/// The window of a must, as `(min, max)`.
fn window(answer: &Answer, attribute: &str) -> Option<(Option<f64>, Option<f64>)> {
    let demands = answer.json["demands"].as_array().expect("demands");
    let must = demands
        .iter()
        .find(|d| d["attribute"] == attribute && d["strength"] == "must")?;
    Some((must["test"]["min"].as_f64(), must["test"]["max"].as_f64()))
}

fn must<'a>(answer: &'a Answer, attribute: &str) -> Option<&'a Value> {
    answer.json["demands"]
        .as_array()?
        .iter()
        .find(|d| d["attribute"] == attribute && d["strength"] == "must")
}

#[test]
fn the_plug_that_was_in_lends_heat_and_terminal() {
    for shop in shared() {
        let was_in = json!({ "heat_index": 40, "terminal": "stud_m4" });
        let base = stored_plug(shop, &with(plug(&unique("BASE")), was_in));
        let cool = json!({ "head": without(head(), &["heat_index"]), "base_plug_id": base, "induction": "naturally_aspirated",
            "boost_kpa": null, "base_boost_kpa": null });
        let body = with(build(), cool);
        let need = shop
            .post(Who::Reader, "/v1/requirements", &body)
            .expect(200);
        assert_eq!(need.json["heat"]["base_index"].as_f64(), Some(40.0));
        assert_eq!(
            must(&need, "terminal").map(|d| &d["test"]),
            Some(&json!({ "one_of": ["stud_m4"] }))
        );
        // Naturally aspirated: no step colder; 3 below the target and one step of ten above still fit (policy).
        assert_eq!(window(&need, "heat_index"), Some((Some(37.0), Some(50.0))));

        // What the head says stands above what was in.
        let need = shop
            .post(
                Who::Reader,
                "/v1/requirements",
                &with(
                    body.clone(),
                    json!({ "head": with(head(), json!({ "terminal": "solid_nut" })) }),
                ),
            )
            .expect(200);
        assert_eq!(need.json["heat"]["base_index"].as_f64(), Some(50.0));
        assert_eq!(
            must(&need, "terminal").map(|d| &d["test"]),
            Some(&json!({ "one_of": ["solid_nut"] }))
        );

        shop.post(Who::Tuner, "/v1/builds", &body).expect(201);
        shop.delete(Who::Clerk, &format!("/v1/plugs/{base}"))
            .problem(409, "has_history");
    }
}

#[test]
fn somebody_has_to_say_how_hot_the_engines_plug_is() {
    for shop in shared() {
        let cold = with(build(), json!({ "head": without(head(), &["heat_index"]) }));
        let unknown = stored_plug(
            shop,
            &with(plug(&unique("BASE")), json!({ "heat_index": null })),
        );
        let assumed = with(
            plug(&unique("BASE")),
            json!({ "provenance": { "heat_index": "assumed" } }),
        );
        let assumed = stored_plug(shop, &assumed);
        for path in ["/v1/builds", "/v1/requirements"] {
            shop.post(Who::Tuner, path, &cold)
                .refused_for(&["#/head/heat_index missing"]);
            for base in [&unknown, &assumed] {
                let body = with(cold.clone(), json!({ "base_plug_id": base }));
                shop.post(Who::Tuner, path, &body)
                    .refused_for(&["#/head/heat_index missing"]);
            }
        }
    }
}

#[test]
fn a_stored_build_is_matched_by_its_id() {
    for shop in shared() {
        let id = shop
            .post(Who::Tuner, "/v1/builds", &build())
            .expect(201)
            .text("id");
        let asked = |shop: &Shop, body: Value| {
            shop.post(Who::Reader, "/v1/matches", &body)
                .expect(200)
                .json["requirement"]
                .clone()
        };
        assert_eq!(
            asked(shop, json!({ "build_id": id })),
            asked(shop, json!({ "build": build() }))
        );
        let stray = json!({ "build_id": "018f4f5e-0000-7000-8000-000000000000" });
        shop.post(Who::Reader, "/v1/matches", &stray)
            .refused_for(&["#/build_id not_found"]);
    }
}
