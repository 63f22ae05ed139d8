//! Gapped lots: issued only where the wanted gap is theirs within the tolerance.

use plugwell_tests::bodies::{issue, receipt, with};
use plugwell_tests::shared;
use serde_json::{Value, json};

use crate::counter::{Shelf, word};

/// A part with a lot set to this gap; the lot.
fn gapped(shelf: &Shelf<'_>, quantity: i64, gap_mm: f64) -> String {
    let body = with(
        receipt(&shelf.plug_id, &shelf.bin_id, quantity),
        json!({ "condition": "gapped", "gap_mm": gap_mm }),
    );
    word(
        &shelf.command("receipts", body).expect(201).json["movements"][0],
        "lot_id",
    )
}

#[test]
fn without_a_wanted_gap_sealed_lots_count_only() {
    for shop in shared() {
        let shelf = Shelf::empty(shop);
        gapped(&shelf, 8, 0.8);
        let refused = shelf
            .command("issues", issue(&shelf.plug_id, "Any", 1))
            .problem(409, "not_enough_stock");
        assert_eq!(
            (&refused.json["available"], &refused.json["on_hand"]),
            (&json!(0), &json!(8))
        );
        let sealed = word(&shelf.receive(4), "lot_id");
        let taken = shelf.issue(4, "Any");
        assert_eq!(taken["lot_id"], *sealed);
    }
}

#[test]
fn the_tolerance_has_both_its_ends() {
    for shop in shared() {
        // 0.025 mm, about 0.001 in (common practice, no source).
        for (wanted, serves) in [
            (0.8, true),
            (0.775, true),
            (0.825, true),
            (0.7749, false),
            (0.8251, false),
        ] {
            let shelf = Shelf::empty(shop);
            let lot = gapped(&shelf, 8, 0.8);
            let answer = shelf.command(
                "issues",
                with(
                    issue(&shelf.plug_id, "Ends", 8),
                    json!({ "gap_mm": wanted }),
                ),
            );
            if serves {
                assert_eq!(
                    answer.expect(201).json["movements"][0]["lot_id"],
                    *lot,
                    "{wanted}"
                );
            } else {
                answer.problem(409, "not_enough_stock");
                let named = json!({ "gap_mm": wanted, "lot_id": lot });
                shelf
                    .command("issues", with(issue(&shelf.plug_id, "Ends", 8), named))
                    .problem(409, "wrong_gap");
            }
        }
    }
}

#[test]
fn a_gapped_lot_that_is_named_serves_without_a_wanted_gap() {
    for shop in shared() {
        let shelf = Shelf::empty(shop);
        let lot = gapped(&shelf, 8, 0.8);
        shelf
            .command(
                "issues",
                with(issue(&shelf.plug_id, "Named", 3), json!({ "lot_id": lot })),
            )
            .expect(201);
        assert_eq!(shelf.held("bin"), 5);
    }
}

#[test]
fn sealed_and_gapped_ones_add_up_and_reservations_keep_the_sealed() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 6);
        let lot = gapped(&shelf, 4, 0.8);
        let kept = shelf.reserve(5, "Kept");
        let want = |quantity: i64| {
            with(
                issue(&shelf.plug_id, "Both", quantity),
                json!({ "gap_mm": 0.8 }),
            )
        };
        let refused = shelf
            .command("issues", want(6))
            .problem(409, "not_enough_stock");
        assert_eq!(
            (&refused.json["available"], &refused.json["on_hand"]),
            (&json!(5), &json!(10))
        );
        let taken = shelf.command("issues", want(5)).expect(201).json["movements"].clone();
        let of = |lot_id: &str| -> i64 {
            let movements = taken.as_array().expect("movements").iter();
            movements
                .filter(|m| m["lot_id"] == *lot_id)
                .filter_map(|m| m["quantity"].as_i64())
                .sum()
        };
        assert_eq!((of(&shelf.lot_id), of(&lot)), (1, 4));
        assert_eq!(
            shelf.reservation(&kept["id"]),
            ("open".to_owned(), 5),
            "what is kept is there still"
        );
        // A reservation is of sealed plugs: gapped ones do not count for it.
        let more: Value = json!({ "plug_id": shelf.plug_id, "quantity": 1, "job": "More" });
        shelf
            .command("reservations", more)
            .problem(409, "not_enough_stock");
    }
}
