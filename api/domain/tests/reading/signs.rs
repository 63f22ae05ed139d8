//! What each sign suggests, and what signs do against each other.

use std::collections::BTreeSet;

use plugwell_domain::decimal::Length;
use plugwell_domain::reading::{
    BaseRing, GapSign, HeatLine, OPPOSED, Porcelain, RULES, Sign, Speckles, SuggestionCode,
};
use plugwell_domain::requirement::BasisKind;
use serde_json::{Value, json};

use crate::{FRESH, codes, judged, reading};

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
        let wanted = if (*sign, *seen) == ("heat_line", "none") {
            &[] // It tells nothing, not even that all is well.
        } else if suggests.is_empty() {
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
    let cases: [(Value, &[&str], &str, &[SuggestionCode]); 8] = [
        (
            json!({ "heat_line": "past_bend", "base_ring": "black_soot" }),
            &["colder_by_one"],
            "leaner",
            &[SuggestionCode::ColderByOne],
        ),
        (
            json!({ "heat_line": "at_tip", "base_ring": "bare_metal" }),
            &["richer"],
            "hotter_by_one",
            &[SuggestionCode::Richer],
        ),
        (
            json!({ "base_ring": "black_soot", "porcelain": "wet_black" }),
            &["look_for_oil"],
            "leaner",
            &[SuggestionCode::LookForOil],
        ),
        (
            json!({ "heat_line": "at_tip", "porcelain": "wet_black" }),
            &["look_for_oil"],
            "hotter_by_one",
            &[SuggestionCode::LookForOil],
        ),
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
}

#[test]
fn rich_and_cold_go_together() {
    let made = judged(
        &reading(json!({ "heat_line": "at_tip", "base_ring": "black_soot" })),
        FRESH,
    );
    assert_eq!(codes(&made), ["leaner", "hotter_by_one"]);
    assert!(made.contradictions.is_empty());
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
