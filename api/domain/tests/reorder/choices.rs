//! Which lines become orders.

use plugwell_domain::fault::{Check, FaultCode};
use plugwell_domain::reorder::OrderChoice;
use serde_json::{Value, json};
use uuid::Uuid;

fn choice(body: Value) -> OrderChoice {
    serde_json::from_value(body).unwrap()
}

#[test]
fn null_takes_all_and_names_are_compared_case_blind() {
    let part = Uuid::from_u128(7);
    let all = choice(json!({}));
    assert!(all.takes_supplier(None) && all.takes_part(part) && !all.names_part(part));
    let some = choice(json!({ "suppliers": [" Ostra Parts"], "plug_ids": [part] }));
    assert!(some.takes_supplier(Some("OSTRA PARTS")) && !some.takes_supplier(Some("Ostra")));
    assert!(
        !some.takes_supplier(None),
        "nobody's supplier was not named"
    );
    assert!(some.names_part(part) && !some.takes_part(Uuid::nil()));
}

#[test]
fn an_empty_choice_is_a_slip() {
    let found = choice(json!({ "suppliers": [], "plug_ids": [] })).faults();
    let codes: Vec<_> = found.iter().map(|f| (f.pointer.as_str(), f.code)).collect();
    assert_eq!(
        codes,
        [
            ("#/suppliers", FaultCode::OutOfRange),
            ("#/plug_ids", FaultCode::OutOfRange)
        ]
    );
    let found = choice(json!({ "suppliers": ["Ostra", ""] })).faults();
    assert_eq!(found[0].pointer, "#/suppliers/1");
}

#[test]
fn a_quantity_is_given_once_and_only_for_a_part_that_is_named() {
    let (one, other) = (Uuid::from_u128(1), Uuid::from_u128(2));
    let some = choice(json!({
        "plug_ids": [one, other], "quantities": [{ "plug_id": one, "quantity": 12 }],
    }));
    assert_eq!(some.faults(), []);
    assert_eq!(
        (some.quantity_of(one), some.quantity_of(other)),
        (Some(12), None)
    );
    let wrong = choice(json!({
        "plug_ids": [one],
        "quantities": [
            { "plug_id": one, "quantity": 0 }, { "plug_id": one, "quantity": 4 },
            { "plug_id": other, "quantity": 4 },
        ],
    }));
    let found = wrong.faults();
    let codes: Vec<_> = found.iter().map(|f| (f.pointer.as_str(), f.code)).collect();
    assert_eq!(
        codes,
        [
            ("#/quantities/0/quantity", FaultCode::OutOfRange),
            ("#/quantities/1/plug_id", FaultCode::Duplicate),
            ("#/quantities/2/plug_id", FaultCode::NotTogether),
        ]
    );
}
