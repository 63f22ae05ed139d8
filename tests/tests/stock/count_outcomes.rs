//! What a count can come to: large differences, plugs that went out meanwhile, reservations that become
//! short, reversals, and bins that the service chooses.

use plugwell_tests::bodies::{receive, unique};
use plugwell_tests::{Shop, Who, engines, shared};
use serde_json::{Value, json};

use crate::counter::{Shelf, word};
use crate::counts::{approve, begin, count};

fn line_of<'a>(answer: &'a Value, lot_id: &str) -> &'a Value {
    let mut lines = answer["lines"].as_array().expect("lines").iter();
    lines
        .find(|line| line["lot_id"] == lot_id)
        .expect("the line")
}

/// What the books have of a lot in a bin.
fn counted_there(shop: &Shop, lot_id: &str, place_id: &str) -> i64 {
    let path = format!("/v1/stock/levels?lot_id={lot_id}&place_id={place_id}");
    let levels = shop.all(Who::Reader, &path);
    levels.iter().filter_map(|l| l["quantity"].as_i64()).sum()
}

#[test]
fn a_large_difference_is_counted_again_or_approved_with_a_reason() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 30);
        let path = begin(shop, &[&shelf.bin_id]);
        let once = count(shop, &path, &shelf.lot_id, &shelf.bin_id, 22).expect(200);
        let line = line_of(&once.json, &shelf.lot_id);
        assert_eq!(
            (&line["recount"], &line["counted"]),
            (&json!(true), &json!(22))
        );
        // Whoever counts once more is not told what is wanted; the manager is, who may approve over it.
        let read = shop.get(Who::Reader, &path).expect(200);
        for blind in [&once.json, &read.json] {
            let line = line_of(blind, &shelf.lot_id);
            for member in ["expected", "difference", "cost", "level_version"] {
                assert!(line[member].is_null(), "{member} of {line}");
            }
            assert!(blind["totals"].is_null() && line["earlier"] == json!([]));
        }
        let seen = shop.get(Who::Manager, &path).expect(200);
        let line = line_of(&seen.json, &shelf.lot_id);
        assert_eq!(
            (&line["expected"], &line["difference"]),
            (&json!(30), &json!(-8))
        );
        assert_eq!(seen.json["totals"]["recount_lines"], 1);
        let refused = approve(shop, &path).problem(409, "recount_asked");
        assert_eq!(
            refused.json["lines"],
            json!([{ "lot_id": shelf.lot_id, "place_id": shelf.bin_id }])
        );
        // Another large one does not settle it; the same difference twice does, whatever went out between.
        let other = count(shop, &path, &shelf.lot_id, &shelf.bin_id, 20).expect(200);
        assert_eq!(line_of(&other.json, &shelf.lot_id)["recount"], true);
        shelf.issue(4, "Between");
        let same = count(shop, &path, &shelf.lot_id, &shelf.bin_id, 16).expect(200);
        let line = line_of(&same.json, &shelf.lot_id);
        assert_eq!(
            (&line["recount"], &line["expected"], &line["difference"]),
            (&json!(false), &json!(26), &json!(-10))
        );
        let earlier: Vec<_> = line["earlier"]
            .as_array()
            .expect("countings")
            .iter()
            .map(|t| t["counted"].clone())
            .collect();
        assert_eq!(
            earlier,
            [json!(22), json!(20)],
            "what was counted before is kept"
        );
        let done = approve(shop, &path).expect(200);
        assert_eq!(done.json["movements"][0]["quantity"], 10);
        assert!(done.json["reason"].is_null());
        // Over the manager's own name, with a reason.
        let path = begin(shop, &[&shelf.bin_id]);
        count(shop, &path, &shelf.lot_id, &shelf.bin_id, 2).expect(200);
        approve(shop, &path).problem(409, "recount_asked");
        let reason = json!({ "reason": "the drawer was robbed, the police has the report" });
        let done = shop
            .once(Who::Manager, &format!("{path}/approval"), &reason)
            .expect(200);
        assert_eq!(done.json["reason"], reason["reason"]);
        assert_eq!(shelf.held("bin"), 2);
    }
}

#[test]
fn what_was_missing_and_went_out_since_is_counted_again() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let path = begin(shop, &[&shelf.bin_id]);
        count(shop, &path, &shelf.lot_id, &shelf.bin_id, 7).expect(200);
        // By the books there are ten; the last of them is still there.
        shelf.issue(9, "Rush");
        let refused = approve(shop, &path).problem(409, "count_overtaken");
        let line =
            json!({ "lot_id": shelf.lot_id, "place_id": shelf.bin_id, "missing": 3, "on_hand": 1 });
        assert_eq!(refused.json["lines"], json!([line]));
        assert_eq!(
            shop.get(Who::Reader, &path).expect(200).json["state"],
            "counted"
        );
        assert_eq!(shelf.held("bin"), 1, "nothing was booked");
        count(shop, &path, &shelf.lot_id, &shelf.bin_id, 0).expect(200);
        approve(shop, &path).expect(200);
        assert_eq!(shelf.held("bin"), 0);
    }
}

#[test]
fn reservations_become_short_newest_first_and_a_reversal_opens_them() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let (old, new) = (shelf.reserve(6, "Old"), shelf.reserve(4, "New"));
        let states = || [&old, &new].map(|r| shelf.reservation(&r["id"]).0);
        let path = begin(shop, &[&shelf.bin_id]);
        count(shop, &path, &shelf.lot_id, &shelf.bin_id, 8).expect(200);
        assert_eq!(states(), ["open", "open"]);
        let done = approve(shop, &path).expect(200);
        assert_eq!(states(), ["open", "short"]);
        let told = done.json["reservations"].as_array().expect("reservations");
        assert_eq!(
            (told.len(), &told[0]["id"], &told[0]["state"]),
            (1, &new["id"], &json!("short"))
        );
        // Only a manager puts a difference right.
        let body = json!({ "movement_id": done.json["movements"][0]["id"], "reason": "a box stood behind" });
        shelf
            .command_by(Who::Clerk, "reversals", body.clone())
            .problem(403, "forbidden");
        shelf.command("reversals", body.clone()).expect(201);
        shelf
            .command("reversals", body)
            .problem(409, "already_reversed");
        assert_eq!(
            (states(), shelf.held("bin")),
            (["open".to_owned(), "open".to_owned()], 10)
        );
    }
}

#[test]
fn differences_of_a_lot_in_two_bins_add_up_to_their_cost() {
    for shop in shared() {
        let shelf = Shelf::empty(shop);
        let body = json!({
            "plug_id": shelf.plug_id, "supplier": "Quayside Parts", "place_id": shelf.bin_id, "quantity": 6,
            "total_cost": { "minor": 1003, "currency": "USD" }
        });
        let lot = word(
            &shelf.command("receipts", body).expect(201).json["movements"][0],
            "lot_id",
        );
        let second = plugwell_tests::bodies::bin(shop, &unique("Second"));
        let body = json!({ "lot_id": lot, "from_place_id": shelf.bin_id, "to_place_id": second, "quantity": 3 });
        shelf.command("transfers", body).expect(201);
        let path = begin(shop, &[&shelf.bin_id, &second]);
        count(shop, &path, &lot, &second, 1).expect(200);
        let counted = count(shop, &path, &lot, &shelf.bin_id, 1).expect(200);
        // 10.03 over six: 1.68 1.67 1.67 1.67 1.67 1.67, of which the first four are missing.
        let costs = |answer: &Value| -> Vec<i64> {
            let lines = answer["lines"].as_array().expect("lines").iter();
            let minor = |line: &Value| line["cost"]["minor"].as_i64().expect("a cost");
            lines.map(minor).collect()
        };
        assert_eq!(costs(&counted.json), [168 + 167, 167 + 167]);
        // What goes out in between changes nothing of what the manager saw.
        shelf.issue(1, "Between");
        let done = approve(shop, &path).expect(200);
        assert_eq!(costs(&done.json), costs(&counted.json));
        assert_eq!(done.json["totals"]["missing"]["cost"]["minor"], 669);
        // A lot that nobody said the cost of: counted, and never guessed.
        let body = json!({ "plug_id": shelf.plug_id, "supplier": "Quayside Parts", "place_id": shelf.bin_id, "quantity": 4 });
        let free = word(
            &shelf.command("receipts", body).expect(201).json["movements"][0],
            "lot_id",
        );
        let path = begin(shop, &[&shelf.bin_id]);
        let left = counted_there(shop, &lot, &shelf.bin_id);
        count(shop, &path, &lot, &shelf.bin_id, left).expect(200);
        let done = count(shop, &path, &free, &shelf.bin_id, 3).expect(200);
        assert!(line_of(&done.json, &free)["cost"].is_null());
        assert_eq!(done.json["totals"]["missing"]["quantity_without_cost"], 1);
    }
}

/// Its own shops: what is chosen depends on all bins.
#[test]
fn bins_are_chosen_by_when_they_were_counted_and_how_much_they_moved() {
    for shop in engines().into_iter().map(Shop::start) {
        let shelves = [4, 5, 6].map(|quantity| Shelf::with(&shop, quantity));
        let empty = Shelf::empty(&shop);
        let bins = shelves.each_ref().map(|shelf| shelf.bin_id.clone());
        let choose = |how: &str, number: i64| {
            shop.post(
                Who::Clerk,
                "/v1/stock/counts",
                &json!({ "choose": how, "bins": number }),
            )
        };
        let withdraw = |id: &str| {
            shop.patch(
                Who::Clerk,
                &format!("/v1/stock/counts/{id}"),
                &json!({ "state": "withdrawn" }),
            )
            .expect(200);
        };
        // The first two are counted, the second one first.
        for at in [1, 0] {
            let path = begin(&shop, &[&bins[at]]);
            let quantity = 4 + at as i64;
            count(&shop, &path, &shelves[at].lot_id, &bins[at], quantity).expect(200);
            approve(&shop, &path).expect(200);
        }
        let all = choose("longest_uncounted", 9).expect(201);
        // In the order of their numbers on the sheet; the empty one is not chosen.
        assert_eq!(all.json["places"], json!(bins));
        assert!(!bins.contains(&empty.bin_id));
        choose("longest_uncounted", 1).problem(409, "nothing_to_count");
        withdraw(&all.text("id"));
        for wanted in [vec![&bins[2]], vec![&bins[1], &bins[2]]] {
            let made = choose("longest_uncounted", wanted.len() as i64).expect(201);
            assert_eq!(made.json["places"], json!(wanted));
            withdraw(&made.text("id"));
        }
        // Since they were counted the first moved three times and the second once; the third came in once.
        for _ in 0..3 {
            shelves[0].issue(1, "Busy");
        }
        receive(&shop, &shelves[1].plug_id, &bins[1], 1);
        shelves[2].issue(1, "Quiet");
        let made = choose("most_moved", 1).expect(201);
        assert_eq!(made.json["places"], json!([bins[0]]));
        withdraw(&made.text("id"));
        let made = choose("most_moved", 2).expect(201);
        assert_eq!(made.json["places"], json!([bins[0], bins[2]]));
    }
}
