//! Quantities as people type them: `19`, `0.75 in`, `650 hp`, `12 psi`, with point or comma.

use plugwell_domain::conversion::{
    KPA_PER_PSI, KW_PER_HP, KW_PER_METRIC_HP, MM_PER_INCH, MM_PER_THOU,
};

/// Units that are understood, with the unit that is kept and the factor to it.
const UNITS: &[(&str, &str, f64)] = &[
    ("mm", "mm", 1.0),
    ("in", "mm", MM_PER_INCH),
    ("inch", "mm", MM_PER_INCH),
    ("\"", "mm", MM_PER_INCH),
    ("thou", "mm", MM_PER_THOU),
    ("kw", "kW", 1.0),
    ("hp", "kW", KW_PER_HP),
    ("ps", "kW", KW_PER_METRIC_HP),
    ("kpa", "kPa", 1.0),
    ("bar", "kPa", 100.0),
    ("psi", "kPa", KPA_PER_PSI),
    ("cc", "cc", 1.0),
    ("l", "cc", 1000.0),
    ("kv", "kV", 1.0),
    ("°", "°", 1.0),
    ("deg", "°", 1.0),
    ("°c", "°C", 1.0),
    ("c", "°C", 1.0),
    ("m", "m", 1.0),
];

/// The number that a text means in a unit.
///
/// # Errors
/// A sentence.
pub(super) fn quantity(text: &str, unit: &str) -> Result<f64, String> {
    let text = text.trim().to_lowercase();
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+')))
        .unwrap_or(text.len());
    let (number, typed) = (text[..end].replacen(',', ".", 1), text[end..].trim());
    let number: f64 = number
        .parse()
        .map_err(|_| format!("{text:?} begins with no number"))?;
    if typed.is_empty() {
        return Ok(number);
    }
    match UNITS
        .iter()
        .find(|(name, kept, _)| *name == typed && *kept == unit)
    {
        // A length converts exactly to what is kept; what binary fractions add is taken off again.
        Some((_, _, factor)) if *factor != 1.0 => Ok((number * factor * 1e7).round() / 1e7),
        Some(_) => Ok(number),
        None => Err(format!(
            "{typed:?} is no unit that is understood here; the number counts as {unit} without one"
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_as_typed_are_understood() {
        assert_eq!(quantity("0.75 in", "mm"), Ok(19.05));
        assert_eq!(quantity("19,05", "mm"), Ok(19.05));
        assert_eq!(quantity("32 thou", "mm"), Ok(0.8128));
        assert_eq!(
            quantity("8psi", "kPa").map(|v| (v * 1000.0).round()),
            Ok(55_158.0)
        );
        assert_eq!(quantity("700 HP", "kW").map(|v| v.round()), Ok(522.0));
        assert_eq!(quantity("5.4 l", "cc"), Ok(5400.0));
    }

    #[test]
    fn what_is_not_understood_is_said() {
        assert!(quantity("much", "mm").unwrap_err().contains("no number"));
        assert!(quantity("19 kg", "mm").unwrap_err().contains("no unit"));
        assert!(
            quantity("19 psi", "mm").is_err(),
            "a unit of another quantity"
        );
    }
}
