//! Buying in a browser: from the proposal to a draft, sent, and received.

use plugwell_tests::Who;
use plugwell_tests::call::{client, key};
use serde_json::{Value, json};

use crate::browser::visit;
use crate::demo::Demo;
use crate::steps::sign_in;

/// Books what came in for a line of an order, into a bin of the demo shop.
fn received(demo: &Demo, line: &Value) {
    let bins = demo.items("/v1/stock/places?kind=bin");
    let order = demo.items("/v1/orders").remove(0);
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
    visit(async |page| {
        sign_in(&page, &demo, Who::Clerk).await;
        // The page's name, typed into the line, leads there.
        page.fill("line", "what to order").await;
        page.follow(".line button").await;
        assert_eq!(page.all("h1").await, ["What to order"]);
        page.press(".proposal summary").await;
        assert!(
            page.text().await.contains("reorder point"),
            "the arithmetic unfolds"
        );
        // Of the first supplier only the first line, twelve plugs of it.
        page.run("document.querySelectorAll('.supplier:first-of-type [name=plug_id]').forEach((box, at) => { box.checked = at === 0; })").await;
        let part = page.all(".supplier .which b").await[0].clone();
        let field = page
            .run("return document.querySelector('.how-many input').id")
            .await;
        page.fill(field.as_str().expect("an id"), "12").await;
        let twice = "const button = document.querySelector('.supplier > button'); button.click(); button.click();";
        page.leave(async || drop(page.run(twice).await)).await;
        assert_eq!(page.all(".done .verb").await, ["Drafted"]);
        let order = demo.items("/v1/orders").remove(0);
        assert_eq!(order["state"], "drafted");
        assert_eq!(order["lines"][0]["quantity"], 12, "{order}");
        assert!(page.text().await.contains(&part));
        page.follow(".step button").await;
        assert_eq!(page.all(".done .verb").await, ["Sent"]);
        let door = page
            .run("return document.querySelector('a[href^=\"/receive\"]').getAttribute('href')")
            .await;
        let line = &demo.items("/v1/orders").remove(0)["lines"][0];
        let told = format!(
            "/receive?plug_id={}&order_line_id={}",
            line["plug_id"].as_str().expect("an id"),
            line["id"].as_str().expect("an id")
        );
        assert_eq!(door, told.as_str());
        received(&demo, line);
        page.open(&format!(
            "{}/orders/{}",
            demo.url(),
            order["id"].as_str().expect("an id")
        ))
        .await;
        let text = page.text().await;
        assert!(
            text.contains("closed") && text.contains("Received"),
            "{text}"
        );
        assert_eq!(page.count(".step").await, 0, "nothing is left to do");
    });
}
