//! Versions: nothing is sent twice that the caller has, and nothing overwritten that they have not
//! seen.

use plugwell_tests::bodies::{build, head, heat_scale, plug, unique, with};
use plugwell_tests::{Shop, Who, shared};
use serde_json::{Value, json};

/// A new record of every kind that has a version: its path, and a change to it.
fn records(shop: &Shop) -> Vec<(String, Value)> {
    let bodies = [
        ("/v1/plugs", plug(&unique("VER")), json!({ "hex_mm": 20.8 })),
        (
            "/v1/heads",
            with(head(), json!({ "name": unique("Head") })),
            json!({ "tight_gap": true }),
        ),
        ("/v1/builds", build(), json!({ "power_kw": 510 })),
        (
            "/v1/heat-scales",
            heat_scale(&unique("Versed"), "one"),
            json!({ "name": "two" }),
        ),
    ];
    bodies
        .into_iter()
        .map(|(path, body, change)| {
            let made = shop.post(Who::Clerk, path, &body).expect(201);
            assert_eq!(made.etag(), "\"1\"");
            (format!("{path}/{}", made.text("id")), change)
        })
        .collect()
}

#[test]
fn what_the_caller_has_is_not_sent_again() {
    for shop in shared() {
        for (path, change) in records(shop) {
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
            assert_eq!(asked(&first.etag()).expect(200).etag(), changed.etag());
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
        for (path, change) in records(shop) {
            let patch = |tag: Option<&str>| {
                let header = tag.map(|tag| ("if-match", tag));
                shop.send_json("PATCH", &path, Who::Clerk, header.as_slice(), &change)
            };
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
                shop.get(Who::Reader, &path).expect(200).etag(),
                "\"1\"",
                "nothing was changed"
            );
            assert_eq!(patch(Some("\"1\"")).expect(200).etag(), "\"2\"");
            patch(Some("\"1\"")).problem(412, "stale");
            assert_eq!(patch(Some("\"1\", \"2\"")).expect(200).etag(), "\"3\"");
            assert_eq!(patch(Some("*")).expect(200).etag(), "\"4\"");
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
        assert_eq!(shop.get(Who::Reader, &path).expect(200).etag(), "\"2\"");
    }
}
