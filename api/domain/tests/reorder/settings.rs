//! What is given by hand.

use plugwell_domain::fault::{Check, FaultCode};
use plugwell_domain::policy::Policy;
use plugwell_domain::reorder::{LeadDays, LeadSource, Reordering};
use serde_json::{Value, json};

fn given(body: Value) -> Reordering {
    serde_json::from_value(body).unwrap()
}

fn faults(body: Value) -> Vec<(String, FaultCode)> {
    given(body)
        .faults()
        .into_iter()
        .map(|f| (f.pointer, f.code))
        .collect()
}

#[test]
fn every_fault_is_told_at_once() {
    let found = faults(json!({
        "supplier": " ", "min_quantity": 12, "max_quantity": 12, "service_level": 0.4,
        "lead_time_days": -1, "lead_time_sd_days": 731, "pack_size": 0
    }));
    let expected = [
        ("#/supplier", FaultCode::OutOfRange),
        ("#/max_quantity", FaultCode::Contradiction),
        ("#/service_level", FaultCode::OutOfRange),
        ("#/lead_time_days", FaultCode::OutOfRange),
        ("#/lead_time_sd_days", FaultCode::OutOfRange),
        ("#/pack_size", FaultCode::OutOfRange),
    ];
    assert_eq!(
        found,
        expected.map(|(pointer, code)| (pointer.to_owned(), code))
    );
    assert_eq!(
        faults(json!({ "min_quantity": 4 })),
        [("#/max_quantity".to_owned(), FaultCode::Missing)]
    );
    assert_eq!(
        faults(json!({ "max_quantity": 4 })),
        [("#/min_quantity".to_owned(), FaultCode::Missing)]
    );
    assert_eq!(
        faults(json!({ "min_quantity": 0, "max_quantity": 4, "service_level": 0.9999 })),
        []
    );
    assert!(serde_json::from_value::<Reordering>(json!({ "minimum": 3 })).is_err());
}

#[test]
fn a_lead_time_rests_on_the_best_that_is_known() {
    let values = &Policy::default().values;
    let of =
        |hand: Value, past: &[f64], promised| LeadDays::of(&given(hand), past, promised, values);
    // Two deliveries of 8 and 12 days: mean 10, deviation √8 over n - 1.
    let measured = of(json!({}), &[8.0, 12.0], Some(3));
    assert_eq!(
        (measured.mean, measured.source, measured.deliveries),
        (10.0, LeadSource::PastOrders, 2)
    );
    assert!((measured.sd - 8.0_f64.sqrt()).abs() < 1e-12 && !measured.spread_assumed);
    let one = of(json!({}), &[8.0], Some(3));
    assert!(
        (one.sd - 2.4).abs() < 1e-12 && one.spread_assumed,
        "0.3 of 8 days by policy: {one:?}"
    );
    let promised = of(json!({}), &[], Some(3));
    assert_eq!(
        (promised.mean, promised.source),
        (3.0, LeadSource::Promised)
    );
    let policy = of(json!({}), &[], None);
    assert_eq!((policy.mean, policy.source), (7.0, LeadSource::Policy));
    let hand = of(
        json!({ "lead_time_days": 20, "lead_time_sd_days": 0 }),
        &[8.0, 12.0],
        Some(3),
    );
    assert_eq!(
        (hand.mean, hand.sd, hand.source, hand.spread_assumed),
        (20.0, 0.0, LeadSource::ByHand, false)
    );
    let spread = of(json!({ "lead_time_sd_days": 1 }), &[8.0, 12.0], None);
    assert_eq!((spread.mean, spread.sd), (10.0, 1.0));
}
