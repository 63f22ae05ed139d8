//! Catalogue records: made, read, changed, retired, removed.

use plugwell_tests::bodies::{bin, gtin, plug, receive, stored_plug, unique, with};
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};

/// Members of an answer in the order of the contract, those of the request first.
const MEMBERS: &[&str] = &[
    "maker",
    "part_number",
    "gtin",
    "description",
    "thread",
    "reach_mm",
    "seat",
    "hex_mm",
    "hex_kind",
    "heat_index",
    "heat_scale_id",
    "heat_code",
    "projection_mm",
    "strap_extent_mm",
    "resistor",
    "resistance_ohm",
    "electrode",
    "ground",
    "gap_preset_mm",
    "gap_min_mm",
    "gap_max_mm",
    "terminal",
    "overall_mm",
    "insulator_mm",
    "service_life_km",
    "torque_nm",
    "pack_size",
    "status",
    "superseded_by",
    "provenance",
    "id",
    "version",
    "created_at",
    "updated_at",
    "retired",
    "projection_class",
];

fn path(id: &str) -> String {
    format!("/v1/plugs/{id}")
}

#[test]
fn a_plug_is_stored_as_it_was_sent() {
    for shop in shared() {
        let body = with(
            plug(&unique("FW")),
            json!({ "gtin": gtin(1), "torque_nm": 25.5, "provenance": { "reach_mm": "measured" } }),
        );
        let made = shop.post(Who::Clerk, "/v1/plugs", &body).expect(201);
        let id = made.text("id");
        assert_eq!(made.header("location"), Some(path(&id).as_str()));
        assert_eq!(uuid::Uuid::parse_str(&id).unwrap().get_version_num(), 7);
        assert_eq!(made.tagged_version(), 1);
        assert!(made.header("plugwell-position").is_some(), "{made:?}");
        for (member, sent) in body.as_object().unwrap() {
            let kept = &made.json[member];
            let same = if sent.is_number() {
                kept.as_f64() == sent.as_f64()
            } else {
                kept == sent
            };
            assert!(same, "{member}: sent {sent}, kept {kept}");
        }
        let mut members: Vec<_> = made
            .json
            .as_object()
            .unwrap()
            .keys()
            .map(String::as_str)
            .collect();
        let mut wanted = MEMBERS.to_vec();
        members.sort_unstable();
        wanted.sort_unstable();
        assert_eq!(members, wanted);
        assert_eq!(
            (
                &made.json["version"],
                &made.json["retired"],
                &made.json["status"]
            ),
            (&json!(1), &json!(false), &json!("active"))
        );
        for member in [
            "overall_mm",
            "insulator_mm",
            "heat_scale_id",
            "heat_code",
            "superseded_by",
        ] {
            assert_eq!(made.json[member], Value::Null, "unknown is null: {member}");
        }
        let read = shop.get(Who::Reader, &path(&id)).expect(200);
        assert_eq!((&read.json, read.etag()), (&made.json, made.etag()));
    }
}

#[test]
fn instants_are_utc_to_the_microsecond() {
    for shop in shared() {
        let made = shop
            .post(Who::Clerk, "/v1/plugs", &plug(&unique("TIME")))
            .expect(201);
        for member in ["created_at", "updated_at"] {
            let text = made.text(member);
            let fraction = text
                .strip_suffix('Z')
                .and_then(|t| t.split_once('.'))
                .map(|(_, f)| f.len());
            assert!(text.len() == 27 && fraction == Some(6), "{member} {text}");
        }
        let changed = shop
            .patch(
                Who::Clerk,
                &path(&made.text("id")),
                &json!({ "hex_mm": 16.1 }),
            )
            .expect(200);
        assert_eq!(changed.text("created_at"), made.text("created_at"));
        assert!(
            changed.text("updated_at") > made.text("updated_at"),
            "{changed:?}"
        );
    }
}

#[test]
fn a_patch_leaves_clears_and_sets() {
    for shop in shared() {
        let provenance = json!({ "reach_mm": "measured", "heat_index": "assumed" });
        let made = shop
            .post(
                Who::Clerk,
                "/v1/plugs",
                &with(plug(&unique("PATCH")), json!({ "provenance": provenance })),
            )
            .expect(201);
        let own = path(&made.text("id"));
        let patch = json!({ "reach_mm": 19.05, "terminal": null, "provenance": { "reach_mm": null, "seat": "measured" } });
        let changed = shop.patch(Who::Clerk, &own, &patch).expect(200);
        assert_eq!(changed.tagged_version(), 2);
        assert!(changed.header("plugwell-position").is_some(), "{changed:?}");
        let mut wanted = made.json.clone();
        wanted["reach_mm"] = json!(19.05);
        wanted["terminal"] = Value::Null;
        wanted["provenance"] = json!({ "seat": "measured", "heat_index": "assumed" });
        wanted["version"] = json!(2);
        wanted["updated_at"] = changed.json["updated_at"].clone();
        assert_eq!(sorted(&changed.json), sorted(&wanted));
        assert_eq!(shop.get(Who::Reader, &own).expect(200).json, changed.json);
        // Both media types of a merge patch are taken.
        let etag = changed.etag();
        let plain = shop
            .send_json(
                "PATCH",
                &own,
                Who::Clerk,
                &[("if-match", &etag)],
                &json!({ "hex_mm": 20.8 }),
            )
            .expect(200);
        assert_eq!(plain.json["hex_mm"].as_f64(), Some(20.8));
    }
}

/// The value with members in the order of their names.
fn sorted(value: &Value) -> Vec<(String, String)> {
    let mut members: Vec<_> = value
        .as_object()
        .unwrap()
        .iter()
        .map(|(name, value)| {
            let text = if value.is_object() {
                format!("{:?}", sorted(value))
            } else {
                value.to_string()
            };
            (name.clone(), text)
        })
        .collect();
    members.sort();
    members
}

#[test]
fn a_patch_cannot_clear_a_name_nor_set_what_the_service_sets() {
    for shop in shared() {
        let own = path(&stored_plug(shop, &plug(&unique("PATCH"))));
        let nothing = json!({ "maker": null, "part_number": null });
        shop.patch(Who::Clerk, &own, &nothing)
            .refused_for(&["#/maker missing", "#/part_number missing"]);
        let ours = json!({ "id": "x", "version": 9, "created_at": "x", "updated_at": "x", "projection_class": "flush" });
        let faults: Vec<String> = ours
            .as_object()
            .unwrap()
            .keys()
            .map(|m| format!("#/{m} unknown_member"))
            .collect();
        shop.patch(Who::Clerk, &own, &ours)
            .refused_for(&faults.iter().map(String::as_str).collect::<Vec<_>>());
        shop.patch(Who::Clerk, &own, &json!({ "retired": "yes" }))
            .refused_for(&["#/retired wrong_type"]);
        shop.post(
            Who::Clerk,
            "/v1/plugs",
            &with(plug(&unique("NEW")), json!({ "retired": true })),
        )
        .refused_for(&["#/retired unknown_member"]);
    }
}

#[test]
fn a_name_is_taken_once_whatever_its_case() {
    for shop in shared() {
        let part = unique("Åb");
        let body = with(plug(&part), json!({ "maker": "Ålund" }));
        let id = stored_plug(shop, &body);
        for (maker, part_number) in [
            ("Ålund", part.clone()),
            ("ÅLUND", part.to_lowercase()),
            ("ålund", part.to_uppercase()),
        ] {
            let same = with(
                body.clone(),
                json!({ "maker": maker, "part_number": part_number }),
            );
            shop.post(Who::Clerk, "/v1/plugs", &same)
                .problem(409, "duplicate_part");
        }
        shop.post(
            Who::Clerk,
            "/v1/plugs",
            &with(body.clone(), json!({ "maker": "Other" })),
        )
        .expect(201);
        let other = stored_plug(shop, &plug(&unique("TAKEN")));
        let taken = json!({ "maker": "ålund", "part_number": part.to_lowercase() });
        shop.patch(Who::Clerk, &path(&other), &taken)
            .problem(409, "duplicate_part");
        // Its own name in another case is no duplicate.
        let renamed = shop
            .patch(
                Who::Clerk,
                &path(&id),
                &json!({ "part_number": part.to_uppercase() }),
            )
            .expect(200);
        assert_eq!(renamed.json["part_number"], part.to_uppercase());
    }
}

#[test]
fn names_lose_the_space_around_them_only() {
    for shop in shared() {
        let part = unique("SP ACE");
        let made = shop
            .post(
                Who::Clerk,
                "/v1/plugs",
                &with(
                    plug(&format!("  {part} ")),
                    json!({ "maker": " Two  Words " }),
                ),
            )
            .expect(201);
        assert_eq!(
            (made.text("part_number"), made.text("maker")),
            (part.clone(), "Two  Words".to_owned())
        );
        shop.post(
            Who::Clerk,
            "/v1/plugs",
            &with(plug(&part), json!({ "maker": "Two  Words" })),
        )
        .problem(409, "duplicate_part");
    }
}

#[test]
fn an_unused_record_is_removed_and_a_used_one_retired() {
    for shop in shared() {
        let (unused, used) = (unique("GONE"), unique("KEPT"));
        let id = stored_plug(shop, &plug(&unused));
        let gone = shop.delete(Who::Clerk, &path(&id));
        assert_eq!((gone.status, gone.body.len()), (204, 0), "{gone:?}");
        assert!(gone.header("plugwell-position").is_some(), "{gone:?}");
        shop.get(Who::Reader, &path(&id)).problem(404, "not_found");
        shop.send("DELETE", &path(&id), Who::Clerk, &[("if-match", "*")], "")
            .problem(404, "not_found");
        stored_plug(shop, &plug(&unused));

        let id = stored_plug(shop, &plug(&used));
        receive(shop, &id, &bin(shop, &unique("bin")), 4);
        let refused = shop
            .delete(Who::Clerk, &path(&id))
            .problem(409, "has_history");
        assert!(refused.text("detail").contains("retire"), "{refused:?}");
        let listed = |query: &str| {
            let found = shop
                .get(Who::Reader, &format!("/v1/plugs?part_number={used}{query}"))
                .expect(200);
            found.items().len()
        };
        assert_eq!(listed(""), 1);
        let retired = shop
            .patch(Who::Clerk, &path(&id), &json!({ "retired": true }))
            .expect(200);
        assert_eq!(retired.json["retired"], true);
        assert_eq!(
            (
                listed(""),
                listed("&retired=false"),
                listed("&retired=true")
            ),
            (0, 0, 1)
        );
        assert_eq!(
            shop.get(Who::Reader, &path(&id)).expect(200).json["retired"],
            true,
            "it is still there"
        );
        shop.patch(Who::Clerk, &path(&id), &json!({ "retired": false }))
            .expect(200);
        assert_eq!(listed(""), 1);
    }
}
