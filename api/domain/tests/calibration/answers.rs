//! Small cases, worked by hand.

use plugwell_domain::calibration::{applied, flattened};
use plugwell_domain::decimal::Decimal;

use super::{as_cold, fitted, indices, scale, steps};

/// An anchor at 40, 50, 60, 70 and 80.
fn anchor() -> plugwell_domain::heat_scale::HeatScaleData {
    scale("Ferrowick", [400, 500, 600, 700, 800])
}

#[test]
fn statements_that_differ_meet_at_their_weighted_mean() {
    let scales = [anchor(), steps("Tarnholt", 3, true)];
    let one = fitted(&scales, &[as_cold((1, 1), (0, 2), 1.0)]);
    assert_eq!(indices(&one, 1), [None, Some(60.0), None]);
    let two = fitted(
        &scales,
        &[as_cold((1, 1), (0, 1), 1.0), as_cold((0, 2), (1, 1), 3.0)],
    );
    assert_eq!(indices(&two, 1), [None, Some(57.5), None]);
    assert_eq!(two.codes[1][1].determined_by, 2);
}

#[test]
fn the_order_of_the_maker_makes_ties() {
    let statements = [as_cold((1, 0), (0, 3), 1.0), as_cold((1, 1), (0, 1), 1.0)];
    let rising = [anchor(), steps("Tarnholt", 2, true)];
    assert_eq!(
        indices(&fitted(&rising, &statements), 1),
        [Some(60.0), Some(60.0)]
    );
    let falling = [anchor(), steps("Tarnholt", 2, false)];
    assert_eq!(
        indices(&fitted(&falling, &statements), 1),
        [Some(70.0), Some(50.0)]
    );
}

#[test]
fn scales_are_linked_by_others() {
    let scales = [
        anchor(),
        steps("Tarnholt", 2, true),
        steps("Quellmar", 2, false),
    ];
    let statements = [
        as_cold((1, 0), (0, 1), 1.0),
        as_cold((2, 1), (1, 0), 1.0),
        as_cold((2, 0), (1, 1), 1.0),
    ];
    let found = fitted(&scales, &statements);
    assert_eq!(indices(&found, 2), [None, Some(50.0)]);
    // The last statement hangs on nothing that is linked: it tells nothing and bears on nothing.
    assert_eq!(found.codes[2][0].determined_by, 0);
    assert_eq!(found.residual(&statements[2]), None);
    assert_eq!(found.residual(&statements[1]), Some(Decimal(0)));
}

#[test]
fn codes_between_are_interpolated_and_those_beyond_are_not() {
    let scales = [anchor(), steps("Tarnholt", 6, true)];
    let statements = [as_cold((1, 1), (0, 0), 1.0), as_cold((1, 4), (0, 3), 1.0)];
    let found = fitted(&scales, &statements);
    assert_eq!(
        indices(&found, 1),
        [None, Some(40.0), Some(50.0), Some(60.0), Some(70.0), None]
    );
    let marks: Vec<bool> = found.codes[1].iter().map(|c| c.interpolated).collect();
    assert_eq!(marks, [false, false, true, true, false, false]);
}

#[test]
fn applied_codes_keep_what_nothing_tells_of_in_order() {
    // Typed in at 20 to 70, one step each: the ends keep their distance from the nearest.
    let own = steps("Tarnholt", 6, true);
    let scales = [anchor(), own.clone()];
    let statements = [as_cold((1, 1), (0, 0), 1.0), as_cold((1, 4), (0, 3), 1.0)];
    let found = fitted(&scales, &statements);
    let codes = applied(&own, &found.codes[1]);
    let tenths: Vec<i64> = codes.iter().map(|c| c.heat_index.0).collect();
    assert_eq!(tenths, [300, 400, 500, 600, 700, 800]);
    assert!(!flattened(&codes));
    // Of a scale that nothing tells of nothing changes.
    let bare = fitted(&[anchor(), own.clone()], &[as_cold((0, 0), (0, 1), 1.0)]);
    assert_eq!(applied(&own, &bare.codes[1]), own.codes);
}

#[test]
fn residuals_are_those_of_the_rounded_indices() {
    let scales = [anchor(), steps("Tarnholt", 1, true)];
    let statements = [
        as_cold((1, 0), (0, 0), 1.0),
        as_cold((1, 0), (0, 1), 1.0),
        as_cold((0, 1), (1, 0), 1.0),
    ];
    let found = fitted(&scales, &statements);
    // 46.666… is kept as 46.7.
    let residuals: Vec<_> = statements.iter().map(|s| found.residual(s)).collect();
    assert_eq!(
        residuals,
        [Some(Decimal(67)), Some(Decimal(-33)), Some(Decimal(33))]
    );
}
