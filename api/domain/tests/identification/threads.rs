//! The whole table of thread limits, and what lies between and beyond them.

use plugwell_domain::identification::ThreadVerdict;
use plugwell_domain::thread::Thread;
use serde_json::{Value, json};

use crate::shell;
use crate::table::rows;

/// The same table that holds the limits of the parts themselves; its sources stand in it.
const LIMITS: &str = include_str!("../../../../fixtures/checks/thread_limits.csv");

fn named(value: Value) -> (Option<Thread>, ThreadVerdict, String) {
    let named = shell(value).thread.expect("a thread was read");
    (named.designation, named.verdict, named.text)
}

/// By diameter alone, with an instrument that is wrong by so much; µm.
fn by_diameter(um: i64, uncertainty_um: i64) -> (Option<Thread>, ThreadVerdict, String) {
    let mm = |um: i64| um as f64 / 1000.0;
    named(json!({
        "major_diameter_mm": mm(um), "uncertainty": { "major_diameter_mm": mm(uncertainty_um) }
    }))
}

/// Wear that is let through: own.
const WEAR_UM: i64 = 150;

#[test]
fn every_limit_of_every_size_and_class_divides_clear_from_worn_and_from_nothing() {
    let mut limits_seen = 0;
    for row in rows(LIMITS, 5) {
        let name: String = row.get("thread").expect("a name");
        let thread = Thread::read(&name);
        assert!(thread.is_some(), "{name}");
        let um = |column: &str| (row.number(column) * 1000.0).round() as i64;
        // Exact, the usual caliper, and a poor one.
        for wrong_by in [0, 50, 200] {
            for class in ["6e", "6g"] {
                let (least, most) = (
                    um(&format!("{class}_major_min")),
                    um(&format!("{class}_major_max")),
                );
                for inside in [least, least + 1, (least + most) / 2, most - 1, most] {
                    let (designation, verdict, text) = by_diameter(inside, wrong_by);
                    assert_eq!(
                        (designation, verdict),
                        (thread, ThreadVerdict::Clear),
                        "{name} {inside}: {text}"
                    );
                    limits_seen += 1;
                }
            }
            // Class 6e begins lowest, 6g ends highest: beyond both, the uncertainty still counts.
            let (least, most) = (um("6e_major_min") - wrong_by, um("6g_major_max") + wrong_by);
            let cases = [
                (least, ThreadVerdict::Clear),
                (least - 1, ThreadVerdict::Worn),
                (least - WEAR_UM, ThreadVerdict::Worn),
                (most, ThreadVerdict::Clear),
            ];
            for (diameter, wanted) in cases {
                let (designation, verdict, text) = by_diameter(diameter, wrong_by);
                assert_eq!(
                    (designation, verdict),
                    (thread, wanted),
                    "{name} {diameter}: {text}"
                );
            }
            for outside in [least - WEAR_UM - 1, most + 1] {
                let (designation, verdict, text) = by_diameter(outside, wrong_by);
                assert_eq!(designation, None, "{name} {outside}: {text}");
                let end = (name == "M8x1" && outside < least).then_some(ThreadVerdict::None);
                assert_eq!(
                    verdict,
                    end.unwrap_or(ThreadVerdict::Between),
                    "{name} {outside}: {text}"
                );
                assert!(text.contains("damaged"), "{text}");
            }
        }
    }
    assert_eq!(limits_seen, 5 * 3 * 2 * 5);
}

#[test]
fn the_limit_is_answered_with_its_source() {
    let limit = shell(json!({ "major_diameter_mm": 13.88 }))
        .thread
        .and_then(|t| t.limit)
        .expect("a limit");
    assert_eq!(
        [limit.min_mm, limit.max_mm, limit.worn_min_mm].map(|l| l.get()),
        [13.725, 13.972, 13.575]
    );
    assert!(limit.source.contains("ISO 965-1") && limit.source.contains("from memory"));
}

#[test]
fn above_class_6e_it_is_said() {
    // M14x1.25: 6e ends at 13.937, 6g at 13.972 (fixtures/checks/thread_limits.csv).
    assert!(by_diameter(13_938, 0).2.contains("above class 6e"));
    assert!(!by_diameter(13_937, 0).2.contains("above class 6e"));
    assert!(by_diameter(13_973, 50).2.contains("caliper may be wrong"));
}

#[test]
fn a_pitch_alone_names_what_it_can_and_asks_for_the_diameter() {
    let cases = [
        (1.0, None, "M8x1 or M10x1"),
        (1.25, None, "M12x1.25 or M14x1.25"),
        (1.5, Some(Thread::M18x15), "M18x1.5"),
        // 18 and 14 to the inch, as anybody types them (25.4 mm, NIST SP 811).
        (1.41, Some(Thread::Uns78), "7/8-18 UNS"),
        (1.4111, Some(Thread::Uns78), "7/8-18 UNS"),
        (1.81, Some(Thread::Npt12), "1/2-14 NPT"),
        (1.8143, Some(Thread::Npt12), "1/2-14 NPT"),
    ];
    for (pitch, thread, text) in cases {
        let (designation, verdict, said) = named(json!({ "pitch_mm": pitch }));
        let wanted = if thread.is_some() {
            ThreadVerdict::Clear
        } else {
            ThreadVerdict::Between
        };
        assert_eq!((designation, verdict), (thread, wanted), "{pitch}: {said}");
        assert!(
            said.contains(text) && said.to_lowercase().contains("measure the diameter"),
            "{said}"
        );
    }
    for pitch in [0.75, 1.1, 1.26, 1.75, 2.0] {
        let (designation, verdict, text) = named(json!({ "pitch_mm": pitch }));
        assert_eq!(
            (designation, verdict),
            (None, ThreadVerdict::None),
            "{pitch}: {text}"
        );
        assert!(
            text.contains("damaged, recut, or of another standard"),
            "{text}"
        );
    }
}

#[test]
fn diameter_and_pitch_have_to_go_together() {
    let both = |diameter: f64, pitch: f64| {
        named(json!({ "major_diameter_mm": diameter, "pitch_mm": pitch }))
    };
    assert_eq!(both(13.88, 1.25).0, Some(Thread::M14x125));
    assert_eq!(both(11.9, 1.25).0, Some(Thread::M12x125));
    assert_eq!(both(13.6, 1.25).1, ThreadVerdict::Worn);
    let (designation, verdict, text) = both(13.88, 1.5);
    assert_eq!((designation, verdict), (None, ThreadVerdict::None));
    assert!(
        text.contains("M14x1.25") && text.contains("1.25 mm, not 1.5 mm"),
        "{text}"
    );
    let (designation, verdict, text) = both(13.2, 1.25);
    assert_eq!((designation, verdict), (None, ThreadVerdict::Between));
    assert!(
        text.contains("between M12x1.25 and M14x1.25") && text.contains("crests are destroyed"),
        "{text}"
    );
}

// ASME B1.1, 7/8-18 UNS-2A: major diameter 0.8649 to 0.8736 in; ASME B1.20.1, 1/2-14 NPT: pipe 0.840 in, pitch
// diameter 0.75843 in at the small end, depth 0.8 of the pitch: crests from 0.7584 + 0.0571 = 0.8156 in. From memory.
#[test]
fn the_inch_threads_are_considered() {
    for (diameter, thread) in [
        (22.1, Thread::Uns78),
        (0.8649 * 25.4, Thread::Uns78),
        (0.875 * 25.4, Thread::Uns78),
        (20.75, Thread::Npt12),
        (0.84 * 25.4, Thread::Npt12),
        (21.0, Thread::Npt12),
    ] {
        let rounded = (diameter * 1000.0_f64).round() / 1000.0;
        let (designation, verdict, text) = named(json!({ "major_diameter_mm": rounded }));
        assert_eq!(
            (designation, verdict),
            (Some(thread), ThreadVerdict::Clear),
            "{text}"
        );
    }
    let limit = shell(json!({ "major_diameter_mm": 22.1 }))
        .thread
        .and_then(|t| t.limit);
    assert!(limit.expect("a limit").source.contains("from memory"));
}

#[test]
fn a_caliper_that_cannot_tell_two_sizes_apart_says_so() {
    // Half-inch pipe ends at 21.336 mm, 7/8 in begins at 21.968 mm.
    let poor = json!({ "major_diameter_mm": 21.65, "uncertainty": { "major_diameter_mm": 0.4 } });
    let named = shell(poor).thread.expect("a thread was read");
    assert_eq!(
        (named.designation, named.verdict),
        (None, ThreadVerdict::Between)
    );
    assert_eq!(named.can_be, [Thread::Npt12, Thread::Uns78]);
    assert!(
        named.text.contains("1/2-14 NPT or 7/8-18 UNS"),
        "{}",
        named.text
    );
}

#[test]
fn what_is_larger_or_smaller_than_every_thread_is_none() {
    for (diameter, word) in [(6.0, "smaller"), (7.5, "smaller"), (25.0, "larger")] {
        let (designation, verdict, text) = named(json!({ "major_diameter_mm": diameter }));
        assert_eq!(
            (designation, verdict),
            (None, ThreadVerdict::None),
            "{text}"
        );
        assert!(text.contains(word) && text.contains("damaged"), "{text}");
    }
    assert!(shell(json!({ "reach_mm": 19 })).thread.is_none());
}
