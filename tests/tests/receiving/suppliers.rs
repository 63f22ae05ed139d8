//! Suppliers: entered, made by their first use, changed.

use plugwell_tests::bodies::{receive, unique};
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};

use crate::dock::{Dock, text};

#[test]
fn a_supplier_is_a_place_with_what_is_known_of_it() {
    for shop in shared() {
        let name = unique("Hollis Parts");
        let body = json!({ "name": name, "lead_time_days": 5, "least_order": { "minor": 20_000, "currency": "USD" }, "contact": "the counter" });
        let made = shop.post(Who::Clerk, "/v1/suppliers", &body).expect(201);
        let id = made.text("id");
        for (member, value) in body.as_object().expect("an object") {
            assert_eq!(made.json[member], *value, "{member}");
        }
        let place = shop
            .get(Who::Reader, &format!("/v1/stock/places/{id}"))
            .expect(200)
            .json;
        assert_eq!(
            (&place["kind"], &place["code"]),
            (&json!("supplier"), &made.json["code"])
        );
        shop.post(
            Who::Clerk,
            "/v1/suppliers",
            &json!({ "name": name.to_uppercase() }),
        )
        .problem(409, "duplicate_record");
        let path = format!("/v1/suppliers/{id}");
        let renamed = unique("Hollis and Daughters");
        let now = shop
            .patch(
                Who::Clerk,
                &path,
                &json!({ "name": renamed, "lead_time_days": null }),
            )
            .expect(200)
            .json;
        assert_eq!(
            (&now["name"], &now["lead_time_days"]),
            (&json!(renamed), &Value::Null)
        );
        assert_eq!(
            (&now["contact"], &now["version"]),
            (&json!("the counter"), &json!(2))
        );
        let found = shop.all(
            Who::Reader,
            &format!(
                "/v1/suppliers?name={}",
                renamed.to_lowercase().replace(' ', "%20")
            ),
        );
        assert_eq!(found, [now]);
    }
}

#[test]
fn a_supplier_made_by_a_receipt_can_be_described() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let part = dock.part(json!({}));
        receive(shop, &part, &dock.bin, 4);
        let found = shop.all(Who::Reader, "/v1/suppliers?name=quayside%20parts");
        let [supplier] = found.as_slice() else {
            panic!("{found:?}")
        };
        assert_eq!(supplier["name"], "Quayside Parts");
        let path = format!("/v1/suppliers/{}", text(supplier, "id"));
        let note = unique("met on");
        let now = shop
            .patch(Who::Clerk, &path, &json!({ "note": note }))
            .expect(200)
            .json;
        assert_eq!(now["note"], note.as_str());
        // A bin is no supplier.
        shop.get(Who::Reader, &format!("/v1/suppliers/{}", dock.bin))
            .problem(404, "not_found");
    }
}

#[test]
fn faults_of_a_supplier_are_told() {
    for shop in shared() {
        let bad = |body: Value| shop.post(Who::Clerk, "/v1/suppliers", &body);
        bad(json!({ "name": "", "lead_time_days": 731, "colour": 1 })).refused_for(&[
            "#/colour unknown_member",
            "#/lead_time_days out_of_range",
            "#/name out_of_range",
        ]);
        bad(json!({})).refused_for(&["#/name missing"]);
        let foreign =
            json!({ "name": unique("X"), "least_order": { "minor": 1, "currency": "EUR" } });
        let refused = bad(foreign).problem(400, "wrong_currency");
        assert_eq!(refused.faults(), ["#/least_order/currency wrong_currency"]);
    }
}
