//! The columns of a table of plugs, read off the attribute declarations: which members a header
//! names, in which unit, and how a cell is understood.

use plugwell_domain::attribute::{ATTRIBUTES, Attr, Kind};
use plugwell_domain::conversion::{MM_PER_INCH, MM_PER_THOU, NM_PER_LBF_FT};
use plugwell_domain::decimal::{as_f64, exact};
use plugwell_domain::fault::FaultCode;
use plugwell_domain::plug::{IDENTITY, STANDING};
use serde_json::{Map, Number, Value};

/// A column that was understood.
#[derive(Debug, Clone)]
pub struct Column {
    /// Its place in the row.
    pub place: usize,
    /// Its name in the file.
    pub header: String,
    /// The member of a plug that it fills.
    pub member: &'static str,
    /// How its cells are read.
    form: Form,
}

#[derive(Debug, Clone, Copy)]
enum Form {
    Text,
    Provenance,
    Flag,
    /// A number times a factor; whether rounding to the places kept is allowed.
    Number {
        factor: f64,
        places: u32,
        rounded: bool,
    },
}

/// A unit that a header may end with, beside the attribute's own.
struct OtherUnit {
    own: &'static str,
    ending: &'static str,
    factor: f64,
    /// An inch is exact in millimetres; a mile is no whole number of kilometres.
    rounded: bool,
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
        factor: 1.609_344,
        rounded: true,
    },
];

/// Members that only a table has.
const NAMED: &[&str] = &["heat_scale"];

/// Comma, semicolon or tab: whatever the header has most of.
pub fn separator(text: &str) -> u8 {
    let header = text.lines().next().unwrap_or_default();
    let count = |c: char| header.matches(c).count();
    [(',', count(',')), (';', count(';')), ('\t', count('\t'))]
        .into_iter()
        .max_by_key(|(c, n)| (*n, *c == ','))
        .map_or(b',', |(c, _)| c as u8)
}

/// Understands a header; what is not understood is told to `fault` with column, rule and sentence.
pub fn understood(
    header: &csv::StringRecord,
    mut fault: impl FnMut(&str, FaultCode, String),
) -> Vec<Column> {
    let mut columns: Vec<Column> = Vec::new();
    for (place, name) in header.iter().enumerate() {
        let plain = name.trim().to_lowercase().replace([' ', '-'], "_");
        match column(place, name, &plain) {
            None => fault(
                name,
                FaultCode::UnknownMember,
                format!("no column {name:?} is known{}", hint(&plain)),
            ),
            Some(column) => {
                if let Some(other) = columns.iter().find(|c| c.member == column.member) {
                    let detail = format!("it says the same as column {:?}", other.header);
                    fault(name, FaultCode::Duplicate, detail);
                } else {
                    columns.push(column);
                }
            }
        }
    }
    for needed in ["maker", "part_number"] {
        if !columns.iter().any(|c| c.member == needed) {
            fault(
                needed,
                FaultCode::Missing,
                format!("the column {needed} has to be there"),
            );
        }
    }
    columns
}

fn column(place: usize, name: &str, plain: &str) -> Option<Column> {
    let made = |member, form| {
        Some(Column {
            place,
            header: name.to_owned(),
            member,
            form,
        })
    };
    if let Some(member) = IDENTITY
        .iter()
        .chain(STANDING)
        .chain(NAMED)
        .find(|m| **m == plain)
    {
        return made(
            member,
            if *member == "provenance" {
                Form::Provenance
            } else {
                Form::Text
            },
        );
    }
    for attribute in ATTRIBUTES {
        let field = attribute.attr.word();
        match attribute.kind {
            Kind::Flag if field == plain => return made(field, Form::Flag),
            Kind::Choice(_) if field == plain => return made(field, Form::Text),
            Kind::Number { decimals, .. } => {
                if field == plain {
                    return made(
                        field,
                        Form::Number {
                            factor: 1.0,
                            places: decimals,
                            rounded: false,
                        },
                    );
                }
                let other = OTHER_UNITS.iter().find(|unit| {
                    field
                        .strip_suffix(unit.own)
                        .is_some_and(|stem| plain.strip_suffix(unit.ending) == Some(stem))
                });
                if let Some(unit) = other {
                    let form = Form::Number {
                        factor: unit.factor,
                        places: decimals,
                        rounded: unit.rounded,
                    };
                    return made(field, form);
                }
            }
            _ => {}
        }
    }
    None
}

fn hint(plain: &str) -> String {
    let starts = |field: &&str| {
        let stem = field.split('_').next().unwrap_or(field);
        !plain.is_empty() && (plain.starts_with(stem) || field.starts_with(plain))
    };
    let known: Vec<&str> = IDENTITY
        .iter()
        .chain(STANDING)
        .copied()
        .chain(Attr::ALL.iter().map(|a| a.word()))
        .filter(starts)
        .collect();
    match known.as_slice() {
        [] => String::new(),
        some => format!("; did you mean {}?", some.join(" or ")),
    }
}

impl Column {
    /// The JSON value that a cell means; empty is `null`.
    ///
    /// # Errors
    /// The rule and a sentence where the cell is not understood.
    pub fn value(&self, text: &str) -> Result<Value, (FaultCode, String)> {
        let text = text.trim();
        if text.is_empty() {
            return Ok(Value::Null);
        }
        match self.form {
            Form::Text => Ok(Value::from(text)),
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
                factor,
                places,
                rounded,
            } => number(text, factor, places, rounded),
        }
    }
}

/// `reach_mm=measured;hex_mm=assumed`.
fn provenance(text: &str) -> Result<Value, (FaultCode, String)> {
    let mut map = Map::new();
    for entry in text
        .split(';')
        .map(str::trim)
        .filter(|entry| !entry.is_empty())
    {
        let Some((attribute, source)) = entry.split_once('=') else {
            let detail = format!("write attribute=source, parted by semicolons, not {entry:?}");
            return Err((FaultCode::WrongForm, detail));
        };
        map.insert(attribute.trim().to_owned(), Value::from(source.trim()));
    }
    Ok(Value::Object(map))
}

/// A number with decimal point or comma, brought to the attribute's unit.
fn number(
    text: &str,
    factor: f64,
    places: u32,
    rounded: bool,
) -> Result<Value, (FaultCode, String)> {
    let plain = if text.contains('.') {
        text.to_owned()
    } else {
        text.replacen(',', ".", 1)
    };
    let wrong = || (FaultCode::WrongType, format!("{text:?} is no number"));
    if !plain
        .chars()
        .all(|c| c.is_ascii_digit() || matches!(c, '.' | '-' | '+'))
    {
        return Err(wrong());
    }
    let value: f64 = plain.parse().map_err(|_| wrong())?;
    let scale = 10f64.powi(places as i32);
    let whole = (value * factor * scale).round();
    if whole.abs() > 9e15 {
        return Err((
            FaultCode::OutOfRange,
            format!("{text} is far out of any range"),
        ));
    }
    let converted = as_f64(whole as i64, places);
    // In the attribute's own unit the cell's decimal has to be kept as it stands; an inch converts
    // exactly but for the noise of binary fractions.
    let kept = if factor == 1.0 {
        exact(value, places).is_ok()
    } else {
        rounded || (value * factor - converted).abs() * scale < 1e-6
    };
    if !kept {
        return Err((
            FaultCode::TooFine,
            format!("{text} is finer than the {places} decimal places that are kept"),
        ));
    }
    if places == 0 {
        return Ok(Value::from(whole as i64));
    }
    Number::from_f64(converted)
        .map(Value::Number)
        .ok_or_else(wrong)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn columns(header: &[&str]) -> (Vec<Column>, Vec<(String, FaultCode)>) {
        let mut faults = Vec::new();
        let columns = understood(&csv::StringRecord::from(header.to_vec()), |c, code, _| {
            faults.push((c.to_owned(), code))
        });
        (columns, faults)
    }

    #[test]
    fn units_in_headers_convert_exactly() {
        let (columns, faults) = columns(&[
            "maker",
            "part_number",
            "reach_in",
            "gap_preset_thou",
            "resistance_kohm",
        ]);
        assert_eq!(faults, []);
        assert_eq!(columns[2].value("0.75"), Ok(Value::from(19.05)));
        assert_eq!(columns[2].value("0,708"), Ok(Value::from(17.9832)));
        assert_eq!(columns[3].value("32"), Ok(Value::from(0.8128)));
        assert_eq!(columns[4].value("5"), Ok(Value::from(5000.0)));
        assert_eq!(
            columns[2].value("0.7500001").unwrap_err().0,
            FaultCode::TooFine
        );
    }

    #[test]
    fn a_cell_is_understood_or_refused() {
        let (columns, _) = columns(&[
            "maker",
            "part_number",
            "reach_mm",
            "resistor",
            "provenance",
            "pack_size",
        ]);
        assert_eq!(columns[2].value("19,0"), Ok(Value::from(19.0)));
        assert_eq!(columns[2].value(""), Ok(Value::Null));
        assert_eq!(
            columns[2].value("1.234,5").unwrap_err().0,
            FaultCode::WrongType
        );
        assert_eq!(columns[2].value("NaN").unwrap_err().0, FaultCode::WrongType);
        assert_eq!(
            columns[2].value("19.00001").unwrap_err().0,
            FaultCode::TooFine
        );
        assert_eq!(columns[3].value("Yes"), Ok(Value::Bool(true)));
        assert_eq!(
            columns[3].value("perhaps").unwrap_err().0,
            FaultCode::WrongType
        );
        assert_eq!(
            columns[4]
                .value("reach_mm=measured; hex_mm = assumed")
                .unwrap()["hex_mm"],
            "assumed"
        );
        assert_eq!(columns[5].value("4"), Ok(Value::from(4)));
    }

    #[test]
    fn a_header_that_is_not_known_is_named_with_a_hint() {
        let (_, faults) = columns(&["maker", "reach", "reach_mm", "reach_in"]);
        assert_eq!(
            faults,
            [
                ("reach".to_owned(), FaultCode::UnknownMember),
                ("reach_in".to_owned(), FaultCode::Duplicate),
                ("part_number".to_owned(), FaultCode::Missing)
            ]
        );
    }

    #[test]
    fn the_separator_is_what_the_header_has_most_of() {
        assert_eq!(separator("a;b;c\n1,2;3;4"), b';');
        assert_eq!(separator("a,b"), b',');
        assert_eq!(separator("a\tb"), b'\t');
    }
}
