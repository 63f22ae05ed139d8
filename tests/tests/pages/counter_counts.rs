//! Counts on the pages: begun by scan, counted blind by scan and by typing, approved once.

use plugwell_tests::Who;
use plugwell_tests::shop::{Engine, Shop};
use serde_json::json;

use crate::counter_form::Counter;
use crate::forms::{in_bins, stocked};
use crate::visitor::{Seen, Visitor};

struct Shelf {
    part: String,
    lot: String,
    bin: String,
}

/// A part with twenty plugs, the labels of its lot and bin.
fn shelf(shop: &Shop, part_number: &str) -> Shelf {
    let part = stocked(shop, part_number);
    let code = |path: &str, name: &str| {
        let seen = shop.get(Who::Reader, path).expect(200);
        let items = seen.items();
        let found = items
            .iter()
            .find(|one| name.is_empty() || one["name"] == name);
        found.expect("a record")["code"]
            .as_str()
            .expect("a code")
            .to_owned()
    };
    Shelf {
        lot: code(&format!("/v1/stock/lots?plug_id={part}"), ""),
        bin: code("/v1/stock/places?kind=bin", part_number),
        part,
    }
}

/// Scans bins and lots and says how many there are: of the first lot one is missing.
fn counted_by_scan(clerk: &mut Counter<'_>, path: &str, one: &Shelf, two: &Shelf) {
    assert_eq!(clerk.scan("19").status, 400, "of what?");
    assert!(clerk.seen.html.contains("19 of what?"));
    assert_eq!(clerk.scan("FW-9").status, 400);
    clerk.scan_all(&[&one.bin, &one.lot, "", "19"]);
    assert!(
        clerk
            .seen
            .html
            .contains(&format!("{}: 19 counted.", one.lot))
    );
    // A lot that the sheet of a bin lacks is named all the same.
    let seen = clerk.scan_all(&[&one.bin, &two.lot]);
    let named = format!(
        ": {} of Ferrowick FW-6200, which is not on the sheet",
        two.lot
    );
    assert!(seen.html.contains(&named), "{}", seen.html);
    clerk.scan_all(&[&one.bin]);
    // A twin Enter counts nothing: the lot has to be scanned anew.
    assert_eq!(clerk.scan("18").status, 400);
    clerk.open(path);
    clerk.scan_all(&[&two.lot, "20"]);
    let seen = clerk.open(path);
    assert!(
        seen.html.contains("A manager approves it."),
        "{}",
        seen.html
    );
    assert!(!seen.html.contains("In the books") && !seen.html.contains("Approve and book"));
}

/// The key that makes an approval that is sent twice the same.
fn key_of(form: &Seen, approval: &str) -> String {
    let own = form.html.split(&format!("action=\"{approval}\"")).nth(1);
    let (_, rest) = own
        .expect("the form")
        .split_once("name=\"once\" value=\"")
        .expect("its key");
    rest.split('"').next().expect("a value").to_owned()
}

#[test]
fn a_bin_is_counted_by_scans_and_a_manager_approves_it_once() {
    let shop = Shop::start(Engine::Sqlite);
    let (one, two) = (shelf(&shop, "FW-6100"), shelf(&shop, "FW-6200"));
    let mut clerk = Counter::at(&shop, Who::Clerk, "/count");
    assert_eq!(clerk.scan("<b>bin").status, 400);
    assert!(clerk.seen.html.contains("&#60;b&#62;bin"));
    clerk.scan_all(&[&one.bin, &two.bin, &one.bin]);
    assert_eq!(clerk.value("places"), "FW-6100\nFW-6200");
    clerk.scan_all(&[""]);
    let seen = clerk.scan_all(&["ok"]);
    assert!(
        seen.html
            .contains("<b>2</b> of 2 lots are still to be counted"),
        "{}",
        seen.html
    );
    // Blind: a lot has an empty field, and nothing beside it.
    let blind = seen.html.matches("name=\"counted\" value=\"\"").count();
    assert!(blind == 2 && !seen.html.contains("In the books"));
    let (path, _) = clerk.form();
    counted_by_scan(&mut clerk, &path, &one, &two);
    let key = clerk.value("form_key");
    let approval = format!("{path}/approval");
    clerk.who.post(&approval, &[("form_key", &key)]).expect(403);
    let manager = Visitor::signed_in(&shop, Who::Manager);
    let form = manager.get(&path).expect(200);
    assert!(
        form.html.contains("In the books") && form.html.contains("<dd>1 plug, 9.00 USD</dd>"),
        "{}",
        form.html
    );
    let (key, version) = (form.hidden("form_key"), form.hidden("version"));
    let once = key_of(&form, &approval);
    let approve = |version: &str| {
        let fields = [
            ("form_key", key.as_str()),
            ("once", &once),
            ("version", version),
        ];
        manager.post(&approval, &fields)
    };
    let stale = approve("1").expect(409);
    assert!(stale.html.contains("has changed since this page was shown"));
    assert_eq!(in_bins(&shop, &one.part), 20);
    for _ in 0..2 {
        approve(&version).expect(303);
    }
    assert_eq!(
        (in_bins(&shop, &one.part), in_bins(&shop, &two.part)),
        (19, 20)
    );
    assert!(
        manager
            .get(&path)
            .expect(200)
            .html
            .contains("This count is approved.")
    );
}

/// A count of one bin with one lot: who counts, its path, the key of their forms, bin and lot by id.
fn begun<'a>(shop: &'a Shop, bin: &str) -> (Counter<'a>, String, String, String, String) {
    let mut clerk = Counter::at(shop, Who::Clerk, "/count");
    let seen = clerk.send(&[("places", "nowhere")]);
    assert_eq!(seen.status, 400);
    assert_eq!(clerk.value("places"), "nowhere");
    clerk.send(&[("places", bin)]);
    let (path, fields) = clerk.form();
    let key = fields[0].1.clone();
    let hidden = |name: &str| {
        let lines = clerk.seen.html.split("/lines\"").nth(1).expect("a line");
        let rest = lines
            .split_once(&format!("name=\"{name}\" value=\""))
            .expect("it")
            .1;
        rest.split('"').next().expect("a value").to_owned()
    };
    let (place, lot) = (hidden("place"), hidden("lot"));
    (clerk, path, key, place, lot)
}

#[test]
fn numbers_are_typed_line_by_line_and_a_count_can_be_called_off() {
    let shop = Shop::start(Engine::Sqlite);
    let (one, two) = (shelf(&shop, "FW-6300"), shelf(&shop, "FW-6400"));
    let (clerk, path, key, place, lot) = begun(&shop, &one.bin);
    let lines = format!("{path}/lines");
    let save = |lot: (&str, &str), counted: &str| {
        let fields = [
            ("form_key", key.as_str()),
            ("place", &place),
            lot,
            ("counted", counted),
        ];
        clerk.who.post(&lines, &fields)
    };
    for wrong in ["many", "-1", "1e3"] {
        save(("lot", &lot), wrong).expect(400);
    }
    save(("lot_code", "L9999"), "3").expect(400);
    // What no page sends is no header either.
    let strange = [("form_key", key.as_str()), ("place", "\0<"), ("lot", "é")];
    let back = clerk.who.post(&path, &strange).expect(303);
    assert!(
        back.header("location")
            .ends_with("?place=%00%3C&lot=%C3%A9")
    );
    // A lot that the sheet lacks was found.
    save(("lot_code", &two.lot), "2").expect(303);
    let seen = clerk.who.get(&path).expect(200);
    assert!(seen.html.contains("not on the sheet"), "{}", seen.html);
    let there = save(("lot", &lot), "20").expect(303);
    assert!(there.header("location").contains("&plugs=20"));
    let counted = clerk.who.get(&path).expect(200);
    assert!(counted.html.contains(">counted</span>"), "{}", counted.html);
    let sheet = clerk
        .who
        .get(&format!("{path}/sheet?paper=letter"))
        .expect(200);
    assert!(sheet.html.contains(&one.lot) && sheet.html.contains("FW-6300"));
    let state = |state: &str, version: &str| {
        let fields = [
            ("form_key", key.as_str()),
            ("version", version),
            ("state", state),
        ];
        clerk.who.post(&format!("{path}/state"), &fields)
    };
    state("open", "1").expect(409);
    state("approved", &counted.hidden("version")).expect(400);
    state("open", &counted.hidden("version")).expect(303);
    let open = clerk.who.get(&path).expect(200);
    state("withdrawn", &open.hidden("version")).expect(303);
    assert!(
        clerk
            .who
            .get(&path)
            .expect(200)
            .html
            .contains("This count is withdrawn.")
    );
    save(("lot", &lot), "4").expect(409);
    assert_eq!(
        (in_bins(&shop, &one.part), in_bins(&shop, &two.part)),
        (20, 20)
    );
    let reader = Visitor::signed_in(&shop, Who::Tuner);
    reader.get("/count").expect(403);
    reader.get(&path).expect(403);
}

#[test]
fn gapped_lots_are_told_apart_and_more_than_a_lot_had_is_remarked() {
    let shop = Shop::start(Engine::Sqlite);
    let mut policy = shop.get(Who::Manager, "/v1/policy").expect(200).json;
    policy["values"]["decimal_mark"]["value"] = "comma".into();
    shop.put(Who::Manager, "/v1/policy", &policy).expect(200);
    let one = shelf(&shop, "FW-6500");
    let bins = shop.get(Who::Reader, "/v1/stock/places?kind=bin");
    let bin = bins.expect(200).items()[0]["id"].clone();
    let body = json!({
        "plug_id": one.part, "supplier": "Quayside Parts", "place_id": bin, "quantity": 5,
        "condition": "gapped", "gap_mm": 0.81
    });
    let came = shop.once(Who::Clerk, "/v1/stock/receipts", &body);
    let gapped = came.expect(201).json["lots"][0].clone();
    let (clerk, path, key, place, _) = begun(&shop, &one.bin);
    let html = clerk.who.get(&format!("/places/{place}")).expect(200).html;
    let sum = "25 plugs: 20 of them cost 180,00 USD, and nobody knows what the other 5 cost.";
    assert!(
        html.contains(sum) && html.contains("gapped to 0,81 mm"),
        "{html}"
    );
    let html = clerk.who.get(&path).expect(200).html;
    assert_eq!(html.matches("gapped to 0,81 mm").count(), 1, "{html}");
    let save = |code: &str, counted: &str| {
        let fields = [
            ("form_key", key.as_str()),
            ("place", &place),
            ("lot_code", code),
            ("counted", counted),
        ];
        clerk
            .who
            .post(&format!("{path}/lines"), &fields)
            .expect(303);
    };
    save(&one.lot, "19");
    save(gapped["code"].as_str().expect("a code"), "90");
    let html = clerk.who.get(&path).expect(200).html;
    assert!(
        html.contains("1 lot differs so much that it is to be counted once more."),
        "{html}"
    );
    let manager = Visitor::signed_in(&shop, Who::Manager);
    let html = manager.get(&path).expect(200).html;
    let remark = "more than the 5 that the lot ever had";
    assert_eq!(html.matches(remark).count(), 1, "{html}");
    // What was counted of a lot can be fewer than it had, and nothing is said of that.
    assert!(!html.contains("more than the 20"), "{html}");
}
