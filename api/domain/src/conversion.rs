//! Trade units beside SI: inch, thousandths of an inch, horsepower, psi, pound-foot and the like.
//!
//! Label: **published standard**. Every factor is a product of the three exact definitions of
//! NIST SP 811 (the international foot, the avoirdupois pound, standard gravity), so nothing is rounded
//! but the last bit of an `f64`. Values are stored and served in SI; these are for what a person reads
//! or types.

/// Metres in an international foot (exact, NIST SP 811).
pub const M_PER_FOOT: f64 = 0.3048;
/// Kilograms in an avoirdupois pound (exact, NIST SP 811).
pub const KG_PER_POUND: f64 = 0.453_592_37;
/// Standard gravity, m/s² (exact, NIST SP 811).
pub const STANDARD_GRAVITY: f64 = 9.806_65;

/// Millimetres in an inch, a twelfth of a foot (exact).
pub const MM_PER_INCH: f64 = 25.4;
/// Millimetres in a thousandth of an inch (exact).
pub const MM_PER_THOU: f64 = 0.0254;
/// Kilometres in a mile, 5280 feet (exact).
pub const KM_PER_MILE: f64 = 5280.0 * M_PER_FOOT / 1000.0;
/// Cubic centimetres in a cubic inch: 2.54³ (exact).
pub const CC_PER_CUBIC_INCH: f64 = 16.387_064;

/// Newtons in a pound-force.
pub const N_PER_LBF: f64 = KG_PER_POUND * STANDARD_GRAVITY;
/// Newton metres in a pound-force foot.
pub const NM_PER_LBF_FT: f64 = N_PER_LBF * M_PER_FOOT;
/// Newton metres in a pound-force inch.
pub const NM_PER_LBF_IN: f64 = NM_PER_LBF_FT / 12.0;
/// Newton metres in a kilogram-force metre.
pub const NM_PER_KGF_M: f64 = STANDARD_GRAVITY;
/// Kilowatts in a mechanical horsepower: 550 pound-force feet a second.
pub const KW_PER_HP: f64 = 550.0 * NM_PER_LBF_FT / 1000.0;
/// Kilowatts in a metric horsepower (PS): 75 kilogram-force metres a second. Not the unit of [`KW_PER_HP`].
pub const KW_PER_METRIC_HP: f64 = 75.0 * NM_PER_KGF_M / 1000.0;
/// Kilopascals in a pound-force per square inch.
pub const KPA_PER_PSI: f64 = N_PER_LBF / (MM_PER_INCH * MM_PER_INCH) * 1000.0;
/// Kilopascals in a conventional inch of mercury, of density 13 595.1 kg/m³.
pub const KPA_PER_INHG: f64 = 13_595.1 * STANDARD_GRAVITY * MM_PER_INCH / 1e6;

/// Millimetres to inches.
pub fn mm_to_inch(mm: f64) -> f64 {
    mm / MM_PER_INCH
}

/// Inches to millimetres.
pub fn inch_to_mm(inch: f64) -> f64 {
    inch * MM_PER_INCH
}

/// Millimetres to thousandths of an inch.
pub fn mm_to_thou(mm: f64) -> f64 {
    mm / MM_PER_THOU
}

/// Thousandths of an inch to millimetres.
pub fn thou_to_mm(thou: f64) -> f64 {
    thou * MM_PER_THOU
}

/// Kilometres to miles.
pub fn km_to_mile(km: f64) -> f64 {
    km / KM_PER_MILE
}

/// Cubic centimetres to cubic inches.
pub fn cc_to_cubic_inch(cc: f64) -> f64 {
    cc / CC_PER_CUBIC_INCH
}

/// Cubic inches to cubic centimetres.
pub fn cubic_inch_to_cc(cubic_inch: f64) -> f64 {
    cubic_inch * CC_PER_CUBIC_INCH
}

/// Kilowatts to mechanical horsepower.
pub fn kw_to_hp(kw: f64) -> f64 {
    kw / KW_PER_HP
}

/// Mechanical horsepower to kilowatts.
pub fn hp_to_kw(hp: f64) -> f64 {
    hp * KW_PER_HP
}

/// Kilowatts to metric horsepower (PS).
pub fn kw_to_metric_hp(kw: f64) -> f64 {
    kw / KW_PER_METRIC_HP
}

/// Metric horsepower (PS) to kilowatts.
pub fn metric_hp_to_kw(metric_hp: f64) -> f64 {
    metric_hp * KW_PER_METRIC_HP
}

/// Kilopascals to psi.
pub fn kpa_to_psi(kpa: f64) -> f64 {
    kpa / KPA_PER_PSI
}

/// Psi to kilopascals.
pub fn psi_to_kpa(psi: f64) -> f64 {
    psi * KPA_PER_PSI
}

/// Kilopascals to inches of mercury.
pub fn kpa_to_inhg(kpa: f64) -> f64 {
    kpa / KPA_PER_INHG
}

/// Inches of mercury to kilopascals.
pub fn inhg_to_kpa(inhg: f64) -> f64 {
    inhg * KPA_PER_INHG
}

/// Newton metres to pound-force feet.
pub fn nm_to_lbf_ft(nm: f64) -> f64 {
    nm / NM_PER_LBF_FT
}

/// Pound-force feet to newton metres.
pub fn lbf_ft_to_nm(lbf_ft: f64) -> f64 {
    lbf_ft * NM_PER_LBF_FT
}

/// Newton metres to pound-force inches.
pub fn nm_to_lbf_in(nm: f64) -> f64 {
    nm / NM_PER_LBF_IN
}

/// Pound-force inches to newton metres.
pub fn lbf_in_to_nm(lbf_in: f64) -> f64 {
    lbf_in * NM_PER_LBF_IN
}

/// Newton metres to kilogram-force metres.
pub fn nm_to_kgf_m(nm: f64) -> f64 {
    nm / NM_PER_KGF_M
}

/// Kilogram-force metres to newton metres.
pub fn kgf_m_to_nm(kgf_m: f64) -> f64 {
    kgf_m * NM_PER_KGF_M
}
