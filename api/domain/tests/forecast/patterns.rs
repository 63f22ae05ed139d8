//! Classes of demand.

use plugwell_domain::forecast::{DemandClass, Pattern};

use crate::methods::{checked, series};

#[test]
fn interval_variation_and_class_are_those_worked_by_hand() {
    for row in checked() {
        let series = series(&row);
        let found = Pattern::of(&series).unwrap();
        assert!((found.average_interval - row.number("average_interval")).abs() < 5.1e-7);
        assert!((found.squared_variation - row.number("squared_variation")).abs() < 5.1e-7);
        assert_eq!(
            Some(found.class),
            row.get::<DemandClass>("class"),
            "{series:?}"
        );
    }
}

#[test]
fn the_edges_belong_to_the_harder_class() {
    // 33 periods, 25 of them with demand: an interval of exactly 1.32.
    let mut edge = vec![4; 25];
    edge.extend([0; 8]);
    assert_eq!(Pattern::of(&edge).unwrap().class, DemandClass::Intermittent);
    edge.pop();
    assert_eq!(Pattern::of(&edge).unwrap().class, DemandClass::Smooth);
    // Sizes 3 and 17: mean 10, variance 49, squared variation exactly 0.49.
    assert_eq!(Pattern::of(&[3, 17]).unwrap().class, DemandClass::Erratic);
    assert_eq!(Pattern::of(&[4, 17]).unwrap().class, DemandClass::Smooth);
    assert_eq!(Pattern::of(&[3, 17, 0]).unwrap().class, DemandClass::Lumpy);
}

#[test]
fn no_demand_has_no_class_and_silence_counts_from_the_end() {
    assert_eq!(Pattern::of(&[0, 0, 0]), None);
    assert_eq!(Pattern::of(&[]), None);
    // Two demands in ten periods: an interval of five; silent beyond a fifth of fifteen.
    let series = [4, 0, 4, 0, 0, 0, 0, 0, 0, 0];
    let pattern = Pattern::of(&series).unwrap();
    assert_eq!(pattern.average_interval, 5.0);
    assert!(
        !pattern.is_silent(&series, 1.4),
        "seven periods are not more than seven"
    );
    assert!(pattern.is_silent(&series, 1.39));
}
