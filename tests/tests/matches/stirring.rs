//! Random life of a shop: stock that comes, goes and is kept, records that change, go and retire.
//! Refusals are part of it; what was done is read back over the API.

use plugwell_tests::bodies::place;
use plugwell_tests::{Answer, Shop, Who};
use serde_json::{Value, json};

use crate::records::Dice;
use crate::scan::text;

/// Parts that are ever received.
const STOCKED: usize = 160;
const STEPS: usize = 500;

/// Receives, reserves, issues, returns, scraps, moves and reverses at random.
pub fn move_stock(shop: &Shop, dice: &mut Dice) {
    let bins: Vec<String> = ["A1", "A2", "B1"]
        .iter()
        .map(|name| place(shop, "bin", name))
        .collect();
    let quarantine = place(shop, "quarantine", "Hold");
    let plugs = shop.all(Who::Reader, "/v1/plugs?limit=200");
    let stocked: Vec<Value> = (0..STOCKED).map(|_| dice.one(&plugs)).collect();
    let mut moved: Vec<Value> = Vec::new();
    for plug in &stocked {
        let answer = command(shop, "receipts", receipt(dice, plug, &bins)).expect(201);
        moved.extend(movements(&answer));
    }
    let mut done = 0;
    for _ in 0..STEPS {
        let (plug, earlier) = (dice.one(&stocked), dice.one(&moved));
        let (kind, body) = any(dice, &plug, &earlier, &bins, &quarantine);
        let answer = command(shop, kind, body);
        assert!(matches!(answer.status, 201 | 400 | 409), "{answer:?}");
        done += usize::from(answer.status == 201);
        moved.extend(movements(&answer));
    }
    assert!(
        done > STEPS / 3,
        "only {done} of {STEPS} commands were done"
    );
}

/// The movements of an answer; none where it is another.
fn movements(answer: &Answer) -> Vec<Value> {
    answer.json["movements"]
        .as_array()
        .cloned()
        .unwrap_or_default()
}

/// Any command, about a part or about what an earlier movement moved.
fn any(
    dice: &mut Dice,
    plug: &Value,
    earlier: &Value,
    bins: &[String],
    quarantine: &str,
) -> (&'static str, Value) {
    let (id, quantity) = (text(plug, "id"), dice.within(1, 8));
    let own = plug["gap_preset_mm"].as_f64().unwrap_or(0.8);
    match dice.within(1, 10) {
        1 | 2 => ("receipts", receipt(dice, plug, bins)),
        3 | 4 => (
            "reservations",
            json!({ "plug_id": id, "quantity": quantity, "job": "Random job" }),
        ),
        5 | 6 => {
            let gap = if dice.hits(2) {
                json!(own)
            } else {
                Value::Null
            };
            (
                "issues",
                json!({ "plug_id": id, "quantity": quantity, "job": "Random job", "gap_mm": gap }),
            )
        }
        7 => (
            "returns",
            json!({
                "movement_id": earlier["id"], "quantity": 1, "place_id": dice.one(bins), "condition": "gapped",
                "gap_mm": own
            }),
        ),
        8 => {
            let to = if dice.hits(2) {
                quarantine.to_owned()
            } else {
                dice.one(bins)
            };
            (
                "transfers",
                json!({
                    "lot_id": earlier["lot_id"], "from_place_id": earlier["to_place_id"], "to_place_id": to,
                    "quantity": quantity
                }),
            )
        }
        9 => (
            "scrappings",
            json!({
                "lot_id": earlier["lot_id"], "place_id": earlier["to_place_id"], "quantity": 1, "reason": "dropped"
            }),
        ),
        _ => (
            "reversals",
            json!({ "movement_id": earlier["id"], "reason": "slip" }),
        ),
    }
}

fn command(shop: &Shop, kind: &str, body: Value) -> Answer {
    shop.once(Who::Manager, &format!("/v1/stock/{kind}"), &body)
}

/// A lot, one in three set to the part's own gap or a little beside it.
fn receipt(dice: &mut Dice, plug: &Value, bins: &[String]) -> Value {
    let mut body = json!({
        "plug_id": plug["id"], "supplier": "Random supplier", "place_id": dice.one(bins),
        "quantity": dice.within(1, 20), "condition": "sealed"
    });
    if dice.hits(3) {
        let own = plug["gap_preset_mm"].as_f64().unwrap_or(0.8);
        // Exactly within the tolerance of 0.025 mm, and one step outside.
        let gap = own + dice.one(&[0.0, 0.025, -0.025, 0.0251]);
        body["condition"] = json!("gapped");
        body["gap_mm"] = json!(((gap * 10_000.0).round() / 10_000.0).clamp(0.2, 2.5));
    }
    body
}

/// Changes, deletes and retires records at random.
pub fn change_records(shop: &Shop, dice: &mut Dice) {
    let mut plugs = shop.all(Who::Reader, "/v1/plugs?limit=200");
    let mut counts = (0, 0, 0);
    for _ in 0..90 {
        let place = dice.within(0, plugs.len() as i64 - 1) as usize;
        let plug = plugs.swap_remove(place);
        let path = format!("/v1/plugs/{}", text(&plug, "id"));
        match dice.within(1, 3) {
            1 => {
                let other = dice.one(&plugs);
                let mut patch = json!({ "description": "changed" });
                for name in [
                    "thread",
                    "seat",
                    "reach_mm",
                    "hex_mm",
                    "heat_index",
                    "projection_mm",
                    "resistor",
                ] {
                    if dice.hits(2) {
                        patch[name] = other[name].clone();
                    }
                }
                shop.patch(Who::Clerk, &path, &patch).expect(200);
                counts.0 += 1;
            }
            2 => {
                let answer = shop.delete(Who::Clerk, &path);
                if answer.status != 204 {
                    answer.problem(409, "has_history");
                }
                counts.1 += 1;
            }
            _ => {
                shop.patch(Who::Clerk, &path, &json!({ "retired": true }))
                    .expect(200);
                counts.2 += 1;
            }
        }
    }
    assert!(counts.0 > 5 && counts.1 > 5 && counts.2 > 5, "{counts:?}");
}
