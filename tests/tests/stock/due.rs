//! What is due: worn sets first, and what nobody knows is said.

use plugwell_tests::bodies::{plug, stored_plug, unique, with};
use plugwell_tests::{Shop, Who, engines, shared};
use serde_json::{Value, json};

use crate::counter::Shelf;
use crate::fitted::{engine, fit};

/// A shelf of nickel plugs: 16 000 km in a boosted engine (10 000 miles, common practice, no source).
fn nickel(shop: &Shop) -> Shelf<'_> {
    let over = json!({ "electrode": "nickel", "service_life_km": null });
    let plug_id = stored_plug(shop, &with(plug(&unique("NI")), over));
    let shelf = Shelf {
        plug_id,
        ..Shelf::empty(shop)
    };
    shelf.receive(40);
    shelf
}

fn due(shop: &Shop, build_id: &str) -> Vec<Value> {
    shop.all(Who::Reader, &format!("/v1/due?build_id={build_id}"))
}

fn odometer(shop: &Shop, build_id: &str, km: i64) {
    let path = format!("/v1/builds/{build_id}");
    shop.patch(Who::Tuner, &path, &json!({ "odometer_km": km }))
        .expect(200);
}

#[test]
fn a_set_comes_up_as_it_runs() {
    for shop in shared() {
        let shelf = nickel(shop);
        let build_id = engine(shop);
        fit(&shelf, &build_id, "Due", json!({ "odometer_km": 50_000 }));
        let asked = &due(shop, &build_id)[0];
        assert_eq!(
            asked["state"], "unknown",
            "nobody has read the odometer since"
        );
        assert_eq!(asked["unanswered"][0]["attribute"], "odometer_km");
        assert_eq!(asked["distance_km"], Value::Null);
        // 0.9 of 16 000 km (own).
        for (km, state, left) in [
            (64_399, None, 0),
            (64_400, Some("nears_end"), 1_600),
            (66_000, Some("nears_end"), 0),
            (66_001, Some("worn_out"), -1),
        ] {
            odometer(shop, &build_id, km);
            let found = due(shop, &build_id);
            assert_eq!(found.len(), usize::from(state.is_some()), "{km}");
            if let Some(state) = state {
                assert_eq!(found[0]["state"], state, "{km}");
                assert_eq!(found[0]["left_km"], left);
                assert_eq!(found[0]["life_km"], 16_000);
                assert_eq!(found[0]["basis"]["kind"], "common_practice");
                assert_eq!(found[0]["set"]["build_id"], *build_id);
            }
        }
        let found = &due(shop, &build_id)[0];
        assert_eq!(found["severity"], "fix");
        let offered = found["replace_with"].as_array().expect("a list");
        assert!(!offered.is_empty(), "there is a set on the shelf");
        assert!(offered[0]["available"].as_i64() >= Some(8), "{found}");
        // A fresh set: the old one is out, and of the new one the odometer says nothing yet.
        fit(&shelf, &build_id, "Due", json!({ "odometer_km": 66_010 }));
        let fresh = due(shop, &build_id);
        assert_eq!((fresh.len(), &fresh[0]["state"]), (1, &json!("unknown")));
        odometer(shop, &build_id, 66_010);
        assert_eq!(due(shop, &build_id), [Value::Null; 0]);
    }
}

#[test]
fn leads_that_saw_three_changes_are_due() {
    for shop in shared() {
        let shelf = nickel(shop);
        let build_id = engine(shop);
        for km in [1_000, 2_000, 3_000] {
            fit(
                &shelf,
                &build_id,
                &unique("Leads"),
                json!({ "odometer_km": km }),
            );
        }
        odometer(shop, &build_id, 3_100);
        let found = due(shop, &build_id);
        assert_eq!((found.len(), &found[0]["state"]), (1, &json!("leads_due")));
        assert_eq!(found[0]["lead_changes"], 3);
        let today = chrono::Utc::now().date_naive().to_string();
        let path = format!("/v1/builds/{build_id}");
        shop.patch(Who::Tuner, &path, &json!({ "leads_renewed_on": today }))
            .expect(200);
        assert_eq!(due(shop, &build_id), [Value::Null; 0]);
    }
}

#[test]
fn what_has_to_be_put_right_stands_before_what_is_watched() {
    for engine_kind in engines() {
        let shop = Shop::start(engine_kind);
        // Nobody has said of these how far they last: a blown engine wears them early.
        let over = json!({ "electrode": "platinum", "service_life_km": 100_000 });
        let early = Shelf {
            plug_id: stored_plug(&shop, &with(plug(&unique("PT")), over)),
            ..Shelf::empty(&shop)
        };
        let worn = nickel(&shop);
        early.receive(40);
        worn.receive(40);
        for (shelf, run) in [(&early, 95_000), (&worn, 17_000)] {
            let build_id = engine(&shop);
            fit(
                shelf,
                &build_id,
                &unique("Urgent"),
                json!({ "odometer_km": 1_000 }),
            );
            odometer(&shop, &build_id, 1_000 + run);
        }
        let leads = engine(&shop);
        for km in [1_000, 2_000, 3_000] {
            fit(
                &early,
                &leads,
                &unique("Leads"),
                json!({ "odometer_km": km }),
            );
        }
        odometer(&shop, &leads, 3_100);
        let found = shop.all(Who::Reader, "/v1/due");
        let told = |member: &str| -> Vec<&str> {
            let each = found.iter().map(|due| due[member].as_str());
            each.map(|word| word.expect("a word")).collect()
        };
        assert_eq!(told("severity"), ["fix", "fix", "watch"]);
        assert_eq!(told("state"), ["worn_out", "leads_due", "wears_early"]);
    }
}

#[test]
fn the_most_urgent_stands_first_over_all_builds_and_pages() {
    for engine_kind in engines() {
        let shop = Shop::start(engine_kind);
        let shelf = nickel(&shop);
        shelf.receive(100);
        let mut builds = Vec::new();
        // Two that nobody knows of, three near the end, two worn.
        for run in [
            None,
            None,
            Some(15_000),
            Some(15_500),
            Some(14_500),
            Some(20_000),
            Some(17_000),
        ] {
            let build_id = engine(&shop);
            fit(
                &shelf,
                &build_id,
                &unique("Order"),
                json!({ "odometer_km": 1_000 }),
            );
            if let Some(run) = run {
                odometer(&shop, &build_id, 1_000 + run);
            }
            builds.push(build_id);
        }
        let want: Vec<&String> = [5, 6, 3, 2, 4, 1, 0].map(|place| &builds[place]).to_vec();
        for path in ["/v1/due", "/v1/due?limit=2"] {
            let found = shop.all(Who::Reader, path);
            let order: Vec<&Value> = found.iter().map(|due| &due["set"]["build_id"]).collect();
            assert_eq!(order, want, "{path}");
        }
        let worn = shop.all(Who::Reader, "/v1/due?state=worn_out");
        assert_eq!(worn.len(), 2);
        shop.get(Who::Reader, "/v1/due?state=soon")
            .problem(400, "invalid");
    }
}
