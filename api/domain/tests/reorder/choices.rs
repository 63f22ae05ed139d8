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
