//! Places: one scrap drum, one difference account, codes, kinds, names.

use std::thread;

use plugwell_tests::bodies::{bin, unique};
use plugwell_tests::{Shop, Who, engines, shared};
use serde_json::json;
use uuid::Uuid;

use crate::counter::{Shelf, is_instant, is_uuid_v7, only, word};

#[test]
fn a_place_has_a_code_a_kind_and_a_name() {
    for shop in shared() {
        let name = unique("Rack");
        for kind in ["bin", "quarantine", "supplier", "job"] {
            let answer = shop
                .post(
                    Who::Clerk,
                    "/v1/stock/places",
                    &json!({ "kind": kind, "name": name }),
                )
                .expect(201);
            let place = &answer.json;
            let id = word(place, "id");
            assert_eq!(
                answer.header("location"),
                Some(&*format!("/v1/stock/places/{id}"))
            );
            assert!(is_uuid_v7(&place["id"]));
            assert_eq!(
                (&place["kind"], &place["name"], &place["retired"]),
                (&json!(kind), &json!(name), &json!(false))
            );
            is_instant(&place["created_at"]);
            // `P` and a running number, at most ten characters: what a label shows.
            let code = word(place, "code");
            let number = code.strip_prefix('P').unwrap_or_else(|| panic!("{code}"));
            assert!(number.parse::<u64>().is_ok() && code.len() <= 10, "{code}");
            let again = shop
                .get(Who::Reader, &format!("/v1/stock/places/{id}"))
                .expect(200);
            assert_eq!(&again.json, place);
            assert!(!again.etag().is_empty());
            let by_code = shop
                .get(Who::Reader, &format!("/v1/stock/places?code={code}"))
                .expect(200);
            assert_eq!(by_code.items(), std::slice::from_ref(place));
            let small = shop
                .get(
                    Who::Reader,
                    &format!("/v1/stock/places?code={}", code.to_lowercase()),
                )
                .expect(200);
            assert_eq!(small.items().len(), 1, "a scanner's case does not matter");
        }
        assert!(
            shop.get(Who::Reader, "/v1/stock/places?code=P0")
                .expect(200)
                .items()
                .is_empty()
        );
        shop.get(Who::Reader, &format!("/v1/stock/places/{}", Uuid::now_v7()))
            .problem(404, "not_found");
    }
}

#[test]
fn there_is_one_scrap_drum_and_one_difference_account() {
    for shop in shared() {
        for kind in ["scrap", "difference"] {
            let id = only(shop, kind);
            let body = json!({ "kind": kind, "name": unique("Second") });
            shop.post(Who::Manager, "/v1/stock/places", &body)
                .refused_for(&["#/kind not_in_list"]);
            assert_eq!(only(shop, kind), id);
        }
    }
}

#[test]
fn kinds_narrow_the_list() {
    for shop in shared() {
        let id = bin(shop, &unique("Narrow"));
        let of_kind = |kind: &str| {
            shop.all(
                Who::Reader,
                &format!("/v1/stock/places?kind={kind}&limit=200"),
            )
        };
        assert!(of_kind("bin").iter().any(|place| place["id"] == *id));
        assert!(of_kind("bin").iter().all(|place| place["kind"] == "bin"));
        assert!(of_kind("job").iter().all(|place| place["id"] != *id));
        shop.get(Who::Reader, "/v1/stock/places?kind=shelf")
            .refused_for(&["?kind not_in_list"]);
        shop.get(Who::Reader, "/v1/stock/places?colour=red")
            .refused_for(&["?colour unknown_member"]);
    }
}

#[test]
fn a_name_is_taken_once_within_its_kind_case_blind() {
    for shop in shared() {
        let name = unique("Shelf Ü");
        bin(shop, &name);
        for again in [name.clone(), name.to_lowercase(), format!(" {name} ")] {
            let body = json!({ "kind": "bin", "name": again });
            shop.post(Who::Clerk, "/v1/stock/places", &body)
                .problem(409, "duplicate_record");
        }
        shop.post(
            Who::Clerk,
            "/v1/stock/places",
            &json!({ "kind": "job", "name": name }),
        )
        .expect(201);
        let faulty = shop.post(
            Who::Clerk,
            "/v1/stock/places",
            &json!({ "kind": "shelf", "name": "", "size": 3 }),
        );
        faulty.refused_for(&[
            "#/kind not_in_list",
            "#/name out_of_range",
            "#/size unknown_member",
        ]);
    }
}

#[test]
fn suppliers_and_jobs_are_made_on_first_use_and_met_case_blind() {
    for shop in shared() {
        let shelf = Shelf::empty(shop);
        let (supplier, job) = (unique("Supplier"), unique("Job"));
        let receipt = |supplier: &str| {
            let body = json!({ "plug_id": shelf.plug_id, "supplier": supplier, "place_id": shelf.bin_id, "quantity": 4 });
            shelf.command("receipts", body).expect(201).json["movements"][0].clone()
        };
        let first = receipt(&supplier);
        assert_eq!(
            receipt(&supplier.to_uppercase())["from_place_id"],
            first["from_place_id"]
        );
        assert_eq!(
            receipt(&format!("  {supplier} "))["from_place_id"],
            first["from_place_id"]
        );
        let to_job = shelf.issue(1, &job);
        assert_eq!(
            shelf.issue(1, &job.to_lowercase())["to_place_id"],
            to_job["to_place_id"]
        );
        // The first spelling stays.
        assert_eq!(shelf.issue(1, &job.to_uppercase())["job"], job);
        let names = |kind: &str, name: &str| {
            let places = shop.all(
                Who::Reader,
                &format!("/v1/stock/places?kind={kind}&limit=200"),
            );
            places
                .iter()
                .filter(|place| {
                    place["name"]
                        .as_str()
                        .is_some_and(|n| n.eq_ignore_ascii_case(name))
                })
                .count()
        };
        assert_eq!((names("supplier", &supplier), names("job", &job)), (1, 1));
    }
}

#[test]
fn a_retired_bin_takes_nothing_more_and_a_bin_with_stock_is_not_retired() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 8);
        let path = format!("/v1/stock/places/{}", shelf.bin_id);
        let renamed = shop
            .patch(Who::Clerk, &path, &json!({ "name": unique("Rack, new") }))
            .expect(200);
        assert_eq!(renamed.json["version"], 2);
        shop.patch(Who::Clerk, &path, &json!({ "name": null, "retired": true }))
            .refused_for(&["#/name missing"]);
        let refused = shop
            .patch(Who::Clerk, &path, &json!({ "retired": true }))
            .problem(409, "in_use");
        let lies = &refused.json["lies"];
        assert_eq!(
            (
                &lies[0]["lot_id"],
                &lies[0]["plug_id"],
                &lies[0]["quantity"]
            ),
            (&json!(shelf.lot_id), &json!(shelf.plug_id), &json!(8))
        );
        let said = word(&refused.json, "detail");
        assert!(said.contains("8 plugs lie there"), "{said}");
        assert!(said.contains(&word(&lies[0], "lot_code")), "{said}");
        assert_eq!(shop.get(Who::Reader, &path).expect(200).json, renamed.json);
        let issue = plugwell_tests::bodies::issue(&shelf.plug_id, &unique("J"), 8);
        let out = shop
            .once(Who::Clerk, "/v1/stock/issues", &issue)
            .expect(201);
        let retired = shop
            .patch(Who::Clerk, &path, &json!({ "retired": true }))
            .expect(200);
        assert_eq!(
            (&retired.json["retired"], &retired.json["name"]),
            (&json!(true), &renamed.json["name"])
        );
        let receipt = plugwell_tests::bodies::receipt(&shelf.plug_id, &shelf.bin_id, 4);
        shop.once(Who::Clerk, "/v1/stock/receipts", &receipt)
            .problem(409, "place_retired");
        // Nothing comes back into it by the back door either, until it is in use again.
        let slip = json!({ "movement_id": out.json["movements"][0]["id"], "reason": "a slip" });
        shelf
            .command("reversals", slip.clone())
            .problem(409, "place_retired");
        shop.patch(Who::Clerk, &path, &json!({ "retired": false }))
            .expect(200);
        shelf.command("reversals", slip).expect(201);
        let job = plugwell_tests::bodies::place(shop, "job", &unique("J"));
        shop.patch(
            Who::Clerk,
            &format!("/v1/stock/places/{job}"),
            &json!({ "retired": true }),
        )
        .problem(400, "invalid");
    }
}

#[test]
fn a_bin_that_is_counted_and_a_quarantine_where_a_lot_waits_are_not_retired() {
    for shop in shared() {
        let empty = bin(shop, &unique("Counted"));
        let path = format!("/v1/stock/places/{empty}");
        let count = shop
            .post(
                Who::Clerk,
                "/v1/stock/counts",
                &json!({ "places": [empty] }),
            )
            .expect(201)
            .json;
        let retire = |path: &str| shop.patch(Who::Clerk, path, &json!({ "retired": true }));
        let refused = retire(&path).problem(409, "in_use");
        assert_eq!(refused.json["counts"], json!([count["id"]]));
        let withdrawn = json!({ "state": "withdrawn" });
        let of_count = format!("/v1/stock/counts/{}", word(&count, "id"));
        shop.patch(Who::Clerk, &of_count, &withdrawn).expect(200);
        retire(&path).expect(200);

        let shelf = Shelf::with(shop, 8);
        let cage = plugwell_tests::bodies::place(shop, "quarantine", &unique("Cage"));
        let check = json!({ "lot_id": shelf.lot_id, "sample": 1, "reach_mm": [12.0], "quarantine_place_id": cage });
        let check = shop
            .once(Who::Clerk, "/v1/stock/incoming-checks", &check)
            .expect(201)
            .json["check"]
            .clone();
        let path = format!("/v1/stock/places/{cage}");
        let refused = retire(&path).problem(409, "in_use");
        assert_eq!(refused.json["incoming_checks"], json!([check["id"]]));
        assert_eq!(refused.json["lies"][0]["quantity"], 8);
        // Though all of it is let out: what comes back of the lot would go there.
        let out = json!({ "lot_id": shelf.lot_id, "from_place_id": cage, "to_place_id": shelf.bin_id, "quantity": 8 });
        shelf.command("transfers", out).expect(201);
        let refused = retire(&path).problem(409, "in_use");
        assert_eq!(refused.json["lies"], json!([]));
        let release = json!({ "decision": "release", "place_id": shelf.bin_id });
        let decision = format!("/v1/stock/incoming-checks/{}/decision", word(&check, "id"));
        shop.once(Who::Manager, &decision, &release).expect(200);
        retire(&path).expect(200);
    }
}

#[test]
fn a_bin_that_is_filled_while_it_is_retired_is_one_or_the_other() {
    for engine in engines() {
        let shop = Shop::start(engine);
        for _ in 0..12 {
            let shelf = Shelf::empty(&shop);
            let path = format!("/v1/stock/places/{}", shelf.bin_id);
            let body = plugwell_tests::bodies::receipt(&shelf.plug_id, &shelf.bin_id, 4);
            let (retired, filled) = thread::scope(|scope| {
                let retiring =
                    scope.spawn(|| shop.patch(Who::Clerk, &path, &json!({ "retired": true })));
                let filling = scope.spawn(|| shelf.command("receipts", body));
                (
                    retiring.join().expect("a clerk"),
                    filling.join().expect("a clerk"),
                )
            });
            match (retired.status, filled.status) {
                (200, 409) => assert_eq!(shelf.held("bin"), 0, "{engine}"),
                (409, 201) => assert_eq!(shelf.held("bin"), 4, "{engine}"),
                _ => panic!("{engine}: {retired:?} {filled:?}"),
            }
        }
    }
}
