//! Buying in a browser: from the proposal to a draft, sent, and received.

use plugwell_tests::Who;
use plugwell_tests::call::{client, key};
use serde_json::{Value, json};

use crate::browser::visit;
use crate::demo::Demo;
use crate::steps::sign_in;

/// Books what came in for the first line of an order, into a bin of the demo shop.
fn received(demo: &Demo, order: &Value) {
    let (bins, line) = (demo.items("/v1/stock/places?kind=bin"), &order["lines"][0]);
    let body = json!({
        "plug_id": line["plug_id"], "order_line_id": line["id"], "quantity": line["quantity"],
        "place_id": bins[0]["id"], "supplier": order["supplier"], "condition": "sealed",
    });
    let request = client()
        .post(format!("{}/v1/stock/receipts", demo.url()))
        .bearer_auth(demo.token(Who::Clerk))
        .header("idempotency-key", key())
        .json(&body);
    let answer = request.send().expect("an answer");
    assert_eq!(answer.status().as_u16(), 201, "{:?}", answer.text());
}

#[test]
fn a_clerk_orders_what_is_proposed_and_sees_it_come_in() {
    let demo = Demo::start();
    let mut door = String::new();
    visit(async |page| {
        sign_in(&page, &demo, Who::Clerk).await;
        // The page's name, typed into the line, leads there.
        page.fill("line", "what to order").await;
        page.follow(".line button").await;
        assert_eq!(page.all("h1").await, ["What to order"]);
        page.press(".proposal summary").await;
        let text = page.text().await;
        assert!(
            text.to_lowercase().contains("reorder point"),
            "the arithmetic unfolds: {text}"
        );
        // Of the first supplier only the first line, twelve plugs of it.
        let first = "const boxes = document.querySelectorAll('.supplier:first-of-type [name=plug_id]'); \
                     boxes.forEach((box, at) => { box.checked = at === 0; }); \
                     return document.querySelector('.how-many input').id";
        let field = page.run(first).await;
        let part = page.all(".supplier .which b").await[0].clone();
        page.fill(field.as_str().expect("an id"), "12").await;
        let twice = "const button = document.querySelector('.supplier > button'); button.click(); button.click();";
        page.leave(async || drop(page.run(twice).await)).await;
        assert_eq!(page.all(".done .verb").await, ["Drafted"]);
        assert!(page.text().await.contains(&part));
        page.follow(".step button").await;
        assert_eq!(page.all(".done .verb").await, ["Sent"]);
        let to_door =
            "return document.querySelector('main a[href^=\"/receive?\"]').getAttribute('href')";
        let href = page.run(to_door).await;
        door = href.as_str().expect("an address").to_owned();
    });
    if door.is_empty() {
        return; // There is no browser, as was said on the terminal.
    }
    let order = demo.items("/v1/orders").remove(0);
    let line = &order["lines"][0];
    let id = |of: &Value| of.as_str().expect("an id").to_owned();
    assert_eq!(order["state"], "sent");
    assert_eq!(
        (order["lines"].as_array().map(Vec::len), &line["quantity"]),
        (Some(1), &json!(12))
    );
    let (part, own) = (id(&line["plug_id"]), id(&line["id"]));
    assert_eq!(door, format!("/receive?plug_id={part}&order_line_id={own}"));
    received(&demo, &order);
    visit(async |page| {
        sign_in(&page, &demo, Who::Clerk).await;
        page.open(&format!("{}/orders/{}", demo.url(), id(&order["id"])))
            .await;
        let text = page.text().await;
        assert!(
            text.contains("closed") && text.contains("Received"),
            "{text}"
        );
        assert_eq!(page.count(".step").await, 0, "nothing is left to do");
    });
}
