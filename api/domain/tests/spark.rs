//! Compression, and with breakdown to the largest gap, against outside figures. Unless a source is named, figures
//! were recomputed from the printed formulas outside this program and are equal to the last digit printed.

mod closeness;
mod table;

use closeness::{assert_printed, within};
use plugwell_domain::conversion::psi_to_kpa;
use plugwell_domain::spark::*;
use proptest::prelude::*;
use table::{Row, rows};

/// From bottom dead centre at sea level.
fn from_bottom(
    ratio: f64,
    boost_psi: f64,
    charge_temp_c: f64,
    spark_advance_deg: f64,
) -> Compression {
    Compression {
        compression_ratio: ratio,
        rod_over_crank: 3.5,
        intake_close_deg_abdc: 0.0,
        spark_advance_deg,
        charge_temp_c,
        altitude_m: 0.0,
        boost_kpa: psi_to_kpa(boost_psi),
        polytropic_n: 1.32,
    }
}

fn compression(row: &Row, polytropic_n: f64) -> Compression {
    Compression {
        rod_over_crank: row.number("rod_over_crank"),
        intake_close_deg_abdc: row.number("intake_close_deg_abdc"),
        polytropic_n,
        ..from_bottom(
            row.number("compression_ratio"),
            row.number("boost_psi"),
            row.number("charge_temp_c"),
            row.number("spark_advance_deg"),
        )
    }
}

#[test]
fn volumes_follow_the_slider_crank() {
    for (degrees, ratio) in [
        (0.0, 1.0),
        (20.0, 1.346_763_594_28),
        (25.0, 1.536_854_821_13),
        (30.0, 1.764_428_414_85),
        (90.0, 6.156_541_151_88),
        (180.0, 10.0),
    ] {
        assert!(
            within(1e-11, volume_ratio(10.0, 3.5, degrees), ratio),
            "{degrees}"
        );
        assert_eq!(
            volume_ratio(10.0, 3.5, -degrees),
            volume_ratio(10.0, 3.5, degrees)
        );
    }
    // Bore 86, stroke 86, rod 143 mm, 10:1, in cm³.
    let displaced = std::f64::consts::PI / 4.0 * 8.6f64.powi(3);
    assert_printed(displaced, 499.5572, 4);
    for (degrees, cc) in [
        (0.0, 55.5064),
        (20.0, 74.9745),
        (25.0, 85.6434),
        (30.0, 98.4125),
        (90.0, 343.7287),
    ] {
        assert_printed(
            volume_ratio(10.0, 143.0 / 43.0, degrees) * displaced / 9.0,
            cc,
            4,
        );
    }
}

#[test]
fn compression_is_as_recomputed_outside() {
    for row in rows(include_str!("../../../fixtures/checks/compression.csv"), 12) {
        let usual = compression(&row, 1.32);
        assert_printed(usual.effective_ratio(), row.number("ratio"), 6);
        assert_printed(usual.intake_kpa() / 100.0, row.number("intake_bar"), 5);
        for (n, bar, k) in [(1.35, "n135_bar", "n135_k"), (1.32, "n132_bar", "n132_k")] {
            let at = compression(&row, n).at_spark();
            assert_printed(at.pressure_kpa / 100.0, row.number(bar), 4);
            assert_printed(at.temperature_k, row.number(k), 3);
        }
    }
}

#[test]
fn compression_with_the_exponent_of_cold_air() {
    for (case, bar, k) in [
        (from_bottom(9.0, 12.0, 50.0, 20.0), 27.3870, 698.919),
        (from_bottom(10.0, 20.0, 80.0, 20.0), 39.6086, 787.486),
        (from_bottom(12.0, 0.0, 80.0, 25.0), 16.2117, 779.814),
    ] {
        let at = Compression {
            polytropic_n: 1.40,
            ..case
        }
        .at_spark();
        assert_printed(at.pressure_kpa / 100.0, bar, 4);
        assert_printed(at.temperature_k, k, 3);
    }
}

// cantera 3.2.0, air at constant entropy: over 225 cases from bottom dead centre its exponent is 1.379 to 1.389,
// and a constant one is off by the bands below; the ten rows of the table lie among those cases.
#[test]
fn air_at_constant_entropy_lies_where_cantera_puts_it() {
    let table = rows(include_str!("../../../fixtures/checks/compression.csv"), 12);
    let from_bottom = table
        .iter()
        .filter(|row| row.number("intake_close_deg_abdc") == 0.0);
    assert_eq!(from_bottom.clone().count(), 10);
    for row in from_bottom {
        let (bar, k) = (row.number("air_bar"), row.number("air_k"));
        for (n, lowest, highest) in [
            (1.40, 0.017, 0.046),
            (1.35, -0.071, -0.054),
            (1.32, -0.128, -0.099),
        ] {
            let at = compression(row, n).at_spark();
            for off in [
                at.pressure_kpa / 100.0 / bar - 1.0,
                at.temperature_k / k - 1.0,
            ] {
                assert!(
                    (lowest - 5e-4..=highest + 5e-4).contains(&off),
                    "n {n}: off by {off}"
                );
            }
        }
        let case = compression(row, 1.32);
        let exponent = (bar * 100.0 / case.intake_kpa()).ln() / case.effective_ratio().ln();
        assert!((1.3785..1.3895).contains(&exponent), "{exponent}");
    }
}

// cantera 3.2.0, frozen iso-octane and air; 2.5 % is the band in which 1.32 is called good enough.
#[test]
fn usual_exponent_is_near_a_frozen_charge() {
    for row in rows(
        include_str!("../../../fixtures/checks/frozen_charge.csv"),
        5,
    ) {
        let case = from_bottom(
            row.number("compression_ratio"),
            row.number("boost_psi"),
            row.number("charge_temp_c"),
            row.number("spark_advance_deg"),
        );
        let at = case.at_spark();
        let (bar, k) = (row.number("bar"), row.number("k"));
        assert!(within(0.025, at.pressure_kpa / 100.0, bar), "{at:?} {bar}");
        assert!(within(0.025, at.temperature_k, k), "{at:?} {k}");
        let exponent = (bar * 100.0 / case.intake_kpa()).ln() / case.effective_ratio().ln();
        assert!(
            (exponent - row.number("effective_n")).abs() < 1e-4,
            "{exponent}"
        );
    }
}

// ambiance 1.3.1 and fluids 1.3.1 take geometric height, ISO 2533 in closed form geopotential: 15 Pa cover both.
#[test]
fn atmosphere_is_iso_2533_by_geopotential_altitude() {
    for row in rows(include_str!("../../../fixtures/checks/atmosphere.csv"), 6) {
        let pa = ambient_kpa(row.number("altitude_m")) * 1000.0;
        assert!((pa - row.number("geopotential_pa")).abs() <= 0.02, "{pa}");
        assert!((pa - row.number("geometric_pa")).abs() <= 15.0, "{pa}");
    }
}

#[test]
fn compression_and_breakdown_chain() {
    for (case, gap_mm, bar, k, uniform, paschen) in [
        (
            from_bottom(9.0, 12.0, 50.0, 20.0),
            0.7,
            23.4714,
            598.994,
            24.6254,
            29.0388,
        ),
        (
            from_bottom(10.0, 20.0, 80.0, 20.0),
            0.6,
            33.7391,
            670.789,
            26.8158,
            31.5518,
        ),
        (
            from_bottom(8.5, 8.0, 45.0, 25.0),
            0.8,
            16.1932,
            560.608,
            21.1541,
            25.0299,
        ),
    ] {
        let AtSpark {
            pressure_kpa,
            temperature_k,
        } = case.at_spark();
        assert_printed(pressure_kpa / 100.0, bar, 4);
        assert_printed(temperature_k, k, 3);
        assert_printed(
            uniform_breakdown_kv(gap_mm, pressure_kpa, temperature_k),
            uniform,
            4,
        );
        assert_printed(paschen_kv(gap_mm, pressure_kpa, temperature_k), paschen, 4);
    }
}

// The worked engines: a coil of 34 kV with 30 % kept back, a plug that needs 0.85 U (own estimates), rod over
// crank 3.26, intake closing 50°, spark 20°, charge 55 °C, sea level. Shown: rounded down to 0.01 mm.
#[test]
fn worked_engines_have_their_largest_gaps() {
    let (coil_kv, reserve, factor) = (34.0, 0.30, 0.85);
    for (ratio, boost_psi, bar, k, gap_mm, shown) in [
        (9.5, 8.0, 17.69, 590.8, 1.058, 1.05),
        (9.5, 20.0, 27.05, 590.8, 0.692, 0.69),
        (9.0, 24.0, 28.67, 583.6, 0.645, 0.64),
    ] {
        let case = Compression {
            rod_over_crank: 3.26,
            intake_close_deg_abdc: 50.0,
            ..from_bottom(ratio, boost_psi, 55.0, 20.0)
        };
        let AtSpark {
            pressure_kpa,
            temperature_k,
        } = case.at_spark();
        assert_printed(pressure_kpa / 100.0, bar, 2);
        assert_printed(temperature_k, k, 1);
        let available = coil_kv * (1.0 - reserve);
        let largest = largest_gap_mm(available / factor, pressure_kpa, temperature_k);
        assert_printed(largest, gap_mm, 3);
        assert_eq!((largest * 100.0).floor() / 100.0, shown);
        assert!(needed_kv(factor, shown, pressure_kpa, temperature_k) <= available);
        assert!(needed_kv(factor, shown + 0.01, pressure_kpa, temperature_k) > available);
    }
}

#[test]
fn contradicting_builds_still_get_an_answer() {
    // Less than a vacuum: −50 kPa at 6000 m.
    let airless = Compression {
        altitude_m: 6000.0,
        boost_kpa: -50.0,
        ..from_bottom(4.0, 0.0, 20.0, 20.0)
    };
    assert_eq!(airless.intake_kpa(), LEAST_INTAKE_KPA);
    assert!(airless.at_spark().pressure_kpa > LEAST_INTAKE_KPA);
    // A spark before the valve has closed: the volume still shrinks, so the ratio is below 1.
    let early = Compression {
        intake_close_deg_abdc: 110.0,
        ..from_bottom(9.0, 0.0, 20.0, 90.0)
    };
    assert!(early.effective_ratio() < 1.0);
    assert!(early.at_spark().pressure_kpa < STANDARD_ATMOSPHERE_KPA);
    // No gap and no gas hold no voltage.
    assert_eq!(uniform_breakdown_kv(0.0, 1000.0, 600.0), 0.0);
    assert_eq!(uniform_breakdown_kv(0.8, -5.0, 600.0), 0.0);
}

prop_compose! {
    /// Any build within the bounds that the service accepts.
    fn any_compression()(
        compression_ratio in 4.0..=25.0,
        rod_over_crank in 2.2..=8.0,
        intake_close_deg_abdc in 0.0..=110.0,
        spark_advance_deg in -10.0..=70.0,
        charge_temp_c in -40.0..=250.0,
        altitude_m in -500.0..=6000.0,
        boost_kpa in -50.0..=600.0,
        polytropic_n in 1.2..=1.4,
    ) -> Compression {
        Compression {
            compression_ratio, rod_over_crank, intake_close_deg_abdc, spark_advance_deg,
            charge_temp_c, altitude_m, boost_kpa, polytropic_n,
        }
    }
}

proptest! {
    #[test]
    fn every_accepted_build_has_finite_figures(case in any_compression(), gap_mm in 0.2..=2.5, kv in 1.0..=120.0) {
        prop_assert!(case.effective_ratio() > 1.0 - 1e-12);
        prop_assert!(case.effective_ratio() <= case.compression_ratio * (1.0 + 1e-12));
        let AtSpark { pressure_kpa, temperature_k } = case.at_spark();
        let figures = [
            pressure_kpa,
            temperature_k,
            uniform_breakdown_kv(gap_mm, pressure_kpa, temperature_k),
            paschen_kv(gap_mm, pressure_kpa, temperature_k),
            largest_gap_mm(kv, pressure_kpa, temperature_k),
        ];
        prop_assert!(figures.iter().all(|figure| figure.is_finite() && *figure > 0.0), "{figures:?}");
        prop_assert!(pressure_kpa >= case.intake_kpa() * (1.0 - 1e-12));
    }

    #[test]
    fn volume_rises_from_top_to_bottom(ratio in 4.0..25.0, rod in 2.2..8.0, from in 0.0..179.0, by in 0.1..1.0) {
        prop_assert!(volume_ratio(ratio, rod, from + by) > volume_ratio(ratio, rod, from));
        prop_assert!((volume_ratio(ratio, rod, 180.0) / ratio - 1.0).abs() < 1e-12);
    }

    #[test]
    fn more_boost_compression_or_heat_shows_at_the_spark(case in any_compression(), by in 0.5..20.0) {
        let at = case.at_spark();
        // Above the floor of intake pressure, where boost counts.
        let base = Compression { boost_kpa: case.boost_kpa.max(0.0), ..case };
        let boosted = Compression { boost_kpa: base.boost_kpa + by, ..base };
        prop_assert!(boosted.at_spark().pressure_kpa > base.at_spark().pressure_kpa);
        prop_assert_eq!(boosted.at_spark().temperature_k, at.temperature_k);
        let hotter = Compression { charge_temp_c: case.charge_temp_c + by, ..case };
        prop_assert!(hotter.at_spark().temperature_k > at.temperature_k);
        prop_assert_eq!(hotter.at_spark().pressure_kpa, at.pressure_kpa);
        let higher = Compression { altitude_m: base.altitude_m + by, ..base };
        prop_assert!(higher.at_spark().pressure_kpa < base.at_spark().pressure_kpa);
        let tighter = Compression { compression_ratio: case.compression_ratio + by, ..case };
        prop_assert!(tighter.effective_ratio() >= case.effective_ratio() * (1.0 - 1e-12));
    }
}
