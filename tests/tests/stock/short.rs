//! Short picks say what is there and what is equal to it; a gap that is set at issue stays known.

use plugwell_tests::bodies::{bin, issue, plug, receive, stored_plug, unique, with};
use plugwell_tests::{Shop, Who, shared};
use serde_json::{Value, json};

use crate::counter::{Shelf, word};

/// A part with so many on the shelf, of a hexagon of its own kind so that only these are equal.
fn part(shop: &Shop, stem: &str, quantity: i64, over: Value) -> String {
    let own = with(json!({ "thread": "M12x1.25", "hex_mm": 14.0 }), over);
    let id = stored_plug(shop, &with(plug(&unique(stem)), own));
    if quantity > 0 {
        receive(shop, &id, &bin(shop, &unique("Short")), quantity);
    }
    id
}

#[test]
fn a_refusal_for_want_of_plugs_names_what_is_equal_and_there() {
    for shop in shared() {
        let reach = json!({ "reach_mm": 17.5 });
        let wanted = part(shop, "WA", 3, reach.clone());
        let equal = part(shop, "EQ", 24, reach.clone());
        part(shop, "NONE", 0, reach.clone());
        part(
            shop,
            "HOT",
            24,
            with(reach.clone(), json!({ "heat_index": 66 })),
        );
        // Two points count as one on a list of equivalents, with a caution; here they are hotter.
        part(
            shop,
            "HOTTER",
            24,
            with(reach.clone(), json!({ "heat_index": 68 })),
        );
        for (path, body) in [
            ("/v1/stock/issues", issue(&wanted, "Wants", 8)),
            (
                "/v1/stock/reservations",
                json!({ "plug_id": wanted, "quantity": 8, "job": "Wants" }),
            ),
        ] {
            let refused = shop
                .once(Who::Tuner, path, &body)
                .problem(409, "not_enough_stock");
            assert_eq!(
                (&refused.json["available"], &refused.json["on_hand"]),
                (&json!(3), &json!(3))
            );
            let found = refused.json["equivalents"].as_array().expect("a list");
            assert_eq!(found.len(), 1, "{path}: {found:?}");
            let own = &found[0];
            assert_eq!(
                (&own["plug_id"], &own["available"]),
                (&json!(equal), &json!(24))
            );
            assert_eq!(own["maker"], "Ferrowick");
            let detail = refused.text("detail");
            assert!(
                detail.contains(&format!("Ferrowick {} (24)", word(own, "part_number"))),
                "{detail}"
            );
            // The same word as the list of equivalents has.
            let path = format!("/v1/plugs/{wanted}/equivalents?stock=some");
            let listed = shop.get(Who::Reader, &path).expect(200);
            for member in ["grade", "grade_code"] {
                assert_eq!(listed.items()[0][member], own[member]);
            }
        }
    }
}

#[test]
fn a_part_of_which_too_little_is_known_has_no_equivalents() {
    for shop in shared() {
        let over = json!({ "reach_mm": 17.5, "heat_index": null });
        let wanted = part(shop, "UN", 1, over);
        let refused = shop
            .once(Who::Tuner, "/v1/stock/issues", &issue(&wanted, "Wants", 8))
            .problem(409, "not_enough_stock");
        assert_eq!(refused.json["equivalents"], json!([]));
    }
}

/// Issues with a gap; the movement.
fn gapped_out(shelf: &Shelf<'_>, gap_mm: Value) -> Value {
    let body = with(
        issue(&shelf.plug_id, "Gapped", 8),
        json!({ "gap_mm": gap_mm }),
    );
    let out = shelf.command("issues", body).expect(201).json["movements"][0].clone();
    assert_eq!(out["gap_mm"], gap_mm);
    out
}

/// Takes gapped plugs back without telling the gap.
fn back(shelf: &Shelf<'_>, issue: &Value, quantity: i64) -> plugwell_tests::Answer {
    let body = json!({ "movement_id": issue["id"], "quantity": quantity, "place_id": shelf.bin_id, "condition": "gapped" });
    shelf.command("returns", body)
}

#[test]
fn what_comes_back_gapped_has_the_gap_that_was_set_at_issue() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 8);
        let out = gapped_out(&shelf, json!(0.75));
        let made = back(&shelf, &out, 3).expect(201).json;
        let lot = &made["lots"][0];
        assert_eq!(
            (&lot["condition"], &lot["gap_mm"]),
            (&json!("gapped"), &json!(0.75))
        );
        assert_eq!(lot["from_lot_id"], *shelf.lot_id);
        // It serves whoever wants that gap, and nobody else.
        let want = |gap: f64| {
            let body = with(issue(&shelf.plug_id, "Next", 3), json!({ "gap_mm": gap }));
            shelf.command("issues", body)
        };
        want(0.9).problem(409, "not_enough_stock");
        let again = want(0.76).expect(201).json["movements"][0].clone();
        assert_eq!(again["lot_id"], lot["id"]);
        // Back into its own lot: its gap is the lot's, not the one that was asked for.
        let own = back(&shelf, &again, 3).expect(201).json;
        assert_eq!(own["lots"], json!([]));
        assert_eq!(own["movements"].as_array().map(Vec::len), Some(1));
        assert_eq!(own["movements"][0]["lot_id"], lot["id"]);
        assert_eq!(shelf.held("bin"), 3);
    }
}

#[test]
fn a_gap_that_nobody_knows_is_asked_for() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 8);
        let out = gapped_out(&shelf, Value::Null);
        back(&shelf, &out, 3).refused_for(&["#/gap_mm missing"]);
        // What is told stands above what was set at issue.
        let other = Shelf::with(shop, 8);
        let set = gapped_out(&other, json!(0.75));
        let told = json!({ "movement_id": set["id"], "quantity": 1, "place_id": other.bin_id, "condition": "gapped", "gap_mm": 0.9 });
        let lot = other.command("returns", told).expect(201).json["lots"][0].clone();
        assert_eq!(lot["gap_mm"], 0.9);
    }
}
