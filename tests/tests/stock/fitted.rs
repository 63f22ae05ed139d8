//! Fitted sets: what is in which engine since when, by the issues for its build.

use plugwell_tests::bodies::{build, issue, unique, with};
use plugwell_tests::{Answer, Shop, Who, shared};
use serde_json::{Value, json};

use crate::counter::{Shelf, is_instant, word};

/// A build of its own with eight plugs.
pub fn engine(shop: &Shop) -> String {
    let body = with(build(), json!({ "name": unique("Heron") }));
    shop.post(Who::Tuner, "/v1/builds", &body)
        .expect(201)
        .text("id")
}

/// Issues for a build; the movements.
pub fn fit(shelf: &Shelf<'_>, build_id: &str, job: &str, over: Value) -> Value {
    let body = with(
        issue(&shelf.plug_id, job, 9),
        with(json!({ "build_id": build_id }), over),
    );
    shelf.command("issues", body).expect(201).json["movements"].clone()
}

fn list(shop: &Shop, query: &str) -> Vec<Value> {
    shop.all(Who::Reader, &format!("/v1/fitted-sets?{query}"))
}

fn get(shop: &Shop, path: &str) -> Answer {
    shop.get(Who::Reader, path).expect(200)
}

#[test]
fn a_set_says_since_when_by_which_odometer_and_with_which_gap() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 30);
        let (build_id, job) = (engine(shop), unique("Fitted"));
        let told = json!({ "odometer_km": 81_250, "gap_mm": 0.75 });
        let issued = fit(&shelf, &build_id, &job, told);
        let found = list(shop, &format!("build_id={build_id}"));
        assert_eq!(found.len(), 1);
        let wanted = json!({
            "id": issued[0]["id"], "movement_id": issued[0]["id"], "movement_ids": [issued[0]["id"]],
            "build_id": build_id, "job": job, "plug_id": shelf.plug_id, "quantity": 9,
            "fitted_at": issued[0]["created_at"], "odometer_km": 81_250, "gap_mm": 0.75,
            "state": "fitted", "replaced_at": null, "replaced_at_km": null, "readings": 0, "lead_changes": 1, "leads_renewed_on": null
        });
        for (member, value) in wanted.as_object().expect("an object") {
            assert_eq!(&found[0][member], value, "{member}");
        }
        is_instant(&found[0]["fitted_at"]);
        assert!(word(&found[0], "build_name").starts_with("Heron"));
        let path = format!("/v1/fitted-sets/{}", word(&found[0], "id"));
        let one = get(shop, &path);
        assert_eq!(one.json, found[0]);
        let known = [("if-none-match", one.header("etag").expect("a tag"))];
        assert_eq!(shop.send("GET", &path, Who::Reader, &known, "").status, 304);
        for query in [
            format!("job={}", job.to_uppercase()),
            format!("plug_id={}", shelf.plug_id),
        ] {
            assert_eq!(list(shop, &query), found, "{query}");
        }
        assert_eq!(
            list(shop, &format!("job={}", unique("Other"))),
            [Value::Null; 0]
        );
        // The spare comes back as it went out.
        let back = json!({ "movement_id": issued[0]["id"], "quantity": 1, "place_id": shelf.bin_id, "condition": "sealed" });
        shelf.command("returns", back).expect(201);
        assert_eq!(get(shop, &path).json["quantity"], 8);
        // A return that was a slip puts it back.
        let elsewhere = format!("/v1/fitted-sets/{}", uuid::Uuid::now_v7());
        shop.get(Who::Reader, &elsewhere).problem(404, "not_found");
    }
}

#[test]
fn a_newer_set_of_the_build_closes_the_older_one() {
    for shop in shared() {
        let (old, new) = (Shelf::with(shop, 30), Shelf::with(shop, 30));
        let build_id = engine(shop);
        let first = fit(&old, &build_id, "Closed", json!({ "odometer_km": 10_000 }));
        let second = fit(
            &new,
            &build_id,
            "Closed again",
            json!({ "odometer_km": 22_000 }),
        );
        let now = list(shop, &format!("build_id={build_id}"));
        assert_eq!(now.len(), 1);
        assert_eq!(now[0]["movement_id"], second[0]["id"]);
        assert_eq!(now[0]["lead_changes"], 2);
        let all = list(shop, &format!("build_id={build_id}&history=true"));
        let states: Vec<&Value> = all.iter().map(|set| &set["state"]).collect();
        assert_eq!(states, ["fitted", "replaced"], "the newest first");
        assert_eq!(all[1]["replaced_at"], second[0]["created_at"]);
        assert_eq!(all[1]["replaced_at_km"], 22_000);
        let replaced = list(shop, &format!("build_id={build_id}&state=replaced"));
        assert_eq!(replaced, all[1..]);
        assert_eq!(replaced[0]["movement_id"], first[0]["id"]);
        // The newer issue was a slip: the older set is in still.
        let slip = json!({ "movement_id": second[0]["id"], "reason": "wrong car" });
        new.command("reversals", slip).expect(201);
        let now = list(shop, &format!("build_id={build_id}"));
        assert_eq!((now.len(), &now[0]["movement_id"]), (1, &first[0]["id"]));
        // All of it came out.
        let out = json!({ "movement_id": first[0]["id"], "quantity": 9, "condition": "fitted" });
        old.command("returns", out).expect(201);
        assert_eq!(
            list(shop, &format!("build_id={build_id}")),
            [Value::Null; 0]
        );
        let gone = list(shop, &format!("build_id={build_id}&state=taken_out"));
        assert_eq!((gone.len(), &gone[0]["quantity"]), (1, &json!(0)));
    }
}

#[test]
fn leads_count_from_the_day_they_were_renewed() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 60);
        let build_id = engine(shop);
        for _ in 0..2 {
            fit(&shelf, &build_id, &unique("Leads"), json!({}));
        }
        let path = format!("/v1/builds/{build_id}");
        let changes = || list(shop, &format!("build_id={build_id}"))[0]["lead_changes"].clone();
        assert_eq!(changes(), 2);
        let today = chrono::Utc::now().date_naive();
        let renewed =
            |day: &str| shop.patch(Who::Tuner, &path, &json!({ "leads_renewed_on": day }));
        renewed(&(today - chrono::Days::new(1)).to_string()).expect(200);
        assert_eq!(changes(), 2, "both went in today");
        let answer = renewed(&today.to_string()).expect(200);
        assert_eq!(answer.json["leads_renewed_on"], today.to_string());
        assert_eq!(changes(), 0, "they went on with the new leads");
        renewed(&(today + chrono::Days::new(3)).to_string())
            .refused_for(&["#/leads_renewed_on out_of_range"]);
        shop.patch(Who::Tuner, &path, &json!({ "odometer_km": -1 }))
            .refused_for(&["#/odometer_km out_of_range"]);
    }
}

#[test]
fn a_reservation_lends_its_build_to_what_is_issued_on_it() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 20);
        let (build_id, job) = (engine(shop), unique("Lent"));
        let kept =
            json!({ "plug_id": shelf.plug_id, "quantity": 9, "job": job, "build_id": build_id });
        let kept = shelf.command("reservations", kept).expect(201).json;
        assert_eq!(kept["build_id"], *build_id);
        let draw = json!({ "plug_id": shelf.plug_id, "quantity": 9, "reservation_id": kept["id"] });
        let moved = shelf.command("issues", draw).expect(201).json["movements"][0].clone();
        assert_eq!(moved["build_id"], *build_id);
        assert_eq!(list(shop, &format!("job={job}")).len(), 1);
        shop.delete(Who::Tuner, &format!("/v1/builds/{build_id}"))
            .problem(409, "in_use");
        let nobody = json!({ "plug_id": shelf.plug_id, "quantity": 1, "job": job, "build_id": uuid::Uuid::now_v7() });
        shelf
            .command("reservations", nobody)
            .refused_for(&["#/build_id not_found"]);
    }
}

#[test]
fn pages_follow_one_another() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 90);
        let (job, mut want) = (unique("Paged"), Vec::new());
        for _ in 0..5 {
            let build_id = engine(shop);
            want.insert(0, fit(&shelf, &build_id, &job, json!({}))[0]["id"].clone());
        }
        let ids = |query: &str| -> Vec<Value> {
            list(shop, query)
                .iter()
                .map(|set| set["id"].clone())
                .collect()
        };
        assert_eq!(ids(&format!("job={job}")), want);
        assert_eq!(ids(&format!("job={job}&limit=2")), want);
    }
}
