//! How the cells of a column are written: read into the JSON value that they mean, and back.

use std::ops::RangeInclusive;

use plugwell_domain::conversion::{KM_PER_MILE, MM_PER_INCH, MM_PER_THOU, NM_PER_LBF_FT};
use plugwell_domain::decimal::{as_f64, exact};
use plugwell_domain::fault::FaultCode;
use serde_json::{Map, Number, Value};

/// How cells are written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Form {
    /// Words in one line; space around them does not count.
    Line,
    /// Words that are kept as they stand, perhaps in several lines.
    Words,
    /// A word of a closed list.
    Choice(&'static [&'static str]),
    /// `true` or `false`, also yes and no, 1 and 0.
    Flag,
    /// A number, with decimal point or comma.
    Number {
        /// Places that are kept.
        decimals: u32,
        /// Unit; empty for a pure number.
        unit: &'static str,
        /// Least value.
        min: f64,
        /// Greatest value.
        max: f64,
    },
    /// A record by maker and its own name: `maker/name`, a stroke or backslash in the maker's name with
    /// a backslash before it.
    Named,
    /// Attributes with where their values come from: `reach_mm=measured;hex_mm=assumed`.
    Provenance,
    /// An instant: RFC 3339 in UTC.
    Instant,
}

impl Form {
    /// What it is called.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Line | Self::Words => "text",
            Self::Choice(_) => "word",
            Self::Flag => "flag",
            Self::Number { .. } => "number",
            Self::Named => "name",
            Self::Provenance => "provenance",
            Self::Instant => "instant",
        }
    }
}

/// A unit that a header may end with, beside the column's own.
#[derive(Debug, PartialEq)]
pub struct OtherUnit {
    own: &'static str,
    ending: &'static str,
    factor: f64,
    /// An inch is exact in millimetres; a mile is no whole number of kilometres.
    rounded: bool,
}

impl OtherUnit {
    /// What it is called in a header.
    pub fn word(&'static self) -> &'static str {
        self.ending.trim_start_matches('_')
    }
}

const OTHER_UNITS: &[OtherUnit] = &[
    OtherUnit {
        own: "_mm",
        ending: "_in",
        factor: MM_PER_INCH,
        rounded: false,
    },
    OtherUnit {
        own: "_mm",
        ending: "_thou",
        factor: MM_PER_THOU,
        rounded: false,
    },
    OtherUnit {
        own: "_ohm",
        ending: "_kohm",
        factor: 1000.0,
        rounded: false,
    },
    OtherUnit {
        own: "_nm",
        ending: "_lbf_ft",
        factor: NM_PER_LBF_FT,
        rounded: true,
    },
    OtherUnit {
        own: "_km",
        ending: "_mi",
        factor: KM_PER_MILE,
        rounded: true,
    },
];

/// The names that a column of numbers may have besides its own, each with its unit.
pub fn other_names(name: &str) -> impl Iterator<Item = (String, &'static OtherUnit)> + '_ {
    OTHER_UNITS.iter().filter_map(move |unit| {
        let stem = name.strip_suffix(unit.own)?;
        Some((format!("{stem}{}", unit.ending), unit))
    })
}

/// A cell that is not understood: the rule and a sentence.
pub type Misread = (FaultCode, String);

/// The JSON value that a cell means; empty is `null`. `unit` is what the header says, where it is not
/// the column's own.
///
/// # Errors
/// Where the cell is not understood.
pub fn read(form: Form, unit: Option<&OtherUnit>, cell: &str) -> Result<Value, Misread> {
    let text = cell.trim();
    if text.is_empty() {
        return Ok(Value::Null);
    }
    match form {
        Form::Words => Ok(Value::from(cell.replace("\r\n", "\n"))),
        Form::Line | Form::Choice(_) | Form::Named | Form::Instant => Ok(Value::from(text)),
        Form::Flag => match text.to_lowercase().as_str() {
            "true" | "yes" | "1" => Ok(Value::Bool(true)),
            "false" | "no" | "0" => Ok(Value::Bool(false)),
            _ => Err((
                FaultCode::WrongType,
                format!("write true or false, not {text:?}"),
            )),
        },
        Form::Provenance => provenance(text),
        Form::Number {
            decimals, min, max, ..
        } => {
            if may_be_thousands(text, unit, min..=max) {
                let detail = format!(
                    "{text} may be read in two ways: write no sign between thousands, and no more decimals than needed"
                );
                return Err((FaultCode::WrongForm, detail));
            }
            number(text, unit, decimals)
        }
    }
}

fn provenance(text: &str) -> Result<Value, Misread> {
    let mut map = Map::new();
    let entries = text.split(';').map(str::trim);
    for entry in entries.filter(|entry| !entry.is_empty()) {
        let Some((attribute, source)) = entry.split_once('=') else {
            let detail = format!("write attribute=source, parted by semicolons, not {entry:?}");
            return Err((FaultCode::WrongForm, detail));
        };
        map.insert(attribute.trim().to_owned(), Value::from(source.trim()));
    }
    Ok(Value::Object(map))
}

/// Whether a sign before three digits may part thousands: `1,000` may be a thousand plugs, `12.700` is
/// no reach of as many millimetres.
fn may_be_thousands(text: &str, unit: Option<&OtherUnit>, range: RangeInclusive<f64>) -> bool {
    let plain = text.strip_prefix(['+', '-']).unwrap_or(text);
    let Some((before, behind)) = plain.split_once(['.', ',']) else {
        return false;
    };
    let digits = |part: &str| part.bytes().all(|b| b.is_ascii_digit());
    let grouped = (1..=3).contains(&before.len()) && !before.starts_with('0') && behind.len() == 3;
    if !(grouped && digits(before) && digits(behind)) {
        return false;
    }
    let factor = unit.map_or(1.0, |unit| unit.factor);
    let whole = format!("{before}{behind}").parse::<f64>();
    whole.is_ok_and(|whole| range.contains(&(whole * factor)))
}

/// A number with decimal point or comma, brought to the column's unit.
fn number(text: &str, unit: Option<&OtherUnit>, places: u32) -> Result<Value, Misread> {
    let (factor, rounded) = unit.map_or((1.0, false), |unit| (unit.factor, unit.rounded));
    let plain = if text.contains('.') {
        text.to_owned()
    } else {
        text.replacen(',', ".", 1)
    };
    let wrong = || (FaultCode::WrongType, format!("{text:?} is no number"));
    let digits = |c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | '+');
    if !plain.chars().all(digits) {
        return Err(wrong());
    }
    let value: f64 = plain.parse().map_err(|_| wrong())?;
    let scale = 10f64.powi(places as i32);
    let whole = (value * factor * scale).round();
    if whole.abs() > 9e15 {
        let detail = format!("{text} is far out of any range");
        return Err((FaultCode::OutOfRange, detail));
    }
    let converted = as_f64(whole as i64, places);
    // In the column's own unit the cell's decimal has to be kept as it stands; an inch converts
    // exactly but for the noise of binary fractions.
    let kept = if factor == 1.0 {
        exact(value, places).is_ok()
    } else {
        rounded || (value * factor - converted).abs() * scale < 1e-6
    };
    if !kept {
        let detail = format!("{text} is finer than the {places} decimal places that are kept");
        return Err((FaultCode::TooFine, detail));
    }
    if places == 0 {
        return Ok(Value::from(whole as i64));
    }
    Number::from_f64(converted)
        .map(Value::Number)
        .ok_or_else(wrong)
}

/// The cell that means a JSON value, as [`read`] takes it back.
pub fn written(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(text) => text.clone(),
        Value::Bool(flag) => flag.to_string(),
        Value::Number(number) => match number.as_i64() {
            Some(whole) => whole.to_string(),
            None => number.as_f64().map_or_else(String::new, |n| n.to_string()),
        },
        Value::Object(entries) => {
            let told = entries
                .iter()
                .map(|(attribute, source)| format!("{attribute}={}", written(source)));
            told.collect::<Vec<_>>().join(";")
        }
        Value::Array(_) => value.to_string(),
    }
}

/// `maker/name`, as [`parted`] takes it apart.
pub fn named(maker: &str, name: &str) -> String {
    let maker = maker.replace('\\', "\\\\").replace('/', "\\/");
    format!("{maker}/{name}")
}

/// Maker and name; `None` where there is no stroke between them.
pub fn parted(text: &str) -> Option<(String, &str)> {
    let mut maker = String::new();
    let mut signs = text.char_indices();
    while let Some((at, sign)) = signs.next() {
        match sign {
            '/' => return Some((maker.trim().to_owned(), text[at + 1..].trim())),
            '\\' => match signs.clone().next() {
                Some((_, next @ ('/' | '\\'))) => {
                    signs.next();
                    maker.push(next);
                }
                _ => maker.push('\\'),
            },
            other => maker.push(other),
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const MM: Form = Form::Number {
        decimals: 4,
        unit: "mm",
        min: 5.0,
        max: 60.0,
    };

    fn unit(name: &str, header: &str) -> Option<&'static OtherUnit> {
        other_names(name)
            .find(|(other, _)| other == header)
            .map(|(_, unit)| unit)
    }

    #[test]
    fn units_in_headers_convert_exactly() {
        // NIST SP 811: 1 in = 25.4 mm exactly.
        let inches = unit("reach_mm", "reach_in");
        assert!(inches.is_some());
        assert_eq!(read(MM, inches, "0.75"), Ok(Value::from(19.05)));
        assert_eq!(read(MM, inches, "0,708"), Ok(Value::from(17.9832)));
        assert_eq!(
            read(MM, unit("gap_mm", "gap_thou"), "32"),
            Ok(Value::from(0.8128))
        );
        let found = read(MM, inches, "0.7500001").unwrap_err();
        assert_eq!(found.0, FaultCode::TooFine);
        assert_eq!(unit("heat_index", "heat_in"), None);
    }

    #[test]
    fn a_cell_is_understood_or_refused() {
        let code = |form, cell: &str| read(form, None, cell).map_err(|(code, _)| code);
        assert_eq!(code(MM, " 19,0 "), Ok(Value::from(19.0)));
        assert_eq!(code(MM, ""), Ok(Value::Null));
        assert_eq!(code(MM, "1.234,5"), Err(FaultCode::WrongType));
        // A thousand and odd millimetres are no length of a plug, so many ohms are a resistance.
        assert_eq!(code(MM, "12.700"), Ok(Value::from(12.7)));
        let ohm = Form::Number {
            decimals: 1,
            unit: "Ω",
            min: 0.0,
            max: 50_000.0,
        };
        for cell in ["5,000", "5.000", "12,500"] {
            assert_eq!(code(ohm, cell), Err(FaultCode::WrongForm), "{cell}");
        }
        assert_eq!(code(ohm, "5000"), Ok(Value::from(5000.0)));
        assert_eq!(code(ohm, "0,500"), Ok(Value::from(0.5)));
        assert_eq!(code(ohm, "5,00"), Ok(Value::from(5.0)));
        assert_eq!(code(MM, "NaN"), Err(FaultCode::WrongType));
        assert_eq!(code(MM, "1e3"), Err(FaultCode::WrongType));
        assert_eq!(code(MM, "19.00001"), Err(FaultCode::TooFine));
        assert_eq!(code(Form::Flag, "Yes"), Ok(Value::Bool(true)));
        assert_eq!(code(Form::Flag, "perhaps"), Err(FaultCode::WrongType));
        assert_eq!(
            code(Form::Provenance, "reach_mm=measured; hex_mm = assumed").unwrap()["hex_mm"],
            "assumed"
        );
        assert_eq!(
            code(Form::Provenance, "reach_mm"),
            Err(FaultCode::WrongForm)
        );
        assert_eq!(code(Form::Line, " a b "), Ok(Value::from("a b")));
        assert_eq!(code(Form::Words, " a\r\nb "), Ok(Value::from(" a\nb ")));
    }

    proptest! {
        #[test]
        fn names_come_apart_again(maker in "[a/\\\\ ]{1,6}", name in "[b/\\\\ ]{1,6}") {
            let (maker, name) = (maker.trim(), name.trim());
            let whole = named(maker, name);
            let parts = parted(&whole);
            prop_assert_eq!(parts, Some((maker.to_owned(), name)));
        }

        #[test]
        fn numbers_come_back(raw in -50_000i64..600_000) {
            let value = Value::from(as_f64(raw, 4));
            prop_assert_eq!(read(MM, None, &written(&value)), Ok(value));
        }
    }
}
