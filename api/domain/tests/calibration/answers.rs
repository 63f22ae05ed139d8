//! Small cases, worked by hand.

use plugwell_domain::calibration::{Footing, Statement, applied, flattened};
use plugwell_domain::decimal::Decimal;
use plugwell_domain::heat_scale::HeatScaleData;

use super::{as_cold, fitted, indices, scale, steps};

/// An anchor at 40, 50, 60, 70 and 80.
fn anchor() -> HeatScaleData {
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

/// What is stored of a scale, in tenths, and what it rests on.
fn stored(own: &HeatScaleData, statements: &[Statement]) -> (Vec<i64>, Vec<Footing>) {
    let found = fitted(&[anchor(), own.clone()], statements);
    let codes = applied(own, &found.codes[1]).into_iter();
    codes
        .map(|(code, footing)| (code.heat_index.0, footing))
        .unzip()
}

#[test]
fn codes_of_which_nothing_tells_stay_but_for_the_order() {
    use Footing::{Fitted, Interpolated, Kept, Pushed};
    // Typed in at 20 to 70. What is fitted moves up; beyond it only what the order moves goes along.
    let statements = [as_cold((1, 1), (0, 0), 1.0), as_cold((1, 3), (0, 4), 1.0)];
    let (tenths, footings) = stored(&steps("Tarnholt", 6, true), &statements);
    assert_eq!(tenths, [200, 400, 600, 800, 800, 800]);
    assert_eq!(
        footings,
        [Kept, Fitted, Interpolated, Fitted, Pushed, Pushed]
    );
    // The same the other way round: 70 to 20.
    let falling = [as_cold((1, 4), (0, 0), 1.0), as_cold((1, 2), (0, 4), 1.0)];
    let (tenths, footings) = stored(&steps("Tarnholt", 6, false), &falling);
    assert_eq!(tenths, [800, 800, 800, 600, 400, 200]);
    assert_eq!(
        footings,
        [Pushed, Pushed, Fitted, Interpolated, Fitted, Kept]
    );
    // Of a scale that nothing tells of nothing changes.
    let (tenths, footings) = stored(&steps("Tarnholt", 3, true), &[as_cold((0, 0), (0, 1), 1.0)]);
    assert_eq!((tenths, footings), (vec![200, 300, 400], vec![Kept; 3]));
}

#[test]
fn a_scale_of_which_all_codes_become_one_is_flattened() {
    let own = steps("Tarnholt", 2, true);
    let against = [as_cold((1, 0), (0, 4), 1.0), as_cold((1, 1), (0, 0), 1.0)];
    let found = fitted(&[anchor(), own.clone()], &against);
    let codes: Vec<_> = applied(&own, &found.codes[1])
        .into_iter()
        .map(|(code, _)| code)
        .collect();
    assert!(flattened(&codes), "{codes:?}");
    assert!(!flattened(&own.codes));
    assert!(!flattened(&own.codes[..1]), "one code alone has no order");
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
