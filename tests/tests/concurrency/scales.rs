//! Scales that change while parts with their codes come in, and while a calibration is applied.

use plugwell_tests::bodies::{heat_scale, plug, unique, with};
use plugwell_tests::{Answer, Shop, Who, engines};
use serde_json::{Value, json};

use crate::at_once;

/// Indices of a scale by code.
fn indices(scale: &Value) -> Vec<(String, Value)> {
    let codes = scale["codes"].as_array().expect("codes").iter();
    let own = |code: &Value| {
        (
            code["code"].as_str().expect("a code").to_owned(),
            code["heat_index"].clone(),
        )
    };
    codes.map(own).collect()
}

/// Moves a scale of [`heat_scale`] by so many tenths.
fn moved(shop: &Shop, path: &str, maker: &str, by: usize) -> Answer {
    let mut codes = heat_scale(maker, "x")["codes"].clone();
    for code in codes.as_array_mut().expect("codes") {
        code["heat_index"] =
            json!(code["heat_index"].as_f64().expect("an index") + by as f64 / 10.0);
    }
    shop.patch(Who::Clerk, path, &json!({ "codes": codes }))
}

#[test]
fn every_part_stands_where_its_scale_has_its_code() {
    for engine in engines() {
        let shop = Shop::start(engine);
        let maker = unique("Raced");
        let stored = |name: &str| {
            let body = heat_scale(&maker, name);
            shop.post(Who::Clerk, "/v1/heat-scales", &body)
                .expect(201)
                .text("id")
        };
        let (anchor, other) = (stored("anchor"), stored("other"));
        let paths = [&anchor, &other].map(|id| format!("/v1/heat-scales/{id}"));
        let side = |scale: &str| json!({ "scale_id": scale, "code": "7" });
        let apply = json!({
            "anchor_scale_id": anchor, "apply": true,
            "statements": [{ "a": side(&anchor), "b": side(&other) }]
        });
        let answers = at_once(24, |caller| match caller % 4 {
            0 => moved(&shop, &paths[0], &maker, caller + 1),
            1 => moved(&shop, &paths[1], &maker, caller + 1),
            2 => shop.post(Who::Manager, "/v1/heat-scales/calibrations", &apply),
            _ => {
                let code = (4 + caller % 6).to_string();
                let carries = json!({ "maker": maker, "heat_scale_id": other, "heat_code": code, "heat_index": null });
                shop.post(Who::Clerk, "/v1/plugs", &with(plug(&unique("R")), carries))
            }
        });
        // Refused is only what another one was quicker with.
        let statuses: Vec<u16> = answers.iter().map(|answer| answer.status).collect();
        assert!(
            statuses.iter().all(|s| [200, 201, 409, 412].contains(s)),
            "{engine}: {statuses:?}"
        );
        let scale = shop.get(Who::Reader, &paths[1]).expect(200).json;
        let indices = indices(&scale);
        let parts = shop.all(Who::Reader, &format!("/v1/plugs?maker={maker}"));
        assert_eq!(parts.len(), 6, "{engine}");
        for part in parts {
            let own = (
                part["heat_code"].as_str().expect("a code").to_owned(),
                part["heat_index"].clone(),
            );
            assert!(indices.contains(&own), "{engine}: {own:?} in {indices:?}");
        }
        // What was fitted last, if anything was, was fitted to the anchor as it stood.
        let applied = shop
            .post(Who::Manager, "/v1/heat-scales/calibrations", &apply)
            .expect(201);
        let seven =
            |id: &str| shop.get(Who::Reader, id).expect(200).json["codes"][2]["heat_index"].clone();
        assert_eq!(seven(&paths[0]), seven(&paths[1]), "{engine}: {applied:?}");
    }
}
