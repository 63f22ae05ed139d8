//! How a value of the policy is read, checked and written.

use chrono_tz::Tz;
use serde_json::{Map, Value, json};

use super::label::Label;
use crate::calendar::CalendarPeriod;
use crate::decimal::{Decimal, exact};
use crate::fault::{Fault, FaultCode};
use crate::forecast::ForecastMethod;
use crate::words::{DecimalMark, Electrode, NotInList};

/// Longest sentence beside a value, in characters.
pub const TEXT_MAX: usize = 500;

/// A value with what it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged<T> {
    /// The value.
    pub value: T,
    /// What it rests on.
    pub label: Label,
    /// What it is for, in a sentence.
    pub text: String,
}

impl<T: Figure> Judged<T> {
    /// The value as it stands in JSON.
    pub(super) fn to_json(&self) -> Value {
        json!({ "value": self.value.to_json(), "label": self.label, "text": self.text })
    }
}

/// How a value is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// A number with so many decimal places; `None` where it may be as fine as it likes.
    Number(Option<u32>),
    /// A list of tip metals.
    Metals,
    /// Three capital letters of ISO 4217.
    Currency,
    /// A name of the IANA time zone database.
    TimeZone,
    /// One of a few words.
    Word(&'static [&'static str]),
}

/// Unit, least and greatest value of a number; nothing for another form.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Unit as printed; empty for a pure number.
    pub unit: &'static str,
    /// Least allowed value.
    pub min: f64,
    /// Greatest allowed value.
    pub max: f64,
}

/// Bounds of a number.
pub(super) const fn within(unit: &'static str, min: f64, max: f64) -> Bounds {
    Bounds { unit, min, max }
}

/// No bounds: the value is no number.
pub(super) const ANY: Bounds = within("", 0.0, 0.0);

/// The rule that a value broke, and the sentence that says so.
type Refusal = (FaultCode, String);

/// A type that a value of the policy can have.
pub trait Figure: Sized {
    /// How it is written.
    const FORM: Form;
    /// Reads it from JSON.
    ///
    /// # Errors
    /// The rule that it breaks, with a sentence.
    fn read(value: &Value, bounds: Bounds) -> Result<Self, Refusal>;
    /// Writes it as JSON.
    fn to_json(&self) -> Value;
}

/// A number within bounds.
fn number(value: &Value, bounds: Bounds) -> Result<f64, Refusal> {
    let number = value.as_f64().filter(|_| value.is_number());
    let number = number.ok_or_else(|| {
        (
            FaultCode::WrongType,
            format!("a number is asked for, not {value}"),
        )
    })?;
    if (bounds.min..=bounds.max).contains(&number) {
        Ok(number)
    } else {
        let unit = if bounds.unit.is_empty() {
            String::new()
        } else {
            format!(" {}", bounds.unit)
        };
        Err((
            FaultCode::OutOfRange,
            format!(
                "{number}{unit} is outside {} to {}{unit}",
                bounds.min, bounds.max
            ),
        ))
    }
}

/// The whole number of last places of a number within bounds.
fn decimal(value: &Value, bounds: Bounds, places: u32) -> Result<i64, Refusal> {
    exact(number(value, bounds)?, places).map_err(|e| (FaultCode::TooFine, e.to_string()))
}

impl Figure for f64 {
    const FORM: Form = Form::Number(None);
    fn read(value: &Value, bounds: Bounds) -> Result<Self, Refusal> {
        number(value, bounds)
    }
    fn to_json(&self) -> Value {
        Value::from(*self)
    }
}

impl Figure for u32 {
    const FORM: Form = Form::Number(Some(0));
    fn read(value: &Value, bounds: Bounds) -> Result<Self, Refusal> {
        let whole = decimal(value, bounds, 0)?;
        Self::try_from(whole).map_err(|e| (FaultCode::OutOfRange, format!("{whole}: {e}")))
    }
    fn to_json(&self) -> Value {
        Value::from(*self)
    }
}

impl<const D: u32> Figure for Decimal<D> {
    const FORM: Form = Form::Number(Some(D));
    fn read(value: &Value, bounds: Bounds) -> Result<Self, Refusal> {
        decimal(value, bounds, D).map(Self)
    }
    fn to_json(&self) -> Value {
        Value::from(self.get())
    }
}

impl Figure for Vec<Electrode> {
    const FORM: Form = Form::Metals;
    fn read(value: &Value, _: Bounds) -> Result<Self, Refusal> {
        let wrong = || {
            (
                FaultCode::WrongType,
                format!("a list of tip metals is asked for, not {value}"),
            )
        };
        let mut metals = Self::new();
        for word in value.as_array().ok_or_else(wrong)? {
            let metal = word.as_str().ok_or_else(wrong)?.parse::<Electrode>();
            let metal = metal.map_err(|e| (FaultCode::NotInList, e.to_string()))?;
            if metals.contains(&metal) {
                return Err((FaultCode::Duplicate, format!("{metal} stands twice")));
            }
            metals.push(metal);
        }
        Ok(metals)
    }
    fn to_json(&self) -> Value {
        self.iter().map(|metal| Value::from(metal.word())).collect()
    }
}

impl Figure for String {
    const FORM: Form = Form::Currency;
    fn read(value: &Value, _: Bounds) -> Result<Self, Refusal> {
        let text = value.as_str().ok_or_else(|| {
            (
                FaultCode::WrongType,
                format!("a code is asked for, not {value}"),
            )
        })?;
        if text.len() == 3 && text.bytes().all(|b| b.is_ascii_uppercase()) {
            Ok(text.to_owned())
        } else {
            Err((
                FaultCode::WrongForm,
                format!("{text:?} is no code of ISO 4217: three capital letters, such as USD"),
            ))
        }
    }
    fn to_json(&self) -> Value {
        Value::from(self.as_str())
    }
}

impl Figure for Tz {
    const FORM: Form = Form::TimeZone;
    fn read(value: &Value, _: Bounds) -> Result<Self, Refusal> {
        let name = value.as_str().ok_or_else(|| {
            (
                FaultCode::WrongType,
                format!("the name of a time zone is asked for, not {value}"),
            )
        })?;
        name.parse().map_err(|_| {
            (
                FaultCode::NotInList,
                format!(
                    "{name:?} is no time zone of the IANA database, as UTC or Pacific/Auckland are"
                ),
            )
        })
    }
    fn to_json(&self) -> Value {
        Value::from(self.name())
    }
}

/// A word of a list, of which some may not be chosen here.
fn word<T: std::str::FromStr<Err = NotInList>>(
    value: &Value,
    words: &'static [&'static str],
) -> Result<T, Refusal> {
    let given = value.as_str().ok_or_else(|| {
        (
            FaultCode::WrongType,
            format!("one of {} is asked for, not {value}", words.join(", ")),
        )
    })?;
    let found = words.contains(&given).then(|| given.parse().ok()).flatten();
    found.ok_or_else(|| {
        (
            FaultCode::NotInList,
            format!("{given:?} is none of {}", words.join(", ")),
        )
    })
}

/// Types that are one of a few words.
macro_rules! words_of {
    ($($type:ty = $words:expr),+ $(,)?) => { $(
        impl Figure for $type {
            const FORM: Form = Form::Word($words);
            fn read(value: &Value, _: Bounds) -> Result<Self, Refusal> {
                word(value, $words)
            }
            fn to_json(&self) -> Value {
                Value::from(self.word())
            }
        }
    )+ };
}

words_of! {
    CalendarPeriod = CalendarPeriod::WORDS,
    DecimalMark = DecimalMark::WORDS,
    // `given` is what is left where none of these can be taken.
    ForecastMethod = &["croston", "sba", "tsb", "mean"],
}

/// Reads the values of a policy, keeping every fault.
pub(super) struct Reader<'a> {
    values: &'a Map<String, Value>,
    faults: Vec<Fault>,
}

impl<'a> Reader<'a> {
    /// Begins to read.
    pub(super) fn new(values: &'a Map<String, Value>) -> Self {
        Self {
            values,
            faults: Vec::new(),
        }
    }

    /// The faults that were found.
    pub(super) fn faults(self) -> Vec<Fault> {
        self.faults
    }

    /// The value of that name with its label and sentence.
    pub(super) fn judged<T: Figure>(&mut self, key: &str, bounds: Bounds) -> Option<Judged<T>> {
        let path = format!("values/{key}");
        let Some(given) = self.values.get(key) else {
            return self.fault(
                &path,
                FaultCode::Missing,
                format!("{key} has to be given: a policy is whole"),
            );
        };
        let Some(map) = given.as_object() else {
            return self.fault(
                &path,
                FaultCode::WrongType,
                format!("{key} is an object of value, label and text"),
            );
        };
        for name in map
            .keys()
            .filter(|name| !["value", "label", "text"].contains(&name.as_str()))
        {
            let at = format!("{path}/{}", escaped(name));
            self.faults.push(Fault::at(
                &at,
                FaultCode::UnknownMember,
                format!("{key} has no member {name:?}"),
            ));
        }
        let value = self.member(map, &path, "value", |value| T::read(value, bounds));
        let label = self.member(map, &path, "label", label);
        let text = self.member(map, &path, "text", sentence);
        Some(Judged {
            value: value?,
            label: label?,
            text: text?,
        })
    }

    fn member<T>(
        &mut self,
        map: &Map<String, Value>,
        path: &str,
        name: &str,
        read: impl FnOnce(&Value) -> Result<T, Refusal>,
    ) -> Option<T> {
        let path = format!("{path}/{name}");
        match map.get(name).filter(|value| !value.is_null()) {
            None => self.fault(&path, FaultCode::Missing, format!("{name} has to be given")),
            Some(value) => match read(value) {
                Ok(read) => Some(read),
                Err((code, detail)) => self.fault(&path, code, detail),
            },
        }
    }

    fn fault<T>(&mut self, path: &str, code: FaultCode, detail: String) -> Option<T> {
        self.faults.push(Fault::at(path, code, detail));
        None
    }
}

fn label(value: &Value) -> Result<Label, Refusal> {
    let text = value.as_str().ok_or_else(|| {
        (
            FaultCode::WrongType,
            format!("a label is a word, not {value}"),
        )
    })?;
    text.parse()
        .map_err(|e: NotInList| (FaultCode::NotInList, e.to_string()))
}

fn sentence(value: &Value) -> Result<String, Refusal> {
    let text = value
        .as_str()
        .ok_or_else(|| {
            (
                FaultCode::WrongType,
                format!("a sentence is text, not {value}"),
            )
        })?
        .trim();
    match text.chars().count() {
        0 => Err((
            FaultCode::OutOfRange,
            "say in a sentence what the value is for".into(),
        )),
        n if n > TEXT_MAX => Err((
            FaultCode::OutOfRange,
            format!("longer than {TEXT_MAX} characters"),
        )),
        _ if text.chars().any(char::is_control) => {
            Err((FaultCode::WrongForm, "holds a control character".into()))
        }
        _ => Ok(text.to_owned()),
    }
}

/// A member's name as a segment of a JSON pointer (RFC 6901).
pub(super) fn escaped(name: &str) -> String {
    name.replace('~', "~0").replace('/', "~1")
}
