//! The thread table against an outside table, against its formulas, and against itself.

mod table;

use plugwell_domain::thread_limits::{METRIC, ThreadLimits, thread_limits};
use table::{Row, rows};

const SECOND_COPY: &str = include_str!("../../../fixtures/checks/thread_limits.csv");
const OUTSIDE_6G_6H: &str = include_str!("../../../fixtures/checks/thread_limits_6g_6h.csv");

fn limits_of(row: &Row) -> &'static ThreadLimits {
    let designation: String = row.get("thread").expect("a thread");
    thread_limits(&designation).unwrap_or_else(|| panic!("{designation} is not in the table"))
}

fn micrometres(mm: f64) -> i32 {
    (mm * 1000.0).round() as i32
}

#[test]
fn only_the_five_sizes_are_known() {
    let designations = METRIC.map(|limits| limits.designation);
    assert_eq!(
        designations,
        ["M8x1", "M10x1", "M12x1.25", "M14x1.25", "M18x1.5"]
    );
    for limits in &METRIC {
        let printed = format!(
            "M{}x{}",
            f64::from(limits.major_um) / 1000.0,
            f64::from(limits.pitch_um) / 1000.0
        );
        assert_eq!(printed, limits.designation);
        assert_eq!(thread_limits(limits.designation), Some(limits));
    }
    for other in [
        "M14x1.5",
        "m14x1.25",
        "M14x1.25 ",
        "7/8-18 UNS",
        "1/2-14 NPT",
        "",
    ] {
        assert_eq!(thread_limits(other), None, "{other}");
    }
}

#[test]
fn table_is_as_printed() {
    for row in rows(SECOND_COPY, 5) {
        let limits = limits_of(&row);
        for (class, external) in [("6e", limits.external_6e), ("6g", limits.external_6g)] {
            for (name, diameter) in [
                ("major", external.major),
                ("pitch", external.pitch),
                ("minor", external.minor),
            ] {
                let printed = |end| micrometres(row.number(&format!("{class}_{name}_{end}")));
                assert_eq!(
                    (diameter.min_um, diameter.max_um),
                    (printed("min"), printed("max")),
                    "{class} {name}"
                );
            }
        }
        for (name, diameter) in [
            ("pitch", limits.internal_6h.pitch),
            ("minor", limits.internal_6h.minor),
        ] {
            let printed = |end| micrometres(row.number(&format!("6H_{name}_{end}")));
            assert_eq!(
                (diameter.min_um, diameter.max_um),
                (printed("min"), printed("max")),
                "6H {name}"
            );
        }
    }
}

// Class 6g and 6H: a published table, major and pitch diameters printed to four figures from 11 mm on, hence
// 5 µm there. Its internal M14x1.25 pitch maximum is 10 µm below ours; which is right is not settled.
#[test]
fn classes_6g_and_6h_agree_with_an_outside_table() {
    for row in rows(OUTSIDE_6G_6H, 6).iter().take(5) {
        let limits = limits_of(row);
        let external = limits.external_6g;
        let coarse = if limits.major_um < 11_000 { 0 } else { 5 };
        let unsettled = if limits.designation == "M14x1.25" {
            10
        } else {
            0
        };
        for (column, ours, tolerance) in [
            ("major_max", external.major.max_um, coarse),
            ("major_min", external.major.min_um, coarse),
            ("pitch_max", external.pitch.max_um, coarse),
            ("pitch_min", external.pitch.min_um, coarse),
            ("minor_max", external.minor.max_um, 0),
            ("minor_min", external.minor.min_um, 0),
            ("6H_minor_min", limits.internal_6h.minor.min_um, 0),
            ("6H_minor_max", limits.internal_6h.minor.max_um, 0),
            ("6H_pitch_min", limits.internal_6h.pitch.min_um, 0),
            ("6H_pitch_max", limits.internal_6h.pitch.max_um, unsettled),
        ] {
            let theirs = micrometres(row.number(column));
            let difference = (theirs - ours).abs();
            assert!(
                difference <= tolerance,
                "{} {column}: {ours}, not {theirs}",
                limits.designation
            );
        }
    }
}

// Tap drills of bd-warehouse 0.4.0: the bore that is drilled lies within the limits of the internal thread.
#[test]
fn tap_drills_lie_within_the_internal_thread() {
    for (designation, drill_um) in [
        ("M10x1", 9000),
        ("M12x1.25", 10_800),
        ("M14x1.25", 12_800),
        ("M18x1.5", 16_500),
    ] {
        let minor = thread_limits(designation)
            .expect("a size")
            .internal_6h
            .minor;
        assert!(
            minor.min_um <= drill_um && drill_um <= minor.max_um,
            "{designation}"
        );
    }
}

#[test]
fn limits_stand_in_the_order_of_a_thread() {
    for limits in &METRIC {
        for external in [limits.external_6e, limits.external_6g] {
            let upwards = [
                external.minor.min_um,
                external.minor.max_um,
                external.pitch.min_um,
                external.pitch.max_um,
                external.major.min_um,
                external.major.max_um,
                limits.major_um - 1,
            ];
            assert!(upwards.is_sorted(), "{} {upwards:?}", limits.designation);
            assert!(
                external.pitch.max_um < limits.internal_6h.pitch.min_um,
                "{} must turn",
                limits.designation
            );
            assert!(
                external.minor.max_um < limits.internal_6h.minor.min_um,
                "{} must turn",
                limits.designation
            );
        }
    }
}

/// R40, ISO 3: forty steps a decade, in hundredths.
const R40: [i32; 40] = [
    100, 106, 112, 118, 125, 132, 140, 150, 160, 170, 180, 190, 200, 212, 224, 236, 250, 265, 280,
    300, 315, 335, 355, 375, 400, 425, 450, 475, 500, 530, 560, 600, 630, 670, 710, 750, 800, 850,
    900, 950,
];
/// R'40, ISO 3: the same, rounded once more.
const R40_ROUNDED: [i32; 40] = [
    100, 105, 110, 120, 125, 130, 140, 150, 160, 170, 180, 190, 200, 210, 220, 240, 250, 260, 280,
    300, 320, 340, 360, 380, 400, 420, 450, 480, 500, 530, 560, 600, 630, 670, 710, 750, 800, 850,
    900, 950,
];

/// The numbers of a series from 10 to 950, rising.
fn decades(series: [i32; 40]) -> Vec<f64> {
    series
        .map(|n| f64::from(n) / 10.0)
        .into_iter()
        .chain(series.map(f64::from))
        .collect()
}

/// Place in the series of the number that is nearest by ratio.
fn nearest(series: &[f64], value: f64) -> usize {
    let distance = |n: f64| (n / value).ln().abs();
    (0..series.len())
        .min_by(|&a, &b| distance(series[a]).total_cmp(&distance(series[b])))
        .expect("a series")
}

/// Deviations and tolerances, µm, of a diameter and pitch in mm.
#[derive(Debug, PartialEq)]
struct Derived {
    es_e: i32,
    es_g: i32,
    td: i32,
    td2: i32,
    internal_td2: i32,
    internal_td1: i32,
}

/// ISO 965-1 clause 13 as transcribed publicly; the rounding is a reconstruction, not the standard's wording:
/// deviations to the nearest R'40 number, tolerances to the nearest R40 number, both by ratio, the internal
/// pitch tolerance five R40 steps above the external one.
fn derived(diameter: f64, pitch: f64) -> Derived {
    let (r40, r40_rounded) = (decades(R40), decades(R40_ROUNDED));
    // Steps of diameter, from memory of the standard: 5.6 to 11.2, 11.2 to 22.4.
    let step = if diameter <= 11.2 {
        (5.6 * 11.2f64).sqrt()
    } else {
        (11.2 * 22.4f64).sqrt()
    };
    let deviation = |value| r40_rounded[nearest(&r40_rounded, value)] as i32;
    let tolerance = |value| r40[nearest(&r40, value)] as i32;
    let td2 = nearest(&r40, 90.0 * pitch.powf(0.4) * step.powf(0.1));
    Derived {
        es_e: deviation(50.0 + 11.0 * pitch),
        es_g: deviation(15.0 + 11.0 * pitch),
        td: tolerance(180.0 * pitch.powf(2.0 / 3.0) - 3.15 / pitch.sqrt()),
        td2: r40[td2] as i32,
        internal_td2: r40[td2 + 5] as i32,
        internal_td1: tolerance(230.0 * pitch.powf(0.7)),
    }
}

/// ISO 68-1 basic profile: pitch and minor diameter, µm.
fn basic(diameter: f64, pitch: f64) -> (i32, i32) {
    let height = 3f64.sqrt() / 2.0 * pitch;
    (
        micrometres(diameter - 0.75 * height),
        micrometres(diameter - 1.25 * height),
    )
}

#[test]
fn formulas_give_the_printed_tolerances() {
    for row in rows(SECOND_COPY, 5) {
        let limits = limits_of(&row);
        let printed = |column| row.number(column) as i32;
        let want = Derived {
            es_e: printed("es_e_um"),
            es_g: printed("es_g_um"),
            td: printed("td_um"),
            td2: printed("td2_um"),
            internal_td2: printed("internal_td2_um"),
            internal_td1: printed("internal_td1_um"),
        };
        let (diameter, pitch) = (
            f64::from(limits.major_um) / 1000.0,
            f64::from(limits.pitch_um) / 1000.0,
        );
        assert_eq!(derived(diameter, pitch), want, "{}", limits.designation);
    }
}

#[test]
fn formulas_give_every_limit_of_the_table() {
    for limits in &METRIC {
        let (diameter, pitch) = (
            f64::from(limits.major_um) / 1000.0,
            f64::from(limits.pitch_um) / 1000.0,
        );
        let (d2, d1) = basic(diameter, pitch);
        let t = derived(diameter, pitch);
        for (es, external) in [(t.es_e, limits.external_6e), (t.es_g, limits.external_6g)] {
            let (major, pitch_max) = (limits.major_um - es, d2 - es);
            // The rounded root, 0.616 025 of the pitch below the smallest pitch diameter.
            let core = micrometres(f64::from(pitch_max - t.td2) / 1000.0 - 0.616_025 * pitch);
            assert_eq!(
                (external.major.min_um, external.major.max_um),
                (major - t.td, major)
            );
            assert_eq!(
                (external.pitch.min_um, external.pitch.max_um),
                (pitch_max - t.td2, pitch_max)
            );
            assert_eq!(
                (external.minor.min_um, external.minor.max_um),
                (core, d1 - es)
            );
        }
        let internal = limits.internal_6h;
        assert_eq!(
            (internal.pitch.min_um, internal.pitch.max_um),
            (d2, d2 + t.internal_td2)
        );
        assert_eq!(
            (internal.minor.min_um, internal.minor.max_um),
            (d1, d1 + t.internal_td1)
        );
    }
}

// M8x1.25 is no plug's thread: the outside table and screw_thread_lib 0.0.6 (ASME B1.13M) agree on its eight
// limits of 6g and 6H, so it tries the reconstructed rounding where the answer is not in dispute.
#[test]
fn rounding_holds_for_a_thread_that_two_outside_tables_agree_on() {
    let rows = rows(OUTSIDE_6G_6H, 6);
    let row = rows
        .iter()
        .find(|row| row.get::<String>("thread").as_deref() == Some("M8x1.25"))
        .expect("M8x1.25");
    let (d2, d1) = basic(8.0, 1.25);
    let t = derived(8.0, 1.25);
    let pitch_max = d2 - t.es_g;
    for (column, ours) in [
        ("major_max", 8000 - t.es_g),
        ("major_min", 8000 - t.es_g - t.td),
        ("pitch_max", pitch_max),
        ("pitch_min", pitch_max - t.td2),
        ("6H_minor_min", d1),
        ("6H_minor_max", d1 + t.internal_td1),
        ("6H_pitch_min", d2),
        ("6H_pitch_max", d2 + t.internal_td2),
    ] {
        assert_eq!(ours, micrometres(row.number(column)), "{column}");
    }
}
