//! What took the place of what: followed to the end, never in a loop.

use std::sync::Barrier;
use std::thread;

use plugwell_tests::bodies::{bin, receive, unique, with};
use plugwell_tests::call::key;
use plugwell_tests::{Answer, Shop, Who, shared};
use serde_json::{Value, json};

use crate::{equivalents, part, shops};

fn path(id: &str) -> String {
    format!("/v1/plugs/{id}")
}

fn supersede(shop: &Shop, id: &str, next: &Value) -> Answer {
    shop.patch(Who::Clerk, &path(id), &json!({ "superseded_by": next }))
}

#[test]
fn the_line_is_shown_to_its_end_with_what_the_attributes_say() {
    for shop in shops() {
        let last = part(&shop, "FW-4", json!({ "heat_index": 60 }));
        let third = part(
            &shop,
            "FW-3",
            json!({ "heat_index": null, "superseded_by": last, "status": "discontinued" }),
        );
        let second = part(
            &shop,
            "FW-2",
            json!({ "electrode": "nickel", "superseded_by": third }),
        );
        let own = part(&shop, "FW-1", json!({ "superseded_by": second }));
        receive(&shop, &last, &bin(&shop, "A1"), 8);
        let found = equivalents(&shop, &own, "");
        let told = |line: &Value| -> Vec<(String, String)> {
            let step = |step: &Value| {
                [&step["part_number"], &step["finding"]].map(|v| v.as_str().unwrap().to_owned())
            };
            line.as_array()
                .unwrap()
                .iter()
                .map(step)
                .map(|[number, finding]| (number, finding))
                .collect()
        };
        let pairs = |list: &[(&str, &str)]| -> Vec<(String, String)> {
            list.iter()
                .map(|(a, b)| ((*a).to_owned(), (*b).to_owned()))
                .collect()
        };
        let line = pairs(&[
            ("FW-2", "equivalent"),
            ("FW-3", "unconfirmed"),
            ("FW-4", "contradicted"),
        ]);
        assert_eq!(told(&found["superseded_by"]), line);
        let end = &found["superseded_by"][2];
        assert_eq!(
            (&end["available"], &end["status"], &end["retired"]),
            (&json!(8), &json!("active"), &json!(false))
        );
        assert!(
            end["text"].as_str().unwrap().contains("one step hotter"),
            "{end}"
        );
        assert_eq!(found["superseded_by"][0]["text"], "same but for metal");
        // What fits carries its own line, and its caution.
        let two = &found["items"][0];
        assert_eq!(
            (&two["plug"]["id"], told(&two["superseded_by"])),
            (&json!(second), line[1..].to_vec())
        );
        assert_eq!(two["cautions"][0]["code"], "superseded_part");
        assert_eq!(equivalents(&shop, &last, "")["superseded_by"], json!([]));
    }
}

fn import(shop: &Shop, csv: &str) -> Answer {
    let key = key();
    let headers = [
        ("content-type", "text/csv"),
        ("idempotency-key", key.as_str()),
    ];
    shop.send("POST", "/v1/imports/plugs", Who::Clerk, &headers, csv)
}

#[test]
fn no_way_of_storing_closes_a_loop() {
    for shop in shared() {
        let maker = unique("Looper");
        let own = |number: &str, next: Value| {
            part(
                shop,
                number,
                json!({ "maker": maker, "superseded_by": next }),
            )
        };
        let c = own("C", json!(null));
        let b = own("B", json!(c));
        let a = own("A", json!(b));
        for next in [&a, &b, &c] {
            supersede(shop, &c, &json!(next)).refused_for(&["#/superseded_by contradiction"]);
        }
        // Only the one that would close it is refused; what stays as it is, is not looked at again.
        supersede(shop, &a, &json!(c)).expect(200);
        shop.patch(Who::Clerk, &path(&b), &json!({ "hex_mm": 20.8 }))
            .expect(200);
        supersede(shop, &a, &json!(b)).expect(200);
        let table = |row: &str| format!("maker,part_number,superseded_by\n{maker},{row}\n");
        let told = |answer: Answer| answer.problem(400, "invalid").json["errors"][0].clone();
        for row in [
            format!("C,{maker}/A"),
            format!("C,{a}"),
            format!("C,{maker}/c"),
        ] {
            let fault = told(import(shop, &table(&row)));
            let found = (&fault["row"], &fault["column"], &fault["code"]);
            assert_eq!(
                found,
                (&json!(2), &json!("superseded_by"), &json!("contradiction")),
                "{row}"
            );
        }
        // Two new ones that name each other.
        let rows = format!("X,{maker}/Y\n{maker},Y,{maker}/X");
        assert_eq!(told(import(shop, &table(&rows)))["row"], 3);
        // An empty cell ends a supersession: then the other way is free.
        let turned = format!("A,\n{maker},B,\n{maker},C,{maker}/A");
        assert_eq!(import(shop, &table(&turned)).expect(201).json["updated"], 3);
        let next =
            |id: &str| shop.get(Who::Reader, &path(id)).expect(200).json["superseded_by"].clone();
        assert_eq!(
            [next(&a), next(&b), next(&c)],
            [json!(null), json!(null), json!(a)]
        );
    }
}

/// Of a ring of parts that are all led on at the same moment, one step too many is refused each time.
#[test]
fn a_loop_is_not_closed_from_several_sides_at_once() {
    const RING: usize = 3;
    for shop in shared() {
        for _ in 0..12 {
            let maker = unique("Ringer");
            let ids: Vec<String> = (0..RING)
                .map(|n| {
                    part(
                        shop,
                        &format!("R-{n}"),
                        with(json!({ "maker": maker }), json!({})),
                    )
                })
                .collect();
            let (barrier, ids) = (Barrier::new(RING), &ids);
            let statuses: Vec<u16> = thread::scope(|scope| {
                let callers: Vec<_> = (0..RING)
                    .map(|n| {
                        let barrier = &barrier;
                        scope.spawn(move || {
                            let body = json!({ "superseded_by": ids[(n + 1) % RING] });
                            barrier.wait();
                            shop.send_json(
                                "PATCH",
                                &path(&ids[n]),
                                Who::Clerk,
                                &[("if-match", "\"1\"")],
                                &body,
                            )
                            .status
                        })
                    })
                    .collect();
                callers
                    .into_iter()
                    .map(|caller| caller.join().unwrap())
                    .collect()
            });
            let count = |status: u16| statuses.iter().filter(|s| **s == status).count();
            assert_eq!((count(200), count(400)), (RING - 1, 1), "{statuses:?}");
            let led = ids.iter().filter(|id| {
                shop.get(Who::Reader, &path(id)).expect(200).json["superseded_by"].is_string()
            });
            assert_eq!(led.count(), RING - 1);
        }
    }
}
