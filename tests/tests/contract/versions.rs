//! Versions: nothing is sent twice that the caller has, and nothing overwritten that they have not
//! seen.

use plugwell_tests::bodies::{build, head, heat_scale, plug, stored_plug, unique, with};
use plugwell_tests::{Shop, Who, shared};
use serde_json::{Value, json};

/// A new record of every kind that has a version: its path, and changes to it.
fn records(shop: &Shop) -> Vec<(String, [Value; 2])> {
    let bodies = [
        (
            "/v1/plugs",
            plug(&unique("VER")),
            [json!({ "hex_mm": 20.8 }), json!({ "hex_mm": 16 })],
        ),
        (
            "/v1/heads",
            with(head(), json!({ "name": unique("Head") })),
            [json!({ "tight_gap": true }), json!({ "tight_gap": false })],
        ),
        (
            "/v1/builds",
            build(),
            [json!({ "power_kw": 510 }), json!({ "power_kw": 515 })],
        ),
        (
            "/v1/heat-scales",
            heat_scale(&unique("Versed"), "one"),
            [json!({ "name": "two" }), json!({ "name": "three" })],
        ),
    ];
    bodies
        .into_iter()
        .map(|(path, body, change)| {
            let made = shop.post(Who::Clerk, path, &body).expect(201);
            assert_eq!(made.tagged_version(), 1);
            (format!("{path}/{}", made.text("id")), change)
        })
        .collect()
}

#[test]
fn what_the_caller_has_is_not_sent_again() {
    for shop in shared() {
        for (path, [change, _]) in records(shop) {
            let first = shop.get(Who::Reader, &path).expect(200);
            let asked =
                |tags: &str| shop.send("GET", &path, Who::Reader, &[("if-none-match", tags)], "");
            for same in [
                first.etag(),
                format!("W/{}", first.etag()),
                format!("\"7\", {}", first.etag()),
                "*".into(),
            ] {
                let answer = asked(&same);
                assert_eq!(
                    (answer.status, answer.body.len()),
                    (304, 0),
                    "{same}: {answer:?}"
                );
                assert_eq!(answer.etag(), first.etag());
            }
            for other in ["\"7\"", "1", "\"\""] {
                asked(other).expect(200);
            }
            let changed = shop.patch(Who::Clerk, &path, &change).expect(200);
            assert_ne!(changed.etag(), first.etag());
            let again = asked(&first.etag()).expect(200);
            assert_eq!(again.tagged_version(), changed.tagged_version());
        }
        let policy = shop.get(Who::Reader, "/v1/policy").expect(200);
        let same = shop.send(
            "GET",
            "/v1/policy",
            Who::Reader,
            &[("if-none-match", &policy.etag())],
            "",
        );
        assert_eq!((same.status, same.body.len()), (304, 0), "{same:?}");
    }
}

#[test]
fn a_change_says_which_version_it_is_meant_for() {
    for shop in shared() {
        for (path, [change, another]) in records(shop) {
            let patched = |tag: Option<&str>, change: &Value| {
                let header = tag.map(|tag| ("if-match", tag));
                shop.send_json("PATCH", &path, Who::Clerk, header.as_slice(), change)
            };
            let patch = |tag: Option<&str>| patched(tag, &change);
            let delete = |tag: Option<&str>| {
                let header = tag.map(|tag| ("if-match", tag));
                shop.send("DELETE", &path, Who::Clerk, header.as_slice(), "")
            };
            patch(None).problem(428, "precondition_required");
            delete(None).problem(428, "precondition_required");
            for stale in ["\"2\"", "1", "W/\"1\"", "\"11\""] {
                patch(Some(stale)).problem(412, "stale");
                delete(Some(stale)).problem(412, "stale");
            }
            assert_eq!(
                shop.get(Who::Reader, &path).expect(200).tagged_version(),
                1,
                "nothing was changed"
            );
            let changed =
                |tag: &str, change: &Value| patched(Some(tag), change).expect(200).tagged_version();
            assert_eq!(changed("\"1\"", &change), 2);
            patch(Some("\"1\"")).problem(412, "stale");
            assert_eq!(changed("\"1\", \"2\"", &another), 3);
            assert_eq!(changed("*", &change), 4);
            assert_eq!(delete(Some("\"4\"")).status, 204);
            shop.get(Who::Reader, &path).problem(404, "not_found");
        }
    }
}

#[test]
fn of_many_changes_at_once_one_is_made() {
    for shop in shared() {
        let made = shop
            .post(Who::Clerk, "/v1/plugs", &plug(&unique("RACE")))
            .expect(201);
        let path = format!("/v1/plugs/{}", made.text("id"));
        let answers: Vec<u16> = std::thread::scope(|scope| {
            let callers: Vec<_> = (0..12)
                .map(|n| {
                    let path = &path;
                    scope.spawn(move || {
                        let change = json!({ "hex_mm": f64::from(n) + 10.0 });
                        shop.send_json("PATCH", path, Who::Clerk, &[("if-match", "\"1\"")], &change)
                            .status
                    })
                })
                .collect();
            callers
                .into_iter()
                .map(|caller| caller.join().unwrap())
                .collect()
        });
        assert_eq!(
            answers.iter().filter(|status| **status == 200).count(),
            1,
            "{answers:?}"
        );
        assert_eq!(
            answers.iter().filter(|status| **status == 412).count(),
            11,
            "{answers:?}"
        );
        let now = shop.get(Who::Reader, &path).expect(200);
        assert_eq!(now.tagged_version(), 2);
    }
}

#[test]
fn a_change_that_changes_nothing_leaves_the_version() {
    for shop in shared() {
        for (path, [change, _]) in records(shop) {
            let stored = shop.patch(Who::Clerk, &path, &change).expect(200);
            for nothing in [json!({}), change] {
                let again = shop.patch(Who::Clerk, &path, &nothing).expect(200);
                assert_eq!(again.tagged_version(), 2, "{path}");
                let shown = shop.get(Who::Reader, &path).expect(200);
                assert_eq!(shown.text("updated_at"), stored.text("updated_at"));
            }
            // What is stored already does not excuse from knowing it.
            let stale = [("if-match", "\"1\"")];
            shop.send_json("PATCH", &path, Who::Clerk, &stale, &json!({}))
                .problem(412, "stale");
        }
    }
}

/// What stands beside a record, such as the name of an order's supplier, changes without its version.
#[test]
fn a_known_record_is_sent_again_where_it_would_be_shown_otherwise() {
    for shop in shared() {
        let name = unique("Renamed Parts");
        let supplier = shop
            .post(Who::Clerk, "/v1/suppliers", &json!({ "name": name }))
            .expect(201);
        let part = stored_plug(shop, &plug(&unique("NAMED")));
        let order = json!({ "supplier": name, "lines": [{ "plug_id": part, "quantity": 4 }] });
        let order = shop.post(Who::Clerk, "/v1/orders", &order).expect(201);
        let path = format!("/v1/orders/{}", order.text("id"));
        let tag = shop.get(Who::Reader, &path).expect(200).etag();
        let known = [("if-none-match", &*tag)];
        shop.send("GET", &path, Who::Reader, &known, "").expect(304);
        let renamed = json!({ "name": unique("Renamed again") });
        let own = format!("/v1/suppliers/{}", supplier.text("id"));
        shop.patch(Who::Clerk, &own, &renamed).expect(200);
        let shown = shop.send("GET", &path, Who::Reader, &known, "").expect(200);
        assert_eq!(shown.json["supplier"], renamed["name"], "{shown:?}");
        assert_eq!(shown.tagged_version(), 1);
        // It is the same version: a change that was meant for it is still meant for it.
        let note = json!({ "note": "by boat" });
        let meant = [("if-match", &*tag)];
        let changed = shop.send_json("PATCH", &path, Who::Clerk, &meant, &note);
        assert_eq!(changed.expect(200).tagged_version(), 2);
    }
}
