//! Samples against records. Limits follow from the policy that a shop begins with: reach ± 0.3 mm and
//! caliper 0.05 mm, gap of a sealed plug ± 0.1 mm and gauge 0.02 mm (common practice, no source; own).

use chrono::DateTime;
use plugwell_domain::attribute::Attr;
use plugwell_domain::decimal::{Decimal, Length};
use plugwell_domain::incoming::{IncomingCheck, JudgedSample, SampleReading, SampleVerdict, judge};
use plugwell_domain::ledger::{Condition, Lot};
use plugwell_domain::plug::PlugData;
use plugwell_domain::policy::Policy;
use plugwell_domain::words::Provenance;
use serde_json::{Value, json};
use uuid::Uuid;

fn lot(gap: Option<f64>) -> Lot {
    Lot {
        id: Uuid::from_u128(1),
        code: "L1".into(),
        plug_id: Uuid::from_u128(2),
        supplier: "Hollis".into(),
        received_at: DateTime::UNIX_EPOCH,
        quantity_received: 8,
        total_cost: None,
        pack_size: None,
        condition: if gap.is_some() {
            Condition::Gapped
        } else {
            Condition::Sealed
        },
        gap_mm: gap.map(|mm| Length::exact(mm).expect("a length")),
        from_lot_id: None,
        order_line_id: None,
    }
}

fn record(value: Value) -> PlugData {
    let mut data = PlugData::named("Ferrowick", "FW-1");
    for (name, value) in value.as_object().expect("an object") {
        let attr: Attr = name.parse().expect("an attribute");
        data.facts
            .set(attr, Some(attr.from_json(value).expect("a value")));
    }
    data
}

fn judged(readings: Value, record: &PlugData, lot: &Lot) -> JudgedSample {
    let mut body = json!({ "lot_id": lot.id, "sample": 10 });
    body.as_object_mut()
        .expect("an object")
        .extend(readings.as_object().expect("an object").clone());
    let check: IncomingCheck = serde_json::from_value(body).expect("a check");
    let mut all = judge(&check, record, lot, &Policy::default());
    assert_eq!(all.len(), 1);
    all.remove(0)
}

#[test]
fn a_reach_agrees_up_to_tolerance_and_uncertainty_together() {
    let plug = record(json!({ "reach_mm": 19.0 }));
    for (read, verdict) in [
        (18.65, SampleVerdict::Agrees),
        (18.6499, SampleVerdict::Contradicts),
        (19.35, SampleVerdict::Agrees),
        (19.3501, SampleVerdict::Contradicts),
    ] {
        let sample = judged(json!({ "reach_mm": [read] }), &plug, &lot(None));
        assert_eq!(sample.verdict, verdict, "{read}: {}", sample.text);
        assert_eq!(
            (sample.from, sample.to, sample.record),
            (Some(18.65), Some(19.35), Some(19.0))
        );
    }
    // A better caliper proves more.
    let better = json!({ "reach_mm": [19.35], "uncertainty": { "reach_mm": 0.01 } });
    assert_eq!(
        judged(better, &plug, &lot(None)).verdict,
        SampleVerdict::Contradicts
    );
}

#[test]
fn a_gap_is_put_to_the_box_or_to_what_the_lot_was_set_to() {
    let plug = record(json!({ "gap_preset_mm": 0.8 }));
    let verdict = |gap: f64, lot: &Lot| judged(json!({ "gap_mm": [gap] }), &plug, lot).verdict;
    assert_eq!(verdict(0.92, &lot(None)), SampleVerdict::Agrees);
    assert_eq!(verdict(0.9201, &lot(None)), SampleVerdict::Contradicts);
    // Set to 0.7 within 0.025 mm: the box's 0.8 would be wrong there.
    assert_eq!(verdict(0.745, &lot(Some(0.7))), SampleVerdict::Agrees);
    assert_eq!(verdict(0.8, &lot(Some(0.7))), SampleVerdict::Contradicts);
    let unknown = judged(json!({ "gap_mm": [0.1] }), &record(json!({})), &lot(None));
    assert_eq!(
        (unknown.verdict, unknown.from),
        (SampleVerdict::Unknown, None)
    );
}

#[test]
fn one_reading_of_many_is_enough_and_all_are_counted() {
    let plug = record(json!({ "resistance_ohm": 5000 }));
    let sample = judged(
        json!({ "resistance_ohm": [5000, 5100, 2, 90_000] }),
        &plug,
        &lot(None),
    );
    assert_eq!(sample.reading, SampleReading::Resistance);
    assert_eq!(
        (sample.measured, sample.contradicting),
        (4, 2),
        "an open resistor is no resistor of the record"
    );
    assert_eq!((sample.least, sample.greatest), (2.0, 90_000.0));
    assert!(
        sample.text.contains("2 of 4 contradict the record"),
        "{}",
        sample.text
    );
}

#[test]
fn the_flag_alone_tells_whether_there_is_a_resistor() {
    let with = record(json!({ "resistor": true }));
    let without = record(json!({ "resistor": false }));
    let verdict = |plug: &PlugData, ohm: f64| {
        judged(json!({ "resistance_ohm": [ohm] }), plug, &lot(None)).verdict
    };
    assert_eq!(verdict(&with, 5000.0), SampleVerdict::Agrees);
    assert_eq!(verdict(&with, 1.0), SampleVerdict::Contradicts);
    assert_eq!(verdict(&without, 1.0), SampleVerdict::Agrees);
    assert_eq!(verdict(&without, 5000.0), SampleVerdict::Contradicts);
}

#[test]
fn what_is_only_assumed_contradicts_nothing() {
    let mut plug = record(json!({ "reach_mm": 19.0 }));
    plug.provenance.insert(Attr::Reach, Provenance::Assumed);
    let sample = judged(json!({ "reach_mm": [12.7] }), &plug, &lot(None));
    assert_eq!(
        (sample.verdict, sample.record),
        (SampleVerdict::Unknown, None)
    );
    assert_eq!(Decimal::<4>(190_000).get(), 19.0);
}
