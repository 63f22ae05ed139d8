//! Barcodes that the shop attaches to parts.

use plugwell_tests::bodies::{gtin, unique};
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::dock::{Dock, text};

#[test]
fn a_barcode_is_attached_once_found_and_taken_off() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let (part, other) = (dock.part(json!({})), dock.part(json!({})));
        let path = format!("/v1/plugs/{part}/barcodes");
        let code = unique("QP/77");
        let made = shop
            .post(Who::Clerk, &path, &json!({ "code": code, "plugs": 20 }))
            .expect(201);
        assert_eq!(
            (&made.json["plug_id"], &made.json["plugs"]),
            (&json!(part), &json!(20))
        );
        assert_eq!(made.json["recorded_by"], "test clerk");
        let at = made.header("location").expect("where it is").to_owned();
        assert_eq!(shop.get(Who::Reader, &at).expect(200).json, made.json);
        assert_eq!(
            shop.all(Who::Reader, &path),
            std::slice::from_ref(&made.json)
        );
        let scan = dock.scan(&code).expect(200).json;
        assert_eq!(
            (&scan["kind"], &scan["quantity"]),
            (&json!("barcode"), &json!(20))
        );
        assert_eq!(scan["part"]["id"], *part);
        let again = shop.post(
            Who::Clerk,
            &format!("/v1/plugs/{other}/barcodes"),
            &json!({ "code": code }),
        );
        again.problem(409, "duplicate_record");
        shop.delete(Who::Clerk, &at).expect(204);
        shop.get(Who::Reader, &at).problem(404, "not_found");
        assert_eq!(dock.scan(&code).expect(200).json["part"], Value::Null);
        shop.post(
            Who::Clerk,
            &format!("/v1/plugs/{other}/barcodes"),
            &json!({ "code": code }),
        )
        .expect(201);
        // A part that nothing was ever done with goes, and its barcodes with it.
        shop.delete(Who::Clerk, &format!("/v1/plugs/{other}"))
            .expect(204);
        assert_eq!(dock.scan(&code).expect(200).json["part"], Value::Null);
    }
}

#[test]
fn one_number_is_one_barcode_in_whatever_length_it_is_printed() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let (part, other) = (dock.part(json!({})), dock.part(json!({})));
        // GTIN-8 of the range for use inside a shop, and the same number behind noughts.
        let attach = |part: &str, code: &str| {
            shop.post(
                Who::Clerk,
                &format!("/v1/plugs/{part}/barcodes"),
                &json!({ "code": code }),
            )
        };
        attach(&part, "20012342").expect(201);
        attach(&other, "0000020012342").problem(409, "duplicate_record");
        assert_eq!(
            dock.scan("(01)00000020012342").expect(200).json["part"]["id"],
            *part
        );
        // Nor is it another part's own number.
        let own = gtin(77_100);
        let third = dock.part(json!({ "gtin": own }));
        let refused = attach(&other, &format!("0{own}")).problem(409, "duplicate_record");
        assert!(text(&refused.json, "detail").contains(&own), "{refused:?}");
        attach(&third, &own).expect(201);
    }
}

#[test]
fn what_is_no_barcode_is_refused() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let part = dock.part(json!({}));
        let bad = |body: Value| shop.post(Who::Clerk, &format!("/v1/plugs/{part}/barcodes"), &body);
        for (code, fault) in [
            ("L12", "#/code contradiction"),
            ("p7", "#/code contradiction"),
            ("(01)02012345000124", "#/code contradiction"),
            ("(01)02012345000123", "#/code wrong_form"),
            ("2012345000123", "#/code wrong_check_digit"),
            ("two words", "#/code wrong_form"),
            ("Ω", "#/code wrong_form"),
        ] {
            bad(json!({ "code": code })).refused_for(&[fault]);
        }
        bad(json!({ "code": "", "plugs": 0 }))
            .refused_for(&["#/code out_of_range", "#/plugs out_of_range"]);
        bad(json!({})).refused_for(&["#/code missing"]);
        shop.post(
            Who::Clerk,
            &format!("/v1/plugs/{}/barcodes", Uuid::now_v7()),
            &json!({ "code": "X" }),
        )
        .problem(404, "not_found");
        assert!(
            shop.all(Who::Reader, &format!("/v1/plugs/{part}/barcodes"))
                .is_empty()
        );
    }
}
