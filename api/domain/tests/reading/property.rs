//! Readings at random.

use plugwell_domain::attribute::Attr;
use plugwell_domain::decimal::Decimal;
use plugwell_domain::ledger::Condition;
use plugwell_domain::reading::{
    BaseRing, HeatLine, History, KeptReading, OPPOSED, Porcelain, Sign, Speckles, SuggestionCode,
};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::{judged, reading};

fn word(words: &'static [&'static str]) -> impl Strategy<Value = Value> {
    prop_oneof![
        Just(Value::Null),
        prop::sample::select(words).prop_map(Value::from)
    ]
}

proptest! {
    #[test]
    fn without_evidence_never_a_suggestion_and_with_it_something_is_said(
        heat_line in word(HeatLine::WORDS), base_ring in word(BaseRing::WORDS),
        porcelain in word(Porcelain::WORDS), speckles in word(Speckles::WORDS),
        gaps in prop::option::of((2000i64..25_000, 0i64..25_000)),
        full_load in prop::option::of(any::<bool>()), clean in prop::option::of(any::<bool>()),
        condition in prop::option::of(prop::sample::select(Condition::ALL)), all_read in any::<bool>(),
        issued in any::<bool>(), heat in prop::option::of(500i64..1200), heat_min in prop::option::of(500i64..1200),
        unfit in prop::bool::weighted(0.1),
    ) {
        let gap = |raw: i64| raw as f64 / 10_000.0;
        let read = reading(json!({
            "heat_line": heat_line, "base_ring": base_ring, "porcelain": porcelain, "speckles": speckles,
            "gap_before_mm": gaps.map(|g| gap(g.0)), "gap_after_mm": gaps.map(|g| gap(g.1)),
            "full_load": full_load, "clean_shut_off": clean,
        }));
        let history = History {
            issued, condition, all_read, unfit: if unfit { vec![Attr::Seat] } else { vec![] },
            heat: heat.map(Decimal), heat_min: heat_min.map(Decimal),
        };
        let made = judged(&read, history);
        let fine = condition == Some(Condition::Sealed) && issued && !unfit && !all_read && full_load == Some(true)
            && clean == Some(true);
        prop_assert_eq!(made.evidence, fine);
        let seen: Vec<Sign> = Sign::ALL.iter().filter(|s| !made.not_seen.contains(s)).copied().collect();
        let silent = seen.is_empty() || seen == [Sign::HeatLine] && read.heat_line == Some(HeatLine::None);
        let said = !made.suggestions.is_empty() || !made.contradictions.is_empty();
        prop_assert_eq!(said, fine && !silent);
        prop_assert_eq!(made.refused_because.is_empty(), fine);
        let has = |code| made.suggestions.iter().any(|s| s.code == code);
        for (safe, other) in OPPOSED {
            prop_assert!(!(has(*safe) && has(*other)), "{} and {}", safe, other);
        }
        if has(SuggestionCode::HotterByOne) {
            prop_assert!(heat.unwrap() - 100 >= heat_min.unwrap());
        }
        if has(SuggestionCode::NoChange) {
            prop_assert_eq!(made.suggestions.len(), 1);
            prop_assert!(made.contradictions.is_empty());
        }
        // What is kept is read back as it was.
        let kept = KeptReading { reading: read, plug_id: None, judgement: made };
        let text = serde_json::to_string(&kept).unwrap();
        prop_assert_eq!(serde_json::from_str::<KeptReading>(&text).unwrap(), kept);
    }
}
