//! Breakdown against outside figures. Unless a source is named, figures were recomputed from the printed formulas
//! outside this program.

mod closeness;
mod table;

use closeness::{assert_printed, within};
use plugwell_domain::spark::*;
use proptest::prelude::*;
use table::rows;

#[test]
fn breakdown_is_as_recomputed_outside() {
    for row in rows(include_str!("../../../fixtures/checks/breakdown.csv"), 48) {
        let (gap, kpa, k) = (
            row.number("gap_mm"),
            row.number("pressure_bar") * 100.0,
            row.number("temperature_k"),
        );
        for (got, column) in [
            (uniform_breakdown_kv(gap, kpa, k), "uniform_kv"),
            (paschen_kv(gap, kpa, k), "paschen_kv"),
        ] {
            let want = row.number(column);
            assert!(
                (got - want).abs() <= 1e-3,
                "{gap} mm, {kpa} kPa, {k} K: {column} {got}, not {want}"
            );
        }
    }
}

// IEC 60052 as printed on a public page: the uniform-field formula within 6 %, a little low; Paschen 11 to 16 % high.
#[test]
fn uniform_field_agrees_with_sphere_gaps_and_paschen_does_not() {
    for row in rows(include_str!("../../../fixtures/checks/sphere_gap.csv"), 4) {
        let gap_mm = row.number("gap_cm") * 10.0;
        // Each at the temperature that its formula is reduced to, so that the density is the same.
        let uniform = uniform_breakdown_kv(gap_mm, STANDARD_ATMOSPHERE_KPA, 293.0);
        let paschen = paschen_kv(gap_mm, STANDARD_ATMOSPHERE_KPA, 293.15);
        assert_printed(uniform, row.number("uniform_kv"), 2);
        assert_printed(paschen, row.number("paschen_kv"), 2);
        for sphere in [row.number("lowest_kv"), row.number("highest_kv")] {
            assert!(
                (0.94..1.0).contains(&(uniform / sphere)),
                "{uniform} {sphere}"
            );
            assert!(
                (1.105..1.165).contains(&(paschen / sphere)),
                "{paschen} {sphere}"
            );
        }
    }
}

// An ignition textbook's chapter: 0.6 mm needs 2 to 3 kV at 1 bar, about 8 kV in an 8:1 engine.
#[test]
fn breakdown_has_the_size_that_ignition_practice_knows() {
    let open_air = uniform_breakdown_kv(0.6, 100.0, 293.0);
    assert_printed(open_air, 2.914, 3);
    assert!((2.0..3.0).contains(&open_air));
    let running = uniform_breakdown_kv(0.6, 700.0, 580.0);
    assert_printed(running, 7.854, 3);
    assert!(within(0.05, running, 8.0));
}

// Minimum of Paschen's law for published sets of constants; confirmed with scipy 1.17.1's minimize. Printed to
// 0.01 V, nitrogen's (A 11.8) one of them high: B × pd is 345.52.
#[test]
fn paschen_has_its_minimum_where_it_belongs() {
    for (a, b, gamma, torr_cm, volts) in [
        (15.0, 365.0, 0.01, 0.83635, 305.27),
        (15.0, 365.0, 0.02, 0.71252, 260.07),
        (15.0, 365.0, 0.005, 0.96106, 350.79),
        (14.6, 365.0, 0.01, 0.85926, 313.63),
        (11.8, 325.0, 0.01, 1.06315, 345.53),
        (8.8, 275.0, 0.01, 1.42559, 392.04),
    ] {
        let gas = Paschen {
            a_per_cm_torr: a,
            b_v_per_cm_torr: b,
            gamma,
        };
        assert_printed(gas.least_torr_cm(), torr_cm, 5);
        // The gap at 1 atm and the reference temperature, 10 mm to the cm.
        let gap_mm = gas.least_torr_cm() / 760.0 * 10.0;
        let volts_at =
            |times: f64| gas.breakdown_kv(gap_mm * times, STANDARD_ATMOSPHERE_KPA, 293.15) * 1000.0;
        assert!(
            (volts_at(1.0) - volts).abs() <= 0.01,
            "{} is not {volts}",
            volts_at(1.0)
        );
        assert!(volts_at(1.05) > volts_at(1.0));
        assert!(
            within(1e-12, volts_at(0.5), volts_at(1.0)),
            "left of the minimum the minimum is served"
        );
    }
    // The same minimum in SI, 0.111 513 kPa·cm by an A rounded to 112.50 /(kPa·cm): a rounding of 1e-4.
    let least_kpa_cm = Paschen::AIR.least_torr_cm() * STANDARD_ATMOSPHERE_KPA / 760.0;
    assert!(within(1e-4, least_kpa_cm, 0.111_513), "{least_kpa_cm}");
}

// Reduced to 273.15 K instead of 293.15 K the law would give 5.9 % less: the reference has to be stated.
#[test]
fn paschen_is_reduced_to_twenty_degrees() {
    assert_printed(paschen_kv(0.8, 1000.0, 600.0), 15.600, 3);
    assert_printed(paschen_kv(0.8, 1000.0, 600.0 * 293.15 / 273.15), 14.687, 3);
}

#[test]
fn largest_gaps_are_as_recomputed_outside() {
    for (kv, bar, k, gap_mm) in [
        (25.0, 20.0, 600.0, 0.83695),
        (30.0, 25.0, 650.0, 0.88924),
        (18.0, 10.0, 600.0, 1.15366),
    ] {
        assert_printed(largest_gap_mm(kv, bar * 100.0, k), gap_mm, 5);
    }
    assert_eq!(largest_gap_mm(0.0, 1000.0, 600.0), 0.0);
    assert_eq!(largest_gap_mm(-1.0, 1000.0, 600.0), 0.0);
}

proptest! {
    #[test]
    fn breakdown_rises_with_pressure_gap_and_cold(
        gap_mm in 0.2..2.5, kpa in 100.0..10_000.0, k in 250.0..1500.0, more in 1.001..2.0,
    ) {
        for breakdown in [uniform_breakdown_kv, paschen_kv] {
            let kv = breakdown(gap_mm, kpa, k);
            prop_assert!(breakdown(gap_mm * more, kpa, k) > kv);
            prop_assert!(breakdown(gap_mm, kpa * more, k) > kv);
            prop_assert!(breakdown(gap_mm, kpa, k / more) > kv);
            // Only the product of gap and density counts.
            prop_assert!(within(1e-12, breakdown(gap_mm / more, kpa * more, k), kv));
            prop_assert!(within(1e-12, breakdown(gap_mm * more, kpa, k * more), kv));
        }
    }

    #[test]
    fn largest_gap_is_the_inverse(kv in 0.01..120.0, kpa in 10.0..50_000.0, k in 200.0..2000.0, factor in 0.5..1.2) {
        let gap_mm = largest_gap_mm(kv / factor, kpa, k);
        prop_assert!(within(1e-12, needed_kv(factor, gap_mm, kpa, k), kv));
    }
}
