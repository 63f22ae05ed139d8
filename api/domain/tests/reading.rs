//! Readings: what counts as evidence, what each sign suggests, what signs do against each other.
//! Every expectation is common practice, no source.

use std::collections::BTreeSet;

use plugwell_domain::caution::CautionCode;
use plugwell_domain::decimal::Length;
use plugwell_domain::fault::{Check, FaultCode};
use plugwell_domain::ledger::Condition;
use plugwell_domain::policy::Policy;
use plugwell_domain::reading::{
    BaseRing, FlawCode, GapSign, HeatLine, History, Judgement, KeptReading, OPPOSED, Porcelain,
    RULES, Reading, Sign, Speckles, SuggestionCode, judge,
};
use plugwell_domain::requirement::BasisKind;
use proptest::prelude::*;
use serde_json::{Value, json};
use uuid::Uuid;

/// A fresh plug out of a sealed lot.
const FRESH: History = History {
    condition: Some(Condition::Sealed),
    all_read: false,
};

/// A right reading with these members; without any, nothing was seen.
fn reading(members: Value) -> Reading {
    let mut body = json!({
        "build_id": Uuid::nil(), "movement_id": Uuid::nil(), "run": 1, "cylinder": 1,
        "full_load": true, "clean_shut_off": true
    });
    body.as_object_mut()
        .unwrap()
        .extend(members.as_object().unwrap().clone());
    serde_json::from_value(body).unwrap()
}

fn judged(reading: &Reading, history: History) -> Judgement {
    judge(reading, history, &Policy::default().values)
}

fn codes(judgement: &Judgement) -> Vec<&str> {
    judgement
        .suggestions
        .iter()
        .map(|s| s.code.word())
        .collect()
}

/// The members that show a sign; the policy lets a gap grow by 0.05 mm.
fn shows(sign: &str, seen: &str) -> Value {
    match (sign, seen) {
        ("gap_growth_mm", "grown") => json!({ "gap_before_mm": 0.8, "gap_after_mm": 0.8501 }),
        ("gap_growth_mm", "steady") => json!({ "gap_before_mm": 0.8, "gap_after_mm": 0.85 }),
        ("gap_growth_mm", "closed") => json!({ "gap_before_mm": 0.8, "gap_after_mm": 0.7499 }),
        _ => json!({ sign: seen }),
    }
}

/// What each sign alone suggests. Common practice, no source.
const TABLE: &[(&str, &str, &[&str])] = &[
    ("heat_line", "none", &[]),
    ("heat_line", "at_tip", &["hotter_by_one"]),
    ("heat_line", "near_tip", &[]),
    ("heat_line", "midway", &[]),
    ("heat_line", "at_bend", &[]),
    ("heat_line", "past_bend", &["colder_by_one"]),
    ("base_ring", "bare_metal", &["richer"]),
    ("base_ring", "dark_in_part", &["richer"]),
    ("base_ring", "dark_all_round", &[]),
    ("base_ring", "black_soot", &["leaner"]),
    ("base_ring", "blued", &["less_timing", "colder_by_one"]),
    ("porcelain", "clean_white", &[]),
    ("porcelain", "light_tan", &[]),
    ("porcelain", "grey", &["richer"]),
    ("porcelain", "dry_black", &["leaner"]),
    ("porcelain", "wet_black", &["look_for_oil"]),
    ("porcelain", "glazed", &["colder_by_one"]),
    (
        "porcelain",
        "blistered",
        &["stop_and_look", "less_timing", "colder_by_one"],
    ),
    ("speckles", "none", &[]),
    ("speckles", "dark", &["less_timing", "richer"]),
    (
        "speckles",
        "bright_metal",
        &["stop_and_look", "less_timing"],
    ),
    ("gap_growth_mm", "closed", &["stop_and_look"]),
    ("gap_growth_mm", "steady", &[]),
    ("gap_growth_mm", "grown", &["colder_by_one"]),
];

#[test]
fn every_sign_suggests_what_the_table_says_and_its_neighbour_does_not() {
    for (place, (sign, seen, suggests)) in TABLE.iter().enumerate() {
        let made = judged(&reading(shows(sign, seen)), FRESH);
        assert!(made.evidence, "{sign} {seen}");
        let wanted = if suggests.is_empty() {
            &["no_change"][..]
        } else {
            suggests
        };
        assert_eq!(codes(&made), wanted, "{sign} {seen}");
        assert!(made.contradictions.is_empty(), "{sign} {seen}");
        for suggestion in &made.suggestions {
            assert_eq!(suggestion.signs, [sign.parse::<Sign>().unwrap()]);
            assert_eq!(suggestion.basis.kind, BasisKind::CommonPractice);
            assert_eq!(suggestion.basis.source, None);
        }
        // The next word of the same list does not suggest the same, but for the two of a kind.
        let alike = [("base_ring", "bare_metal")];
        if let Some((_, next, other)) = TABLE.get(place + 1).filter(|(own, ..)| own == sign)
            && !suggests.is_empty()
            && !alike.contains(&(sign, seen))
        {
            assert_ne!(suggests, other, "{sign}: {seen} and {next}");
        }
        assert_eq!(made.not_seen.len(), 4, "{sign} {seen}");
    }
}

#[test]
fn the_table_has_every_word_of_every_list_once() {
    let lists: [(&str, &[&str]); 5] = [
        ("heat_line", HeatLine::WORDS),
        ("base_ring", BaseRing::WORDS),
        ("porcelain", Porcelain::WORDS),
        ("speckles", Speckles::WORDS),
        ("gap_growth_mm", GapSign::WORDS),
    ];
    let wanted: BTreeSet<(&str, &str)> = lists
        .iter()
        .flat_map(|(sign, words)| words.iter().map(|word| (*sign, *word)))
        .collect();
    let ruled: Vec<(&str, &str)> = RULES.iter().map(|r| (r.sign.word(), r.seen)).collect();
    assert_eq!(ruled.len(), wanted.len());
    assert_eq!(ruled.into_iter().collect::<BTreeSet<_>>(), wanted);
    let tested: BTreeSet<(&str, &str)> = TABLE.iter().map(|(s, w, _)| (*s, *w)).collect();
    assert_eq!(tested, wanted);
}

#[test]
fn what_says_the_same_is_said_once_with_all_its_signs() {
    let made = judged(
        &reading(json!({
            "heat_line": "past_bend", "porcelain": "glazed", "gap_before_mm": 0.8, "gap_after_mm": 0.9
        })),
        FRESH,
    );
    assert_eq!(codes(&made), ["colder_by_one"]);
    assert_eq!(
        made.suggestions[0].signs,
        [Sign::HeatLine, Sign::Porcelain, Sign::GapGrowth]
    );
    assert_eq!(made.gap_growth_mm, Some(Length::exact(0.1).unwrap()));
    assert_eq!(made.not_seen, [Sign::BaseRing, Sign::Speckles]);
    let text = &made.suggestions[0].text;
    assert!(
        text.starts_with("The heat line stands past the bend"),
        "{text}"
    );
}

#[test]
fn against_each_other_only_the_safe_side_stands() {
    let cases: [(Value, &[&str], &str, &[SuggestionCode]); 4] = [
        (
            json!({ "heat_line": "at_tip", "porcelain": "glazed" }),
            &["colder_by_one"],
            "hotter_by_one",
            &[SuggestionCode::ColderByOne],
        ),
        (
            json!({ "base_ring": "black_soot", "porcelain": "grey" }),
            &["richer"],
            "leaner",
            &[SuggestionCode::Richer],
        ),
        (
            json!({ "base_ring": "black_soot", "speckles": "bright_metal" }),
            &["stop_and_look", "less_timing"],
            "leaner",
            &[SuggestionCode::StopAndLook, SuggestionCode::LessTiming],
        ),
        (
            json!({ "heat_line": "at_tip", "porcelain": "blistered" }),
            &["stop_and_look", "less_timing", "colder_by_one"],
            "hotter_by_one",
            &[
                SuggestionCode::StopAndLook,
                SuggestionCode::LessTiming,
                SuggestionCode::ColderByOne,
            ],
        ),
    ];
    for (members, suggested, left_out, stands) in cases {
        let made = judged(&reading(members), FRESH);
        assert_eq!(codes(&made), suggested);
        assert_eq!(made.contradictions.len(), 1);
        let said = &made.contradictions[0];
        assert_eq!((said.left_out.word(), &*said.stands), (left_out, stands));
        assert!(said.text.contains("against each other"), "{}", said.text);
    }
    // Rich and cold go together: no contradiction.
    let made = judged(
        &reading(json!({ "heat_line": "at_tip", "base_ring": "black_soot" })),
        FRESH,
    );
    assert_eq!(codes(&made), ["leaner", "hotter_by_one"]);
    assert!(made.contradictions.is_empty());
}

#[test]
fn what_is_no_evidence_is_told_why_and_suggests_nothing() {
    let telling = json!({ "speckles": "bright_metal", "heat_line": "past_bend" });
    let gapped = History {
        condition: Some(Condition::Gapped),
        ..FRESH
    };
    let unknown = History {
        condition: None,
        ..FRESH
    };
    let used = History {
        all_read: true,
        ..FRESH
    };
    let cases: [(Value, History, &[FlawCode]); 9] = [
        (json!({}), FRESH, &[]),
        (json!({}), gapped, &[FlawCode::LotNotSealed]),
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
    ];
    for (over, history, flaws) in cases {
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
fn no_sentence_has_a_number_of_degrees_or_of_fuel() {
    let sentences = SuggestionCode::ALL
        .iter()
        .map(|code| code.sentence())
        .chain(RULES.iter().map(|rule| rule.means));
    for sentence in sentences {
        let measured = sentence.contains(|c: char| c.is_ascii_digit() || "°%λ".contains(c))
            || ["degree", "percent", "lambda"]
                .iter()
                .any(|w| sentence.contains(w));
        assert!(!measured, "{sentence}");
    }
    // The first of a pair is more urgent than the second.
    for (stands, left_out) in OPPOSED {
        assert!(stands < left_out, "{stands} {left_out}");
    }
}

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

fn word(words: &'static [&'static str]) -> impl Strategy<Value = Value> {
    prop_oneof![
        Just(Value::Null),
        prop::sample::select(words).prop_map(Value::from)
    ]
}

proptest! {
    #[test]
    fn without_evidence_never_a_suggestion_and_with_it_never_none(
        heat_line in word(HeatLine::WORDS), base_ring in word(BaseRing::WORDS),
        porcelain in word(Porcelain::WORDS), speckles in word(Speckles::WORDS),
        gaps in prop::option::of((2000i64..25_000, 0i64..25_000)),
        full_load in prop::option::of(any::<bool>()), clean in prop::option::of(any::<bool>()),
        condition in prop::option::of(prop::sample::select(Condition::ALL)), all_read in any::<bool>(),
    ) {
        let gap = |raw: i64| raw as f64 / 10_000.0;
        let read = reading(json!({
            "heat_line": heat_line, "base_ring": base_ring, "porcelain": porcelain, "speckles": speckles,
            "gap_before_mm": gaps.map(|g| gap(g.0)), "gap_after_mm": gaps.map(|g| gap(g.1)),
            "full_load": full_load, "clean_shut_off": clean,
        }));
        let made = judged(&read, History { condition, all_read });
        let fine = condition == Some(Condition::Sealed) && !all_read && full_load == Some(true) && clean == Some(true);
        prop_assert_eq!(made.evidence, fine);
        prop_assert_eq!(made.suggestions.is_empty(), !fine);
        prop_assert_eq!(made.refused_because.is_empty(), fine);
        let has = |code| made.suggestions.iter().any(|s| s.code == code);
        for (safe, other) in OPPOSED {
            prop_assert!(!(has(*safe) && has(*other)), "{} and {}", safe, other);
        }
        if has(SuggestionCode::NoChange) {
            prop_assert_eq!(made.suggestions.len(), 1);
        }
        // What is kept is read back as it was.
        let kept = KeptReading { reading: read, plug_id: None, judgement: made };
        let text = serde_json::to_string(&kept).unwrap();
        prop_assert_eq!(serde_json::from_str::<KeptReading>(&text).unwrap(), kept);
    }
}
