//! Counts on the pages: begun by scan, counted blind by scan and by typing, approved once.

use plugwell_tests::Who;
use plugwell_tests::shop::{Engine, Shop};

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
        form.html.contains("In the books") && form.html.contains("1 plugs, 9.00 USD"),
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
