//! What to order, and orders from the draft to the last plug: seen without a browser.

use plugwell_tests::Who;
use plugwell_tests::bodies::{bin, plug, receipt, receive, stored_plug, with};
use plugwell_tests::shop::{Engine, Shop};
use serde_json::{Value, json};

use crate::visitor::{Seen, Visitor};

const SCRIPT: &str = "<script>alert(1)</script>";
const AS_TEXT: &str = "&#60;script&#62;";

/// A part of which 24 plugs are to be ordered from Quayside Parts; four lie there.
fn due(shop: &Shop, number: &str) -> String {
    let part = stored_plug(shop, &plug(number));
    receive(shop, &part, &bin(shop, number), 4);
    let given = json!({ "min_quantity": 8, "max_quantity": 28, "supplier": "Quayside Parts" });
    let path = format!("/v1/plugs/{part}/reordering");
    shop.patch(Who::Clerk, &path, &given).expect(200);
    part
}

fn orders(shop: &Shop) -> Vec<Value> {
    shop.get(Who::Reader, "/v1/orders")
        .expect(200)
        .items()
        .to_vec()
}

/// A draft of twelve plugs of a part; the path of its page.
fn draft(shop: &Shop, part: &str) -> String {
    let body = json!({
        "supplier": "Quayside Parts", "note": SCRIPT,
        "lines": [{ "plug_id": part, "quantity": 12, "total_cost": { "minor": 10_800, "currency": "USD" } }],
    });
    let made = shop.post(Who::Clerk, "/v1/orders", &body).expect(201);
    format!("/orders/{}", made.text("id"))
}

/// Sends the form that a page shows, with what is typed.
fn sent(who: &Visitor<'_>, page: &Seen, path: &str, typed: &[(&str, &str)]) -> Seen {
    let hidden = ["form_key", "once", "version"].map(|name| {
        let there = page.html.contains(&format!("name=\"{name}\""));
        (
            name,
            if there {
                page.hidden(name)
            } else {
                String::new()
            },
        )
    });
    let mut fields: Vec<(&str, &str)> = hidden.iter().map(|(n, v)| (*n, v.as_str())).collect();
    fields.extend(typed);
    who.post(path, &fields)
}

#[test]
fn what_is_ticked_becomes_a_draft_once_with_the_quantity_that_was_typed() {
    let shop = Shop::start(Engine::Sqlite);
    let (one, other) = (due(&shop, "FW-100"), due(&shop, "FW-200"));
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let page = clerk.get("/reorder").expect(200);
    for said in [
        "Ferrowick FW-100",
        "Quayside Parts: 2 lines",
        "Reorder point",
        "How it comes about",
    ] {
        assert!(page.html.contains(said), "{said}: {}", page.html);
    }
    let quantity = format!("quantity-{one}");
    let wrong = sent(
        &clerk,
        &page,
        "/reorder",
        &[("plug_id", &one), (&quantity, "a dozen")],
    );
    let wrong = wrong.expect(400);
    assert!(wrong.html.contains("value=\"a dozen\"") && wrong.html.contains("no whole number"));
    let none = sent(&clerk, &page, "/reorder", &[(&quantity, "16")]).expect(400);
    assert!(none.html.contains("Tick the parts") && none.html.contains("value=\"16\""));
    assert!(orders(&shop).is_empty());
    let typed = [("plug_id", one.as_str()), (quantity.as_str(), "16")];
    let first = sent(&clerk, &page, "/reorder", &typed).expect(303);
    let again = sent(&clerk, &page, "/reorder", &typed).expect(303);
    assert!(
        again
            .header("location")
            .starts_with(first.header("location"))
    );
    let made = orders(&shop);
    assert_eq!(made.len(), 1, "{made:?}");
    let line = &made[0]["lines"][0];
    // Nine dollars a plug is what the receipt cost.
    let told = (
        &line["plug_id"],
        &line["quantity"],
        &line["total_cost"]["minor"],
    );
    assert_eq!(told, (&json!(one), &json!(16), &json!(14_400)));
    assert_eq!(
        made[0]["lines"].as_array().map(Vec::len),
        Some(1),
        "{other} was not ticked"
    );
    let seen = clerk.get(again.header("location")).expect(200);
    assert!(
        seen.html.contains("Nothing was done a second time")
            && seen.html.contains("drafted, sent to nobody")
    );
    let chart = clerk
        .get(&format!("/reorder/{other}/chart.svg"))
        .expect(200);
    assert_eq!(chart.header("content-type"), "image/svg+xml");
}

#[test]
fn an_order_is_drafted_once_and_gets_more_lines() {
    let shop = Shop::start(Engine::Sqlite);
    stored_plug(&shop, &plug("FW-300"));
    stored_plug(&shop, &plug("FW-301"));
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let form = clerk.get("/orders/new").expect(200);
    let typed = [
        ("supplier", "Quayside Parts"),
        ("part", "FW-300"),
        ("quantity", "none"),
        ("total_cost", "96,00"),
        ("note", SCRIPT),
    ];
    let wrong = sent(&clerk, &form, "/orders/new", &typed).expect(400);
    for said in [
        "value=\"none\"",
        "value=\"96,00\"",
        AS_TEXT,
        "href=\"#quantity\"",
    ] {
        assert!(wrong.html.contains(said), "{said}: {}", wrong.html);
    }
    assert!(!wrong.html.contains(SCRIPT));
    let mut right = typed;
    right[2].1 = "12";
    let made = sent(&clerk, &form, "/orders/new", &right).expect(303);
    sent(&clerk, &form, "/orders/new", &right).expect(303);
    assert_eq!(orders(&shop).len(), 1, "once, however often it is sent");
    let there = made.header("location").split('?').next();
    let page = there.expect("a path").to_owned();
    let path = format!("{page}/lines/new");
    let add = clerk.get(&path).expect(200);
    let line = [("part", "FW-301"), ("quantity", "8")];
    sent(&clerk, &add, &path, &line).expect(303);
    sent(&clerk, &add, &path, &line).expect(303);
    assert_eq!(orders(&shop)[0]["lines"].as_array().map(Vec::len), Some(2));
    let shown = clerk.get(&page).expect(200);
    for said in ["Ferrowick FW-301", "8.00 USD each", AS_TEXT, "Note as sent"] {
        assert!(shown.html.contains(said), "{said}: {}", shown.html);
    }
}

#[test]
fn an_order_is_sent_comes_in_and_is_closed_short() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stored_plug(&shop, &plug("FW-310"));
    let page = draft(&shop, &part);
    let state = format!("{page}/state");
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let (early, shown) = (clerk.get(&page).expect(200), clerk.get(&page).expect(200));
    let step = sent(&clerk, &shown, &state, &[("state", "sent")]).expect(303);
    assert!(step.header("location").ends_with("?done=sent"));
    let stale = sent(&clerk, &early, &state, &[("state", "withdrawn")]).expect(409);
    let told = "changed while you looked at it";
    assert!(stale.html.contains(told), "{}", stale.html);
    let order = orders(&shop).remove(0);
    let line = order["lines"][0]["id"].as_str().expect("an id");
    let shown = clerk.get(&page).expect(200);
    let door = format!("/receive?plug_id={part}&#38;order_line_id={line}");
    assert!(shown.html.contains(&door), "{door}: {}", shown.html);
    let body = receipt(&part, &bin(&shop, "B-1"), 5);
    let body = with(body, json!({ "order_line_id": line }));
    shop.once(Who::Clerk, "/v1/stock/receipts", &body)
        .expect(201);
    let shown = clerk.get(&page).expect(200);
    for said in [
        "partly in",
        "Close it short",
        "the 7 missing",
        "Received",
        "B-1",
    ] {
        assert!(shown.html.contains(said), "{said}: {}", shown.html);
    }
    sent(&clerk, &shown, &state, &[("state", "closed")]).expect(303);
    assert!(clerk.get(&page).expect(200).html.contains("never came"));
    let list = clerk.get("/orders?state=closed").expect(200);
    assert!(list.html.contains("7 never came"), "{}", list.html);
    let suppliers = clerk.get("/suppliers").expect(200);
    assert!(suppliers.html.contains("Quayside Parts"));
}

#[test]
fn an_order_is_printed_on_either_paper() {
    let shop = Shop::start(Engine::Sqlite);
    let page = draft(&shop, &stored_plug(&shop, &plug("FW-320")));
    let reader = Visitor::signed_in(&shop, Who::Reader);
    for (query, paper) in [("", "a4"), ("?paper=letter", "letter")] {
        let sheet = reader.get(&format!("{page}/print{query}")).expect(200).html;
        let told = ["Ferrowick FW-320", "A draft: not yet ordered", AS_TEXT];
        assert!(sheet.contains(&format!("order {paper}")), "{sheet}");
        assert!(told.iter().all(|said| sheet.contains(said)), "{sheet}");
        assert!(!sheet.contains(SCRIPT));
    }
    reader.get(&format!("{page}/print?paper=a9")).expect(400);
}

#[test]
fn whoever_changes_an_order_learns_what_another_changed_meanwhile() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stored_plug(&shop, &plug("FW-400"));
    let page = draft(&shop, &part);
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let form = clerk.get(&format!("{page}/change")).expect(200);
    shop.patch(
        Who::Clerk,
        &format!("/v1{page}"),
        &json!({ "reference": "Q-77" }),
    )
    .expect(200);
    let typed = [
        ("supplier", "Quayside Parts"),
        ("reference", "Q-12"),
        ("expected_on", "2026-12-24"),
    ];
    let path = format!("{page}/change");
    let stale = sent(&clerk, &form, &path, &typed).expect(409);
    for said in ["There stands now", "Their number: Q-77", "value=\"Q-12\""] {
        assert!(stale.html.contains(said), "{said}: {}", stale.html);
    }
    sent(&clerk, &stale, &path, &typed).expect(303);
    let order = shop.get(Who::Reader, &format!("/v1{page}")).expect(200);
    assert_eq!(order.json["reference"], "Q-12", "all the same");
    assert_eq!(
        order.json["note"],
        Value::Null,
        "what was left open is nothing"
    );
    // The last line is not taken away: an order without lines is none.
    let line = order.json["lines"][0]["id"].as_str().expect("an id");
    let path = format!("{page}/lines/{line}");
    let form = clerk.get(&path).expect(200);
    assert!(!form.html.contains("Take the line away"));
    sent(&clerk, &form, &path, &[("remove", "yes")]).expect(400);
    sent(&clerk, &form, &path, &[("quantity", "20")]).expect(303);
    let order = shop.get(Who::Reader, &format!("/v1{page}")).expect(200);
    assert_eq!(order.json["lines"][0]["quantity"], 20);
}

#[test]
fn a_tuner_looks_at_orders_and_writes_none() {
    let shop = Shop::start(Engine::Sqlite);
    let part = due(&shop, "FW-500");
    let page = draft(&shop, &part);
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    let key = tuner.get("/scrap").expect(200).hidden("form_key");
    for path in [
        "/reorder",
        "/orders",
        &page,
        &format!("{page}/print"),
        "/suppliers",
    ] {
        let seen = tuner.get(path).expect(200);
        for button in ["Draft an order", "Note as sent", "Withdraw", "Add a part"] {
            assert!(!seen.html.contains(button), "{button} on {path}");
        }
    }
    for path in [
        "/orders/new",
        &format!("{page}/change"),
        &format!("{page}/lines/new"),
    ] {
        tuner.get(path).expect(403);
    }
    for path in [
        "/reorder",
        "/orders/new",
        &format!("{page}/state"),
        &format!("{page}/change"),
    ] {
        tuner.post(path, &[("form_key", &key)]).expect(403);
    }
    assert_eq!(orders(&shop).len(), 1);
}
