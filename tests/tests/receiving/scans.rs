//! What a scanned or typed text is taken for. Numbers are of the ranges that GS1 keeps for use inside a
//! shop (General Specifications); check digits worked out beside the standard's own example.

use plugwell_tests::bodies::{place, receive, unique};
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};

use crate::dock::{Dock, text};

/// A part's own number as GTIN-13, and the same item in a carton as GTIN-14.
const ITEM: &str = "2012345000124";
const CARTON: &str = "22012345000128";

fn steps(scan: &Value) -> Vec<&str> {
    let next = scan["next"].as_array().expect("steps");
    next.iter()
        .map(|step| step["step"].as_str().expect("a word"))
        .collect()
}

#[test]
fn a_number_in_every_form_is_the_part_and_so_many_plugs() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let part = dock.part(json!({ "gtin": ITEM, "pack_size": 4 }));
        for (scanned, kind, packs, quantity) in [
            (ITEM, "gtin", 1, 4),
            ("02012345000124", "gtin", 1, 4),
            ("]E02012345000124", "gtin", 1, 4),
            ("(01)02012345000124", "element_string", 1, 4),
            // Sixteen digits are no GTIN: they are the element string without its mark.
            ("0102012345000124", "element_string", 1, 4),
            ("]C10102012345000124373", "element_string", 3, 12),
            ("(01)02012345000124(37)3", "element_string", 3, 12),
            ("(02)02012345000124(37)6", "element_string", 6, 24),
            (
                "]d20202012345000124376\u{1d}10AB-12",
                "element_string",
                6,
                24,
            ),
        ] {
            let scan = dock.scan(scanned).expect(200).json;
            assert_eq!(scan["part"]["id"], *part, "{scanned}: {scan}");
            assert_eq!(scan["kind"], kind, "{scanned}");
            assert_eq!(
                (&scan["packs"], &scan["plugs_per_pack"]),
                (&json!(packs), &json!(4))
            );
            assert_eq!(scan["quantity"], quantity, "{scanned}");
            assert_eq!(steps(&scan), ["receive", "look"]);
            assert_eq!(scan["next"][0]["body"]["quantity"], quantity);
        }
        what_the_label_says_besides(&dock);
        a_carton_of_it(&dock, &part);
    }
}

/// Batch, serial number and a count in its wrong place.
fn what_the_label_says_besides(dock: &Dock<'_>) {
    let whole = dock
        .scan("(01)02012345000124(10)AB-12(17)300200(21)S/9")
        .expect(200)
        .json;
    assert_eq!(
        (&whole["batch"], &whole["serial"]),
        (&json!("AB-12"), &json!("S/9"))
    );
    assert_eq!(whole["next"][0]["body"]["reference"], "batch AB-12");
    assert_eq!(
        whole["elements"][2],
        json!({ "ai": "17", "title": "expiry date", "value": "300200" })
    );
    assert!(
        text(&whole, "said").contains("1 pack of 4: 4 plugs."),
        "{whole}"
    );
    let odd = dock.scan("(01)02012345000124(37)3").expect(200).json;
    assert!(
        text(&odd, "said").contains("(37) goes with what is contained (02)"),
        "{odd}"
    );
    let uncounted = dock.scan("(02)02012345000124").expect(200).json;
    assert_eq!(
        (&uncounted["packs"], &uncounted["quantity"]),
        (&Value::Null, &Value::Null)
    );
}

/// A number that the shop does not know, of a carton of the part.
fn a_carton_of_it(dock: &Dock<'_>, part: &str) {
    // The carton is unknown, but its number says what is in it; how many nobody has said.
    let carton = dock.scan(CARTON).expect(200).json;
    assert_eq!(
        (&carton["part"], &carton["near"][0]["plug_id"]),
        (&Value::Null, &json!(part))
    );
    assert_eq!(steps(&carton), ["choose", "attach_barcode"]);
    let attach = &carton["next"][1];
    assert_eq!(attach["body"], json!({ "code": CARTON }));
    dock.shop
        .post(
            Who::Clerk,
            &text(attach, "path"),
            &json!({ "code": CARTON, "plugs": 40 }),
        )
        .expect(201);
    let carton = dock.scan(&format!("(02){CARTON}(37)2")).expect(200).json;
    assert_eq!(
        (&carton["part"]["id"], &carton["quantity"]),
        (&json!(part), &json!(80))
    );
}

#[test]
fn a_pack_of_which_nobody_knows_the_size_has_no_quantity() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let gtin = plugwell_tests::bodies::gtin(77_001);
        dock.part(json!({ "gtin": gtin, "pack_size": null }));
        let scan = dock.scan(&gtin).expect(200).json;
        assert_eq!(
            (&scan["packs"], &scan["quantity"]),
            (&json!(1), &Value::Null)
        );
        assert!(text(&scan, "said").contains("count them"), "{scan}");
        assert!(scan["next"][0]["body"].get("quantity").is_none());
        // Two parts with one number: neither is taken for certain.
        dock.part(json!({ "gtin": gtin }));
        let scan = dock.scan(&gtin).expect(200).json;
        assert_eq!(scan["part"], Value::Null);
        assert_eq!(scan["near"].as_array().map(Vec::len), Some(2));
    }
}

#[test]
fn an_unknown_number_says_so_and_how_to_attach_it() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let gtin = plugwell_tests::bodies::gtin(77_002);
        let scan = dock.scan(&gtin).expect(200).json;
        assert_eq!(
            (&scan["kind"], &scan["part"], &scan["quantity"]),
            (&json!("gtin"), &Value::Null, &Value::Null)
        );
        assert_eq!(steps(&scan), ["attach_barcode", "create_part"]);
        assert_eq!(scan["next"][1]["body"], json!({ "gtin": gtin }));
        assert!(text(&scan, "said").contains("no part here has"), "{scan}");
        // A new record on the spot.
        let part = dock.part(scan["next"][1]["body"].clone());
        assert_eq!(dock.scan(&gtin).expect(200).json["part"]["id"], *part);
        let nameless = dock.scan("(10)AB").expect(200).json;
        assert_eq!(
            (&nameless["part"], &nameless["next"]),
            (&Value::Null, &json!([]))
        );
    }
}

#[test]
fn a_bar_code_with_faults_is_refused_with_all_of_them() {
    for shop in shared() {
        let dock = Dock::new(shop);
        dock.scan("2012345000123")
            .refused_for(&["?text wrong_check_digit"]);
        dock.scan("(01)02012345000123(17)301340(37)0(99)X")
            .refused_for(&[
                "?text not_in_list",
                "?text out_of_range",
                "?text wrong_check_digit",
                "?text wrong_form",
            ]);
        dock.scan("]C1010201234500012")
            .refused_for(&["?text wrong_form"]);
        dock.scan(" ").refused_for(&["?text out_of_range"]);
        dock.scan("a\u{7}b").refused_for(&["?text wrong_form"]);
        shop.get(Who::Reader, "/v1/scans")
            .refused_for(&["?text missing"]);
        shop.get(Who::Reader, "/v1/scans?text=a&txet=b")
            .refused_for(&["?txet unknown_member"]);
    }
}

#[test]
fn the_shops_own_labels_are_lots_places_and_orders() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let part = dock.part(json!({}));
        let moved = receive(shop, &part, &dock.bin, 8);
        let lot = shop
            .get(
                Who::Reader,
                &format!("/v1/stock/lots/{}", text(&moved, "lot_id")),
            )
            .expect(200)
            .json;
        for code in [text(&lot, "code"), text(&lot, "code").to_lowercase()] {
            let scan = dock.scan(&code).expect(200).json;
            assert_eq!((&scan["kind"], &scan["lot"]), (&json!("lot_code"), &lot));
            assert_eq!(scan["part"]["id"], *part);
            assert_eq!(steps(&scan), ["look", "check"]);
        }
        let bin = shop
            .get(Who::Reader, &format!("/v1/stock/places/{}", dock.bin))
            .expect(200)
            .json;
        let scan = dock.scan(&text(&bin, "code")).expect(200).json;
        assert_eq!(
            (&scan["kind"], &scan["place"]),
            (&json!("place_code"), &bin)
        );
        let by_name = dock
            .scan(&text(&bin, "name").to_uppercase())
            .expect(200)
            .json;
        assert_eq!(
            (&by_name["kind"], &by_name["place"]),
            (&json!("name"), &bin)
        );
        let order = dock.order(&[(&part, 8)]);
        let scan = dock.scan(&text(&order, "code")).expect(200).json;
        assert_eq!(
            (&scan["kind"], &scan["order_id"]),
            (&json!("order_code"), &order["id"])
        );
        let nothing = dock.scan("L999999").expect(200).json;
        assert_eq!(
            (&nothing["kind"], &nothing["lot"]),
            (&json!("name"), &Value::Null)
        );
        let job = unique("Job Kite");
        place(shop, "job", &job);
        assert_eq!(dock.scan(&job).expect(200).json["place"]["kind"], "job");
    }
}

#[test]
fn a_part_number_is_found_and_one_nearly_so_is_proposed() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let number = unique("ZK-40O1");
        let part = dock.part(json!({ "part_number": number }));
        let exact = dock.scan(&number.to_lowercase()).expect(200).json;
        assert_eq!(
            (&exact["kind"], &exact["part"]["id"]),
            (&json!("name"), &json!(part))
        );
        assert_eq!(
            (&exact["packs"], &exact["quantity"]),
            (&Value::Null, &Value::Null)
        );
        let slip = number.replace("40O1", "4001");
        let near = dock.scan(&slip).expect(200).json;
        assert_eq!(near["part"], Value::Null, "never taken for it");
        assert_eq!(near["near"][0]["plug_id"], *part);
        assert_eq!(near["near"][0]["spelling"], "lookalike");
        assert_eq!(steps(&near)[0], "choose");
        let nothing = dock.scan("nothing-of-the-kind").expect(200).json;
        assert_eq!(steps(&nothing), ["attach_barcode", "create_part"]);
    }
}

#[test]
fn the_bin_where_the_part_lies_is_proposed_and_the_order_that_waits() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let number = unique("BN");
        let part = dock.part(json!({ "part_number": number }));
        let first = dock.scan(&number).expect(200).json;
        assert_eq!(first["proposed_bin"], Value::Null, "it never lay anywhere");
        let other = plugwell_tests::bodies::bin(shop, &unique("other"));
        receive(shop, &part, &other, 4);
        receive(shop, &part, &dock.bin, 6);
        let scan = dock.scan(&number).expect(200).json;
        assert_eq!(
            scan["proposed_bin"]["place_id"], *dock.bin,
            "most of them lie there"
        );
        assert_eq!(scan["proposed_bin"]["why"], "6 of them lie there already");
        let issue = json!({ "plug_id": part, "job": unique("J"), "quantity": 10 });
        shop.once(Who::Clerk, "/v1/stock/issues", &issue)
            .expect(201);
        let empty = dock.scan(&number).expect(200).json;
        assert_eq!(empty["proposed_bin"]["why"], "it last lay there");
        let order = dock.order(&[(&part, 12)]);
        let scan = dock.scan(&number).expect(200).json;
        let line = &order["lines"][0];
        let wanted = json!([{
            "order_id": order["id"], "order_code": order["code"], "order_line_id": line["id"],
            "supplier": dock.supplier, "missing": 12
        }]);
        assert_eq!(scan["waiting"], wanted);
        let draft = &scan["next"][0]["body"];
        assert_eq!(
            (&draft["order_line_id"], &draft["supplier"]),
            (&line["id"], &json!(dock.supplier))
        );
        assert_eq!(draft["place_id"], scan["proposed_bin"]["place_id"]);
    }
}
