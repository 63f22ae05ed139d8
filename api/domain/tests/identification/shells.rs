//! Reaches, hexagons and resistors by their readings alone, beside outside figures.

use plugwell_domain::decimal::Length;
use serde_json::json;

use crate::shell;
use crate::table::rows;

/// Inch sizes and the limits of the Irish Standard of 1954; its sources stand in it.
const INCHES: &str = include_str!("../../../../fixtures/checks/inch_lengths.csv");

fn family(reach_mm: f64) -> Option<f64> {
    shell(json!({ "reach_mm": reach_mm }))
        .reach_family_mm
        .map(Length::get)
}

fn hex(hex_mm: f64) -> (Option<f64>, Option<&'static str>) {
    let named = shell(json!({ "hex_mm": hex_mm }))
        .hex
        .expect("a hexagon was read");
    assert!(named.text.len() > 10, "{named:?}");
    (named.spanner_mm.map(Length::get), named.inch)
}

#[test]
fn inch_reaches_fall_into_their_families() {
    let mut seen = 0;
    for row in rows(INCHES, 29)
        .iter()
        .filter(|r| r.get::<String>("kind").as_deref() == Some("reach"))
    {
        let wanted = match row.number("inch") {
            0.375 => Some(9.5),
            0.4375 => Some(11.2),
            0.5 => Some(12.7),
            0.75 => Some(19.0),
            0.985 => Some(25.0),
            1.043 => Some(26.5),
            // 0.460 in is 11.684 mm; 0.708 in is 17.983 mm, 18.0 and not 17.5.
            0.460 | 0.708 => None,
            other => panic!("{other} in"),
        };
        assert_eq!(
            family(row.number("mm")),
            wanted,
            "{} in",
            row.number("inch")
        );
        seen += 1;
    }
    assert_eq!(seen, 8);
}

#[test]
fn the_limits_of_the_irish_standard_of_1954_are_short_and_long() {
    // S.I. 19/1954, 14 mm plugs: short reach 0.490 to 0.510 in, long 0.740 to 0.760 in.
    let limits: Vec<f64> = rows(INCHES, 29)
        .iter()
        .filter(|r| r.get::<String>("kind").as_deref() == Some("reach S.I. 19/1954"))
        .map(|r| r.number("mm"))
        .collect();
    assert_eq!(limits.len(), 4);
    let families: Vec<_> = limits.iter().map(|mm| family(*mm)).collect();
    assert_eq!(families, [Some(12.7), Some(12.7), Some(19.0), Some(19.0)]);
    // The thread of such a plug ends within 1/16 in of its reach: a short one never looks like a long one.
    let of_thread = 1.5875;
    for mm in limits {
        assert_ne!(
            family(mm - of_thread),
            Some(if mm < 15.0 { 19.0 } else { 12.7 })
        );
    }
}

#[test]
fn every_nominal_reach_is_its_own_family_and_what_lies_between_is_none() {
    // Nominal reaches: from memory. Half width: 0.30 mm (common practice) and the caliper's 0.05.
    for nominal in [9.5, 11.2, 12.7, 17.5, 19.0, 25.0, 26.5] {
        for off in [-0.35, 0.0, 0.35] {
            let read = ((nominal + off) * 100.0_f64).round() / 100.0;
            assert_eq!(family(read), Some(nominal), "{read}");
        }
        for off in [-0.36, 0.36] {
            let read = ((nominal + off) * 100.0_f64).round() / 100.0;
            assert_eq!(family(read), None, "{read}");
        }
    }
}

#[test]
fn inch_hexagons_take_the_spanner_beside_them() {
    // 25.4 mm to the inch (NIST SP 811); which spanner takes which: trade practice, no source.
    let wanted = [
        (0.5625, None, "9/16"),
        (0.625, Some(16.0), "5/8"),
        (0.6875, None, "11/16"),
        (0.75, Some(19.0), "3/4"),
        (0.8125, Some(20.8), "13/16"),
        (0.875, None, "7/8"),
    ];
    let table = rows(INCHES, 29);
    for (inch, spanner, name) in wanted {
        let row = table
            .iter()
            .find(|r| r.number("inch") == inch)
            .expect("a row");
        assert_eq!(hex(row.number("mm")), (spanner, Some(name)), "{name}");
    }
    // S.I. 19/1954: body hexagon at most 0.81 in, gland hexagon at most 0.70 in.
    assert_eq!([hex(20.574).0, hex(17.78).0], [Some(20.8), Some(18.0)]);
    for spanner in [14.0, 16.0, 18.0, 19.0, 20.8] {
        assert_eq!(hex(spanner).0, Some(spanner));
        assert_eq!(
            hex(spanner - 0.25).0,
            Some(spanner),
            "made under its name, and the caliper"
        );
    }
    assert_eq!(hex(18.0).1, None);
    assert_eq!(hex(15.0), (None, None));
}

#[test]
fn an_inch_hexagon_takes_the_same_spanner_only_where_it_is_its_own() {
    // 9/16 in is 14.2875 mm and does not enter a 14 mm spanner; 5/8 in takes 16, 3/4 in 19, 13/16 in 20.8 (trade
    // practice, no source). The half width is 0.25 mm, or 0.70 by the poorest caliper: 0.20 mm and its 0.50.
    let says = |hex_mm: f64, wrong_by: f64| {
        let body = json!({ "hex_mm": hex_mm, "uncertainty": { "hex_mm": wrong_by } });
        let named = shell(body).hex.expect("a hexagon was read");
        (named.spanner_mm.map(Length::get), named.inch, named.text)
    };
    let nine = "Either 14 mm or 9/16 in (14.29 mm), which needs its own spanner: try it.";
    for read in [14.04, 14.1, 14.2, 14.25] {
        let wanted = (Some(14.0), Some("9/16"), nine.to_owned());
        assert_eq!(says(read, 0.05), wanted, "{read}");
    }
    for (read, spanner, inch) in [
        (15.9, 16.0, "5/8"),
        (19.02, 19.0, "3/4"),
        (20.7, 20.8, "13/16"),
    ] {
        let text = format!(
            "The {spanner} mm spanner; a {inch} in hexagon cannot be told from it and takes the same."
        );
        assert_eq!(says(read, 0.05), (Some(spanner), Some(inch), text));
    }
    // Too far from the metric size to be it, and the inch size still has its spanner.
    for (read, spanner, inch) in [
        (15.7, 16.0, "5/8"),
        (19.28, 19.0, "3/4"),
        (20.5, 20.8, "13/16"),
    ] {
        let text = format!("A {inch} in hexagon: it takes the {spanner} mm spanner.");
        assert_eq!(says(read, 0.05), (Some(spanner), Some(inch), text));
    }
    let alone = |text: &str| (Some(14.0), None, text.to_owned());
    assert_eq!(says(14.03, 0.05), alone("The 14 mm spanner."));
    let text = "A 9/16 in hexagon: none of the usual metric spanners holds it.";
    assert_eq!(says(14.26, 0.05), (None, Some("9/16"), text.to_owned()));
    let text = "Either 18 mm or 11/16 in (17.46 mm), which needs its own spanner: try it.";
    assert_eq!(
        says(17.9, 0.5),
        (Some(18.0), Some("11/16"), text.to_owned())
    );
    let text = "Either 18 mm or 3/4 in (19.05 mm), which takes the 19 mm spanner: try it.";
    assert_eq!(says(18.4, 0.5), (Some(18.0), Some("3/4"), text.to_owned()));
}

#[test]
fn an_ohmmeter_tells_of_a_resistor_or_of_damage() {
    // Common practice, no source: a few ohms or less, none; 1 to 10 kΩ, fitted; the meter within 5 %.
    let cases = [
        (0.0, Some(false)),
        (3.0, Some(false)),
        (10.5, Some(false)),
        (11.0, None),
        (600.0, None),
        (950.0, None),
        (953.0, Some(true)),
        (5_000.0, Some(true)),
        (10_500.0, Some(true)),
        (10_527.0, None),
        (100_000_000.0, None),
    ];
    for (ohm, wanted) in cases {
        let told = shell(json!({ "resistance_ohm": ohm }));
        assert_eq!(told.resistor, wanted, "{ohm}: {told:?}");
        let text = told.resistor_text.expect("a sentence");
        let word = match wanted {
            Some(false) => "no resistor",
            Some(true) => "is fitted",
            None if ohm > 10_000.0 => "open resistor",
            None => "damaged",
        };
        assert!(text.contains(word), "{text}");
        // What lies beyond a limit, and is named all the same, says why.
        let beyond = wanted.is_some() && matches!(ohm, 10.5 | 953.0 | 10_500.0);
        assert_eq!(
            text.contains("within what the meter may be wrong by"),
            beyond,
            "{text}"
        );
    }
    let poor = json!({ "resistance_ohm": 500, "uncertainty": { "resistance_ohm": 600 } });
    let poor = shell(poor);
    assert_eq!(poor.resistor, None);
    assert_eq!(
        poor.resistor_text.as_deref(),
        Some("500 Ω by a meter that may be so wrong tells nothing.")
    );
    let unmeasured = shell(json!({ "seat": "gasket" }));
    assert_eq!(
        (unmeasured.resistor, unmeasured.resistor_text),
        (None, None)
    );
}
