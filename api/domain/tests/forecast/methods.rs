//! The methods.

use plugwell_domain::forecast::{ForecastMethod, mean, sample_deviation};
use proptest::prelude::*;

use crate::table::{self, Row};

/// The four series with what a package makes of them.
pub fn checked() -> Vec<Row> {
    let text = include_str!("../../../../fixtures/checks/forecasts.csv");
    table::rows(text, 4)
}

pub fn series(row: &Row) -> Vec<i64> {
    let cell: String = row.get("series").unwrap();
    cell.split(' ').map(|n| n.parse().unwrap()).collect()
}

#[test]
fn the_croston_family_agrees_with_a_package_to_every_printed_digit() {
    for row in checked() {
        let series = series(&row);
        let cases = [
            ("croston", ForecastMethod::Croston, 0.1, 0.0),
            ("sba", ForecastMethod::Sba, 0.1, 0.0),
            ("croston_alpha_02", ForecastMethod::Croston, 0.2, 0.0),
            ("tsb_equal", ForecastMethod::Tsb, 0.2, 0.2),
            ("tsb_unequal", ForecastMethod::Tsb, 0.1, 0.05),
        ];
        for (column, method, alpha, beta) in cases {
            let (found, wanted) = (method.forecast(&series, alpha, beta), row.number(column));
            assert!(
                (found - wanted).abs() < 5.1e-11,
                "{column} {series:?}: {found} for {wanted}"
            );
        }
    }
}

#[test]
fn mean_and_deviation_are_those_of_the_textbook() {
    // By hand: mean 2, squares 1 + 1 + 4 + 4 = 10, over n - 1 = 3.
    let series = [1, 3, 0, 4];
    assert_eq!(mean(&series), 2.0);
    assert!((sample_deviation(&series) - (10.0_f64 / 3.0).sqrt()).abs() < 1e-15);
    assert_eq!((mean(&[]), sample_deviation(&[7])), (0.0, 0.0));
    assert_eq!(ForecastMethod::Given.forecast(&series, 0.1, 0.1), 2.0);
}

#[test]
fn silence_lowers_tsb_and_leaves_croston() {
    let sold = [4, 0, 4, 0, 4];
    let silent: Vec<i64> = sold.iter().copied().chain([0; 30]).collect();
    let of = |method: ForecastMethod, series: &[i64]| method.forecast(series, 0.1, 0.1);
    assert_eq!(
        of(ForecastMethod::Croston, &sold),
        of(ForecastMethod::Croston, &silent)
    );
    // Thirty periods, each leaving nine tenths of the probability.
    let left = of(ForecastMethod::Tsb, &silent) / of(ForecastMethod::Tsb, &sold);
    assert!((left - 0.9_f64.powi(30)).abs() < 1e-12, "{left}");
}

#[test]
fn parameters_are_those_that_the_method_has() {
    let told = |method: ForecastMethod| serde_json::to_value(method.parameters(0.1, 0.05)).unwrap();
    assert_eq!(
        told(ForecastMethod::Sba),
        serde_json::json!({ "alpha": 0.1 })
    );
    assert_eq!(
        told(ForecastMethod::Tsb),
        serde_json::json!({ "alpha": 0.1, "beta": 0.05 })
    );
    assert_eq!(told(ForecastMethod::Mean), serde_json::json!({}));
}

proptest! {
    #[test]
    fn a_forecast_lies_between_nothing_and_the_greatest_demand(
        series in prop::collection::vec(0_i64..60, 1..120),
        alpha in 0.01_f64..1.0,
        beta in 0.01_f64..0.9,
    ) {
        let most = *series.iter().max().unwrap() as f64;
        for method in ForecastMethod::ALL {
            let forecast = method.forecast(&series, alpha, beta);
            prop_assert!((0.0..=most + 1e-9).contains(&forecast), "{method}: {forecast}");
            prop_assert_eq!(forecast == 0.0, most == 0.0, "{}", method);
        }
    }

    #[test]
    fn demand_that_never_changes_is_forecast_exactly(size in 1_i64..50, count in 1_usize..80, alpha in 0.01_f64..1.0) {
        let series = vec![size; count];
        for method in [ForecastMethod::Croston, ForecastMethod::Tsb, ForecastMethod::Mean] {
            let forecast = method.forecast(&series, alpha, alpha);
            prop_assert!((forecast - size as f64).abs() < 1e-9, "{method}: {forecast}");
        }
        let corrected = ForecastMethod::Sba.forecast(&series, alpha, alpha);
        prop_assert!((corrected - size as f64 * (1.0 - alpha / 2.0)).abs() < 1e-9);
    }
}
