//! What should be used up first.

use plugwell_domain::plug::Plug;
use plugwell_domain::policy::Policy;
use plugwell_domain::reorder::{
    Alike, CountedOn, Known, LeadDays, Lying, Position, ReorderLine, Reordering, use_first,
};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::engine::plug;

fn part(id: u128, changes: Value) -> Plug {
    let mut members = json!({
        "thread": "M14x1.25", "reach_mm": 19.0, "seat": "gasket", "hex_mm": 16.0, "heat_index": 70,
        "projection_mm": 3.0, "resistor": true, "electrode": "iridium", "ground": "single_strap",
        "gap_preset_mm": 0.8, "gap_min_mm": 0.6, "gap_max_mm": 1.1, "terminal": "solid_nut"
    });
    members
        .as_object_mut()
        .unwrap()
        .extend(changes.as_object().unwrap().clone());
    let mut made = plug(members);
    made.id = Uuid::from_u128(id);
    made
}

fn lying(available: i64) -> Lying {
    Lying {
        available,
        since: "2026-01-31T12:00:00Z".parse().unwrap(),
    }
}

#[test]
fn only_equivalents_are_named_and_never_hotter_ones() {
    let policy = Policy::default();
    let parts = [
        (part(1, json!({})), 12),
        (part(2, json!({ "heat_index": 60 })), 40),
        (part(3, json!({ "heat_index": 80 })), 8),
        (part(4, json!({ "electrode": "nickel" })), 5),
        (part(5, json!({ "electrode": "nickel" })), 9),
        (part(6, json!({ "thread": "M12x1.25" })), 50),
        (part(7, json!({ "reach_mm": 26.5 })), 50),
        (part(8, json!({ "heat_index": null })), 50),
    ];
    let unsold: Alike<'_, Lying> = parts
        .iter()
        .map(|(plug, available)| (plug, lying(*available)))
        .collect();
    let named = |asked: &Plug| -> Vec<(u128, i64)> {
        let found = use_first(asked, &unsold, &policy);
        found
            .iter()
            .map(|first| (first.plug.id.as_u128(), first.available))
            .collect()
    };
    // The same in all first, then but for metal, the greater quantity before; three at most.
    assert_eq!(named(&part(9, json!({}))), [(1, 12), (5, 9), (4, 5)]);
    assert_eq!(
        named(&part(1, json!({}))),
        [(5, 9), (4, 5), (3, 8)],
        "never the part itself"
    );
    assert_eq!(named(&part(9, json!({ "heat_index": null }))), []);
    let first = &use_first(&part(9, json!({})), &unsold, &policy)[1];
    assert!(first.text.starts_with("same but for"), "{}", first.text);
    assert!(
        !first.certain,
        "nobody knows how far its strap stands out, nor its kind of hexagon"
    );
    let whole = |id| part(id, json!({ "strap_extent_mm": 5.5, "hex_kind": "hex" }));
    let known = whole(10);
    let known: Alike<'_, Lying> = std::iter::once((&known, lying(8))).collect();
    assert!(use_first(&whole(9), &known, &policy)[0].certain);
    let unknown = part(9, json!({ "terminal": null }));
    let doubtful = use_first(&unknown, &unsold, &policy);
    assert!(!doubtful.is_empty() && doubtful.iter().all(|first| !first.certain));
    let told = serde_json::to_value(first).unwrap();
    assert_eq!(told["unsold_since"], "2026-01-31T12:00:00.000000Z");
}

/// The line of a part of which so many are to be ordered, with what lies unsold.
fn due(of: &Plug, quantity: i64, unsold: &Alike<'_, Lying>) -> ReorderLine {
    let policy = Policy::default();
    let hand = Reordering {
        min_quantity: Some(0),
        max_quantity: Some(quantity),
        ..Reordering::default()
    };
    let known = Known {
        plug: of,
        last_period: 2_900,
        history: &[],
        start: None,
        hand: &hand,
        supplier: None,
        lead: LeadDays::of(&hand, &[], None, &policy.values),
        unit_cost: None,
        pack_size: None,
        position: Position::default(),
        use_first: use_first(of, unsold, &policy),
    };
    ReorderLine::of(known, &policy)
}

#[test]
fn no_plug_that_lies_unsold_stands_in_for_two_lines() {
    let whole = |id| part(id, json!({ "strap_extent_mm": 5.5, "hex_kind": "hex" }));
    let unknown = part(3, json!({ "strap_extent_mm": 5.5 }));
    let lying_there = [(whole(1), 6), (whole(2), 5), (unknown, 50)];
    let unsold: Alike<'_, Lying> = lying_there
        .iter()
        .map(|(plug, available)| (plug, lying(*available)))
        .collect();
    let parts: Vec<Plug> = (11..16).map(whole).collect();
    let line = |place: usize, quantity| due(&parts[place], quantity, &unsold);
    let mut counted_on = CountedOn::default();
    assert!(
        !counted_on.cover(&line(0, 12)),
        "12 of 11, and none is taken"
    );
    assert!(
        counted_on.cover(&line(1, 8)),
        "6 of the one, 2 of the other"
    );
    assert!(!counted_on.cover(&line(2, 8)), "the same plugs");
    assert!(!counted_on.cover(&line(2, 4)), "3 are left");
    assert!(counted_on.cover(&line(3, 3)));
    assert!(
        !counted_on.cover(&line(4, 1)),
        "what is not certain covers nothing"
    );
    let mut nothing = line(4, 1);
    nothing.order_quantity = 0;
    assert!(!CountedOn::default().cover(&nothing));
}
