//! Readings: what counts, what does not, and what is remembered.

use plugwell_tests::bodies::{build, with};
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::floor::{Floor, READINGS, codes};

#[test]
fn a_reading_shows_what_it_suggests_and_its_plug() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let part = floor.part(json!({}));
        floor.receive(&part, 8, 800);
        let out = floor.issue(&part, 4, json!({ "job": "Hill" }));
        let seen = json!({
            "movement_id": out, "cylinder": 3, "run": 2, "porcelain": "grey", "heat_line": "past_bend",
            "base_ring": "black_soot", "speckles": "none", "gap_before_mm": 0.81, "gap_after_mm": 0.8635,
            "note": "left bank,\nwarm day"
        });
        let answer = floor.read(seen.clone()).expect(201);
        let kept = &answer.json;
        for (member, value) in seen.as_object().expect("members") {
            assert_eq!(&kept[member], value, "{member}");
        }
        assert_eq!(
            (&kept["evidence"], &kept["refused_because"]),
            (&json!(true), &json!([]))
        );
        assert_eq!(codes(&kept["suggestions"]), ["colder_by_one", "richer"]);
        let colder = &kept["suggestions"][0];
        assert_eq!(colder["signs"], json!(["heat_line", "gap_growth_mm"]));
        assert_eq!(
            colder["basis"],
            json!({ "kind": "common_practice", "source": null })
        );
        assert_eq!(kept["contradictions"][0]["left_out"], "leaner");
        assert_eq!(
            kept["contradictions"][0]["stands"],
            json!(["colder_by_one", "richer"])
        );
        assert_eq!(
            (&kept["gap_growth_mm"], &kept["not_seen"]),
            (&json!(0.0535), &json!([]))
        );
        let cautions = codes(&kept["cautions"]);
        for code in ["reading_suggests", "leads_suffer", "licensed_practice"] {
            assert!(
                cautions.iter().any(|own| own == code),
                "{code}: {cautions:?}"
            );
        }
        assert_eq!(
            (
                &kept["plug"]["id"],
                &kept["plug"]["heat_index"],
                &kept["plug_id"]
            ),
            (&json!(part), &json!(70.0), &json!(part))
        );
        let path = format!("{READINGS}/{}", answer.text("id"));
        assert_eq!(answer.header("location"), Some(&*path));
        let again = shop.get(Who::Reader, &path).expect(200);
        assert_eq!((&again.json, again.etag()), (kept, answer.etag()));
        // The heat beside it is the one that the catalogue has now.
        let patch = json!({ "heat_index": 72 });
        shop.patch(Who::Clerk, &format!("/v1/plugs/{part}"), &patch)
            .expect(200);
        let later = shop.get(Who::Reader, &path).expect(200);
        assert_eq!(later.json["plug"]["heat_index"], 72.0);
        assert_ne!(later.etag(), again.etag());
    }
}

#[test]
fn what_is_no_evidence_is_kept_without_a_suggestion() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let part = floor.part(json!({}));
        let sealed = floor.receive(&part, 8, 800);
        let set = json!({ "condition": "gapped", "gap_mm": 0.8, "total_cost": null });
        let gapped = floor.receive_as(&part, 8, set);
        let fine = floor.issue(&part, 8, json!({ "job": "Hill" }));
        let handled = floor.issue(
            &part,
            1,
            json!({ "job": "Hill", "gap_mm": 0.8, "lot_id": gapped }),
        );
        let cases: [(Value, &[&str]); 8] = [
            (json!({ "movement_id": fine }), &[]),
            (json!({ "lot_id": sealed }), &["issue_unknown"]),
            (json!({ "movement_id": handled }), &["lot_not_sealed"]),
            (
                json!({ "lot_id": gapped }),
                &["lot_not_sealed", "issue_unknown"],
            ),
            (json!({}), &["lot_unknown"]),
            (
                json!({ "movement_id": fine, "full_load": false }),
                &["not_full_load"],
            ),
            (
                json!({ "movement_id": fine, "clean_shut_off": null }),
                &["shut_off_unknown"],
            ),
            (
                json!({ "movement_id": handled, "full_load": null, "clean_shut_off": false }),
                &[
                    "lot_not_sealed",
                    "plug_read_before",
                    "full_load_unknown",
                    "shut_off_not_clean",
                ],
            ),
        ];
        for (run, (over, flaws)) in cases.into_iter().enumerate() {
            let seen = json!({ "speckles": "bright_metal", "run": run + 1 });
            let told = floor.read(with(over, seen));
            let told = told.expect(201);
            assert_eq!(codes(&told.json["refused_because"]), flaws);
            assert_eq!(told.json["evidence"], flaws.is_empty());
            let suggested = codes(&told.json["suggestions"]);
            assert_eq!(suggested.is_empty(), !flaws.is_empty(), "{told:?}");
        }
        let list = |evidence: bool| {
            let path = format!("{READINGS}?build_id={}&evidence={evidence}", floor.build_id);
            shop.get(Who::Reader, &path).expect(200).items().len()
        };
        assert_eq!((list(true), list(false)), (1, 7));
    }
}

#[test]
fn a_plug_is_read_once() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let part = floor.part(json!({}));
        floor.receive(&part, 4, 400);
        let out = floor.issue(&part, 2, json!({ "job": "Hill" }));
        let evidence = |cylinder: i64| {
            let answer = floor.read(json!({ "movement_id": out, "cylinder": cylinder }));
            answer.expect(201).json["evidence"] == true
        };
        assert_eq!([1, 2, 3].map(evidence), [true, true, false]);
    }
}

#[test]
fn a_reading_points_to_what_there_is() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let part = floor.part(json!({}));
        floor.receive(&part, 20, 800);
        let out = floor.issue(&part, 4, json!({ "job": "Hill" }));
        let day = floor.plan(json!({})).expect(201).text("id");
        let other = shop
            .post(Who::Tuner, "/v1/builds", &build())
            .expect(201)
            .text("id");
        let nowhere = Uuid::now_v7();
        floor
            .read(json!({ "build_id": nowhere, "movement_id": nowhere, "tuning_day_id": nowhere }))
            .refused_for(&[
                "#/build_id not_found",
                "#/movement_id not_found",
                "#/tuning_day_id not_found",
            ]);
        floor
            .read(json!({ "lot_id": nowhere }))
            .refused_for(&["#/lot_id not_found"]);
        floor
            .read(json!({ "build_id": other, "movement_id": out, "tuning_day_id": day }))
            .refused_for(&[
                "#/movement_id contradiction",
                "#/tuning_day_id contradiction",
            ]);
        floor
            .read(json!({ "cylinder": 5, "plug_of_cylinder": 2 }))
            .refused_for(&[
                "#/cylinder contradiction",
                "#/plug_of_cylinder contradiction",
            ]);
        let path = format!("/v1/stock/movements?plug_id={part}&kind=receipt");
        let receipt = shop.get(Who::Reader, &path).expect(200).items()[0]["id"].clone();
        floor
            .read(json!({ "movement_id": receipt }))
            .refused_for(&["#/movement_id contradiction"]);
        let slip = json!({ "movement_id": out, "reason": "wrong job" });
        shop.once(Who::Clerk, "/v1/stock/reversals", &slip)
            .expect(201);
        floor
            .read(json!({ "movement_id": out }))
            .refused_for(&["#/movement_id contradiction"]);
        // A build with a history stays.
        floor.read(json!({})).expect(201);
        shop.delete(Who::Tuner, &format!("/v1/builds/{}", floor.build_id))
            .problem(409, "in_use");
    }
}
