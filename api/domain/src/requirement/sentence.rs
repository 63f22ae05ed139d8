//! Figures as they stand in a reason: SI first, the trade's unit beside it.

use crate::conversion::{kpa_to_psi, kw_to_hp, mm_to_inch};
use crate::decimal::Length;
use crate::wording::counted;

/// `19 mm (0.748 in)`.
pub(crate) fn length(length: Length) -> String {
    format!("{length} mm ({:.3} in)", mm_to_inch(length.get()))
}

/// `522 kW (700 hp)`.
pub(super) fn power(kw: f64) -> String {
    format!("{} kW ({:.0} hp)", short(kw), kw_to_hp(kw))
}

/// `55.2 kPa (8 psi)`.
pub(super) fn boost(kpa: f64) -> String {
    format!("{} kPa ({} psi)", short(kpa), short(kpa_to_psi(kpa)))
}

/// `1 step`, `2 steps`.
pub(super) fn steps(steps: u32) -> String {
    counted(steps, "step")
}

/// At most one decimal, none where it is a nought; never a negative nought.
pub(super) fn short(value: f64) -> String {
    format!("{}", (value * 10.0).round() / 10.0 + 0.0)
}

/// At most two decimals.
pub(super) fn fine(value: f64) -> String {
    format!("{}", (value * 100.0).round() / 100.0 + 0.0)
}

/// `a, b and c`.
pub(crate) fn list<T: AsRef<str>>(words: &[T], joint: &str) -> String {
    let plain = |word: &T| word.as_ref().replace('_', " ");
    match words {
        [] => String::new(),
        [only] => plain(only),
        [first @ .., last] => {
            format!(
                "{} {joint} {}",
                first.iter().map(plain).collect::<Vec<_>>().join(", "),
                plain(last)
            )
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::decimal::Decimal;

    #[test]
    fn both_units_stand_side_by_side() {
        assert_eq!(length(Decimal(190_000)), "19 mm (0.748 in)");
        assert_eq!(power(522.0), "522 kW (700 hp)");
        assert_eq!(boost(55.158), "55.2 kPa (8 psi)");
        assert_eq!(short(-0.04), "0");
        assert_eq!(fine(2.6933), "2.69");
    }

    #[test]
    fn lists_read_like_a_sentence() {
        assert_eq!(list::<&str>(&[], "and"), "");
        assert_eq!(list(&["fuel_injection"], "and"), "fuel injection");
        assert_eq!(
            list(&["platinum", "double_platinum", "iridium"], "or"),
            "platinum, double platinum or iridium"
        );
    }
}
