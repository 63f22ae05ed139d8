//! What counts as evidence.

use plugwell_domain::attribute::Attr;
use plugwell_domain::caution::CautionCode;
use plugwell_domain::decimal::Decimal;
use plugwell_domain::ledger::Condition;
use plugwell_domain::reading::{FlawCode, History};
use serde_json::{Value, json};

use crate::{FRESH, engine, judged, reading};

/// What a reading says of its run, what is known of its plug, and what speaks against it.
type Case = (Value, History, &'static [FlawCode]);

fn histories() -> [Case; 12] {
    let gapped = History {
        condition: Some(Condition::Gapped),
        ..FRESH
    };
    let unknown = History {
        issued: false,
        condition: None,
        ..FRESH
    };
    let not_issued = History {
        issued: false,
        ..FRESH
    };
    let gapped_not_issued = History {
        issued: false,
        ..gapped.clone()
    };
    let elsewhere = History {
        unfit: vec![Attr::Thread, Attr::Reach],
        ..FRESH
    };
    let used = History {
        all_read: true,
        ..FRESH
    };
    [
        (json!({}), FRESH, &[]),
        (json!({}), not_issued, &[FlawCode::IssueUnknown]),
        (json!({}), elsewhere, &[FlawCode::NotOfEngine]),
        (
            json!({}),
            gapped_not_issued,
            &[FlawCode::LotNotSealed, FlawCode::IssueUnknown],
        ),
        (json!({}), gapped.clone(), &[FlawCode::LotNotSealed]),
        (json!({}), unknown, &[FlawCode::LotUnknown]),
        (json!({}), used, &[FlawCode::PlugReadBefore]),
        (
            json!({ "full_load": false }),
            FRESH,
            &[FlawCode::NotFullLoad],
        ),
        (
            json!({ "full_load": null }),
            FRESH,
            &[FlawCode::FullLoadUnknown],
        ),
        (
            json!({ "clean_shut_off": false }),
            FRESH,
            &[FlawCode::ShutOffNotClean],
        ),
        (
            json!({ "clean_shut_off": null }),
            FRESH,
            &[FlawCode::ShutOffUnknown],
        ),
        (
            json!({ "full_load": false, "clean_shut_off": null }),
            gapped,
            &[
                FlawCode::LotNotSealed,
                FlawCode::NotFullLoad,
                FlawCode::ShutOffUnknown,
            ],
        ),
    ]
}

#[test]
fn what_is_no_evidence_is_told_why_and_suggests_nothing() {
    let telling = json!({ "speckles": "bright_metal", "heat_line": "past_bend" });
    for (over, history, flaws) in histories() {
        let mut members = telling.clone();
        members
            .as_object_mut()
            .unwrap()
            .extend(over.as_object().unwrap().clone());
        let made = judged(&reading(members), history);
        let told: Vec<FlawCode> = made.refused_because.iter().map(|f| f.code).collect();
        assert_eq!(told, flaws, "{over}");
        assert_eq!(made.evidence, flaws.is_empty(), "{over}");
        assert_eq!(made.suggestions.is_empty(), !made.evidence, "{over}");
        assert!(made.contradictions.is_empty());
        // What was seen is told all the same.
        assert_eq!(made.not_seen.len(), 3, "{over}");
        assert!(
            made.cautions
                .iter()
                .any(|c| c.code == CautionCode::ReadingSuggests)
        );
    }
}

#[test]
fn a_part_that_cannot_be_in_the_engine_is_named_by_what_fails() {
    let needed = engine::need(json!({}));
    let of = |over: Value| {
        let mut members =
            json!({ "thread": "M14x1.25", "seat": "gasket", "reach_mm": 19.0, "heat_index": 70 });
        members
            .as_object_mut()
            .unwrap()
            .extend(over.as_object().unwrap().clone());
        FRESH.in_engine(&engine::plug(members), &needed)
    };
    let right = of(json!({}));
    assert_eq!(
        (right.unfit, right.heat, right.heat_min),
        (vec![], Some(Decimal(700)), Some(Decimal(670))),
        "target 70 less the tolerance of 3"
    );
    // Unknown is no proof that it cannot be in; other attributes do not count.
    let unknown = of(json!({ "reach_mm": null, "heat_index": null, "hex_mm": 20.8 }));
    assert_eq!((unknown.unfit, unknown.heat), (vec![], None));
    let wrong = of(json!({ "thread": "M12x1.25", "seat": "conical", "reach_mm": 26.5 }));
    assert_eq!(wrong.unfit, [Attr::Thread, Attr::Seat, Attr::Reach]);
    let made = judged(&reading(json!({ "speckles": "none" })), wrong);
    let text = &made.refused_because[0].text;
    assert!(text.contains("thread, seat, reach"), "{text}");
}
