//! What nobody told, what nothing explains, and in which order it all stands.

use plugwell_domain::attribute::Attr;
use plugwell_domain::fitment::{FindingCode, Helps, Opinion, Severity, Symptom};
use plugwell_domain::requirement::Test;
use serde_json::{Value, json};

use crate::{codes, engine, finding, opinion};

fn open<'a>(opinion: &'a Opinion, attribute: &str) -> Option<&'a [Symptom]> {
    let found = opinion.not_judged.iter().find(|n| n.attribute == attribute);
    found.map(|n| n.bears_on.as_slice())
}

/// Nothing told but the thread.
fn nothing() -> Value {
    let unknown = [
        "reach_mm",
        "seat",
        "hex_mm",
        "heat_index",
        "projection_mm",
        "resistor",
        "electrode",
        "ground",
        "gap_preset_mm",
        "gap_min_mm",
        "gap_max_mm",
        "terminal",
        "service_life_km",
    ];
    let plug: serde_json::Map<String, Value> = unknown
        .iter()
        .map(|name| ((*name).to_owned(), Value::Null))
        .collect();
    json!({ "plug": plug, "treatment": {
        "gap_mm": null, "distance_km": null, "dropped": null, "lead_changes": null, "leads_renewed": null
    } })
}

#[test]
fn what_nobody_knows_is_asked_for_and_never_taken_for_fit() {
    let need = engine::need(json!({}));
    let found = opinion(&need, &nothing(), &[]);
    assert_eq!(codes(&found), [FindingCode::NotEstablished]);
    let whole = &found.findings[0];
    assert_eq!(
        whole.attribute,
        need.musts().nth(1).unwrap().attribute.word()
    );
    for (attribute, said) in [
        ("seat", "a gasket seat"),
        ("reach_mm", "a reach of 18.7 mm"),
        ("hex_mm", "a hex of at most 16.2 mm"),
        ("projection_mm", "a projection of 2 mm"),
        ("resistor", "a resistor"),
        ("heat_index", "a heat index of 67 to 75"),
    ] {
        assert!(whole.text.contains(said), "{said} in {}", whole.text);
        assert!(open(&found, attribute).is_some(), "{attribute}");
    }
    assert!(!whole.text.contains("thread"), "{}", whole.text);
    for attribute in [
        "gap_min_mm",
        "gap_max_mm",
        "gap_mm",
        "distance_km",
        "dropped",
        "lead_changes",
    ] {
        assert!(open(&found, attribute).is_some(), "{attribute}");
    }
    for finding in &found.findings {
        assert!(
            finding.has.is_null() && finding.explains.is_empty(),
            "{finding:?}"
        );
    }
    for open in &found.not_judged {
        assert!(open.ask.ends_with(['.', '?']), "{open:?}");
    }
}

#[test]
fn an_assumed_value_is_unknown() {
    let need = engine::need(json!({}));
    let told = json!({ "plug": { "heat_index": 20, "provenance": { "heat_index": "assumed" } } });
    let found = opinion(&need, &told, &[Symptom::Detonation]);
    assert_eq!(codes(&found), [FindingCode::NotEstablished]);
    assert_eq!(found.unexplained, [Symptom::Detonation]);
}

#[test]
fn a_set_of_which_all_is_told_leaves_nothing_open() {
    let found = opinion(&engine::need(json!({})), &json!({}), &[]);
    assert_eq!(
        (found.findings.len(), found.not_judged.len()),
        (0, 0),
        "{found:?}"
    );
}

#[test]
fn a_gap_as_delivered_is_not_the_gap_that_is_in() {
    let told = json!({ "plug": { "gap_preset_mm": 1.05 }, "treatment": { "gap_mm": null } });
    let found = opinion(
        &engine::need(json!({})),
        &told,
        &[Symptom::MisfireUnderLoad],
    );
    assert_eq!(codes(&found), []);
    let ask = &found.not_judged[0];
    assert_eq!(ask.attribute, "gap_mm");
    assert!(ask.ask.contains("1.05 mm"), "{}", ask.ask);
    assert!(
        found.look_next[0].text.contains("the gap"),
        "{:?}",
        found.look_next
    );
}

#[test]
fn a_life_that_nobody_knows_is_asked_for_once_a_distance_is_told() {
    let need = engine::need(json!({}));
    let told = |metal: Value, km: Value| json!({ "plug": { "service_life_km": null, "electrode": metal }, "treatment": { "distance_km": km } });
    for (metal, asked) in [
        (json!("ruthenium"), true),
        (Value::Null, true),
        (json!("iridium"), false),
    ] {
        let found = opinion(&need, &told(metal, json!(90_000)), &[]);
        assert_eq!(
            open(&found, "service_life_km").is_some(),
            asked,
            "{found:?}"
        );
    }
    let found = opinion(&need, &told(Value::Null, Value::Null), &[]);
    assert_eq!(open(&found, "service_life_km"), None);
    let by_wear = [
        Symptom::MisfireUnderLoad,
        Symptom::HardStart,
        Symptom::LowPower,
    ];
    assert_eq!(open(&found, "distance_km"), Some(&by_wear[..]));
}

#[test]
fn a_head_without_its_whole_window_leaves_the_tip_open() {
    let need =
        engine::need(json!({ "head": { "projection_min_mm": null, "projection_max_mm": null } }));
    let found = opinion(&need, &json!({}), &[Symptom::Fouling]);
    assert_eq!((codes(&found), found.unexplained.len()), (vec![], 1));
    let bears_on = open(&found, "projection_mm").unwrap();
    assert!(bears_on.contains(&Symptom::Fouling), "{bears_on:?}");
    assert!(
        found.look_next[0].text.contains("projection"),
        "{:?}",
        found.look_next
    );
}

/// Between none and a good one nothing is known: neither fitted, nor broken, nor meeting a demand.
#[test]
fn a_reading_that_does_not_tell_is_taken_again() {
    let need = engine::need(json!({}));
    for ohm in [100, 600] {
        let told = json!({ "plug": { "resistor": null }, "ohm": ohm });
        let found = opinion(&need, &told, &[Symptom::HardStart]);
        assert_eq!(codes(&found), [FindingCode::NotEstablished], "{ohm}");
        let asked: Vec<_> = found
            .not_judged
            .iter()
            .map(|n| n.attribute.as_str())
            .collect();
        assert_eq!(asked, ["resistance_ohm"], "asked for once");
        let ask = &found.not_judged[0];
        assert!(
            ask.ask.contains("clean the plug and measure again"),
            "{ask:?}"
        );
        assert!(ask.bears_on.contains(&Symptom::HardStart), "{ask:?}");
        assert!(ask.bears_on.contains(&Symptom::RadioNoise), "{ask:?}");
    }
    let sure = opinion(&need, &json!({ "ohm": 5000 }), &[]);
    assert_eq!((codes(&sure), sure.not_judged.len()), (vec![], 0));
}

/// An open resistor leaves open whether one was fitted, which no meter will tell any more.
#[test]
fn a_broken_resistor_is_not_measured_again() {
    let told = json!({ "plug": { "resistor": null }, "ohm": 30_000 });
    let found = opinion(&engine::need(json!({})), &told, &[]);
    use FindingCode::{NotEstablished, ResistorBroken};
    assert_eq!(codes(&found), [ResistorBroken, NotEstablished]);
    let open = &found.not_judged[0];
    assert_eq!(open.attribute, "resistor");
    assert!(
        open.ask.contains("part number") && !open.ask.contains("hmmeter"),
        "{open:?}"
    );
}

#[test]
fn noise_in_a_car_without_electronics_is_asked_about() {
    let need = engine::need(json!({ "electronics": [] }));
    let told = json!({ "plug": { "resistor": false } });
    let found = opinion(&need, &told, &[Symptom::RadioNoise]);
    assert_eq!((codes(&found), found.unexplained.len()), (vec![], 1));
    assert!(open(&found, "electronics").is_some(), "{found:?}");
    let quiet = opinion(&need, &told, &[Symptom::HardStart]);
    assert_eq!(open(&quiet, "electronics"), None);
    let suppressed = opinion(&need, &json!({}), &[Symptom::RadioNoise]);
    assert_eq!(open(&suppressed, "electronics"), None);
}

#[test]
fn what_nothing_explains_is_said_with_where_to_look_next() {
    let need = engine::need(json!({}));
    let found = opinion(&need, &json!({}), Symptom::ALL);
    assert_eq!(found.unexplained, Symptom::ALL);
    for (symptom, next) in Symptom::ALL.iter().zip(&found.look_next) {
        assert_eq!(next.symptom, *symptom);
        let said = format!(
            "Nothing about these plugs explains the {}. Look at {}.",
            symptom.spoken(),
            symptom.look_next()
        );
        assert_eq!(next.text, said);
    }
    let worn = json!({ "treatment": { "dropped": 1, "gap_mm": null } });
    let found = opinion(&need, &worn, &[Symptom::Fouling]);
    let said = "Put right what was found; if it stays, look at a rich mixture";
    assert!(found.look_next[0].text.contains(said), "{found:?}");
}

#[test]
fn what_explains_a_complaint_comes_first_of_its_urgency() {
    let need = engine::need(json!({}));
    let told = json!({
        "plug": { "resistor": false, "heat_index": 40 },
        "treatment": { "gap_mm": 1.1, "dropped": 1, "lead_changes": 9 }
    });
    let order = |complaints: &[Symptom]| codes(&opinion(&need, &told, complaints));
    use FindingCode::{Dropped, GapTooLarge, LeadsDue, NoResistor, TooHot};
    assert_eq!(
        order(&[]),
        [TooHot, NoResistor, Dropped, LeadsDue, GapTooLarge]
    );
    let idle = order(&[Symptom::MisfireAtIdle]);
    assert_eq!(idle, [TooHot, Dropped, LeadsDue, NoResistor, GapTooLarge]);
    let found = opinion(
        &need,
        &told,
        &[Symptom::MisfireAtIdle, Symptom::MisfireAtIdle],
    );
    let dropped = finding(&found, Dropped).unwrap();
    assert_eq!(dropped.reported, [Symptom::MisfireAtIdle]);
    assert_eq!(found.findings[0].severity, Severity::Stop);
}

/// One step too cold: some fouling, misfire at idle (common practice, no source).
#[test]
fn a_plug_a_little_cold_is_not_said_to_have_nothing_to_do_with_fouling() {
    let need = engine::need(json!({}));
    let told = json!({ "plug": { "heat_index": 80 } });
    let found = opinion(&need, &told, &[Symptom::Fouling, Symptom::LowPower]);
    let text = |symptom| {
        found
            .look_next
            .iter()
            .find(|l| l.symptom == symptom)
            .map(|l| l.text.as_str())
    };
    let fouling = text(Symptom::Fouling).expect("where to look");
    assert!(
        fouling.starts_with("The plugs stand a little cold"),
        "{fouling}"
    );
    let power = text(Symptom::LowPower).expect("where to look");
    assert!(power.starts_with("Nothing about these plugs"), "{power}");
    let mut untold = told.clone();
    untold["treatment"] = json!({ "gap_mm": null });
    let found = opinion(&need, &untold, &[Symptom::MisfireAtIdle]);
    let idle = &found.look_next[0].text;
    assert!(
        idle.starts_with("The plugs stand a little cold")
            && idle.contains("First find out what could: the gap"),
        "{idle}"
    );
}

/// A shop may allow more slack than the usual step; 20 points beyond the target foul all the same.
#[test]
fn far_too_cold_is_told_also_where_the_window_holds_it() {
    let mut need = engine::need(json!({}));
    let heat = need.demands.iter_mut().find(|d| d.attribute == Attr::Heat);
    heat.expect("a demand").test = Test::Range {
        min: Some(670),
        max: Some(1_000),
    };
    let at = |index: f64| {
        let told = json!({ "plug": { "heat_index": index } });
        let found = opinion(&need, &told, &[Symptom::Fouling]);
        let cold = finding(&found, FindingCode::FarTooCold);
        cold.map(|f| (f.severity, f.reported.clone(), f.needed.clone(), f.helps))
    };
    // The finding's own range ends where it begins, and no plug is called for yet.
    let needed = json!({ "min": 67.0, "max": 89.9 });
    let wanted = (
        Severity::Watch,
        vec![Symptom::Fouling],
        needed,
        Helps::NoPlug,
    );
    assert_eq!(at(90.0), Some(wanted));
    assert_eq!(at(89.9), None);
}
