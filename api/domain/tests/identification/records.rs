//! Records put to readings: agreement, doubt, contradiction, and what is no candidate.

use plugwell_domain::attribute::Attr;
use plugwell_domain::identification::{Agreement, Sought, Tally};
use plugwell_domain::plug::PlugData;
use plugwell_domain::policy::Policy;
use plugwell_domain::words::Provenance;
use serde_json::{Value, json};

use crate::{readings, record};

fn sought(value: Value) -> Sought {
    Sought::of(&readings(value), &Policy::default())
}

fn plug() -> Value {
    json!({
        "thread": "M14x1.25", "reach_mm": 19, "seat": "gasket", "hex_mm": 16, "hex_kind": "hex",
        "projection_mm": 3, "resistor": true, "resistance_ohm": 5000, "terminal": "solid_nut",
        "ground": "single_strap", "overall_mm": 62, "insulator_mm": 40, "heat_index": 60
    })
}

fn judged(reading: Value, of: Value) -> (Agreement, u32) {
    let sought = sought(reading);
    assert_eq!(sought.readings.len(), 1);
    let judged = sought.judge(&sought.readings[0], &record(of));
    (judged.verdict, judged.cost)
}

#[test]
fn each_reading_agrees_is_doubtful_or_contradicts() {
    use Agreement::{Agrees, Contradicts, Doubtful};
    // Half widths by policy: reach 0.30 + 0.05, hex 0.20 + 0.05, projection and heights 0.50 + 0.05, resistance 40 %
    // of the record, 10 Ω and 5 % of the reading.
    let cases = [
        (json!({ "major_diameter_mm": 13.88 }), Agrees),
        (json!({ "major_diameter_mm": 13.6 }), Doubtful),
        (json!({ "major_diameter_mm": 13.2 }), Doubtful),
        (json!({ "major_diameter_mm": 11.9 }), Contradicts),
        (json!({ "major_diameter_mm": 14.1 }), Contradicts),
        (json!({ "pitch_mm": 1.25 }), Agrees),
        (json!({ "pitch_mm": 1.5 }), Contradicts),
        (json!({ "seat": "gasket" }), Agrees),
        (json!({ "seat": "conical" }), Contradicts),
        (json!({ "reach_mm": 19.35 }), Agrees),
        (json!({ "reach_mm": 19.36 }), Doubtful),
        (json!({ "reach_mm": 19.7 }), Doubtful),
        (json!({ "reach_mm": 19.71 }), Contradicts),
        (json!({ "hex_mm": 15.75 }), Agrees),
        (json!({ "hex_mm": 15.74 }), Doubtful),
        (json!({ "hex_mm": 15.49 }), Contradicts),
        (json!({ "hex_kind": "bi_hex" }), Contradicts),
        (json!({ "projection_mm": 2.45 }), Agrees),
        (json!({ "projection_mm": 4.11 }), Contradicts),
        (json!({ "overall_mm": 62.55 }), Agrees),
        (json!({ "insulator_mm": 41.2 }), Contradicts),
        (json!({ "resistance_ohm": 7300 }), Agrees),
        (json!({ "resistance_ohm": 9000 }), Doubtful),
        (json!({ "resistance_ohm": 3 }), Contradicts),
        // An open resistor says nothing of what the plug was.
        (json!({ "resistance_ohm": 40_000 }), Doubtful),
        (json!({ "ground": "multi_strap" }), Contradicts),
        (json!({ "terminal": "solid_nut" }), Agrees),
        (json!({ "terminal": "removable_nut" }), Contradicts),
        (json!({ "terminal": "stud_m4" }), Contradicts),
    ];
    for (reading, wanted) in cases {
        assert_eq!(judged(reading.clone(), plug()).0, wanted, "{reading}");
    }
    // A nut is lost, put on or stuck.
    for (record, seen) in [
        ("removable_nut", "stud_m4"),
        ("removable_nut", "solid_nut"),
        ("stud_m4", "removable_nut"),
    ] {
        let verdict = judged(json!({ "terminal": seen }), json!({ "terminal": record })).0;
        assert_eq!(verdict, Doubtful, "{record} seen as {seen}");
    }
}

#[test]
fn what_is_unknown_stands_between_what_agrees_and_what_is_doubtful() {
    let reach = |of: Value| judged(json!({ "reach_mm": 19.0 }), of);
    let (unknown, edge, beyond) = (
        reach(json!({})),
        reach(json!({ "reach_mm": 19.35 })),
        reach(json!({ "reach_mm": 19.36 })),
    );
    assert_eq!(unknown.0, Agreement::Doubtful);
    assert!(
        edge.1 <= unknown.1 && unknown.1 < beyond.1,
        "{edge:?} {unknown:?} {beyond:?}"
    );
    // What is only assumed is unknown.
    let mut assumed: PlugData = record(json!({ "reach_mm": 19 }));
    assumed.provenance.insert(Attr::Reach, Provenance::Assumed);
    let sought = sought(json!({ "reach_mm": 19.0 }));
    assert_eq!(sought.judge(&sought.readings[0], &assumed).cost, unknown.1);
}

#[test]
fn a_resistor_is_told_by_its_flag_where_its_ohms_are_unknown() {
    let flag = |flag: bool| json!({ "resistor": flag });
    assert_eq!(
        judged(json!({ "resistance_ohm": 4700 }), flag(true)).0,
        Agreement::Agrees
    );
    assert_eq!(
        judged(json!({ "resistance_ohm": 4700 }), flag(false)).0,
        Agreement::Contradicts
    );
    assert_eq!(
        judged(json!({ "resistance_ohm": 2 }), flag(false)).0,
        Agreement::Agrees
    );
    assert_eq!(
        judged(json!({ "resistance_ohm": 300 }), flag(true)).0,
        Agreement::Doubtful
    );
    let sought = sought(json!({ "resistance_ohm": 4700 }));
    let (name, read, nominal) = sought.in_words(&sought.readings[0], &record(flag(true)));
    assert_eq!(
        (name, read, nominal),
        ("resistor", json!(true), json!(true))
    );
    let (name, read, nominal) = sought.in_words(&sought.readings[0], &record(plug()));
    assert_eq!(
        (name, read, nominal),
        ("resistance_ohm", json!(4700.0), json!(5000.0))
    );
}

fn tally(reading: Value, of: Value) -> Option<Tally> {
    sought(reading).tally(&record(of))
}

#[test]
fn thread_seat_and_reach_rule_out_and_one_other_contradiction_is_borne() {
    let all = json!({
        "major_diameter_mm": 13.88, "pitch_mm": 1.25, "seat": "gasket", "reach_mm": 19, "hex_mm": 16, "resistance_ohm": 5000
    });
    let with = |name: &str, value: Value| {
        let mut of = plug();
        of[name] = value;
        of
    };
    assert_eq!(tally(all.clone(), plug()).map(|t| t.cost), Some(0));
    for (name, value) in [
        ("thread", json!("M12x1.25")),
        ("seat", json!("conical")),
        ("reach_mm", json!(17.5)),
    ] {
        assert_eq!(tally(all.clone(), with(name, value)), None, "{name}");
    }
    let one = tally(all.clone(), with("hex_mm", json!(20.8)));
    assert!(one.is_some_and(|t| t.cost > 8000), "{one:?}");
    let mut two = with("hex_mm", json!(20.8));
    two["resistance_ohm"] = json!(1);
    two["resistor"] = json!(false);
    assert_eq!(tally(all.clone(), two), None);
    // Nothing known speaks for a record, or as much against it.
    assert_eq!(tally(all, json!({})), None);
    assert_eq!(tally(json!({ "hex_mm": 25 }), plug()), None);
    assert_eq!(
        tally(json!({ "hex_mm": 25, "seat": "gasket" }), plug()),
        None
    );
    assert!(
        tally(
            json!({ "hex_mm": 25, "seat": "gasket", "reach_mm": 19 }),
            plug()
        )
        .is_some()
    );
}
