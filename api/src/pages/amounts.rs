//! Numbers as people type them: with or without a unit, with point or comma; days and sums of money.

use chrono::NaiveDate;
use plugwell_domain::conversion::{
    CC_PER_CUBIC_INCH, KM_PER_MILE, KPA_PER_INHG, KPA_PER_PSI, KW_PER_HP, KW_PER_METRIC_HP,
    M_PER_FOOT, MM_PER_INCH, MM_PER_THOU,
};
use plugwell_domain::money::places;

use crate::pages::words::{say, say_with};

/// Units that are understood: as typed, the unit that is kept, how many of it one is.
const UNITS: &[(&str, &str, f64)] = &[
    ("mm", "mm", 1.0),
    ("cm", "mm", 10.0),
    ("in", "mm", MM_PER_INCH),
    ("inch", "mm", MM_PER_INCH),
    ("\"", "mm", MM_PER_INCH),
    ("thou", "mm", MM_PER_THOU),
    ("kw", "kW", 1.0),
    ("hp", "kW", KW_PER_HP),
    ("bhp", "kW", KW_PER_HP),
    ("ps", "kW", KW_PER_METRIC_HP),
    ("kpa", "kPa", 1.0),
    ("bar", "kPa", 100.0),
    ("psi", "kPa", KPA_PER_PSI),
    ("inhg", "kPa", KPA_PER_INHG),
    ("cc", "cc", 1.0),
    ("l", "cc", 1000.0),
    ("ci", "cc", CC_PER_CUBIC_INCH),
    ("cu in", "cc", CC_PER_CUBIC_INCH),
    ("kv", "kV", 1.0),
    ("°", "°", 1.0),
    ("deg", "°", 1.0),
    ("°c", "°C", 1.0),
    ("c", "°C", 1.0),
    ("m", "m", 1.0),
    ("ft", "m", M_PER_FOOT),
    ("km", "km", 1.0),
    ("mi", "km", KM_PER_MILE),
    ("miles", "km", KM_PER_MILE),
    ("ohm", "Ω", 1.0),
    ("ω", "Ω", 1.0),
    ("kohm", "Ω", 1000.0),
    ("kω", "Ω", 1000.0),
];

/// The number that a text means in a unit: `19`, `0.75 in`, `13/16 in`, `650 hp`, `12 psi`, with
/// point or comma.
///
/// # Errors
/// A sentence.
pub(super) fn quantity(text: &str, unit: &str) -> Result<f64, String> {
    let text = text.trim().to_lowercase();
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || ".,-+/".contains(c)))
        .unwrap_or(text.len());
    let (figures, given) = (&text[..end], text[end..].trim());
    let number = number(figures).map_err(|why| {
        if figures.is_empty() {
            say("pages-begin-with-a-number").to_owned()
        } else {
            why
        }
    })?;
    if given.is_empty() {
        return Ok(number);
    }
    // Temperature in Fahrenheit has a nought of its own.
    if unit == "°C" && matches!(given, "f" | "°f") {
        return Ok(rounded((number - 32.0) / 1.8));
    }
    match UNITS
        .iter()
        .find(|(name, kept, _)| *name == given && *kept == unit)
    {
        Some((_, _, 1.0)) => Ok(number),
        Some((_, _, factor)) if unit == "mm" => Ok(kept_length(number * factor)),
        Some((_, _, factor)) => Ok(rounded(number * factor)),
        None => {
            let known: Vec<_> = UNITS
                .iter()
                .filter(|(_, kept, _)| *kept == unit)
                .map(|(name, ..)| *name)
                .collect();
            let those = if known.is_empty() {
                say("pages-none").to_owned()
            } else {
                known.join(", ")
            };
            Err(say_with(
                "pages-given-no-unit-understood-those",
                &[("given", &format!("{given:?}")), ("those", &those)],
            ))
        }
    }
}

/// A number with point or comma, or a fraction.
fn number(text: &str) -> Result<f64, String> {
    if let Some((over, under)) = text.split_once('/') {
        let (over, under) = (number(over)?, number(under)?);
        return if under == 0.0 {
            Err(say("pages-a-fraction-of-nought").into())
        } else {
            Ok(over / under)
        };
    }
    // "1,250" is a thousand and more to one half of the world and one and a quarter to the other.
    if let Some((before, after)) = text.split_once(',')
        && after.len() == 3
        && before
            .trim_start_matches(['-', '+'])
            .parse::<u32>()
            .is_ok_and(|whole| whole > 0)
    {
        return Err(say_with(
            "pages-text-can-read-two-ways",
            &[("text", &text), ("before", &before), ("after", &after)],
        ));
    }
    let plain = text.replacen(',', ".", 1);
    plain
        .parse()
        .ok()
        .filter(|number: &f64| number.is_finite())
        .ok_or_else(|| say_with("pages-text-is-no-number", &[("text", &format!("{text:?}"))]))
}

/// What binary fractions add to a converted number is taken off again.
fn rounded(value: f64) -> f64 {
    (value * 1e7).round() / 1e7
}

/// A converted length, to the 0.1 µm that is kept.
fn kept_length(mm: f64) -> f64 {
    (mm * 1e4).round() / 1e4
}

/// A whole number.
///
/// # Errors
/// A sentence.
pub(super) fn count(text: &str) -> Result<i64, String> {
    text.trim().parse().map_err(|_| {
        say_with(
            "pages-text-is-no-whole-number",
            &[("text", &format!("{:?}", text.trim()))],
        )
    })
}

/// A day of the calendar, as browsers send it: `2026-12-01`.
///
/// # Errors
/// A sentence.
pub(super) fn day(text: &str) -> Result<String, String> {
    text.parse::<NaiveDate>()
        .map(|day| day.to_string())
        .map_err(|_| {
            say_with(
                "pages-text-no-day-write-2026",
                &[("text", &format!("{text:?}"))],
            )
        })
}

/// Money in minor units: `128.50` of a currency with two places is 12850.
///
/// # Errors
/// A sentence.
pub(super) fn minor_units(text: &str, currency: &str) -> Result<i64, String> {
    let places = places(currency);
    let plain = text.trim().replacen(',', ".", 1);
    let (whole, part) = plain.split_once('.').unwrap_or((&plain, ""));
    let digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
    if whole.is_empty() || !digits(whole) || !digits(part) {
        return Err(say_with(
            "pages-text-no-sum-money",
            &[("text", &format!("{:?}", text.trim()))],
        ));
    }
    if part.len() > places {
        return Err(say_with(
            "pages-currency-has-places-after-point",
            &[("currency", &currency), ("places", &places)],
        ));
    }
    format!("{whole}{part:0<places$}")
        .parse()
        .map_err(|_| say("pages-more-money-than-there-is").to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_as_typed_are_understood() {
        // Exact by NIST SP 811: 1 in = 25.4 mm, so 13/16 in = 20.6375 mm and 32 thou = 0.8128 mm.
        assert_eq!(quantity("0.75 in", "mm"), Ok(19.05));
        assert_eq!(quantity("13/16\"", "mm"), Ok(20.6375));
        assert_eq!(quantity("32 thou", "mm"), Ok(0.8128));
        assert_eq!(quantity("19,05", "mm"), Ok(19.05));
        assert_eq!(quantity("-1.5 mm", "mm"), Ok(-1.5));
        assert_eq!(quantity("131 F", "°C"), Ok(55.0));
        assert_eq!(quantity("5.4 l", "cc"), Ok(5400.0));
        assert_eq!(quantity("5.2 kΩ", "Ω"), Ok(5200.0));
        // NIST SP 811, appendix B.8: 1 mi = 1.609 344 km.
        assert_eq!(quantity("100 mi", "km"), Ok(160.9344));
        // NIST SP 811, appendix B.8: 1 psi = 6.894 757 kPa, 1 hp (550 ft·lbf/s) = 745.699 9 W.
        assert_eq!(
            quantity("8psi", "kPa").map(|v| (v * 1000.0).round()),
            Ok(55_158.0)
        );
        assert_eq!(
            quantity("700 HP", "kW").map(|v| (v * 1000.0).round()),
            Ok(521_990.0)
        );
    }

    #[test]
    fn a_number_without_unit_is_left_as_it_is() {
        assert_eq!(
            quantity("19.00005", "mm"),
            Ok(19.00005),
            "whether it is too fine is for the checks to say"
        );
        assert_eq!(quantity(" 9.5 ", ""), Ok(9.5));
    }

    #[test]
    fn what_is_not_understood_is_said() {
        assert!(quantity("much", "mm").unwrap_err().contains("a number"));
        assert!(quantity("19 kg", "mm").unwrap_err().contains("no unit"));
        assert!(
            quantity("19 psi", "mm").is_err(),
            "a unit of another quantity"
        );
        assert!(quantity("9 mm", "").is_err(), "a unit where none belongs");
        assert!(quantity("1,000 hp", "kW").unwrap_err().contains("two ways"));
        assert_eq!(
            quantity("0,750 in", "mm"),
            Ok(19.05),
            "only one way to read it"
        );
        for wrong in ["", "1/0", "1..2", "1.2.3", "--3", "/", "1,2,3"] {
            assert!(quantity(wrong, "mm").is_err(), "{wrong:?}");
        }
    }

    #[test]
    fn money_is_counted_in_minor_units() {
        assert_eq!(minor_units("128.5", "USD"), Ok(12_850));
        assert_eq!(minor_units("128,05", "EUR"), Ok(12_805));
        assert_eq!(minor_units("1285", "JPY"), Ok(1_285));
        assert_eq!(minor_units("1.285", "KWD"), Ok(1_285));
        for (wrong, currency) in [
            ("1.285", "USD"),
            ("1.5", "JPY"),
            ("-1", "USD"),
            ("1,234.50", "USD"),
            ("a", "USD"),
        ] {
            assert!(minor_units(wrong, currency).is_err(), "{wrong} {currency}");
        }
    }
}
