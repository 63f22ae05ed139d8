//! How a plug lies in a head: at a glance, with the figure, and never better than the match says.

use plugwell_domain::attribute::Attr;
use plugwell_domain::fit::{judge, rules_out};
use plugwell_domain::outline::{HeadMeasures, Section, SectionCode, section};
use plugwell_domain::plug::Shows;
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::Requirement;
use serde_json::{Value, json};

use crate::{engine, near, plug};

fn laid_in(head: &Value, changes: Option<&Value>) -> (Section, Requirement) {
    let changed = json!({ "head": head });
    let (_, head) = engine::build(&changed);
    let needed = engine::need(changed);
    let tolerance = Policy::default().values.reach_tolerance_mm.value;
    let plug = changes.map(plug);
    let drawn = section(HeadMeasures::of(&head, tolerance), &needed, plug.as_ref());
    (drawn, needed)
}

fn told(head: &Value, changes: &Value) -> Vec<(SectionCode, String)> {
    let (drawn, _) = laid_in(head, Some(changes));
    let findings = drawn.findings.into_iter();
    findings.map(|found| (found.code, found.text)).collect()
}

#[test]
fn what_fits_is_told_so_by_every_figure() {
    let told = told(&json!({}), &json!({}));
    assert_eq!(told.len(), 5);
    assert!(told.iter().all(|(code, _)| *code == SectionCode::Within));
}

#[test]
fn each_fault_is_named_with_its_figure() {
    for (changes, code, said) in [
        (
            json!({"reach_mm": 20.7}),
            SectionCode::TooLong,
            "1.7 mm too long: 1.7 mm of thread stands into the chamber",
        ),
        (
            json!({"reach_mm": 12.7}),
            SectionCode::TooShort,
            "6.3 mm too short: 6.3 mm of the head's thread is left bare",
        ),
        (
            json!({"hex_mm": 20.8}),
            SectionCode::HexTooLarge,
            "4.8 mm too large",
        ),
        (
            json!({"projection_mm": 1.3}),
            SectionCode::Shrouded,
            "Shrouded by 0.7 mm",
        ),
        (
            json!({"projection_mm": 4.5, "strap_extent_mm": 6.7}),
            SectionCode::Protrudes,
            "0.5 mm beyond the window",
        ),
        (
            json!({"thread": "M12x1.25"}),
            SectionCode::ThreadDiffers,
            "M12x1.25 in a hole of M14x1.25",
        ),
        (
            json!({"seat": "conical"}),
            SectionCode::SeatDiffers,
            "A conical seat in a head cut for a gasket one",
        ),
    ] {
        let told = told(&json!({}), &changes);
        assert_eq!(told[0].0, code, "{told:?}");
        assert!(told[0].1.contains(said), "{told:?}");
        assert!(code.rules_out());
    }
}

#[test]
fn with_a_wrong_reach_it_is_told_where_the_spark_then_stands() {
    let long = told(&json!({}), &json!({"reach_mm": 26.5}));
    assert!(
        long[1]
            .1
            .contains("10.5 mm beyond the chamber's surface; the head wants it 2 to 4 mm beyond"),
        "{long:?}"
    );
    let inside = |(_, text): &(SectionCode, String)| text.contains("inside the window");
    assert!(!long.iter().any(inside), "{long:?}");
    let short = told(&json!({}), &json!({"reach_mm": 12.7}));
    assert!(short[1].1.contains("3.3 mm behind"), "{short:?}");
}

#[test]
fn an_unknown_is_told_and_never_taken_for_fit() {
    for (attr, label) in [
        ("thread", "thread"),
        ("seat", "seat"),
        ("reach_mm", "reach"),
        ("hex_mm", "hex"),
        ("projection_mm", "projection"),
    ] {
        let told = told(&json!({}), &json!({ attr: null }));
        let (code, text) = &told[0];
        assert_eq!(*code, SectionCode::PlugUnknown, "{attr}: {told:?}");
        assert!(
            text.contains(label) && text.contains("never taken for fit"),
            "{text}"
        );
    }
    let (open, _) = laid_in(
        &json!({"hex_max_mm": null, "projection_min_mm": null}),
        None,
    );
    assert_eq!(open.hex_room, None);
    assert_eq!(open.head.window(), [None, Some(23.0)]);
    let codes: Vec<_> = open.findings.iter().map(|found| found.code).collect();
    assert_eq!(codes, [SectionCode::HeadUnknown; 2]);
}

/// The picture and the match are of one mind about every figure that the picture shows.
#[test]
fn the_section_rules_out_what_the_match_rules_out() {
    let mut seen = [0, 0];
    for reach in [
        json!(null),
        json!(18.6),
        json!(18.7),
        json!(19.3),
        json!(19.31),
    ] {
        for hex in [json!(null), json!(14.0), json!(16.2), json!(16.21)] {
            for projection in [
                json!(null),
                json!(1.99),
                json!(2.0),
                json!(4.0),
                json!(4.01),
            ] {
                let changes = json!({
                    "reach_mm": reach, "hex_mm": hex, "projection_mm": projection, "strap_extent_mm": null
                });
                let (drawn, needed) = laid_in(&json!({}), Some(&changes));
                let plug = plug(&changes);
                let shown = [
                    Attr::Thread,
                    Attr::Seat,
                    Attr::Reach,
                    Attr::Hex,
                    Attr::Projection,
                ];
                let out = needed.musts().any(|demand| {
                    let verdict = judge(demand, plug.shown(demand.attribute));
                    shown.contains(&demand.attribute) && rules_out(demand, verdict)
                });
                let told = drawn
                    .findings
                    .iter()
                    .any(|found| found.code.rules_out() || found.code == SectionCode::PlugUnknown);
                assert_eq!(told, out, "{changes}: {:?}", drawn.findings);
                seen[usize::from(out)] += 1;
            }
        }
    }
    assert!(seen.iter().all(|count| *count > 3), "{seen:?}");
}

#[test]
fn the_metal_ends_at_the_chamber_and_keeps_the_threads_in_step() {
    let (drawn, _) = laid_in(&json!({"reach_mm": 26.5}), Some(&json!({"reach_mm": 26.5})));
    let [right, left] = &drawn.metal;
    let lowest = right.iter().map(|(_, along)| *along).fold(0.0, f64::max);
    near("chamber", lowest, 26.5);
    assert_eq!(right.len(), left.len());
    near("room", drawn.hex_room.expect("a limit"), 16.0 / 3f64.sqrt());
    // The plug's crests lie in the roots of the head's thread.
    let plug = drawn.plug.expect("a plug");
    let own: Vec<_> = plug
        .shapes
        .iter()
        .filter(|shape| shape.piece == plugwell_domain::outline::Piece::Thread)
        .flat_map(|shape| &shape.points)
        .filter(|(x, _)| (x - 7.0).abs() < 1e-6)
        .collect();
    assert!(own.len() > 20);
    assert!(own.iter().all(|point| right.contains(point)));
}
