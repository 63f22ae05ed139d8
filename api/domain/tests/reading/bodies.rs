//! Faults of a reading.

use plugwell_domain::fault::{Check, FaultCode};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::reading;

#[test]
fn faults_of_a_reading() {
    let faults = |members: Value| -> Vec<(String, FaultCode)> {
        let found = reading(members).faults();
        found.into_iter().map(|f| (f.pointer, f.code)).collect()
    };
    let fault = |member: &str, code| vec![(format!("#/{member}"), code)];
    use FaultCode::{Missing, NotTogether, OutOfRange, WrongForm};
    assert_eq!(faults(json!({ "heat_line": "none" })), []);
    assert_eq!(faults(json!({})), [("#".to_owned(), Missing)]);
    assert_eq!(
        faults(json!({ "gap_before_mm": 0.8 })),
        [("#".to_owned(), Missing)],
        "one gap alone tells nothing"
    );
    let seen = |over: Value| {
        let mut members = json!({ "speckles": "none" });
        members
            .as_object_mut()
            .unwrap()
            .extend(over.as_object().unwrap().clone());
        faults(members)
    };
    assert_eq!(
        seen(json!({ "lot_id": Uuid::nil() })),
        fault("lot_id", NotTogether)
    );
    for (member, good, bad) in [
        ("run", [1, 1000], [0, 1001]),
        ("cylinder", [1, 16], [0, 17]),
        ("plug_of_cylinder", [1, 3], [0, 4]),
    ] {
        for value in good {
            assert_eq!(seen(json!({ member: value })), [], "{member} {value}");
        }
        for value in bad {
            assert_eq!(
                seen(json!({ member: value })),
                fault(member, OutOfRange),
                "{member} {value}"
            );
        }
    }
    for (member, value) in [
        ("gap_before_mm", 0.1),
        ("gap_before_mm", 2.6),
        ("gap_after_mm", -0.1),
        ("gap_after_mm", 2.6),
    ] {
        assert_eq!(seen(json!({ member: value })), fault(member, OutOfRange));
    }
    assert_eq!(seen(json!({ "gap_after_mm": 0 })), []);
    assert_eq!(seen(json!({ "note": " " })), fault("note", OutOfRange));
    assert_eq!(seen(json!({ "note": "a\u{7}" })), fault("note", WrongForm));
    let in_engine = |cylinder: u32, plug: Value| {
        let made = reading(json!({ "cylinder": cylinder, "plug_of_cylinder": plug }));
        made.faults_in(6, 2).len()
    };
    assert_eq!(in_engine(6, json!(2)), 0);
    assert_eq!(in_engine(7, json!(null)), 1);
    assert_eq!(in_engine(7, json!(3)), 2);
}

#[test]
fn one_plug_after_one_run_is_read_once() {
    let (day, other_day) = (Uuid::from_u128(1), Uuid::from_u128(2));
    let own = |over: Value| {
        let mut members = json!({ "speckles": "none", "tuning_day_id": day });
        let object = members.as_object_mut().unwrap();
        object.extend(over.as_object().unwrap().clone());
        reading(members)
    };
    let repeats = |over: Value, each: u32| own(json!({})).repeats(&own(over), each);
    // By the day, whatever the issue; where either names none, by the issue.
    assert!(repeats(json!({}), 1));
    assert!(repeats(
        json!({ "movement_id": other_day, "note": "again" }),
        1
    ));
    assert!(repeats(json!({ "tuning_day_id": null }), 1));
    assert!(!repeats(json!({ "tuning_day_id": other_day }), 1));
    assert!(!repeats(
        json!({ "tuning_day_id": null, "movement_id": other_day }),
        1
    ));
    for over in [
        json!({ "run": 2 }),
        json!({ "cylinder": 2 }),
        json!({ "build_id": other_day }),
    ] {
        assert!(!repeats(over.clone(), 1), "{over}");
    }
    // Which plug of the cylinder tells apart only where there are several.
    assert!(repeats(json!({ "plug_of_cylinder": 1 }), 1));
    assert!(!repeats(json!({ "plug_of_cylinder": 1 }), 2));
    // Of what is known by neither nobody can tell.
    let nothing = json!({ "tuning_day_id": null, "movement_id": null });
    assert!(!own(nothing.clone()).repeats(&own(nothing), 1));
}
