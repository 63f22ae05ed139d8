//! What is told of parts that nobody can order: the end of their line of successors, or what comes nearest.

use plugwell_tests::bodies::{plug, stored_plug, with};
use plugwell_tests::shop::engines;
use plugwell_tests::{Shop, Who};
use serde_json::{Value, json};

fn told(shop: &Shop, id: &str) -> Value {
    let answer = shop.get(Who::Reader, &format!("/v1/reorder?plug_id={id}"));
    answer.expect(200).json["left_out"][0].clone()
}

#[test]
fn a_line_of_successors_is_followed_to_one_that_can_be_ordered() {
    for engine in engines() {
        let shop = Shop::start(engine);
        let part = |number: &str, over: Value| {
            stored_plug(
                &shop,
                &with(plug(number), with(json!({ "heat_index": 30 }), over)),
            )
        };
        let last = part("LI-last", json!({}));
        let middle = part(
            "LI-middle",
            json!({ "superseded_by": last, "status": "discontinued" }),
        );
        let first = part("LI-first", json!({ "superseded_by": middle }));
        let found = told(&shop, &first);
        assert_eq!(found["code"], "superseded");
        assert_eq!(
            found["text"],
            "Ferrowick LI-last took its place: order that one."
        );
        // Named for an order, it is told the same.
        let named = json!({ "plug_ids": [first] });
        let refused = shop.once(Who::Clerk, "/v1/reorder/orders", &named);
        assert_eq!(refused.expect(200).json["left_out"], json!([found]));
        // The last of the line is out of supply in turn: nobody is sent to order it.
        let change = |body: Value| {
            shop.patch(Who::Clerk, &format!("/v1/plugs/{last}"), &body)
                .expect(200);
            told(&shop, &first)["text"].as_str().unwrap().to_owned()
        };
        let none = "No part that the shop deals in equals it and can be ordered: look for an equivalent in the \
                    catalogue.";
        assert_eq!(
            change(json!({ "status": "discontinued" })),
            format!(
                "Ferrowick LI-last took its place, and cannot be ordered either: its maker no longer supplies it. {none}"
            )
        );
        let own = told(&shop, &last);
        assert_eq!(own["code"], "discontinued");
        assert_eq!(
            own["text"],
            format!("Its maker no longer supplies it. {none}")
        );
        // An equivalent is named as soon as the shop gives anything by hand for it.
        let equal = part("LI-equal", json!({ "maker": "Quellmar" }));
        shop.patch(
            Who::Clerk,
            &format!("/v1/plugs/{equal}/reordering"),
            &json!({ "supplier": "Harbour Plugs" }),
        )
        .expect(200);
        assert_eq!(
            change(json!({ "retired": true })),
            "Ferrowick LI-last took its place, and cannot be ordered either: its record is retired. What can be ordered \
             and comes nearest: Quellmar LI-equal (same in all). Whether it fits, the makers of plug and head say."
        );
    }
}
