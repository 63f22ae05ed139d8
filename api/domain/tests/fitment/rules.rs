//! Every rule: a case in which it fires, the nearest neighbour in which it does not, its urgency and
//! what it explains.

use std::collections::BTreeSet;

use plugwell_domain::fitment::{FindingCode, Symptom};
use plugwell_domain::requirement::Requirement;
use serde_json::{Value, json};

use crate::{codes, engine, finding, opinion};

/// Complaints and urgency of every finding. Common practice, no source; `leads_due` and
/// `wears_early` own.
const EXPLAINS: &[(&str, &str, &[&str])] = &[
    ("wrong_thread", "stop", &[]),
    ("wrong_seat", "stop", &[]),
    ("wrong_reach", "stop", &[]),
    ("too_hot", "stop", &["detonation"]),
    ("tip_too_far_out", "stop", &[]),
    (
        "no_resistor",
        "fix",
        &["radio_noise", "logger_dropout", "misfire_under_load"],
    ),
    (
        "resistor_broken",
        "fix",
        &["misfire_under_load", "misfire_at_idle", "hard_start"],
    ),
    (
        "tip_too_far_back",
        "fix",
        &[
            "fouling",
            "misfire_under_load",
            "misfire_at_idle",
            "low_power",
        ],
    ),
    ("far_too_cold", "fix", &["fouling", "misfire_at_idle"]),
    (
        "dropped",
        "fix",
        &["misfire_under_load", "misfire_at_idle", "low_power"],
    ),
    (
        "leads_due",
        "fix",
        &["misfire_under_load", "misfire_at_idle"],
    ),
    (
        "worn_out",
        "fix",
        &["misfire_under_load", "hard_start", "low_power"],
    ),
    ("gap_too_large", "fix", &["misfire_under_load"]),
    ("gap_not_settable", "fix", &[]),
    ("hex_too_large", "fix", &[]),
    ("wrong_terminal", "fix", &[]),
    ("wrong_metal", "fix", &[]),
    ("demand_not_met", "fix", &[]),
    ("too_cold", "watch", &[]),
    ("gap_too_small", "watch", &["misfire_at_idle", "low_power"]),
    ("wears_early", "watch", &[]),
    ("not_established", "watch", &[]),
];

/// Code, changes to the build, attribute of the plug, a value that fires and its neighbour, as JSON.
///
/// The standard build: reach 18.7–19.3, hex to 16.2, window 2–4 mm, heat 67–75 around 70, gap 0.81.
/// Figures of the rules: the policy's, with their labels there.
#[rustfmt::skip]
const OF_THE_PLUG: &[(&str, &str, &str, &str, &str)] = &[
    ("wrong_thread",     "{}", "thread", "\"M12x1.25\"", "\"M14x1.25\""),
    ("wrong_seat",       "{}", "seat", "\"conical\"", "\"gasket\""),
    ("wrong_reach",      "{}", "reach_mm", "19.3001", "19.3"),
    ("wrong_reach",      "{}", "reach_mm", "18.6999", "18.7"),
    ("too_hot",          "{}", "heat_index", "66.9", "67"),
    ("tip_too_far_out",  "{}", "projection_mm", "4.0001", "4"),
    ("tip_too_far_back", "{}", "projection_mm", "1.9999", "2"),
    ("no_resistor",      "{}", "resistor", "false", "true"),
    ("no_resistor",      r#"{ "electronics": null }"#, "resistor", "false", "true"),
    ("far_too_cold",     "{}", "heat_index", "90", "89.9"),
    ("too_cold",         "{}", "heat_index", "75.1", "75"),
    ("too_cold",         "{}", "heat_index", "89.9", "90"),
    ("hex_too_large",    "{}", "hex_mm", "16.2001", "16.2"),
    ("wrong_terminal",   r#"{ "head": { "terminal": "stud_m4" } }"#, "terminal", "\"solid_nut\"", "\"stud_m4\""),
    ("wrong_metal",      r#"{ "electrode": ["iridium", "platinum"] }"#, "electrode", "\"nickel\"", "\"platinum\""),
    ("gap_not_settable", "{}", "gap_max_mm", "0.8099", "0.81"),
    ("not_established",  "{}", "heat_index", "null", "70"),
];

/// Code, member of the treatment, a value that fires and its neighbour. Gaps are rounded half up to
/// the 0.01 mm that can be measured.
#[rustfmt::skip]
const OF_THE_TREATMENT: &[(&str, &str, f64, f64)] = &[
    ("gap_too_large", "gap_mm", 0.84, 0.8149),
    ("gap_too_small", "gap_mm", 0.6549, 0.655),
    ("worn_out",      "distance_km", 100_000.5, 100_000.0),
    ("wears_early",   "distance_km", 50_000.5, 50_000.0),
    ("wears_early",   "distance_km", 100_000.0, 100_000.5),
];

/// What is told of a set, and the code that it leads to.
struct Edge {
    code: &'static str,
    build: Value,
    fires: Value,
    not: Value,
}

/// Those that are about a count or about two members together.
fn several() -> Vec<Edge> {
    let edge = |code, fires, not| Edge {
        code,
        build: json!({}),
        fires,
        not,
    };
    let range = |min: f64| json!({ "plug": { "gap_min_mm": min, "gap_preset_mm": 0.9 } });
    let dropped = |number: u32| json!({ "treatment": { "dropped": number } });
    let pulled = |times: u32, renewed: Value| json!({ "treatment": { "lead_changes": times, "leads_renewed": renewed } });
    let tip = |metal: &str, km: u32| json!({ "plug": { "service_life_km": null, "electrode": metal }, "treatment": { "distance_km": km } });
    let nickel = |km: u32| tip("nickel", km);
    let precious = |km: u32| tip("iridium", km);
    vec![
        edge("gap_not_settable", range(0.8101), range(0.81)),
        edge("dropped", dropped(1), dropped(0)),
        edge(
            "leads_due",
            pulled(3, json!(false)),
            pulled(2, json!(false)),
        ),
        edge("leads_due", pulled(3, json!(null)), pulled(3, json!(true))),
        // A nickel tip in a boosted engine: 10 000 miles (common practice, no source).
        edge("worn_out", nickel(16_001), nickel(16_000)),
        // Half of the 100 000 miles of a precious tip; a nickel tip's life under boost is its own.
        edge("wears_early", precious(80_001), precious(80_000)),
        edge("wears_early", precious(160_000), precious(160_001)),
        edge("wears_early", precious(80_001), nickel(16_000)),
        edge("worn_out", precious(160_001), precious(160_000)),
        // Above 10 kΩ by a meter that may be 5 % wrong (common practice, no source).
        edge(
            "resistor_broken",
            json!({ "ohm": 10_526.4 }),
            json!({ "ohm": 10_526.3 }),
        ),
        edge(
            "resistor_broken",
            json!({ "ohm": 30_000 }),
            json!({ "ohm": 600 }),
        ),
    ]
}

fn edges() -> Vec<Edge> {
    let read = |text: &str| -> Value { serde_json::from_str(text).unwrap() };
    let plugs = OF_THE_PLUG
        .iter()
        .map(|(code, build, attribute, fires, not)| Edge {
            code,
            build: read(build),
            fires: json!({ "plug": { *attribute: read(fires) } }),
            not: json!({ "plug": { *attribute: read(not) } }),
        });
    let treatments = OF_THE_TREATMENT
        .iter()
        .map(|(code, member, fires, not)| Edge {
            code,
            build: json!({}),
            fires: json!({ "treatment": { *member: fires } }),
            not: json!({ "treatment": { *member: not } }),
        });
    plugs.chain(treatments).chain(several()).collect()
}

#[test]
fn every_rule_fires_on_one_side_of_its_edge_only() {
    let every = Symptom::ALL;
    for Edge {
        code,
        build,
        fires,
        not,
    } in edges()
    {
        let need = engine::need(build);
        let parsed: FindingCode = code.parse().unwrap();
        let found = opinion(&need, &fires, every);
        let fired = finding(&found, parsed).unwrap_or_else(|| panic!("{code}: {fires}: {found:?}"));
        let (_, severity, explains) = EXPLAINS.iter().find(|(c, ..)| *c == code).unwrap();
        assert_eq!(fired.severity.word(), *severity, "{code}");
        let words: BTreeSet<_> = fired.explains.iter().map(|s| s.word()).collect();
        assert_eq!(words, explains.iter().copied().collect(), "{code}");
        assert_eq!(
            fired.reported, fired.explains,
            "{code}: all were complained of"
        );
        assert!(
            fired.text.ends_with('.') && fired.remedy.ends_with('.'),
            "{fired:?}"
        );
        let spared = opinion(&need, &not, every);
        assert!(
            finding(&spared, parsed).is_none(),
            "{code}: {not}: {spared:?}"
        );
    }
}

/// A demand that no build makes, but another program may.
#[test]
fn a_demand_without_a_rule_of_its_own_is_told_as_well() {
    let posted = json!({ "demands": [
        { "attribute": "ground", "strength": "must", "test": { "one_of": ["fine_wire"] }, "unknown": "fails" }
    ] });
    let need = Requirement::from_json(&posted).unwrap();
    let found = opinion(&need, &json!({}), &[]);
    assert_eq!(codes(&found), [FindingCode::DemandNotMet]);
    assert!(found.findings[0].text.contains("single strap"), "{found:?}");
    let spared = opinion(&need, &json!({ "plug": { "ground": "fine_wire" } }), &[]);
    assert_eq!(codes(&spared), []);
}

#[test]
fn no_rule_is_without_its_case() {
    let named: Vec<&str> = EXPLAINS.iter().map(|(code, ..)| *code).collect();
    assert_eq!(named, FindingCode::WORDS);
    let mut tried: BTreeSet<&str> = edges().iter().map(|edge| edge.code).collect();
    tried.insert("demand_not_met");
    assert_eq!(tried, FindingCode::WORDS.iter().copied().collect());
    let explained: BTreeSet<&str> = EXPLAINS.iter().flat_map(|(.., e)| *e).copied().collect();
    assert_eq!(explained, Symptom::WORDS.iter().copied().collect());
}

#[test]
fn where_nothing_electronic_is_on_board_no_resistor_is_missed() {
    let need = engine::need(json!({ "electronics": [] }));
    let found = opinion(&need, &json!({ "plug": { "resistor": false } }), &[]);
    assert_eq!(codes(&found), []);
}

#[test]
fn without_boost_a_plug_lasts_as_long_as_its_maker_says() {
    let need = engine::need(
        json!({ "induction": "naturally_aspirated", "power_kw": null, "boost_kpa": null }),
    );
    let told = json!({ "plug": { "heat_index": 50 }, "treatment": { "gap_mm": 0.8, "distance_km": 99_999 } });
    let found = crate::opinion_on(&need, false, &told, &[]);
    assert_eq!(codes(&found), []);
}
