//! What is due about a set, and that nothing unknown is taken for fine.
//!
//! Lives and shares are the policy's: a nickel tip 16 000 km in a boosted engine (10 000 miles), 32 000
//! in another; half of the maker's figure under boost (all common practice, no source); near from 0.9
//! of it, leads from three changes (own).

use plugwell_domain::fitment::Severity;
use plugwell_domain::fitted::{Due, DueState, Fitted, due};
use plugwell_domain::plug::PlugData;
use plugwell_domain::policy::Policy;
use serde_json::{Value, json};

fn plug(over: Value) -> PlugData {
    let mut members = json!({ "maker": "Ferrowick", "part_number": "FW-1", "electrode": "nickel" });
    let own = members.as_object_mut().expect("an object");
    own.extend(over.as_object().expect("an object").clone());
    PlugData::from_map(own).expect("a plug")
}

/// What is due after so many kilometres.
fn after(
    plug: &PlugData,
    boosted: bool,
    then: Option<i64>,
    now: Option<i64>,
    changes: u32,
) -> Option<Due> {
    due(&Fitted {
        policy: &Policy::default(),
        boosted,
        plug,
        odometer_then: then,
        odometer_now: now,
        lead_changes: changes,
        leads_known: false,
    })
}

fn state(plug: &PlugData, boosted: bool, km: i64) -> Option<DueState> {
    after(plug, boosted, Some(50_000), Some(50_000 + km), 1).map(|due| due.state)
}

#[test]
fn a_nickel_tip_lasts_half_as_long_under_boost() {
    let nickel = plug(json!({}));
    for (boosted, km, want) in [
        (true, 0, None),
        (true, 14_399, None),
        (true, 14_400, Some(DueState::NearsEnd)),
        (true, 16_000, Some(DueState::NearsEnd)),
        (true, 16_001, Some(DueState::WornOut)),
        (false, 28_799, None),
        (false, 28_800, Some(DueState::NearsEnd)),
        (false, 32_001, Some(DueState::WornOut)),
    ] {
        assert_eq!(state(&nickel, boosted, km), want, "{boosted} {km}");
    }
}

#[test]
fn the_makers_figure_stands_above_the_metals_and_boost_shortens_it() {
    let own = plug(json!({ "service_life_km": 60_000 }));
    for (boosted, km, want) in [
        (false, 53_999, None),
        (false, 54_000, Some(DueState::NearsEnd)),
        (true, 26_999, None),
        (true, 27_000, Some(DueState::NearsEnd)),
        (true, 30_001, Some(DueState::WearsEarly)),
        (true, 60_001, Some(DueState::WornOut)),
    ] {
        assert_eq!(state(&own, boosted, km), want, "{boosted} {km}");
    }
    let found = after(&own, true, Some(0), Some(28_000), 1).expect("near its end");
    assert_eq!(found.life_km, Some(30_000));
    assert_eq!(
        (found.distance_km, found.left_km()),
        (Some(28_000), Some(2_000))
    );
    assert_eq!(found.severity, Severity::Watch);
    assert_eq!(
        found.text,
        [
            "They have run 28 000 km (17 400 mi) of about 30 000 km (18 600 mi) that they last in this engine: the next set is due in about 2 000 km (1 200 mi)."
        ]
    );
}

#[test]
fn what_nobody_knows_is_asked_and_never_fine() {
    let (nickel, silver) = (plug(json!({})), plug(json!({ "electrode": "silver" })));
    let assumed = plug(json!({ "provenance": { "electrode": "assumed" } }));
    let asked = |plug: &PlugData, then, now| {
        let found = after(plug, true, then, now, 0).expect("something is asked");
        assert_eq!(found.state, DueState::Unknown);
        assert_eq!(found.text.len(), found.unanswered.len());
        let open = found.unanswered.into_iter().map(|open| open.attribute);
        open.collect::<Vec<_>>()
    };
    assert_eq!(asked(&nickel, Some(50_000), None), ["odometer_km"]);
    assert_eq!(asked(&nickel, None, Some(50_000)), ["odometer_km"]);
    // An odometer that was noted before the set went in says nothing of it.
    assert_eq!(asked(&nickel, Some(50_000), Some(49_999)), ["odometer_km"]);
    assert_eq!(
        asked(&silver, Some(50_000), Some(50_001)),
        ["service_life_km"]
    );
    assert_eq!(
        asked(&assumed, Some(50_000), Some(50_001)),
        ["service_life_km"]
    );
    assert_eq!(
        asked(&silver, None, None),
        ["odometer_km", "service_life_km"]
    );
}

#[test]
fn leads_are_due_beside_the_plugs() {
    let nickel = plug(json!({}));
    let fresh = |changes| after(&nickel, true, Some(0), Some(1), changes);
    assert_eq!(fresh(2), None);
    let found = fresh(3).expect("three changes");
    assert_eq!(
        (found.state, found.severity),
        (DueState::LeadsDue, Severity::Fix)
    );
    assert_eq!(found.text.len(), 1);
    // Worn plugs are said first; where nobody knows of the plugs the leads are the most urgent.
    let worn = after(&nickel, true, Some(0), Some(20_000), 3).expect("worn");
    assert_eq!((worn.state, worn.text.len()), (DueState::WornOut, 2));
    let near = after(&nickel, true, Some(0), Some(15_000), 3).expect("near");
    assert_eq!(
        (near.state, near.severity),
        (DueState::NearsEnd, Severity::Fix)
    );
    let unknown = after(&nickel, true, None, None, 3).expect("leads");
    assert_eq!(
        (unknown.state, unknown.unanswered.len()),
        (DueState::LeadsDue, 1)
    );
}
