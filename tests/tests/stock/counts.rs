//! Counts: begun blind, counted line by line against the level of that instant, approved.

use plugwell_tests::bodies::{bin, receive, stock_of, unique};
use plugwell_tests::{Answer, Shop, Who, shared};
use serde_json::{Value, json};

use crate::counter::{Shelf, is_instant, is_movement, is_uuid_v7, only, word};

/// Begins a count of these bins; its path.
#[track_caller]
pub fn begin(shop: &Shop, places: &[&str]) -> String {
    let made = shop
        .post(Who::Clerk, "/v1/stock/counts", &json!({ "places": places }))
        .expect(201);
    format!("/v1/stock/counts/{}", made.text("id"))
}

/// Counts a lot in a bin.
#[track_caller]
pub fn count(
    shop: &Shop,
    path: &str,
    lot_id: &str,
    place_id: &str,
    counted: impl Into<Value>,
) -> Answer {
    let line = json!({ "lot_id": lot_id, "place_id": place_id, "counted": counted.into() });
    shop.patch(Who::Clerk, path, &json!({ "lines": [line] }))
}

/// Approves as a manager, without a body.
pub fn approve(shop: &Shop, path: &str) -> Answer {
    shop.once(Who::Manager, &format!("{path}/approval"), &Value::Null)
}

#[test]
fn a_count_is_blind_until_every_line_has_a_number() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let second = receive(shop, &shelf.plug_id, &shelf.bin_id, 6);
        let body = json!({ "places": [shelf.bin_id] });
        let made = shop.post(Who::Clerk, "/v1/stock/counts", &body).expect(201);
        let path = format!("/v1/stock/counts/{}", made.text("id"));
        assert_eq!(made.header("location"), Some(&*path));
        assert!(is_uuid_v7(&made.json["id"]) && !made.etag().is_empty());
        is_instant(&made.json["created_at"]);
        assert_eq!(
            (&made.json["state"], &made.json["places"]),
            (&json!("open"), &json!([shelf.bin_id]))
        );
        let lines = made.json["lines"].as_array().expect("lines");
        let lots: Vec<_> = lines.iter().map(|line| word(line, "lot_id")).collect();
        assert_eq!(lots, [shelf.lot_id.clone(), word(&second, "lot_id")]);
        for line in lines {
            assert_eq!(line["place_id"], shelf.bin_id);
            assert_eq!(line["plug_id"], shelf.plug_id);
            for member in [
                "counted",
                "expected",
                "difference",
                "cost",
                "level_version",
                "counted_by",
            ] {
                assert!(line[member].is_null(), "{member} of {line}");
            }
        }
        let half = count(shop, &path, &shelf.lot_id, &shelf.bin_id, 9).expect(200);
        assert_eq!(half.json["state"], "open");
        assert_eq!(half.json["lines"][0]["counted"], 9);
        assert_eq!(half.json["lines"][0]["counted_by"], "test clerk");
        is_instant(&half.json["lines"][0]["counted_at"]);
        assert!(half.json["lines"][0]["expected"].is_null() && half.json["totals"].is_null());
        let whole = count(shop, &path, &word(&second, "lot_id"), &shelf.bin_id, 6).expect(200);
        assert_eq!(whole.json["state"], "counted");
        let line = &whole.json["lines"][0];
        assert_eq!(
            (&line["expected"], &line["difference"], &line["recount"]),
            (&json!(10), &json!(-1), &json!(false))
        );
        // 90.00 for ten: the shares of the last plug.
        assert_eq!(line["cost"], json!({ "minor": 900, "currency": "USD" }));
        assert_eq!(whole.json["lines"][1]["difference"], 0);
        let totals = &whole.json["totals"];
        assert_eq!(
            (&totals["lines"], &totals["exact_lines"]),
            (&json!(2), &json!(1))
        );
        assert_eq!(
            totals["missing"],
            json!({ "quantity": 1, "cost": { "minor": 900, "currency": "USD" }, "quantity_without_cost": 0 })
        );
        let read = shop.get(Who::Reader, &path).expect(200);
        assert_eq!((&read.json, read.etag()), (&whole.json, whole.etag()));
        let again = [("if-none-match", &*read.etag())];
        shop.send("GET", &path, Who::Reader, &again, "").expect(304);
        // Nothing has moved yet.
        assert_eq!(shelf.held("bin"), 16);
    }
}

#[test]
fn approval_books_the_differences_and_the_next_match_sees_them() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let more = word(&receive(shop, &shelf.plug_id, &shelf.bin_id, 4), "lot_id");
        let path = begin(shop, &[&shelf.bin_id]);
        count(shop, &path, &shelf.lot_id, &shelf.bin_id, 8).expect(200);
        count(shop, &path, &more, &shelf.bin_id, 5).expect(200);
        let done = approve(shop, &path).expect(200);
        let account = only(shop, "difference");
        let movements = done.json["movements"].as_array().expect("movements");
        assert_eq!(movements.len(), 2);
        let wanted = |from: &str, to: &str, quantity: i64| json!({ "kind": "difference", "from_place_id": from, "to_place_id": to, "quantity": quantity, "plug_id": shelf.plug_id, "actor": "first manager" });
        let actor = |mut wanted: Value, movement: &Value| {
            wanted["actor"] = movement["actor"].clone();
            wanted
        };
        is_movement(
            &movements[0],
            actor(wanted(&shelf.bin_id, &account, 2), &movements[0]),
        );
        is_movement(
            &movements[1],
            actor(wanted(&account, &shelf.bin_id, 1), &movements[1]),
        );
        assert_eq!(done.json["state"], "approved");
        assert!(done.json["approved_by"].is_string());
        is_instant(&done.json["approved_at"]);
        let ids: Vec<_> = done.json["lines"]
            .as_array()
            .expect("lines")
            .iter()
            .map(|l| l["movement_id"].clone())
            .collect();
        assert_eq!(
            ids,
            [movements[0]["id"].clone(), movements[1]["id"].clone()]
        );
        assert_eq!(stock_of(shop, &shelf.plug_id), (13, 13));
        let listed = shop.all(
            Who::Reader,
            &format!(
                "/v1/stock/movements?plug_id={}&kind=difference",
                shelf.plug_id
            ),
        );
        assert_eq!(&listed, movements);
        assert_eq!(shelf.held("bin"), 13);
    }
}

#[test]
fn movements_before_and_after_a_line_is_counted_are_no_difference() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 20);
        let path = begin(shop, &[&shelf.bin_id]);
        // While the sheet is out: two go, and a lot comes that it does not know.
        shelf.issue(2, "Before");
        shelf.receive(3);
        let counted = count(shop, &path, &shelf.lot_id, &shelf.bin_id, 17).expect(200);
        let line = counted.json["lines"][0].clone();
        assert_eq!(
            (&line["expected"], &line["difference"]),
            (&json!(18), &json!(-1))
        );
        // What is expected is the sum of the movements up to that of its version.
        let moved = shop.all(
            Who::Reader,
            &format!("/v1/stock/movements?lot_id={}", shelf.lot_id),
        );
        let version = line["level_version"].as_i64().expect("a running number");
        assert_eq!(moved.last().map(|m| &m["sequence"]), Some(&json!(version)));
        // After it: five more go, and one comes back into the lot.
        let issued = shelf.issue(5, "After");
        let back = json!({ "movement_id": issued["id"], "quantity": 1, "place_id": shelf.bin_id, "condition": "sealed" });
        shelf.command("returns", back).expect(201);
        assert_eq!(
            shop.get(Who::Reader, &path).expect(200).json["lines"][0],
            line
        );
        let done = approve(shop, &path).expect(200);
        assert_eq!(done.json["movements"][0]["quantity"], 1);
        // 20 - 2 + 3 - 5 + 1, and the one that was missing.
        assert_eq!(shelf.held("bin"), 16);
    }
}

#[test]
fn a_lot_that_the_sheet_lacks_is_found() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 8);
        let other = bin(shop, &unique("Strayed"));
        let path = begin(shop, &[&other]);
        let read = shop.get(Who::Reader, &path).expect(200);
        assert_eq!(
            (&read.json["lines"], &read.json["state"]),
            (&json!([]), &json!("open"))
        );
        let found = count(shop, &path, &shelf.lot_id, &other, 2).expect(200);
        let line = &found.json["lines"][0];
        assert_eq!(
            (&line["on_sheet"], &line["expected"], &line["difference"]),
            (&json!(false), &json!(0), &json!(2))
        );
        // Its number taken back it was not there after all, and stands in nobody's way.
        let none = count(shop, &path, &shelf.lot_id, &other, Value::Null).expect(200);
        assert!(none.json["lines"][0]["counted"].is_null());
        let empty = shop
            .patch(Who::Clerk, &path, &json!({ "state": "counted" }))
            .expect(200);
        assert_eq!(
            (&empty.json["state"], &empty.json["totals"]["lines"]),
            (&json!("counted"), &json!(0))
        );
        count(shop, &path, &shelf.lot_id, &other, 2).expect(200);
        approve(shop, &path).expect(200);
        let levels = shop.all(Who::Reader, &format!("/v1/stock/levels?place_id={other}"));
        assert_eq!((levels.len(), &levels[0]["quantity"]), (1, &json!(2)));
        assert_eq!(shelf.held("bin"), 10);
    }
}

#[test]
fn a_bin_is_counted_by_one_count_at_a_time() {
    for shop in shared() {
        let (first, second) = (Shelf::with(shop, 3), Shelf::with(shop, 3));
        let path = begin(shop, &[&first.bin_id]);
        let both = json!({ "places": [second.bin_id, first.bin_id] });
        let refused = shop
            .post(Who::Clerk, "/v1/stock/counts", &both)
            .problem(409, "place_being_counted");
        let id = path.rsplit('/').next().expect("an id");
        let place = shop
            .get(Who::Reader, &format!("/v1/stock/places/{}", first.bin_id))
            .expect(200);
        let (code, name) = (place.text("code"), place.text("name"));
        assert_eq!(
            refused.json["places"],
            json!([{ "place_id": first.bin_id, "code": code, "name": name, "count_id": id }])
        );
        let said = format!("{code} {name} is being counted already, by count {id}");
        assert_eq!(refused.json["detail"], json!(said));
        let listed = shop.all(
            Who::Reader,
            &format!("/v1/stock/counts?place_id={}&state=open", first.bin_id),
        );
        assert_eq!(listed.len(), 1);
        assert_eq!(
            (
                &listed[0]["id"],
                &listed[0]["line_count"],
                &listed[0]["counted_lines"]
            ),
            (&json!(id), &json!(1), &json!(0))
        );
        assert!(listed[0]["recount_lines"].is_null() && listed[0].get("lines").is_none());
        // Called off, it lets the bin go, and nothing of it is booked.
        count(shop, &path, &first.lot_id, &first.bin_id, 1).expect(200);
        let off = shop
            .patch(Who::Clerk, &path, &json!({ "state": "withdrawn" }))
            .expect(200);
        assert_eq!(off.json["state"], "withdrawn");
        approve(shop, &path).problem(409, "count_closed");
        shop.post(Who::Clerk, "/v1/stock/counts", &both).expect(201);
        assert_eq!(first.held("bin"), 3);
    }
}
