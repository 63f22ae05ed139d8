//! Numbers as people type them: with or without a unit, with point or comma; days and sums of money.

use chrono::NaiveDate;
use plugwell_domain::conversion::{
    CC_PER_CUBIC_INCH, KM_PER_MILE, KPA_PER_INHG, KPA_PER_PSI, KW_PER_HP, KW_PER_METRIC_HP,
    M_PER_FOOT, MM_PER_INCH, MM_PER_THOU,
};
use plugwell_domain::money::places;
use plugwell_domain::words::DecimalMark;

use crate::pages::words::{say, say_with};
use crate::shown::mark;

/// Units that are understood: as typed, in whatever case; the unit that is kept; how many of it one is.
const UNITS: &[(&str, &str, f64)] = &[
    ("mm", "mm", 1.0),
    ("cm", "mm", 10.0),
    ("in", "mm", MM_PER_INCH),
    ("inch", "mm", MM_PER_INCH),
    ("\"", "mm", MM_PER_INCH),
    ("thou", "mm", MM_PER_THOU),
    ("kW", "kW", 1.0),
    ("hp", "kW", KW_PER_HP),
    ("bhp", "kW", KW_PER_HP),
    ("PS", "kW", KW_PER_METRIC_HP),
    ("kPa", "kPa", 1.0),
    ("bar", "kPa", 100.0),
    ("psi", "kPa", KPA_PER_PSI),
    ("inHg", "kPa", KPA_PER_INHG),
    ("cc", "cc", 1.0),
    ("l", "cc", 1000.0),
    ("ci", "cc", CC_PER_CUBIC_INCH),
    ("cu in", "cc", CC_PER_CUBIC_INCH),
    ("kV", "kV", 1.0),
    ("°", "°", 1.0),
    ("deg", "°", 1.0),
    ("°C", "°C", 1.0),
    ("C", "°C", 1.0),
    ("m", "m", 1.0),
    ("ft", "m", M_PER_FOOT),
    ("km", "km", 1.0),
    ("mi", "km", KM_PER_MILE),
    ("miles", "km", KM_PER_MILE),
    ("Ω", "Ω", 1.0),
    ("ohm", "Ω", 1.0),
    ("kΩ", "Ω", 1000.0),
    ("kohm", "Ω", 1000.0),
    // As resistances are written without the sign.
    ("k", "Ω", 1000.0),
];
/// Blanks that a number is not broken at; people paste them from what they read.
const NO_BREAK: [char; 2] = ['\u{a0}', '\u{202f}'];

/// The number that a text means in a unit: `19`, `0.75 in`, `13/16 in`, `650 hp`, `12 psi`, `50 000 km`,
/// with point or comma.
///
/// # Errors
/// A sentence.
pub(super) fn quantity(text: &str, unit: &str) -> Result<f64, String> {
    one_of_several(&together(text, |c| c == ' ' || NO_BREAK.contains(&c)), unit)
}

/// The same where a blank may part it from the next.
///
/// # Errors
/// A sentence.
pub(super) fn one_of_several(text: &str, unit: &str) -> Result<f64, String> {
    let text = together(text.trim(), |c| NO_BREAK.contains(&c)).to_lowercase();
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
    let own = UNITS.iter().filter(|(_, kept, _)| *kept == unit);
    let mut named = own
        .clone()
        .filter(|(name, ..)| name.to_lowercase() == given);
    match named.next() {
        Some((_, _, 1.0)) => Ok(number),
        Some((_, _, factor)) if unit == "mm" => Ok(kept_length(number * factor)),
        Some((_, _, factor)) => Ok(rounded(number * factor)),
        None => {
            let known: Vec<_> = own.map(|(name, ..)| *name).collect();
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

/// A text without the blanks that part the thousands of a number.
fn together(text: &str, parts: impl Fn(char) -> bool) -> String {
    let signs: Vec<char> = text.chars().collect();
    let is_digit = |at: usize| signs.get(at).is_some_and(char::is_ascii_digit);
    let kept = signs.iter().enumerate().filter(|(at, sign)| {
        let three = (1..=3).all(|step| is_digit(at + step)) && !is_digit(at + 4);
        !(parts(**sign) && *at > 0 && is_digit(at - 1) && three)
    });
    kept.map(|(_, sign)| *sign).collect()
}

/// Whether figures stand in threes behind each sign, as thousands do: `1,250,000`.
fn in_threes(text: &str, sign: char) -> bool {
    let mut groups = text.trim_start_matches(['-', '+']).split(sign);
    let first = groups.next().unwrap_or_default();
    let figures = |group: &str| group.bytes().all(|b| b.is_ascii_digit());
    (1..=3).contains(&first.len())
        && figures(first)
        && !first.starts_with('0')
        && groups.all(|group| group.len() == 3 && figures(group))
}

/// What parts whole and rest for the reader, and the sign that does so for others.
fn marks() -> (char, char) {
    match mark() {
        DecimalMark::Point => ('.', ','),
        DecimalMark::Comma => (',', '.'),
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
    let (own, other) = marks();
    let (whole, part) = text.split_once(own).unwrap_or((text, ""));
    // "1,250" is a thousand and more to one half of the world and one and a quarter to the other.
    if whole == text
        && let Some((before, after)) = text.split_once(other)
        && !after.contains(other)
        && in_threes(text, other)
    {
        return Err(say_with(
            "pages-text-can-read-two-ways",
            &[
                ("text", &text),
                ("before", &before),
                ("after", &after),
                ("mark", &own.to_string()),
            ],
        ));
    }
    let plain = if whole.contains(other) && in_threes(whole, other) {
        format!("{}.{part}", whole.replace(other, ""))
    } else {
        text.replacen([own, other], ".", 1)
    };
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
    let whole = together(text.trim(), |c| c == ' ' || NO_BREAK.contains(&c));
    let (_, other) = marks();
    let plain = match in_threes(&whole, other) {
        true => whole.replace(other, ""),
        false => whole,
    };
    plain.parse().map_err(|_| {
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
    let plain = together(text.trim(), |c| c == ' ' || NO_BREAK.contains(&c)).replacen(',', ".", 1);
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
    use crate::shown::{Reader, for_reader};

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
    fn a_number_is_read_as_the_shop_writes_it() {
        let comma = Reader {
            zone: chrono_tz::Tz::UTC,
            mark: DecimalMark::Comma,
        };
        // In a shop of points, and in one of commas; none where it can be read in two ways.
        for (typed, unit, points, commas) in [
            ("50.000", "km", Some(50.0), None),
            ("50,000", "km", None, Some(50.0)),
            ("15.875", "mm", Some(15.875), None),
            ("15,875 mm", "mm", None, Some(15.875)),
            ("0.813", "mm", Some(0.813), Some(0.813)),
            ("50 000 km", "km", Some(50_000.0), Some(50_000.0)),
            ("50\u{202f}000", "km", Some(50_000.0), Some(50_000.0)),
            ("1,250.5", "cc", Some(1_250.5), None),
            ("1.250,5 cc", "cc", None, Some(1_250.5)),
            ("1.250.000", "km", None, Some(1_250_000.0)),
            ("19.05", "mm", Some(19.05), Some(19.05)),
            ("1000,5", "kPa", Some(1_000.5), Some(1_000.5)),
            ("50 00", "km", None, None),
        ] {
            assert_eq!(quantity(typed, unit).ok(), points, "{typed} with points");
            let read = for_reader(comma, || quantity(typed, unit).ok());
            assert_eq!(read, commas, "{typed} with commas");
        }
        let refused = for_reader(comma, || quantity("50.000", "km")).unwrap_err();
        assert!(refused.contains("50000 or 50,000"), "{refused}");
        assert_eq!(count("50 000"), Ok(50_000));
        assert_eq!((count("1,250"), count("1.250").is_err()), (Ok(1_250), true));
        assert_eq!(for_reader(comma, || count("1.250")), Ok(1_250));
        assert_eq!(one_of_several("190 195", "kPa").ok(), None, "two of them");
        assert_eq!(minor_units("1 250,50", "EUR"), Ok(125_050));
        let units = quantity("5 q", "Ω").unwrap_err();
        assert!(units.contains("Ω, ohm, kΩ, kohm, k"), "{units}");
        assert_eq!(quantity("5k", "Ω"), Ok(5_000.0));
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
