//! The formulas.

use plugwell_domain::reorder::arithmetic::{
    economic_quantity, exact_reorder_point, is_due, order_quantity, safety_stock, up_to, z,
};
use plugwell_domain::reorder::share;
use proptest::prelude::*;

use crate::table;

/// The quantile by halving, from the series of the normal distribution about 0 (Abramowitz and Stegun
/// 26.2.11).
pub fn quantile(level: f64) -> f64 {
    let below = |x: f64| {
        let (mut term, mut sum) = (x, x);
        for k in 1..120 {
            term *= x * x / f64::from(2 * k + 1);
            sum += term;
        }
        0.5 + sum * (-x * x / 2.0).exp() / std::f64::consts::TAU.sqrt()
    };
    let (mut low, mut high) = (0.0, 5.0);
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        if below(middle) < level {
            low = middle
        } else {
            high = middle
        }
    }
    (low + high) / 2.0
}

#[test]
fn quantiles_agree_with_the_series_over_all_service_levels() {
    for step in 0..=4_999 {
        let level = 0.5 + f64::from(step) * 1e-4;
        let (found, wanted) = (z(level), quantile(level));
        // A level is itself no finer than 1e-16, which the steep end magnifies.
        assert!(
            (found - wanted).abs() < 1e-11,
            "{level}: {found} for {wanted}"
        );
    }
    assert_eq!(z(0.5), 0.0);
}

#[test]
fn quantiles_agree_with_a_package() {
    let text = include_str!("../../../../fixtures/checks/normal_quantiles.csv");
    for row in table::rows(text, 7) {
        let found = z(row.number("service_level"));
        assert!((found - row.number("z")).abs() < 5.1e-9, "{found}");
    }
}

#[test]
fn economic_quantities_agree_with_a_package() {
    let text = include_str!("../../../../fixtures/checks/economic_quantities.csv");
    for row in table::rows(text, 4) {
        let [demand, order, holding] =
            ["demand", "order_cost", "holding_cost"].map(|c| row.number(c));
        let found = economic_quantity(demand, order, holding);
        assert!((found - row.number("quantity")).abs() < 5.1e-9, "{found}");
        // At the optimum a year's ordering costs what a year's holding does.
        assert!((demand / found * order - found / 2.0 * holding).abs() < 1e-9);
    }
}

#[test]
fn reorder_points_agree_with_figures_from_outside() {
    let text = include_str!("../../../../fixtures/checks/reorder_points.csv");
    for row in table::rows(text, 3) {
        let [demand, sd, lead, lead_sd] =
            ["demand", "demand_sd", "lead", "lead_sd"].map(|c| row.number(c));
        let safety = safety_stock(z(row.number("service_level")), lead, lead_sd, demand, sd);
        assert!(
            (safety - row.number("safety_stock")).abs() < 5.1e-9,
            "{safety}"
        );
        let point = exact_reorder_point(demand, lead, safety);
        assert!(
            (point - row.number("reorder_point")).abs() < 5.1e-9,
            "{point}"
        );
    }
}

#[test]
fn an_order_goes_by_position_and_packs() {
    // Position, reorder point, economic quantity, pack: what to order.
    let cases = [
        ((10, 9, 30.0, 4), 0),
        ((9, 9, 30.0, 4), 32),
        ((9, 9, 0.0, 4), 0),
        ((-5, 9, 3.2, 4), 16),
        ((2, 9, 7.01, 1), 8),
        ((2, 9, 7.0, 1), 7),
        ((0, 0, 0.0, 10), 0),
    ];
    for ((position, point, economic, pack), wanted) in cases {
        assert_eq!(
            order_quantity(position, point, economic, pack),
            wanted,
            "{position} {point} {economic} {pack}"
        );
    }
    assert_eq!(up_to(9, 8, 24, 4), 0);
    assert_eq!(up_to(8, 8, 24, 4), 16);
    assert_eq!(up_to(-3, 8, 24, 4), 28);
}

proptest! {
    #[test]
    fn what_is_ordered_lifts_the_position_above_its_point_in_whole_packs(
        position in -500_i64..500,
        point in 0_i64..500,
        economic in 0.0_f64..400.0,
        pack in 1_i64..25,
    ) {
        let ordered = order_quantity(position, point, economic, pack);
        prop_assert_eq!(ordered % pack, 0);
        prop_assert_eq!(is_due(position, point), position <= point);
        if is_due(position, point) {
            prop_assert!(ordered as f64 >= economic && position + ordered >= point);
            // One pack less would not have done.
            let less = ordered - pack;
            prop_assert!(ordered == 0 || (less as f64) < economic || position + less < point);
        } else {
            prop_assert_eq!(ordered, 0);
        }
    }

    #[test]
    fn more_uncertainty_never_asks_for_less_safety(
        level in 0.5_f64..0.999, lead in 0.0_f64..20.0, lead_sd in 0.0_f64..5.0,
        forecast in 0.0_f64..50.0, sd in 0.0_f64..50.0, more in 0.0_f64..5.0,
    ) {
        let z = z(level);
        let base = safety_stock(z, lead, lead_sd, forecast, sd);
        prop_assert!(base >= -1e-9);
        for raised in [
            safety_stock(z, lead + more, lead_sd, forecast, sd),
            safety_stock(z, lead, lead_sd + more, forecast, sd),
            safety_stock(z, lead, lead_sd, forecast, sd + more),
        ] {
            prop_assert!(raised >= base - 1e-9);
        }
    }
}

#[test]
fn a_share_takes_whole_plugs_by_its_place() {
    let sold = [8, 0, 4, 1, 1];
    assert_eq!(share(&sold, 0, 3), [2, 0, 2, 0, 0]);
    assert_eq!(share(&sold, 1, 3), [3, 0, 1, 0, 1]);
    assert_eq!(share(&sold, 2, 3), [3, 0, 1, 1, 0]);
    assert_eq!(share(&sold, 0, 1), sold);
}

proptest! {
    #[test]
    fn shares_add_up_to_the_demand(sold in prop::collection::vec(0_i64..40, 0..60), shares in 1_usize..9) {
        let all: Vec<Vec<i64>> = (0..shares).map(|place| share(&sold, place, shares)).collect();
        for (place, asked) in sold.iter().enumerate() {
            prop_assert_eq!(all.iter().map(|own| own[place]).sum::<i64>(), *asked);
        }
        let sums: Vec<i64> = all.iter().map(|own| own.iter().sum()).collect();
        prop_assert!(sums.iter().max().unwrap() - sums.iter().min().unwrap() <= 1, "{sums:?}");
        prop_assert!(all.iter().flatten().all(|asked| *asked >= 0));
    }
}
