//! What comes in: beyond what was ordered, with its maker's batch, and of a number that nobody knows yet.

use plugwell_tests::Who;
use plugwell_tests::bodies::{bin, gtin, plug, stored_plug, with};
use plugwell_tests::shop::{Engine, Shop};
use serde_json::{Value, json};

use crate::counter_form::Counter;
use crate::forms::in_bins;

/// An order of twelve plugs of a part that is sent; its code and the id of its line.
fn ordered(shop: &Shop, part: &str) -> (String, String) {
    let body = json!({
        "supplier": "Quayside Parts", "lines": [{ "plug_id": part, "quantity": 12 }],
    });
    let made = shop.post(Who::Clerk, "/v1/orders", &body).expect(201);
    let path = format!("/v1/orders/{}", made.text("id"));
    shop.patch(Who::Clerk, &path, &json!({ "state": "sent" }))
        .expect(200);
    let line = made.json["lines"][0]["id"].as_str().expect("an id");
    (made.text("code"), line.to_owned())
}

fn line(shop: &Shop) -> Value {
    let orders = shop.get(Who::Reader, "/v1/orders").expect(200);
    orders.items()[0]["lines"][0].clone()
}

#[test]
fn what_comes_beyond_an_order_is_booked_on_it() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stored_plug(&shop, &plug("FW-5100"));
    bin(&shop, "Rack A");
    let (code, line_id) = ordered(&shop, &part);
    let way = format!("/receive?plug_id={part}&order_line_id={line_id}");
    let mut clerk = Counter::at(&shop, Who::Clerk, &way);
    clerk.send(&[("quantity", "12"), ("place", "Rack A")]);
    assert_eq!(line(&shop)["missing"], 0);
    // The line that the address names is in the form although nothing of it is missing.
    let seen = clerk.open(&way);
    let said = format!("{code} from Quayside Parts: all of it is in");
    assert!(seen.html.contains(&said), "{}", seen.html);
    assert_eq!(clerk.value("supplier"), "Quayside Parts");
    assert_eq!(clerk.value("order_line_id"), line_id);
    let seen = clerk.send(&[("quantity", "1")]);
    assert!(
        seen.html.contains("1 more came in than was ordered."),
        "{}",
        seen.html
    );
    assert_eq!(line(&shop)["too_many"], 1);
    // So it is by scans, whichever comes first.
    for texts in [["FW-5100", code.as_str()], [code.as_str(), "FW-5100"]] {
        clerk.open("/receive");
        clerk.scan_all(&texts);
        assert_eq!(clerk.value("supplier"), "Quayside Parts", "{texts:?}");
        assert_eq!(clerk.value("order_line_id"), line_id, "{texts:?}");
    }
    // An order that lacks the part says so, and one that there is not changes nothing.
    let other = stored_plug(&shop, &plug("FW-5101"));
    clerk.open(&format!("/receive?plug_id={other}"));
    let seen = clerk.scan(&code);
    assert_eq!(seen.status, 400);
    assert!(seen.html.contains("has no line for this part"));
    clerk.open(&format!("/receive?plug_id={other}&order_line_id={line_id}"));
    assert_eq!(clerk.value("supplier"), "", "another part's line");
    let nowhere = "01890000-0000-7000-8000-000000000000";
    clerk.open(&format!("/receive?plug_id={other}&order_line_id={nowhere}"));
}

/// A part in boxes of ten, and the number on its carton's label.
fn boxed(shop: &Shop, number: u64) -> (String, String) {
    let code = gtin(number);
    let body = with(
        plug(&format!("FW-{number}")),
        json!({ "gtin": code, "pack_size": 10 }),
    );
    (stored_plug(shop, &body), format!("0{code}"))
}

#[test]
fn a_batch_is_noted_with_the_delivery_wherever_it_was_scanned() {
    let shop = Shop::start(Engine::Sqlite);
    let (part, number) = boxed(&shop, 5200);
    let (_, other) = boxed(&shop, 5201);
    bin(&shop, "Rack A");
    let label = |number: &str, lot: &str| format!("(02){number}(10){lot}(37)3");
    let path = format!("/v1/scans?text={}", label(&number, "LOT7"));
    let scan = shop.get(Who::Reader, &path).expect(200);
    let proposed = &scan.json["next"][0]["body"]["reference"];
    assert_eq!(proposed, "batch LOT7");
    let mut clerk = Counter::at(&shop, Who::Clerk, "/receive");
    clerk.scan_all(&[&label(&number, "LOT7")]);
    assert_eq!(clerk.value("quantity"), "30");
    assert_eq!(&clerk.value("reference"), proposed);
    assert!(clerk.seen.html.contains("Delivery note: batch LOT7."));
    // A second batch stands beside it, each once; another part's batch is none of the first.
    clerk.scan_all(&[&label(&number, "LOT8"), &label(&number, "LOT7")]);
    assert_eq!(clerk.value("reference"), "batch LOT7, batch LOT8");
    clerk.scan_all(&[&label(&other, "B<9>")]);
    assert_eq!(clerk.value("reference"), "batch B<9>");
    // What is typed stays in front of it.
    clerk.open("/receive?reference=note+4");
    clerk.scan_all(&[&label(&number, "LOT7")]);
    assert_eq!(clerk.value("reference"), "note 4, batch LOT7");
    // The field of the part takes the same text.
    clerk.open("/receive");
    let text = label(&number, "LOT7");
    let seen = clerk.send(&[("part", &text), ("look", "yes")]);
    assert_eq!(seen.status, 200, "{}", seen.html);
    assert_eq!(
        (clerk.value("quantity"), clerk.value("reference")),
        ("30".into(), "batch LOT7".into())
    );
    // Whoever books at once, from a supplier that is known, books what was typed, with the batch.
    let supplier = json!({ "name": "Quayside Parts" });
    shop.post(Who::Clerk, "/v1/suppliers", &supplier)
        .expect(201);
    clerk.open("/receive");
    let typed = [
        ("part", text.as_str()),
        ("quantity", "4"),
        ("place", "Rack A"),
        ("supplier", "Quayside Parts"),
    ];
    clerk.send(&typed);
    assert_eq!(in_bins(&shop, &part), 4);
    let moved = shop.get(Who::Reader, "/v1/stock/movements").expect(200);
    assert_eq!(moved.items()[0]["note"], "batch LOT7", "{moved:?}");
}

#[test]
fn a_number_that_nobody_knows_leads_on_from_the_field_of_the_part() {
    let shop = Shop::start(Engine::Sqlite);
    let code = gtin(5300);
    let attach = format!("/barcodes/new?code={code}");
    let mut clerk = Counter::at(&shop, Who::Clerk, "/receive");
    for look in [true, false] {
        clerk.open("/receive");
        let mut typed = vec![("part", code.as_str()), ("quantity", "4")];
        typed.extend(look.then_some(("look", "yes")));
        let seen = clerk.send(&typed);
        assert_eq!(seen.status, 400);
        for way in [&attach, &format!("/parts/new?gtin={code}")] {
            assert!(seen.html.contains(way), "{way} in {}", seen.html);
        }
        assert_eq!(clerk.value("quantity"), "4");
    }
    // A maker's own code is no GTIN, and leads on all the same.
    let seen = clerk.send(&[("part", "ZQ<7>"), ("look", "yes")]);
    for way in ["/barcodes/new?code=ZQ", "/parts/new?part_number=ZQ"] {
        assert!(seen.html.contains(way), "{way} in {}", seen.html);
    }
    assert!(!seen.html.contains("ZQ<7>"));
    // Who may not attach it is not sent there.
    let mut tuner = Counter::at(&shop, Who::Tuner, "/issue");
    let seen = tuner.send(&[("part", &code), ("look", "yes")]);
    assert!(!seen.html.contains("/barcodes/new"), "{}", seen.html);
}
