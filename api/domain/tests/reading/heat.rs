//! Where there is room for a hotter plug, and what a heat line that is not there tells.

use plugwell_domain::decimal::Decimal;
use plugwell_domain::reading::{History, Sign, SuggestionCode};
use serde_json::json;

use crate::{FRESH, codes, judged, reading};

#[test]
fn a_hotter_plug_only_where_the_build_has_room_for_it() {
    let cold = reading(json!({ "heat_line": "at_tip" }));
    let at = |heat: Option<i64>, min: Option<i64>| {
        let history = History {
            heat: heat.map(Decimal),
            heat_min: min.map(Decimal),
            ..FRESH
        };
        judged(&cold, history)
    };
    // One step is ten points; the window of the target 70 begins at 67 (policy).
    let room = at(Some(770), Some(670));
    assert_eq!(codes(&room), ["hotter_by_one"]);
    assert!(room.contradictions.is_empty());
    for (heat, min, said) in [
        (Some(769), Some(670), "stands at 76.9"),
        (
            Some(700),
            Some(670),
            "the plug stands at 70, the build asks for 67 or colder: not hotter",
        ),
        (None, Some(670), "nobody knows how hot the plug is"),
        (
            Some(900),
            None,
            "nobody knows how hot a plug the build takes",
        ),
        (None, None, "nor how hot a one"),
    ] {
        let made = at(heat, min);
        assert!(made.evidence && made.suggestions.is_empty(), "{made:?}");
        let [left] = &made.contradictions[..] else {
            panic!("{made:?}")
        };
        assert_eq!(left.left_out, SuggestionCode::HotterByOne);
        assert!(left.stands.is_empty());
        assert!(left.text.contains(said), "{}", left.text);
    }
    // Leaner stands by itself: a plug without room does not take it along.
    let rich = reading(json!({ "heat_line": "at_tip", "base_ring": "black_soot" }));
    let made = judged(
        &rich,
        History {
            heat_min: Some(Decimal(850)),
            ..FRESH
        },
    );
    assert_eq!(codes(&made), ["leaner"]);
}

#[test]
fn a_heat_line_that_is_not_there_is_no_sign_that_all_is_well() {
    let made = judged(
        &reading(json!({ "heat_line": "none", "speckles": "none" })),
        FRESH,
    );
    assert_eq!(codes(&made), ["no_change"]);
    assert_eq!(made.suggestions[0].signs, [Sign::Speckles]);
    let made = judged(
        &reading(json!({ "heat_line": "none", "base_ring": "black_soot" })),
        FRESH,
    );
    assert_eq!(codes(&made), ["leaner"]);
}
