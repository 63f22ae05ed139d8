//! A lot fails its check while it is issued and comes back set to gaps: real threads, and nothing of its
//! family is left to be issued.

use plugwell_tests::{Answer, Shop, Who, engines};
use serde_json::{Value, json};

use crate::at_once::{at_once, audited};
use crate::dock::{Dock, text};

/// Gaps that plugs come back with, in millimetres.
const GAPS: [f64; 4] = [0.7, 0.75, 0.85, 0.9];

/// Issues two of a part, from a lot that was set to a gap where that is said.
fn issued(dock: &Dock<'_>, part: &str, over: &Value) -> Answer {
    let mut body = json!({ "plug_id": part, "job": "Kite", "quantity": 2 });
    if let (Some(body), Some(over)) = (body.as_object_mut(), over.as_object()) {
        body.extend(over.clone());
    }
    dock.shop.once(Who::Clerk, "/v1/stock/issues", &body)
}

/// Takes both back set to a gap.
fn returned(dock: &Dock<'_>, issue: &Value, gap_mm: f64) -> Answer {
    let body = json!({ "movement_id": issue["id"], "quantity": 2, "condition": "gapped",
        "gap_mm": gap_mm, "place_id": dock.bin });
    dock.shop.once(Who::Clerk, "/v1/stock/returns", &body)
}

#[test]
fn nothing_of_a_family_is_left_while_it_goes_out_and_comes_back() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        {
            let dock = Dock::new(&shop);
            for _ in 0..4 {
                let part = dock.part(json!({}));
                let order = dock.order(&[(&part, 24)]);
                let lot =
                    dock.receive(&order["lines"][0], 24).expect(201).json["lots"][0]["id"].clone();
                // Half of the threads have a set at the job that comes back; one lot is set already.
                let first =
                    issued(&dock, &part, &json!({})).expect(201).json["movements"][0].clone();
                let gapped = returned(&dock, &first, 0.8).expect(201).json["lots"][0]["id"].clone();
                let at_job: Vec<Value> = (0..4)
                    .map(|_| {
                        issued(&dock, &part, &json!({})).expect(201).json["movements"][0].clone()
                    })
                    .collect();
                let check = json!({ "lot_id": lot, "sample": 1, "reach_mm": [17.0] });
                let answers = at_once(12, |caller| match caller {
                    0 => shop.once(Who::Clerk, "/v1/stock/incoming-checks", &check),
                    1..=4 => returned(&dock, &at_job[caller - 1], GAPS[caller - 1]),
                    5..=8 => issued(&dock, &part, &json!({})),
                    _ => issued(&dock, &part, &json!({ "lot_id": gapped, "quantity": 1 })),
                });
                assert!(
                    answers.iter().all(|a| matches!(a.status, 201 | 409)),
                    "{engine}: {answers:?}"
                );
                let check = &answers[0].json["check"];
                assert_eq!(check["state"], "waiting", "{engine}");
                assert_eq!(
                    dock.held(&part, "bin"),
                    0,
                    "{engine}: nothing is left to be issued"
                );
                let aside = dock.held(&part, "quarantine");
                assert_eq!(aside + dock.held(&part, "job"), 24, "{engine}");
                for over in [json!({}), json!({ "lot_id": gapped, "quantity": 1 })] {
                    issued(&dock, &part, &over).problem(409, "not_enough_stock");
                }
                decided_at_once(&dock, &part, &text(check, "id"), aside);
            }
        }
        audited(&mut shop);
    }
}

/// Of four decisions one is taken, and it reaches all that lies there.
fn decided_at_once(dock: &Dock<'_>, part: &str, id: &str, aside: i64) {
    let path = format!("/v1/stock/incoming-checks/{id}/decision");
    let decisions = at_once(4, |caller| {
        let body = match caller % 2 {
            0 => json!({ "decision": "send_back" }),
            _ => json!({ "decision": "scrap" }),
        };
        dock.shop.once(Who::Manager, &path, &body)
    });
    let decided = decisions.iter().filter(|a| a.status == 200).count();
    assert_eq!(decided, 1, "{decisions:?}");
    assert_eq!(dock.held(part, "quarantine"), 0);
    let outside = dock.held(part, "scrap") + dock.held(part, "supplier") + 24;
    assert_eq!(outside, aside, "in the drum, or with the supplier again");
}
