//! Lots, levels and movements as lists: filters, pages, what is shown.

use plugwell_tests::bodies::{bin, unique};
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::counter::{Shelf, named, word};

#[test]
fn levels_are_what_each_lot_has_in_each_place() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let second = bin(shop, &unique("Level"));
        let body = json!({ "lot_id": shelf.lot_id, "from_place_id": shelf.bin_id, "to_place_id": second, "quantity": 4 });
        shelf.command("transfers", body).expect(201);
        let levels = |query: String| shop.all(Who::Reader, &format!("/v1/stock/levels?{query}"));
        let level = |place_id: &str, quantity: i64| json!({ "plug_id": shelf.plug_id, "lot_id": shelf.lot_id, "place_id": place_id, "quantity": quantity });
        let supplier = named(shop, "supplier", "Quayside Parts");
        let mut of_part = levels(format!("plug_id={}", shelf.plug_id));
        of_part.sort_by_key(|level| level["quantity"].as_i64());
        assert_eq!(
            of_part,
            [
                level(&supplier, -10),
                level(&second, 4),
                level(&shelf.bin_id, 6)
            ]
        );
        let sum: i64 = of_part
            .iter()
            .filter_map(|level| level["quantity"].as_i64())
            .sum();
        assert_eq!(sum, 0, "each lot sums to zero over all places");
        assert_eq!(levels(format!("lot_id={}", shelf.lot_id)).len(), 3);
        assert_eq!(levels(format!("place_id={second}")), [level(&second, 4)]);
        assert_eq!(
            levels(format!("plug_id={}&place_id={second}", shelf.plug_id)).len(),
            1
        );
        assert_eq!(
            levels(format!("plug_id={}", Uuid::now_v7())),
            [Value::Null; 0]
        );
        let in_bins = levels(format!("plug_id={}&kind=bin", shelf.plug_id));
        assert_eq!(in_bins.len(), 2, "{in_bins:?}");
        // What is empty is left out.
        let back = json!({ "lot_id": shelf.lot_id, "from_place_id": second, "to_place_id": shelf.bin_id, "quantity": 4 });
        shelf.command("transfers", back).expect(201);
        assert_eq!(levels(format!("place_id={second}")), [Value::Null; 0]);
    }
}

#[test]
fn lots_are_narrowed_by_part_and_code() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 4);
        let second = word(&shelf.receive(4), "lot_id");
        let lots = |query: String| shop.all(Who::Reader, &format!("/v1/stock/lots?{query}"));
        let of_part = lots(format!("plug_id={}", shelf.plug_id));
        let ids: Vec<String> = of_part.iter().map(|lot| word(lot, "id")).collect();
        assert_eq!(
            ids,
            [shelf.lot_id.clone(), second],
            "in the order they came"
        );
        let code = word(&of_part[0], "code");
        assert_eq!(
            lots(format!("code={}", code.to_lowercase())),
            [of_part[0].clone()]
        );
        assert_eq!(lots("code=L0".to_owned()), [Value::Null; 0]);
        assert_ne!(of_part[0]["code"], of_part[1]["code"]);
        shop.get(Who::Reader, "/v1/stock/lots?plug_id=7")
            .refused_for(&["?plug_id wrong_form"]);
        shop.get(Who::Reader, &format!("/v1/stock/lots/{}", Uuid::now_v7()))
            .problem(404, "not_found");
        shop.get(Who::Reader, "/v1/stock/lots/7")
            .problem(400, "invalid");
    }
}

#[test]
fn movements_are_narrowed_and_stand_in_their_order() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let job = unique("Listed");
        let issued = shelf.issue(4, &job);
        let scrapped = shelf.scrap(1);
        let list = |query: String| shop.all(Who::Reader, &format!("/v1/stock/movements?{query}"));
        let of_part = list(format!("plug_id={}", shelf.plug_id));
        let kinds: Vec<&Value> = of_part.iter().map(|m| &m["kind"]).collect();
        assert_eq!(kinds, ["receipt", "issue", "scrapping"]);
        let sequences: Vec<i64> = of_part
            .iter()
            .filter_map(|m| m["sequence"].as_i64())
            .collect();
        assert!(sequences.is_sorted_by(|a, b| a < b), "{sequences:?}");
        assert_eq!(list(format!("lot_id={}", shelf.lot_id)), of_part);
        assert_eq!(
            list(format!("plug_id={}&kind=issue", shelf.plug_id)),
            std::slice::from_ref(&issued)
        );
        assert_eq!(list(format!("job={}", job.to_uppercase())), [issued]);
        // In and out of a place, in one order.
        assert_eq!(list(format!("place_id={}", shelf.bin_id)), of_part);
        assert_eq!(
            list(format!("place_id={}&kind=scrapping", shelf.bin_id)),
            [scrapped]
        );
        shop.get(Who::Reader, "/v1/stock/movements?kind=theft")
            .refused_for(&["?kind not_in_list"]);
        shop.get(
            Who::Reader,
            &format!("/v1/stock/movements/{}", Uuid::now_v7()),
        )
        .problem(404, "not_found");
    }
}

#[test]
fn pages_stay_right_while_the_ledger_grows() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 20);
        for _ in 0..6 {
            shelf.issue(1, "Paged");
        }
        let path = format!("/v1/stock/movements?plug_id={}&limit=3", shelf.plug_id);
        let first = shop.get(Who::Reader, &path).expect(200);
        assert_eq!(first.items().len(), 3);
        let cursor = first.text("next_cursor");
        let link = first.header("link").expect("a link to the next page");
        assert!(
            link.contains("rel=\"next\"") && link.contains(&cursor),
            "{link}"
        );
        shelf.issue(1, "Meanwhile");
        let rest = shop.all(Who::Reader, &format!("{path}&cursor={cursor}"));
        let mut seen: Vec<&Value> = first
            .items()
            .iter()
            .chain(&rest)
            .map(|m| &m["id"])
            .collect();
        assert_eq!(seen.len(), 8, "seven that were there and the new one");
        seen.dedup();
        assert_eq!(seen.len(), 8);
        let other = format!(
            "/v1/stock/movements?plug_id={}&limit=3&cursor={cursor}",
            Uuid::now_v7()
        );
        shop.get(Who::Reader, &other)
            .refused_for(&["?cursor wrong_form"]);
        for list in ["places", "lots", "levels", "movements", "reservations"] {
            shop.get(Who::Reader, &format!("/v1/stock/{list}?limit=201"))
                .refused_for(&["?limit out_of_range"]);
        }
    }
}
