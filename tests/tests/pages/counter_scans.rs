//! The line at the top feeds the forms of the counter: what each scan does, and that none books by
//! itself.

use plugwell_tests::Who;
use plugwell_tests::bodies::{bin, gtin, issue, place, plug, receive, stored_plug, with};
use plugwell_tests::shop::{Engine, Shop};
use serde_json::json;

use crate::counter_form::Counter;
use crate::forms::{in_bins, stocked};

/// A part with a barcode, four plugs in a box.
fn boxed(shop: &Shop, part_number: &str, number: u64) -> (String, String) {
    let code = gtin(number);
    let body = with(plug(part_number), json!({ "gtin": code }));
    (stored_plug(shop, &body), code)
}

fn movements(shop: &Shop, query: &str) -> Vec<serde_json::Value> {
    let path = format!("/v1/stock/movements?limit=200&{query}");
    shop.get(Who::Reader, &path).expect(200).items().to_vec()
}

#[test]
fn boxes_are_received_by_scans_alone() {
    let shop = Shop::start(Engine::Sqlite);
    let (part, code) = boxed(&shop, "FW-8100", 81);
    bin(&shop, "Rack A");
    place(&shop, "supplier", "Quayside Parts");
    let mut clerk = Counter::at(&shop, Who::Clerk, "/receive");
    let seen = clerk.scan_all(&[&code]);
    assert!(seen.html.contains("Ferrowick FW-8100, 4 plugs."));
    clerk.scan_all(&[&code, "rack a", "quayside parts"]);
    assert_eq!(clerk.value("quantity"), "8", "the same box once more");
    assert_eq!(clerk.value("pack_size"), "4");
    assert_eq!(clerk.value("place"), "Rack A");
    assert!(
        clerk
            .seen
            .text()
            .contains("8 × Ferrowick FW-8100 from Quayside Parts into Rack A")
    );
    // Enter once more shows it, with the button next, and books nothing.
    for _ in 0..3 {
        let seen = clerk.scan_all(&[""]);
        assert!(seen.html.contains("<button data-main autofocus>Receive"));
    }
    assert_eq!(in_bins(&shop, &part), 0);
    let seen = clerk.scan_all(&["ok"]);
    assert!(
        seen.text().contains("8 × Ferrowick FW-8100"),
        "{}",
        seen.html
    );
    assert_eq!(in_bins(&shop, &part), 8);
    // The line of what was booked goes on with the same act and supplier.
    clerk.scan_all(&[&code]);
    assert_eq!(
        (clerk.value("quantity"), clerk.value("supplier")),
        ("4".into(), "Quayside Parts".into())
    );
    assert!(
        clerk
            .seen
            .html
            .contains("proposed: 8 of them lie there already")
    );
    assert_eq!(in_bins(&shop, &part), 8);
}

#[test]
fn what_is_not_understood_is_said_and_everything_stays() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stocked(&shop, "FW-8200");
    let mut clerk = Counter::at(&shop, Who::Clerk, "/scrap");
    clerk.scan_all(&["FW-8200", "2", "bent strap"]);
    for (text, said) in [
        ("nothing so", "names nothing here. This form takes a part"),
        (
            "Quayside Parts",
            "is a supplier, which has no place in this form",
        ),
        ("L999", "names nothing here"),
        ("0", "0 is no number of plugs"),
        ("2000000000016", "as a GTIN"),
        (
            "<b>FW</b>",
            "&#34;&#60;b&#62;FW&#60;/b&#62;&#34; names nothing",
        ),
    ] {
        let seen = clerk.scan(text);
        assert_eq!(seen.status, 400, "{text}: {}", seen.html);
        assert!(seen.html.contains(said), "{text}: {}", seen.html);
        assert!(seen.html.contains("role=\"alert\""));
        assert_eq!(clerk.value("quantity"), "2", "{text}");
        assert_eq!(clerk.value("reason"), "bent_strap", "{text}");
        assert_eq!(clerk.value("plug_id"), part, "{text}");
    }
    assert_eq!(in_bins(&shop, &part), 20);
    // A word of a command leads away, and takes nothing along but the part that it names.
    let seen = clerk.scan("issue fw-8200");
    assert!(seen.html.contains("<h1>Issue plugs to a job</h1>"));
    assert_eq!(
        (clerk.value("plug_id"), clerk.value("quantity")),
        (part, String::new())
    );
}

#[test]
fn an_issue_takes_a_new_job_and_an_undo_takes_it_back() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stocked(&shop, "FW-8300");
    let mut clerk = Counter::at(&shop, Who::Clerk, "/issue");
    clerk.scan_all(&["fw 8300", "5"]);
    let seen = clerk.scan_all(&["J-830"]);
    assert!(seen.html.contains("New job J-830."), "{}", seen.html);
    let seen = clerk.scan_all(&["ok"]);
    assert!(seen.text().contains("5 × Ferrowick FW-8300"));
    assert_eq!(in_bins(&shop, &part), 15);
    // The next scan is for the same job.
    clerk.scan_all(&["FW-8300"]);
    assert_eq!(clerk.value("job"), "J-830");
    let undo = clerk
        .seen
        .html
        .split("action=\"/undo\"")
        .nth(1)
        .expect("an undo");
    let hidden = |name: &str| {
        let start = format!("name=\"{name}\" value=\"");
        let rest = undo.split_once(&start).expect("a field").1;
        rest.split('"').next().expect("a value").to_owned()
    };
    let fields = [
        ("form_key", hidden("form_key")),
        ("once", hidden("once")),
        ("id", hidden("id")),
    ];
    let fields: Vec<_> = fields.iter().map(|(n, v)| (*n, v.as_str())).collect();
    for again in [false, true] {
        let sent = clerk.who.post("/undo", &fields).expect(303);
        assert_eq!(sent.header("location").contains("again=yes"), again);
    }
    assert_eq!(in_bins(&shop, &part), 20);
}

#[test]
fn a_part_that_is_short_names_what_is_equal_and_leads_there() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stocked(&shop, "FW-8350");
    let other = stocked(&shop, "FW-8351");
    let mut tuner = Counter::at(
        &shop,
        Who::Tuner,
        &format!("/issue?plug_id={part}&quantity=25"),
    );
    let seen = tuner.send(&[("job", "J-835")]);
    assert_eq!(seen.status, 409);
    assert!(seen.html.contains("never hotter") && seen.html.contains("makers of plug and head"));
    let way = format!("/issue?plug_id={other}&#38;quantity=25&#38;job=J%2D835");
    assert!(seen.html.contains(&way), "{way} in {}", seen.html);
    assert_eq!(tuner.value("quantity"), "25");
}

#[test]
fn plugs_come_back_by_job_and_label_and_what_was_fitted_goes_to_scrap() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stocked(&shop, "FW-8400");
    let issued = shop
        .once(Who::Tuner, "/v1/stock/issues", &issue(&part, "J-840", 6))
        .expect(201);
    let lot = issued.json["movements"][0]["lot_id"]
        .as_str()
        .expect("a lot")
        .to_owned();
    let label = shop
        .get(Who::Reader, &format!("/v1/stock/lots/{lot}"))
        .expect(200)
        .text("code");
    let mut clerk = Counter::at(&shop, Who::Clerk, "/return");
    assert_eq!(clerk.scan(&label).status, 400, "the job comes first");
    clerk.scan_all(&["J-840", &label, "2", "sealed"]);
    assert_eq!(clerk.value("place"), "FW-8400", "where they came from");
    let seen = clerk.scan_all(&["ok"]);
    assert!(
        seen.text().contains("2 × Ferrowick FW-8400"),
        "{}",
        seen.html
    );
    assert_eq!(in_bins(&shop, &part), 16);
    // Gapped plugs go back as a lot of their own by two movements, which are one plug all the same.
    clerk.scan_all(&["gapped", "1"]);
    let seen = clerk.send(&[("gap_mm", "0.8")]);
    assert!(
        seen.text().contains("1 × Ferrowick FW-8400"),
        "{}",
        seen.html
    );
    assert!(seen.text().contains("J-840 → FW-8400"), "{}", seen.html);
    assert_eq!(in_bins(&shop, &part), 17);
    let seen = clerk.open("/return?job=J-840");
    assert!(
        seen.html.contains("3 × Ferrowick FW-8400 of"),
        "{}",
        seen.html
    );
    let seen = clerk.scan_all(&["fitted"]);
    assert!(seen.html.contains("none of them comes back on the shelf"));
    let seen = clerk.scan_all(&["1", "ok"]);
    assert!(seen.html.contains("Scrapped for good"), "{}", seen.html);
    assert!(seen.html.contains("Take more back") && !seen.html.contains("Scrap more"));
    assert!(
        seen.html
            .contains("The next scan goes on with: Take plugs back")
    );
    // More than is out is refused, and the form keeps what was typed.
    clerk.open("/return?job=J-840");
    let seen = clerk.send(&[
        ("quantity", "9"),
        ("condition", "sealed"),
        ("place", "FW-8400"),
    ]);
    assert_eq!(seen.status, 409, "{}", seen.html);
    assert_eq!(clerk.value("quantity"), "9");
    assert_eq!(in_bins(&shop, &part), 17);
    Counter::at(&shop, Who::Tuner, "/")
        .who
        .get("/return")
        .expect(403);
}

#[test]
fn a_lot_is_moved_from_where_it_lies_to_the_next_bin_that_is_scanned() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stocked(&shop, "FW-8500");
    let there = bin(&shop, "Rack Z");
    let lot = shop
        .get(Who::Reader, &format!("/v1/stock/lots?plug_id={part}"))
        .expect(200);
    let label = lot.items()[0]["code"].as_str().expect("a code").to_owned();
    let mut clerk = Counter::at(&shop, Who::Clerk, "/move");
    clerk.scan_all(&[&label]);
    assert_eq!(clerk.value("from_place"), "FW-8500", "it lies nowhere else");
    // Whoever scans the bin it lies in says the same once more.
    let bins = shop
        .get(Who::Reader, "/v1/stock/places?kind=bin")
        .expect(200);
    let bins = bins.items();
    let from = bins
        .iter()
        .find(|bin| bin["name"] == "FW-8500")
        .expect("the bin");
    clerk.scan_all(&[from["code"].as_str().expect("its code")]);
    clerk.scan_all(&["rack z", "3"]);
    assert_eq!(
        (clerk.value("from_place"), clerk.value("to_place")),
        ("FW-8500".into(), "Rack Z".into())
    );
    let once = clerk.value("once");
    clerk.scan_all(&["ok"]);
    let moved = movements(&shop, &format!("place_id={there}"));
    assert_eq!((moved.len(), moved[0]["quantity"].as_i64()), (1, Some(3)));
    let key = clerk.value("form_key");
    let twice = clerk.who.post(
        "/move",
        &[
            ("form_key", &key),
            ("once", &once),
            ("quantity", "4"),
            ("lot", &label),
            ("from_place", "FW-8500"),
            ("to_place", "Rack Z"),
        ],
    );
    assert_eq!(
        twice.status, 409,
        "another form under the key of one that was booked"
    );
    assert_eq!(movements(&shop, &format!("place_id={there}")).len(), 1);
    Counter::at(&shop, Who::Tuner, "/")
        .who
        .get("/move")
        .expect(403);
}

#[test]
fn a_delivery_is_booked_for_the_order_that_is_scanned() {
    let shop = Shop::start(Engine::Sqlite);
    let (part, code) = boxed(&shop, "FW-8600", 86);
    bin(&shop, "Rack A");
    let order = json!({
        "supplier": "Quayside Parts", "state": "sent",
        "lines": [{ "plug_id": part, "quantity": 10, "pack_size": 4 }]
    });
    let order = shop.post(Who::Clerk, "/v1/orders", &order).expect(201);
    let mut clerk = Counter::at(&shop, Who::Clerk, "/receive");
    clerk.scan_all(&[&order.text("code"), &code, &code, "Rack A"]);
    assert_eq!(clerk.value("supplier"), "Quayside Parts");
    let seen = clerk.scan_all(&["ok"]);
    assert!(
        seen.html.contains("10 ordered, 8 in; 2 are still to come."),
        "{}",
        seen.html
    );
    // Without being scanned the only order that waits is proposed.
    clerk.open(&format!("/receive?plug_id={part}"));
    assert!(!clerk.value("order_line_id").is_empty());
    let seen = clerk.send(&[("packs", "1")]);
    assert!(
        seen.html.contains("2 more came in than were ordered."),
        "{}",
        seen.html
    );
    assert_eq!(in_bins(&shop, &part), 12);
    let wrong = clerk
        .who
        .get(&format!("/receive?plug_id={part}"))
        .expect(200);
    clerk.seen = wrong;
    let seen = clerk.send(&[
        ("packs", "2"),
        ("quantity", "9"),
        ("supplier", "Quayside Parts"),
    ]);
    assert_eq!(seen.status, 400);
    assert!(
        seen.html.contains("in so many boxes are 8 plugs, not 9"),
        "{}",
        seen.html
    );
    assert_eq!(in_bins(&shop, &part), 12);
}

#[test]
fn a_number_that_nobody_knows_is_attached_to_a_part_and_received() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stored_plug(&shop, &plug("FW-8700"));
    receive(&shop, &part, &bin(&shop, "Rack A"), 4);
    let code = gtin(8700);
    let mut clerk = Counter::at(&shop, Who::Clerk, "/receive");
    let seen = clerk.scan(&code);
    assert_eq!(seen.status, 400);
    let way = format!("/barcodes/new?code={code}");
    assert!(seen.html.contains(&way), "{}", seen.html);
    let form = clerk.open(&way);
    let key = form.hidden("form_key");
    let attach = |part: &str| {
        let fields = [
            ("form_key", key.as_str()),
            ("code", &code),
            ("plug", part),
            ("plugs", "10"),
        ];
        clerk.who.post("/barcodes/new", &fields)
    };
    let refused = attach("<i>FW").expect(400);
    assert!(refused.html.contains("no part is known by that"));
    assert!(refused.html.contains("&#60;i&#62;FW") && !refused.html.contains("<i>FW"));
    for _ in 0..2 {
        let there = attach("FW-8700").expect(303);
        assert_eq!(there.header("location"), format!("/receive?scan={code}"));
    }
    clerk.open(&format!("/receive?scan={code}"));
    assert_eq!(
        (clerk.value("quantity"), clerk.value("plug_id")),
        ("10".into(), part)
    );
    Counter::at(&shop, Who::Tuner, "/")
        .who
        .get(&way)
        .expect(403);
}
