//! What is offered to a waiting job meets what was asked for, as it was asked.

use plugwell_tests::bodies::{bin, build, plug, receive, stored_plug, unique, with};
use plugwell_tests::{Engine, Shop, Who, shared};
use serde_json::{Value, json};

use crate::bench::{Bench, job, of_heat};

#[test]
fn neither_hotter_nor_unknown_nor_assumed_is_ever_offered() {
    for shop in shared() {
        let bench = Bench::new(shop);
        let id = bench.wait(&job("Careful"), 4);
        let heat = bench.heat;
        let beside = |tenths: f64| ((heat * 10.0).round() + tenths) / 10.0;
        for other in [
            of_heat(beside(-1.0)),
            of_heat(beside(1.0)),
            with(of_heat(heat), json!({ "heat_index": null })),
            with(
                of_heat(heat),
                json!({ "provenance": { "heat_index": "assumed" } }),
            ),
            with(of_heat(heat), json!({ "seat": "conical", "hex_mm": 16.0 })),
        ] {
            let part = stored_plug(shop, &other);
            receive(shop, &part, &bench.bin_id, 20);
        }
        // Once this one shows, all that came before it has been looked at.
        let behind = Bench::new(shop);
        let later = behind.wait(&job("Later"), 4);
        behind.receive(4);
        behind.becomes(&later, "possible");
        let seen = bench.seen(&id);
        assert_eq!(
            (&seen["state"], &seen["fits"]),
            (&json!("waiting"), &json!([]))
        );
        bench.receive(4);
        let seen = bench.becomes(&id, "possible");
        let only = json!([{ "plug_id": bench.plug_id, "available": 4 }]);
        assert_eq!(seen["fits"], only);
    }
}

#[test]
fn it_is_judged_by_what_was_asked_whatever_the_policy_has_become() {
    let shop = Shop::start(Engine::Sqlite);
    let ask = |name: &str| {
        let body = json!({ "job": name, "build": build() });
        shop.post(Who::Tuner, "/v1/waiting-jobs", &body).expect(201)
    };
    let before = ask("Before");
    assert_eq!(before.json["quantity"], 9, "eight and the policy's spare");
    let mut policy = shop.get(Who::Manager, "/v1/policy").expect(200).json;
    policy["values"]["spares_per_set"]["value"] = json!(3);
    policy["values"]["heat_least_slack"]["value"] = json!(0);
    let version = policy["version"].as_i64().expect("a version");
    shop.put(Who::Manager, "/v1/policy", &policy).expect(200);
    let after = ask("After");
    assert_eq!(after.json["quantity"], 11);
    let of = |answer: &Value| answer["requirement"]["policy_version"].as_i64();
    assert_eq!(of(&before.json), Some(version));
    assert_eq!(of(&after.json), Some(version + 1));
    // Within the slack that there was then, beyond the one that there is now.
    let slack = after.json["requirement"]["demands"].as_array();
    let heat = slack
        .into_iter()
        .flatten()
        .find(|demand| demand["attribute"] == "heat_index")
        .expect("a demand for heat");
    let colder = heat["test"]["max"].as_f64().expect("an end") + 1.0;
    let part = stored_plug(&shop, &with(plug("WJ-1"), json!({ "heat_index": colder })));
    receive(&shop, &part, &bin(&shop, "Bin"), 30);
    let state = |answer: &plugwell_tests::Answer| {
        let path = format!("/v1/waiting-jobs/{}", answer.text("id"));
        shop.get(Who::Reader, &path).expect(200).json
    };
    assert_eq!(state(&before)["state"], "possible", "{heat}");
    assert_eq!(state(&after)["state"], "waiting");
    assert_eq!(of(&state(&before)), Some(version));
}

/// The same parts as a match offers, in the same order, and it defers to the makers.
#[test]
fn the_fits_are_those_of_a_match() {
    let shop = Shop::start(Engine::Sqlite);
    let made = shop.post(Who::Tuner, "/v1/builds", &build()).expect(201);
    let bin_id = bin(&shop, "Bin");
    let asked = json!({ "job": "Whole", "build_id": made.text("id") });
    let asked = shop.post(Who::Tuner, "/v1/waiting-jobs", &asked);
    let asked = asked.expect(201);
    for (heat, gap) in [
        (70.0, 0.8),
        (71.0, 0.8),
        (67.0, 0.8),
        (70.0, 0.7),
        (50.0, 0.8),
    ] {
        let own = json!({ "heat_index": heat, "gap_preset_mm": gap });
        let part = stored_plug(&shop, &with(plug(&unique("WJ")), own));
        receive(&shop, &part, &bin_id, 12);
    }
    let path = format!("/v1/waiting-jobs/{}", asked.text("id"));
    let seen = shop.get(Who::Reader, &path).expect(200).json;
    let body = json!({ "build_id": made.text("id"), "near_misses": 0 });
    let matched = shop.post(Who::Reader, "/v1/matches", &body).expect(200);
    let fits = matched.json["fits"].as_array().expect("fits");
    assert_eq!(fits.len(), 4, "{matched:?}");
    let as_fits: Vec<Value> = fits
        .iter()
        .map(|fit| json!({ "plug_id": fit["plug"]["id"], "available": fit["available"] }))
        .collect();
    assert_eq!(seen["fits"], json!(as_fits));
    for member in ["demands", "quantity", "policy_version", "unanswered"] {
        let needed = &matched.json["requirement"][member];
        assert_eq!(&seen["requirement"][member], needed, "{member}");
    }
    let codes: Vec<&Value> = seen["cautions"]
        .as_array()
        .into_iter()
        .flatten()
        .map(|caution| &caution["code"])
        .collect();
    for code in ["confirm_with_head_maker", "makers_stand_above"] {
        assert_eq!(codes.iter().filter(|c| **c == code).count(), 1, "{code}");
    }
    // A build that somebody waits for stays.
    let path = format!("/v1/builds/{}", made.text("id"));
    shop.delete(Who::Tuner, &path).problem(409, "in_use");
}
