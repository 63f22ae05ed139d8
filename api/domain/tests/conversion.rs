//! Conversions against NIST SP 811 and printed inch sizes.

mod closeness;
mod table;

use std::f64::consts::PI;

use closeness::{assert_printed, within};
use plugwell_domain::conversion::*;
use proptest::prelude::*;
use table::rows;

// NIST SP 811, appendix B; the same figures from pint 0.25.3 and scipy 1.17.1, printed to 14 digits.
#[test]
fn factors_are_those_of_nist() {
    let digits_14 = 5e-14;
    assert_eq!(inch_to_mm(1.0), 25.4);
    assert_eq!(thou_to_mm(1.0), 0.0254);
    assert!(within(digits_14, lbf_ft_to_nm(1.0), 1.355_817_948_331_4));
    assert!(within(digits_14, lbf_in_to_nm(1.0), 0.112_984_829_027_62));
    assert!(within(digits_14, psi_to_kpa(1.0), 6.894_757_293_168_4));
    assert!(within(digits_14, kgf_m_to_nm(1.0), 9.806_65));
    assert!(within(digits_14, hp_to_kw(1.0), 0.745_699_871_582_27));
    assert!(within(digits_14, metric_hp_to_kw(1.0), 0.735_498_75));
    assert!(within(digits_14, cubic_inch_to_cc(1.0), 16.387_064));
    assert!(within(5e-9, inhg_to_kpa(1.0), 3.386_388_64));
    assert!(within(
        1e-15,
        CC_PER_CUBIC_INCH,
        (MM_PER_INCH / 10.0).powi(3)
    ));
}

// pint 0.25.3 = scipy 1.17.1.
#[test]
fn usual_figures_convert() {
    assert_printed(lbf_ft_to_nm(20.0), 27.116_359_0, 7);
    assert_printed(lbf_in_to_nm(216.0), 24.404_723_1, 7);
    assert_printed(psi_to_kpa(15.0), 103.421_359, 6);
    assert_printed(psi_to_kpa(7.5), 51.710_680, 6);
}

#[test]
fn inch_sizes_of_plugs_convert() {
    let mut neighbours = 0;
    for row in rows(
        include_str!("../../../fixtures/checks/inch_lengths.csv"),
        29,
    ) {
        let mm = inch_to_mm(row.number("inch"));
        assert_printed(mm, row.number("mm"), 9);
        assert_printed(mm_to_thou(mm), row.number("inch") * 1000.0, 9);
        if let (Some(metric), Some(difference)) =
            (row.get::<f64>("metric_mm"), row.get("difference_mm"))
        {
            assert_printed(mm - metric, difference, 9);
            neighbours += 1;
        }
    }
    assert_eq!(neighbours, 10);
}

// NIST SP 811; the metric families of reach, printed to five decimals of an inch.
#[test]
fn metric_reaches_convert_to_inches() {
    for (mm, inch) in [(17.5, 0.688_98), (19.0, 0.748_03), (26.5, 1.043_31)] {
        assert_printed(mm_to_inch(mm), inch, 5);
    }
}

// Recomputed outside this program: power at speed, displacement → kW, N·m, mean effective pressure of a
// four-stroke (4πT/V) in bar, kW per litre. Torque and pressure are worked here in trade units, so that the
// factors of lbf·ft, psi and in³ have to agree with that of hp.
#[test]
fn power_figures_agree_across_units() {
    for (hp, rpm, cc, kw, nm, bar, kw_per_litre) in [
        (320.0, 6500.0, 1998.0, 238.6240, 350.5678, 22.0489, 119.4314),
        (450.0, 6000.0, 2998.0, 335.5649, 534.0682, 22.3859, 111.9296),
        (200.0, 5500.0, 1600.0, 149.1400, 258.9422, 20.3373, 93.2125),
    ] {
        assert_printed(hp_to_kw(hp), kw, 4);
        assert_printed(hp_to_kw(hp) / (cc / 1000.0), kw_per_litre, 4);
        let lbf_ft = hp * 33_000.0 / (2.0 * PI * rpm);
        assert_printed(lbf_ft_to_nm(lbf_ft), nm, 4);
        let psi = 48.0 * PI * lbf_ft / cc_to_cubic_inch(cc);
        assert_printed(psi_to_kpa(psi) / 100.0, bar, 4);
    }
}

proptest! {
    #[test]
    fn there_and_back_is_the_same(value in -1e6..1e6f64) {
        type Way = fn(f64) -> f64;
        let ways: [(Way, Way); 10] = [
            (mm_to_inch, inch_to_mm),
            (mm_to_thou, thou_to_mm),
            (cc_to_cubic_inch, cubic_inch_to_cc),
            (kw_to_hp, hp_to_kw),
            (kw_to_metric_hp, metric_hp_to_kw),
            (kpa_to_psi, psi_to_kpa),
            (kpa_to_inhg, inhg_to_kpa),
            (nm_to_lbf_ft, lbf_ft_to_nm),
            (nm_to_lbf_in, lbf_in_to_nm),
            (nm_to_kgf_m, kgf_m_to_nm),
        ];
        for (there, back) in ways {
            prop_assert!((back(there(value)) - value).abs() <= 1e-15 * value.abs());
            prop_assert!((there(back(value)) - value).abs() <= 1e-15 * value.abs());
        }
    }

    // Stored lengths are whole tenths of a micrometre, of which a thousandth of an inch is 254.
    #[test]
    fn whole_thousandths_come_back_whole(thou in 0..10_000i32) {
        let mm = f64::from(thou * 254) / 10_000.0;
        prop_assert_eq!((mm_to_thou(mm) * 1e6).round(), f64::from(thou) * 1e6);
    }
}
