//! What whoever puts a plug in is told.

mod engine;

use engine::need;
use plugwell_domain::attribute::Attr;
use plugwell_domain::decimal::Decimal;
use plugwell_domain::fitting::{GapAdvice, Washer, gap_advice, how_to_gap, torque_of, turns};
use plugwell_domain::plug::PlugData;
use plugwell_domain::requirement::{TorqueNeed, set_gap_of};
use plugwell_domain::thread::Thread;
use plugwell_domain::thread_limits::METRIC;
use plugwell_domain::words::{Provenance, Seat};
use serde_json::json;

fn plug(facts: &[(Attr, i64)]) -> PlugData {
    let mut data = PlugData::named("Ferrowick", "FW-3207");
    for (attr, raw) in facts {
        data.facts.set(*attr, Some(*raw));
    }
    data
}

// Turns: common practice, no source. Travel: pitch × turn, 1.25 mm pitch: 0.625 to 0.833 mm, a sixteenth of a
// turn 0.078 mm; 1.5 mm pitch a sixteenth 0.094 mm (computed).
#[test]
fn the_turn_follows_seat_and_washer_and_the_travel_the_pitch() {
    let gasket = turns(Thread::M14x125, Seat::Gasket);
    assert_eq!(gasket.len(), 2);
    assert_eq!(
        (gasket[0].washer, gasket[0].turn_deg),
        (Some(Washer::New), [180.0, 240.0])
    );
    let near = |a: f64, b: f64| assert!((a - b).abs() < 5e-6, "{a} {b}");
    near(gasket[0].travel_mm[0], 0.625);
    near(gasket[0].travel_mm[1], 0.833_33);
    assert_eq!(
        (gasket[1].washer, gasket[1].turn_deg),
        (Some(Washer::Reused), [30.0, 30.0])
    );
    for (thread, travel) in [(Thread::M14x125, 0.078_125), (Thread::M18x15, 0.093_75)] {
        let cone = turns(thread, Seat::Conical);
        assert_eq!(
            (cone.len(), cone[0].washer, cone[0].turn_deg),
            (1, None, [22.5, 22.5])
        );
        near(cone[0].travel_mm[0], travel);
        assert!(cone[0].source.contains("no source"));
    }
    assert!(
        turns(Thread::Npt12, Seat::Gasket).is_empty(),
        "a taper thread seals in itself"
    );
}

#[test]
fn the_pitch_is_that_of_the_table_of_limits() {
    for row in METRIC {
        let thread: Thread = row.designation.parse().unwrap();
        assert_eq!(
            thread.pitch_mm() * 1000.0,
            f64::from(row.pitch_um),
            "{thread}"
        );
    }
    // 18 threads to the inch of 25.4 mm exactly (NIST SP 811).
    assert!((Thread::Uns78.pitch_mm() - 1.411_111).abs() < 1e-6);
}

#[test]
fn the_parts_own_torque_stands_above_the_table() {
    let row = TorqueNeed {
        min: 20.0,
        max: 30.0,
        source: "from memory".into(),
    };
    let bare = plug(&[]);
    let of_the_table = TorqueNeed {
        source: "from memory, check the maker's sheet".into(),
        ..row.clone()
    };
    assert_eq!(torque_of(&bare, Some(&row)), Some(of_the_table.clone()));
    assert_eq!(torque_of(&bare, None), None, "none is guessed");
    let mut own = plug(&[(Attr::Torque, 2_500)]);
    let told = torque_of(&own, Some(&row)).unwrap();
    assert_eq!((told.min, told.max), (25.0, 25.0));
    assert!(told.source.ends_with("maker sheet"), "{}", told.source);
    own.provenance.insert(Attr::Torque, Provenance::Assumed);
    assert_eq!(
        torque_of(&own, Some(&row)),
        Some(of_the_table),
        "an assumed one is unknown"
    );
}

#[test]
fn how_to_gap_depends_on_how_the_plug_comes() {
    let (preset, min, max) = (
        (Attr::GapPreset, 8_000),
        (Attr::GapMin, 6_000),
        (Attr::GapMax, 11_000),
    );
    let bent = how_to_gap(
        &plug(&[preset, min, max]),
        Some(Decimal(8_100)),
        GapAdvice::Set,
    );
    assert!(
        bent.starts_with("Set every one") && bent.contains("screw-type tool"),
        "{bent}"
    );
    let as_it_came = how_to_gap(
        &plug(&[preset, min, max]),
        Some(Decimal(8_000)),
        GapAdvice::Set,
    );
    assert!(
        as_it_came.starts_with("It leaves its maker at this gap"),
        "{as_it_came}"
    );
    let fixed = plug(&[preset, (Attr::GapMin, 8_000), (Attr::GapMax, 8_000)]);
    assert!(how_to_gap(&fixed, Some(Decimal(8_000)), GapAdvice::Set).contains("never bend it"));
    assert!(how_to_gap(&plug(&[]), None, GapAdvice::Keep).starts_with("Leave the gap as it came"));
    let unknown = how_to_gap(&plug(&[]), None, GapAdvice::Unknown);
    assert!(unknown.starts_with("No gap can be told"), "{unknown}");
    let weak = how_to_gap(&plug(&[]), None, GapAdvice::CoilTooWeak);
    assert!(weak.contains("do not fit it"), "{weak}");
}

/// Coils: 34 kV fires the practice band of this engine, 5 kV nothing that can be used (own figures); the least
/// usable gap and the band without boost are the policy's.
#[test]
fn what_is_done_about_the_gap_is_told_in_one_word() {
    let calm = |coil: f64| json!({ "induction": "naturally_aspirated", "boost_kpa": null, "coil_kv": coil });
    let bare: &[(Attr, i64)] = &[];
    let narrow: &[(Attr, i64)] = &[(Attr::GapMin, 4_000), (Attr::GapMax, 6_000)];
    let wide: &[(Attr, i64)] = &[(Attr::GapPreset, 30_000), (Attr::GapMin, 28_000)];
    for (changes, facts, told) in [
        (json!({}), bare, GapAdvice::Set),
        (json!({ "power_kw": null }), bare, GapAdvice::Unknown),
        (json!({ "coil_kv": 5 }), bare, GapAdvice::CoilTooWeak),
        (json!({ "coil_kv": 5, "gap_mm": 0.6 }), bare, GapAdvice::Set),
        (calm(34.0), bare, GapAdvice::Set),
        // It cannot be bent up to practice, and fires as it came.
        (calm(34.0), narrow, GapAdvice::Keep),
        // It cannot be bent down to what the coil fires.
        (calm(20.0), wide, GapAdvice::CoilTooWeak),
        // Never 0.1 mm for a plug whose own range nobody knows.
        (calm(5.0), bare, GapAdvice::CoilTooWeak),
        (calm(5.0), narrow, GapAdvice::CoilTooWeak),
    ] {
        let need = need(changes.clone());
        let plug = plug(facts);
        assert_eq!(gap_advice(&plug, &need), told, "{changes} {facts:?}");
        let set = set_gap_of(&plug, &need).0;
        assert_eq!(set.is_some(), told == GapAdvice::Set, "{changes} {set:?}");
    }
}
