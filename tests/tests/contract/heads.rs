//! Cylinder heads: what they take.

use plugwell_tests::bodies::{build, head, unique, with, without};
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};

#[test]
fn a_head_is_made_read_changed_and_removed() {
    for shop in shared() {
        let body = with(
            head(),
            json!({ "name": unique("Head"), "thread": "14 x 1,25", "reach_mm": 19.05 }),
        );
        let made = shop.post(Who::Tuner, "/v1/heads", &body).expect(201);
        let own = format!("/v1/heads/{}", made.text("id"));
        assert_eq!(made.header("location"), Some(own.as_str()));
        assert_eq!(made.json["thread"], "M14x1.25");
        assert_eq!(made.json["reach_mm"].as_f64(), Some(19.05));
        assert_eq!(
            (&made.json["name"], &made.json["terminal"]),
            (&body["name"], &Value::Null)
        );
        assert_eq!(shop.get(Who::Reader, &own).expect(200).json, made.json);

        let patch = json!({ "hex_max_mm": null, "heat_index": 55.5, "terminal": "solid_nut" });
        let changed = shop.patch(Who::Tuner, &own, &patch).expect(200);
        assert_eq!(
            (&changed.json["hex_max_mm"], &changed.json["terminal"]),
            (&Value::Null, &json!("solid_nut"))
        );
        assert_eq!(
            (
                changed.json["heat_index"].as_f64(),
                changed.json["version"].as_i64()
            ),
            (Some(55.5), Some(2))
        );
        assert_eq!(
            changed.json["reach_mm"], made.json["reach_mm"],
            "absent leaves"
        );
        shop.patch(Who::Tuner, &own, &json!({ "seat": null }))
            .refused_for(&["#/seat missing"]);
        shop.patch(Who::Tuner, &own, &json!({ "projection_min_mm": 5 }))
            .refused_for(&["#/projection_min_mm contradiction"]);

        assert_eq!(shop.delete(Who::Tuner, &own).status, 204);
        shop.get(Who::Reader, &own).problem(404, "not_found");
    }
}

#[test]
fn what_is_unknown_of_a_head_stays_so() {
    for shop in shared() {
        let bare = json!({ "thread": "M10x1", "reach_mm": 26.5, "seat": "gasket" });
        let made = shop.post(Who::Tuner, "/v1/heads", &bare).expect(201);
        let unknown = [
            "name",
            "reach_tolerance_mm",
            "hex_max_mm",
            "projection_min_mm",
            "projection_max_mm",
            "heat_index",
            "terminal",
            "material",
            "tight_gap",
        ];
        for member in unknown {
            assert_eq!(
                made.json.get(member),
                Some(&Value::Null),
                "{member}: {made:?}"
            );
        }
    }
}

#[test]
fn a_head_that_builds_stand_on_is_kept() {
    for shop in shared() {
        let id = shop
            .post(Who::Tuner, "/v1/heads", &head())
            .expect(201)
            .text("id");
        let over_it = with(without(build(), &["head"]), json!({ "head_id": id }));
        let build = shop
            .post(Who::Tuner, "/v1/builds", &over_it)
            .expect(201)
            .text("id");
        let own = format!("/v1/heads/{id}");
        shop.delete(Who::Tuner, &own).problem(409, "in_use");
        shop.delete(Who::Tuner, &format!("/v1/builds/{build}"))
            .expect(204);
        shop.delete(Who::Tuner, &own).expect(204);
    }
}
