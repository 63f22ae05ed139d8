//! Whatever two parts are: what is graded fits, and is never hotter.

use plugwell_domain::attribute::Attr;
use plugwell_domain::equivalent::{Finding, Grade, Opinion};
use plugwell_domain::fit::fits;
use plugwell_domain::plug::Shows;
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::of_part;
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::whole;

/// Members near those of [`whole`], on either side of every tolerance, or unknown.
fn members() -> impl Strategy<Value = Value> {
    let lists = [
        ("thread", json!(["M14x1.25", "M14x1.25", "M12x1.25"])),
        ("reach_mm", json!([19.0, 19.05, 19.3, 19.4, 18.7])),
        ("seat", json!(["gasket", "gasket", "conical"])),
        ("hex_mm", json!([16.0, 15.875, 16.2, 16.3, 14.0])),
        ("heat_index", json!([70, 67, 66.9, 73, 75, 80, 80.1])),
        ("projection_mm", json!([3.0, 2.5, 3.5, 3.6])),
        ("strap_extent_mm", json!([5.5, 6.0, 5.0])),
        ("resistor", json!([true, false])),
        ("electrode", json!(["iridium", "nickel"])),
        ("ground", json!(["single_strap", "fine_wire"])),
        ("gap_preset_mm", json!([0.8, 0.7])),
        ("terminal", json!(["solid_nut", "stud_m4"])),
    ];
    let each: Vec<_> = lists
        .into_iter()
        .map(|(name, values)| {
            let values = values.as_array().unwrap().clone();
            let known = proptest::sample::select(values);
            prop_oneof![6 => known, 1 => Just(Value::Null)].prop_map(move |v| (name.to_owned(), v))
        })
        .collect();
    each.prop_map(|members| Value::Object(members.into_iter().collect()))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 3_000, failure_persistence: None, ..ProptestConfig::default() })]

    /// What is graded fits, what fits is graded, and never is it hotter, of another thread, seat or reach.
    #[test]
    fn only_what_fits_is_graded(part in members(), other in members()) {
        let (part, other, policy) = (whole(part), whole(other), Policy::default());
        let Ok(need) = of_part(&part, &policy) else { return Ok(()) };
        let said = Opinion::of(&part, &other, &need, &policy.values);
        prop_assert_eq!(said.finding() == Finding::Equivalent, fits(&need, &other));
        prop_assert!(said.words().len() > 5);
        let Opinion::Equivalent(graded) = said else { return Ok(()) };
        let values = |attr| (part.shown(attr), other.shown(attr));
        for attr in [Attr::Thread, Attr::Seat] {
            let (own, others) = values(attr);
            prop_assert_eq!(own, others);
        }
        let apart = |attr| values(attr).1.zip(values(attr).0).map(|(other, own)| other - own);
        prop_assert!(apart(Attr::Reach).is_some_and(|by| by.abs() <= 3000));
        prop_assert!(apart(Attr::Heat).is_some_and(|by| (-30..=100).contains(&by)));
        for difference in &graded.differences {
            prop_assert_eq!((difference.own, difference.other), values(difference.attribute));
            prop_assert_ne!(difference.own, difference.other);
        }
        prop_assert_eq!(graded.grade == Grade::SameInAll, graded.differences.iter().all(|d| !d.counts));
    }
}
