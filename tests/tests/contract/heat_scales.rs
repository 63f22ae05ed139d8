//! Makers' heat codes along the neutral index, and what hangs on them.

use plugwell_tests::bodies::{
    bin, build, heat_scale, issue, plug, receive, stored_plug, unique, with,
};
use plugwell_tests::{Shop, Who, shared};
use serde_json::{Value, json};

/// Codes with these indices, in this order.
fn codes(indices: &[f64]) -> Value {
    let code =
        |(place, index): (usize, &f64)| json!({ "code": format!("C{place}"), "heat_index": index });
    indices
        .iter()
        .enumerate()
        .map(code)
        .collect::<Vec<_>>()
        .into()
}

#[test]
fn a_scale_is_made_read_changed_and_removed() {
    for shop in shared() {
        let body = heat_scale(&unique("Scalewright"), "numbers");
        let made = shop.post(Who::Clerk, "/v1/heat-scales", &body).expect(201);
        let own = format!("/v1/heat-scales/{}", made.text("id"));
        assert_eq!(made.header("location"), Some(own.as_str()));
        let kept = |value: &Value| -> Vec<(String, f64)> {
            let codes = value["codes"].as_array().unwrap().iter();
            codes
                .map(|c| {
                    (
                        c["code"].as_str().unwrap().to_owned(),
                        c["heat_index"].as_f64().unwrap(),
                    )
                })
                .collect()
        };
        assert_eq!(kept(&made.json), kept(&body), "in the maker's order");
        assert_eq!(shop.get(Who::Reader, &own).expect(200).json, made.json);
        let renamed = shop
            .patch(Who::Clerk, &own, &json!({ "name": "letters" }))
            .expect(200);
        assert_eq!(
            (renamed.text("name"), renamed.tagged_version()),
            ("letters".to_owned(), 2)
        );
        shop.delete(Who::Clerk, &own).expect(204);
        shop.get(Who::Reader, &own).problem(404, "not_found");
    }
}

#[test]
fn a_maker_has_one_scale_of_a_name() {
    for shop in shared() {
        let maker = unique("Ångscale");
        shop.post(Who::Clerk, "/v1/heat-scales", &heat_scale(&maker, "Öne"))
            .expect(201);
        let again = heat_scale(&maker.to_uppercase(), "öNE");
        shop.post(Who::Clerk, "/v1/heat-scales", &again)
            .problem(409, "duplicate_record");
        let other = shop
            .post(Who::Clerk, "/v1/heat-scales", &heat_scale(&maker, "two"))
            .expect(201);
        let own = format!("/v1/heat-scales/{}", other.text("id"));
        shop.patch(Who::Clerk, &own, &json!({ "name": "öne" }))
            .problem(409, "duplicate_record");
    }
}

#[test]
fn the_index_rises_or_falls_strictly_in_the_makers_order() {
    for shop in shared() {
        let post = |indices: &[f64]| {
            let body = with(
                heat_scale(&unique("Orderly"), "numbers"),
                json!({ "codes": codes(indices) }),
            );
            shop.post(Who::Clerk, "/v1/heat-scales", &body)
        };
        for right in [
            &[10.0][..],
            &[10.0, 20.0, 20.1],
            &[90.0, 45.5, 0.0],
            &[0.0, 200.0],
        ] {
            post(right).expect(201);
        }
        for (wrong, place) in [
            (&[10.0, 10.0][..], 1),
            (&[10.0, 30.0, 20.0, 40.0], 2),
            (&[90.0, 80.0, 80.0], 2),
            (&[20.0, 10.0, 15.0, 0.0], 2),
        ] {
            post(wrong).refused_for(&[&format!("#/codes/{place}/heat_index contradiction")]);
        }
        let twice = json!([{ "code": "7", "heat_index": 10 }, { "code": "8", "heat_index": 20 }, { "code": "7", "heat_index": 30 }]);
        let body = with(
            heat_scale(&unique("Orderly"), "numbers"),
            json!({ "codes": twice }),
        );
        shop.post(Who::Clerk, "/v1/heat-scales", &body)
            .refused_for(&["#/codes/2/code duplicate"]);
        let cased = json!([{ "code": "a", "heat_index": 10 }, { "code": "A", "heat_index": 20 }]);
        let body = with(
            heat_scale(&unique("Orderly"), "letters"),
            json!({ "codes": cased }),
        );
        shop.post(Who::Clerk, "/v1/heat-scales", &body).expect(201);
    }
}

/// A scale of a new maker: maker, path and id.
fn scale_of_a_new_maker(shop: &Shop) -> (String, String, String) {
    let maker = unique("Followme");
    let body = heat_scale(&maker, "numbers");
    let id = shop
        .post(Who::Clerk, "/v1/heat-scales", &body)
        .expect(201)
        .text("id");
    (maker, format!("/v1/heat-scales/{id}"), id)
}

/// Stores a part that carries a code of a scale.
fn coded(shop: &Shop, maker: &str, scale: &str, code: &str) -> String {
    let carries =
        json!({ "maker": maker, "heat_scale_id": scale, "heat_code": code, "heat_index": null });
    stored_plug(shop, &with(plug(&unique("F")), carries))
}

/// Index and version of a part.
fn heat(shop: &Shop, id: &str) -> (Option<f64>, Option<i64>) {
    let read = shop
        .get(Who::Reader, &format!("/v1/plugs/{id}"))
        .expect(200);
    (
        read.json["heat_index"].as_f64(),
        read.json["version"].as_i64(),
    )
}

/// The codes of [`heat_scale`] with that of 7 moved by a quarter of a step.
fn moved() -> Vec<Value> {
    let index = |code: i64| if code == 7 { 72.5 } else { 10.0 * code as f64 };
    (4..10)
        .rev()
        .map(|code| json!({ "code": code.to_string(), "heat_index": index(code) }))
        .collect()
}

#[test]
fn parts_follow_their_scale_at_once() {
    for shop in shared() {
        let (maker, own, scale) = scale_of_a_new_maker(shop);
        let (seven, five) = (
            coded(shop, &maker, &scale, "7"),
            coded(shop, &maker, &scale, "5"),
        );
        let free = stored_plug(
            shop,
            &with(
                plug(&unique("F")),
                json!({ "maker": maker, "heat_index": 70 }),
            ),
        );
        shop.patch(Who::Clerk, &own, &json!({ "codes": moved() }))
            .expect(200);
        assert_eq!(heat(shop, &seven), (Some(72.5), Some(2)));
        assert_eq!(
            heat(shop, &five),
            (Some(50.0), Some(1)),
            "its code stands where it stood"
        );
        assert_eq!(
            heat(shop, &free),
            (Some(70.0), Some(1)),
            "it carries no code"
        );
        // List and match see it with the very next question.
        let listed = shop
            .get(
                Who::Reader,
                &format!("/v1/plugs?maker={maker}&heat_index=72.5"),
            )
            .expect(200);
        assert_eq!(listed.column("id"), [json!(seven)]);
        let asked = json!({ "plug_id": seven, "stock": "ignore", "limit": 200 });
        let matched = shop.post(Who::Reader, "/v1/matches", &asked).expect(200);
        let mut fits = matched.json["fits"].as_array().unwrap().iter();
        let fit = fits.find(|fit| fit["plug"]["id"] == seven.as_str());
        let shown = fit.and_then(|fit| fit["plug"]["heat_index"].as_f64());
        assert_eq!(shown, Some(72.5), "{matched:?}");
    }
}

#[test]
fn a_code_that_parts_carry_stays() {
    for shop in shared() {
        let (maker, own, scale) = scale_of_a_new_maker(shop);
        let seven = coded(shop, &maker, &scale, "7");
        let mut fewer = moved();
        fewer.retain(|code| code["code"] != "7");
        shop.patch(Who::Clerk, &own, &json!({ "codes": fewer }))
            .refused_for(&["#/codes missing"]);
        assert_eq!(
            heat(shop, &seven),
            (Some(70.0), Some(1)),
            "nothing was changed"
        );
        shop.delete(Who::Clerk, &own).problem(409, "in_use");
        coded(shop, &maker, &scale, "8");
        coded(shop, &maker, &scale, "8");
        fewer.retain(|code| code["code"] != "8");
        let refused = shop.patch(Who::Clerk, &own, &json!({ "codes": fewer }));
        let refused = refused.problem(400, "invalid");
        let errors = refused.json["errors"].as_array().expect("errors");
        let details: Vec<&str> = errors.iter().filter_map(|e| e["detail"].as_str()).collect();
        assert_eq!(details.len(), 2, "{details:?}");
        assert!(details[1].contains("2 parts carry it"), "{details:?}");
    }
}

#[test]
fn a_part_that_lets_go_of_its_code_keeps_its_index() {
    for shop in shared() {
        let (maker, _, scale) = scale_of_a_new_maker(shop);
        for patch in [
            json!({ "heat_scale_id": null, "heat_code": null }),
            json!({ "heat_scale_id": null, "heat_code": null, "description": "by itself" }),
        ] {
            let part = coded(shop, &maker, &scale, "7");
            shop.patch(Who::Clerk, &format!("/v1/plugs/{part}"), &patch)
                .expect(200);
            assert_eq!(heat(shop, &part), (Some(70.0), Some(2)));
        }
        let part = coded(shop, &maker, &scale, "7");
        let path = format!("/v1/plugs/{part}");
        shop.patch(Who::Clerk, &path, &json!({ "heat_code": "5" }))
            .expect(200);
        assert_eq!(
            heat(shop, &part),
            (Some(50.0), Some(2)),
            "another code, another index"
        );
    }
}

#[test]
fn a_change_says_which_parts_followed_and_what_holds_them() {
    for shop in shared() {
        let (maker, own, scale) = scale_of_a_new_maker(shop);
        let seven = coded(shop, &maker, &scale, "7");
        coded(shop, &maker, &scale, "5");
        receive(shop, &seven, &bin(shop, &unique("Followed")), 30);
        let build_id = shop
            .post(Who::Tuner, "/v1/builds", &build())
            .expect(201)
            .text("id");
        let job = unique("Followed");
        let kept = json!({ "plug_id": seven, "quantity": 4, "job": job });
        let reservation = shop
            .once(Who::Tuner, "/v1/stock/reservations", &kept)
            .expect(201)
            .text("id");
        let out = with(issue(&seven, &job, 9), json!({ "build_id": build_id }));
        let issued = shop
            .once(Who::Tuner, "/v1/stock/issues", &out)
            .expect(201)
            .json["movements"][0]["id"]
            .clone();
        shop.once(Who::Tuner, "/v1/stock/issues", &issue(&seven, &job, 2))
            .expect(201);
        let back = json!({ "movement_id": issued, "quantity": 3, "condition": "handled" });
        shop.once(Who::Clerk, "/v1/stock/returns", &back)
            .expect(201);
        let changed = shop
            .patch(Who::Clerk, &own, &json!({ "codes": moved() }))
            .expect(200);
        let changed = &changed.json["changed"];
        let followed = &changed["plugs"][0];
        assert_eq!(changed["plugs"].as_array().map(Vec::len), Some(1));
        assert_eq!(followed["plug_id"], seven.as_str());
        assert_eq!(
            (&followed["was"], &followed["heat_index"]),
            (&json!(70.0), &json!(72.5))
        );
        assert_eq!(changed["reservations"][0]["id"], reservation.as_str());
        assert_eq!(changed["reservations"].as_array().map(Vec::len), Some(1));
        let set = json!({ "movement_id": issued, "build_id": build_id, "job": job, "plug_id": seven, "quantity": 6, "state": "fitted" });
        let sets = changed["fitted_sets"].as_array().expect("a list");
        assert_eq!(sets.len(), 1);
        for (member, value) in set.as_object().expect("an object") {
            assert_eq!(&sets[0][member], value, "{member}");
        }
    }
}
