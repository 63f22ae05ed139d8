//! What a record is called: names, texts and the number on the box.

use serde_json::json;

use crate::{ID, assert_faults, read, with};

#[test]
fn names_and_texts() {
    let data = read(&with(
        &json!({"maker": " Ferrowick ", "part_number": "FW 3207\u{a0}"}),
    ))
    .expect("trimmed");
    assert_eq!(
        (data.maker.as_str(), data.part_number.as_str()),
        ("Ferrowick", "FW 3207")
    );
    assert_faults(json!({"maker": null}), &[("#/maker", "missing")]);
    assert_faults(
        json!({"part_number": null}),
        &[("#/part_number", "missing")],
    );
    assert_faults(json!({"maker": ""}), &[("#/maker", "out_of_range")]);
    assert_faults(
        json!({"part_number": " \t"}),
        &[("#/part_number", "out_of_range")],
    );
    assert_faults(json!({"maker": 7}), &[("#/maker", "wrong_type")]);
    assert_faults(json!({"maker": "ü".repeat(80)}), &[]);
    assert_faults(
        json!({"maker": "ü".repeat(81)}),
        &[("#/maker", "out_of_range")],
    );
    assert_faults(
        json!({"part_number": "FW\n3207"}),
        &[("#/part_number", "wrong_form")],
    );
    assert_faults(json!({"description": "x".repeat(500)}), &[]);
    assert_faults(
        json!({"description": "x".repeat(501)}),
        &[("#/description", "out_of_range")],
    );
    assert_faults(
        json!({"heat_code": "\u{0}"}),
        &[("#/heat_code", "wrong_form")],
    );
    assert_faults(json!({"status": "discontinued"}), &[]);
    assert_faults(json!({"status": null}), &[]);
    assert_faults(json!({"status": "retired"}), &[("#/status", "not_in_list")]);
    assert_faults(json!({"superseded_by": ID}), &[]);
    assert_faults(
        json!({"superseded_by": "FW-3208"}),
        &[("#/superseded_by", "wrong_form")],
    );
    assert_faults(
        json!({"heat_scale_id": 7}),
        &[("#/heat_scale_id", "wrong_type")],
    );
}

#[test]
fn a_gtin_has_digits_a_length_and_a_check_digit() {
    assert_faults(json!({"gtin": null}), &[]);
    assert_faults(
        json!({"gtin": "2000000000016"}),
        &[("#/gtin", "wrong_check_digit")],
    );
    // Two neighbours swapped.
    assert_faults(
        json!({"gtin": "2000000000105"}),
        &[("#/gtin", "wrong_check_digit")],
    );
    assert_faults(
        json!({"gtin": "200000000001"}),
        &[("#/gtin", "wrong_check_digit")],
    );
    assert_faults(json!({"gtin": "20000000001"}), &[("#/gtin", "wrong_form")]);
    assert_faults(
        json!({"gtin": "2000000-00015"}),
        &[("#/gtin", "wrong_form")],
    );
    assert_faults(json!({"gtin": ""}), &[("#/gtin", "wrong_form")]);
    assert_faults(
        json!({"gtin": 2_000_000_000_015_i64}),
        &[("#/gtin", "wrong_type")],
    );
}
