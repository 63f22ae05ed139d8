//! Every act of the counter, one after the other, and then every page and every form: on PostgreSQL, and
//! with script typed wherever something is typed.

use std::collections::BTreeSet;

use plugwell::pages::ways::WAYS;
use plugwell_tests::Who;
use plugwell_tests::bodies::{bin, build, head, heat_scale, issue, plug, stored_plug, with};
use plugwell_tests::shop::{Engine, Shop, engines};
use serde_json::json;

use crate::counter_form::Counter;
use crate::forms::in_bins;
use crate::forms_seen::forms;
use crate::visitor::{Seen, Visitor};
use crate::walk::{try_forms, wander};

/// Records of a kind whose pages are looked at in the end.
const RECORDS: usize = 8;

/// Breaks out of a text and of an attribute, where it is not escaped.
const SCRIPT: &str = "\"><img src=x onerror=q()><script>q()</script>";

/// Every act of the counter with a part, a text in whatever is typed freely; how many plugs are left.
fn a_day(shop: &Shop, part: &str, text: &str) {
    let job = format!("{text} 1");
    let of_part = |act: &str| format!("/{act}?plug_id={part}");
    let left = || in_bins(shop, part);
    let mut manager = Counter::at(shop, Who::Manager, &of_part("receive"));
    manager.send(&[
        ("quantity", "100"),
        ("place", "Drawer 1"),
        ("supplier", text),
        ("reference", text),
    ]);
    // A supplier that nobody knows is looked at once more.
    assert_eq!(left(), 0);
    manager.send(&[]);
    assert_eq!(left(), 100, "{}", manager.seen.html);

    manager.open(&of_part("reserve"));
    manager.send(&[("quantity", "8"), ("job", &job)]);
    assert!(
        manager
            .seen
            .html
            .contains("The plugs are kept for this job.")
    );
    assert_eq!(left(), 100);
    let kept = shop.get(Who::Reader, "/v1/stock/reservations").expect(200);
    let reservation = kept.items()[0]["id"].as_str().expect("an id").to_owned();
    manager.open(&of_part("issue"));
    manager.send(&[("quantity", "8"), ("reservation_id", &reservation)]);
    assert_eq!(left(), 92, "{}", manager.seen.html);

    manager.open("/return");
    manager.scan_all(&[&job, "FW-9001"]);
    manager.send(&[
        ("quantity", "2"),
        ("condition", "sealed"),
        ("place", "Drawer 1"),
    ]);
    assert_eq!(left(), 94, "{}", manager.seen.html);

    manager.open(&of_part("scrap"));
    manager.send(&[
        ("quantity", "1"),
        ("place", "Drawer 1"),
        ("reason", "dropped"),
        ("dropped_by", text),
        ("note", text),
    ]);
    assert_eq!(left(), 93, "{}", manager.seen.html);
    put_right(shop, &manager, text);
    assert_eq!(left(), 94);

    manager.open(&of_part("move"));
    manager.send(&[
        ("quantity", "5"),
        ("lot", "L1"),
        ("from_place", "Drawer 1"),
        ("to_place", "Drawer 2"),
    ]);
    assert!(manager.seen.html.contains("Drawer 1 → Drawer 2"));
    counted(&mut manager);
    assert_eq!(left(), 93, "one of five was not there");
}

/// Reverses the scrapping.
fn put_right(shop: &Shop, manager: &Counter<'_>, reason: &str) {
    let path = "/v1/stock/movements?kind=scrapping";
    let scrapped = shop.get(Who::Reader, path).expect(200);
    let id = scrapped.items()[0]["id"].as_str().expect("an id");
    let path = format!("/movements/{id}");
    let page = manager.who.get(&path).expect(200);
    let form = forms(&page.html).into_iter().find(|form| form.path == path);
    let form = form.expect("the form that reverses it");
    let kept = form.fields.iter().filter(|field| field.name != "reason");
    let kept = kept.map(|field| (field.name.as_str(), field.value.as_str()));
    let fields: Vec<_> = kept.chain([("reason", reason)]).collect();
    manager.who.post(&path, &fields).expect(303);
}

/// Counts a bin, one plug fewer than the books have, and approves it.
fn counted(manager: &mut Counter<'_>) {
    manager.open("/count");
    manager.send(&[("places", "Drawer 2")]);
    let (path, _) = manager.form();
    manager.scan_all(&["L1", "4"]);
    let form = manager.open(&path);
    let (_, own) = form
        .html
        .split_once(&format!("action=\"{path}/approval\""))
        .expect("it can be approved");
    let once = own.split_once("name=\"once\" value=\"").expect("its key").1;
    let once = once.split('"').next().expect("a value").to_owned();
    let (key, version) = (form.hidden("form_key"), form.hidden("version"));
    let fields = [
        ("form_key", key.as_str()),
        ("once", &once),
        ("version", &version),
    ];
    manager
        .who
        .post(&format!("{path}/approval"), &fields)
        .expect(303);
}

/// A shop in which something of every kind is kept; the part of which plugs are moved.
fn furnished(shop: &Shop) -> String {
    let part = stored_plug(shop, &plug("FW-9001"));
    for name in ["Drawer 1", "Drawer 2"] {
        bin(shop, name);
    }
    for maker in ["Ferrowick", "Ostrevik"] {
        let body = heat_scale(maker, "steps");
        shop.post(Who::Clerk, "/v1/heat-scales", &body).expect(201);
    }
    shop.post(Who::Tuner, "/v1/heads", &head()).expect(201);
    // Nobody is there: whatever is delivered fails.
    let told = json!({ "url": "https://jobs.invalid/told" });
    shop.post(Who::Manager, "/v1/webhooks", &told).expect(201);
    part
}

/// A set in an engine, so that it can be read, and a day planned.
fn fitted(shop: &Shop, part: &str) {
    let build = shop.post(Who::Tuner, "/v1/builds", &build()).expect(201);
    let issued = with(
        issue(part, "J-FITTED", 8),
        json!({ "build_id": build.text("id"), "odometer_km": 90_000 }),
    );
    shop.once(Who::Tuner, "/v1/stock/issues", &issued)
        .expect(201);
}

/// Forms of which one has to have been taken, or else nothing was tried.
const TAKEN: &[&str] = &[
    "/builds/new",
    "/heads/new",
    "/heat-scales/new",
    "/import",
    "/incoming-check",
    "/issue",
    "/move",
    "/orders/new",
    "/parts/new",
    "/parts/{id}/change",
    "/places/{id}/change",
    "/readings/new",
    "/receive",
    "/reserve",
    "/return",
    "/scrap",
    "/stand-ins",
    "/suppliers/{id}/change",
    "/tuning-days/new",
    "/webhooks/{id}/change",
];

/// A whole day with a text typed everywhere; what is seen is looked at. The forms of page that were
/// opened.
fn day(shop: &Shop, text: &str, look: impl Fn(&str, &Seen) + Copy) -> BTreeSet<String> {
    let part = furnished(shop);
    a_day(shop, &part, text);
    fitted(shop, &part);
    let manager = Visitor::signed_in(shop, Who::Manager);
    let taken = try_forms(&manager, text, |told, seen| {
        assert!(seen.status < 500, "{told}: {}", seen.html);
        look(told, seen);
    });
    let missing: Vec<_> = TAKEN
        .iter()
        .filter(|path| !taken.contains(**path))
        .collect();
    assert!(missing.is_empty(), "never taken: {missing:?}; {taken:?}");
    let opened = wander(&manager, RECORDS, |path, seen| {
        assert_eq!(seen.status, 200, "{path}: {}", seen.html);
        look(path, seen);
    });
    assert!(WAYS.iter().all(|way| opened.contains(way.path)));
    opened
}

#[test]
fn every_act_and_every_page_works_on_postgresql() {
    if !engines().contains(&Engine::Postgres) {
        return;
    }
    let shop = Shop::start(Engine::Postgres);
    let opened = day(&shop, "Walk", |_, _| {});
    for page in [
        "/counts/{id}",
        "/fitted-sets/{id}",
        "/jobs/{id}",
        "/lots/{id}",
        "/movements/{id}",
        "/orders/{id}",
        "/readings/{id}",
        "/stand-ins/{id}",
        "/tuning-days/{id}",
        "/webhooks/{id}",
        "/webhooks/{id}/deliveries/{id}",
    ] {
        assert!(opened.contains(page), "{page} is missing from {opened:?}");
    }
}

#[test]
fn script_that_is_typed_anywhere_is_text_everywhere() {
    let shop = Shop::start(Engine::Sqlite);
    let shown = std::cell::RefCell::new(BTreeSet::new());
    day(&shop, SCRIPT, |path, seen| {
        // A table is no page.
        if seen.header("content-type").starts_with("text/csv") {
            return;
        }
        for raw in ["<img src=x", "<script>q"] {
            assert!(!seen.html.contains(raw), "{path}: {}", seen.html);
        }
        if seen.html.contains("q()&#60;/script") || seen.html.contains("q()&lt;/script") {
            shown.borrow_mut().insert(crate::every_page::form_of(path));
        }
    });
    let shown = shown.into_inner();
    println!("{shown:?}");
    for page in [
        "/",
        "/builds",
        "/builds/{id}",
        "/catalogue",
        "/heads",
        "/heat-scales",
        "/jobs",
        "/jobs/{id}",
        "/movements",
        "/orders",
        "/orders/{id}",
        "/parts/{id}",
        "/people",
        "/stand-ins",
        "/suppliers",
        "/suppliers/{id}",
        "/tuning-days",
        "/webhooks",
        "/webhooks/{id}",
    ] {
        assert!(shown.contains(page), "not shown on {page}: {shown:?}");
    }
}
