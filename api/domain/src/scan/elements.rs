//! Element strings of GS1, one after the other: read, checked against each other, and put together.

use std::fmt::Write;

use chrono::NaiveDate;
use serde::Serialize;

use super::application::{AIS, Ai, Form, leading, named, predefined};
use super::{SEPARATOR, at};
use crate::fault::{Fault, FaultCode};
use crate::gtin::{Gtin, check_digit};

/// The characters besides letters and digits that a text may have (GS1 AI encodable character set 82,
/// General Specifications, from memory).
const SIGNS: &str = "!\"%&'()*+,-./:;<=>?_";

/// Whether a character may stand in the text of an element string.
pub fn in_set_82(c: char) -> bool {
    c.is_ascii_alphanumeric() || SIGNS.contains(c)
}

/// One element string.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Element {
    /// Its application identifier.
    pub ai: String,
    /// What that says, in words.
    pub title: String,
    /// Its value as printed.
    pub value: String,
}

impl Element {
    /// An element string of an identifier.
    pub fn of(ai: &Ai, value: &str) -> Self {
        Self {
            ai: ai.digits.to_owned(),
            title: ai.title.to_owned(),
            value: value.to_owned(),
        }
    }
}

/// Element strings that agree with each other, in the order that they were read.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Elements(Vec<Element>);

impl Elements {
    /// All of them.
    pub fn all(&self) -> &[Element] {
        &self.0
    }

    fn value(&self, ai: &str) -> Option<&str> {
        let own = self.0.iter().find(|element| element.ai == ai);
        own.map(|element| element.value.as_str())
    }

    /// The item that the symbol is on, or, on a logistic unit, the item that is in it.
    pub fn gtin(&self) -> Option<Gtin> {
        let digits = self.value("01").or_else(|| self.value("02"));
        digits.and_then(|digits| digits.parse().ok())
    }

    /// Batch or lot, as its maker numbers it.
    pub fn batch(&self) -> Option<&str> {
        self.value("10")
    }

    /// Serial number.
    pub fn serial(&self) -> Option<&str> {
        self.value("21")
    }

    /// How many of the item there are.
    pub fn count(&self) -> Option<i64> {
        self.value("37").and_then(|digits| digits.parse().ok())
    }

    /// Whether the count stands beside the item's own GTIN, which GS1 does not provide for: it goes
    /// with what is contained.
    pub fn count_is_misplaced(&self) -> bool {
        self.value("37").is_some() && self.value("01").is_some()
    }
}

/// Element strings as a scanner sends them, with every fault where there are some.
pub(super) fn read(data: &str) -> Result<Elements, Vec<Fault>> {
    let mut reading = Reading::default();
    let mut rest = data.trim_start_matches(SEPARATOR);
    while !rest.is_empty() {
        let place = data.chars().count() - rest.chars().count() + 1;
        let Some(ai) = leading(rest) else {
            rest = reading.unknown(rest, place);
            continue;
        };
        let behind = &rest[ai.digits.len()..];
        let end = match ai.form.length() {
            Some(length) => behind
                .char_indices()
                .take_while(|(_, c)| *c != SEPARATOR)
                .nth(length)
                .map_or_else(|| up_to_separator(behind), |(end, _)| end),
            None => up_to_separator(behind),
        };
        reading.take(ai, &behind[..end], place);
        rest = behind[end..].trim_start_matches(SEPARATOR);
    }
    reading.finish()
}

fn up_to_separator(text: &str) -> usize {
    text.find(SEPARATOR).unwrap_or(text.len())
}

/// The identifier in brackets that a text begins with, and what follows.
fn bracket(text: &str) -> Option<(&str, &str)> {
    let (digits, rest) = text.strip_prefix('(')?.split_once(')')?;
    let is_ai = (2..=4).contains(&digits.len()) && digits.bytes().all(|b| b.is_ascii_digit());
    is_ai.then_some((digits, rest))
}

pub(super) fn begins_with_bracket(text: &str) -> bool {
    bracket(text).is_some()
}

/// Element strings as they are printed for people, identifiers in brackets. A value that holds brackets
/// around digits itself can only be scanned.
pub(super) fn read_bracketed(text: &str) -> Result<Elements, Vec<Fault>> {
    let mut reading = Reading::default();
    let mut rest = text;
    while let Some((digits, behind)) = bracket(rest) {
        let place = text.chars().count() - rest.chars().count() + 1;
        let next = behind
            .char_indices()
            .find(|(index, c)| *c == '(' && begins_with_bracket(&behind[*index..]));
        let (value, after) = behind.split_at(next.map_or(behind.len(), |(index, _)| index));
        match named(digits) {
            Some(ai) => reading.take(ai, value.trim(), place),
            None => reading.not_understood(digits, place),
        }
        rest = after;
    }
    reading.finish()
}

#[derive(Default)]
struct Reading {
    elements: Vec<Element>,
    faults: Vec<Fault>,
}

impl Reading {
    fn take(&mut self, ai: &Ai, value: &str, place: usize) {
        if let Some((code, detail)) = wrong(ai, value) {
            let detail = format!("({}) at character {place}: {detail}", ai.digits);
            self.faults.push(at(code, detail));
        }
        self.elements.push(Element::of(ai, value));
    }

    /// Notes one that is not understood; what stands behind it.
    fn unknown<'t>(&mut self, rest: &'t str, place: usize) -> &'t str {
        let shown: String = rest.chars().take(2).collect();
        self.not_understood(&shown, place);
        let length = predefined(rest);
        let end = length
            .and_then(|length| rest.char_indices().nth(length).map(|(end, _)| end))
            .unwrap_or(rest.len())
            .min(up_to_separator(rest));
        rest[end..].trim_start_matches(SEPARATOR)
    }

    fn not_understood(&mut self, digits: &str, place: usize) {
        let known: Vec<&str> = AIS.iter().map(|ai| ai.digits).collect();
        let detail = format!(
            "no application identifier that is understood begins with {digits:?} at character {place}; these are: {}",
            known.join(", ")
        );
        self.faults.push(at(FaultCode::NotInList, detail));
    }

    /// All of them, where they agree with each other.
    fn finish(mut self) -> Result<Elements, Vec<Fault>> {
        let mut elements = Elements::default();
        for element in std::mem::take(&mut self.elements) {
            match elements.value(&element.ai) {
                None => elements.0.push(element),
                Some(first) if *first == element.value => {}
                Some(first) => {
                    let detail = format!(
                        "({}) stands twice, with {first:?} and with {:?}",
                        element.ai, element.value
                    );
                    self.faults.push(at(FaultCode::Contradiction, detail));
                }
            }
        }
        if elements.value("01").is_some() && elements.value("02").is_some() {
            let detail = "(01) is the item that bears the symbol, (02) one that is inside a logistic unit: not both";
            self.faults.push(at(FaultCode::NotTogether, detail.into()));
        }
        if elements.all().is_empty() && self.faults.is_empty() {
            let detail = "there is nothing in these element strings";
            self.faults.push(at(FaultCode::Missing, detail.into()));
        }
        if self.faults.is_empty() {
            Ok(elements)
        } else {
            Err(self.faults)
        }
    }
}

/// What is wrong with a value.
fn wrong(ai: &Ai, value: &str) -> Option<(FaultCode, String)> {
    let length = value.chars().count();
    let form = |detail: String| Some((FaultCode::WrongForm, detail));
    if let Form::Text(most) = ai.form {
        return match value.chars().find(|c| !in_set_82(*c)) {
            _ if length == 0 => form("there is nothing behind it".into()),
            _ if length > most => form(format!("has at most {most} characters, not {length}")),
            Some(c) => form(format!("{c:?} cannot stand in it")),
            None => None,
        };
    }
    if let Some(c) = value.chars().find(|c| !c.is_ascii_digit()) {
        return form(format!("has digits only, not {c:?}"));
    }
    match ai.form.length() {
        Some(needed) if length != needed => {
            return form(format!("has {needed} digits, not {length}"));
        }
        None if length == 0 || length > ai.form.most() => {
            let most = ai.form.most();
            return form(format!("has 1 to {most} digits, not {length}"));
        }
        _ => {}
    }
    match ai.form {
        Form::Checked(_) => checked(value),
        Form::Date => (!is_date(value)).then(|| {
            let detail = format!("{value} is no date: year, month and day of two digits each");
            (FaultCode::WrongForm, detail)
        }),
        Form::Count(_) => value.bytes().all(|b| b == b'0').then(|| {
            let detail = "a count is from 1 on".to_owned();
            (FaultCode::OutOfRange, detail)
        }),
        Form::Digits(_) | Form::Text(_) => None,
    }
}

fn checked(value: &str) -> Option<(FaultCode, String)> {
    let digits: Vec<u8> = value.bytes().map(|b| b - b'0').collect();
    let (found, payload) = digits.split_last()?;
    let expected = check_digit(payload);
    (expected != *found).then(|| {
        let detail = format!(
            "the check digit should be {expected}, not {found}; one of the digits is wrong"
        );
        (FaultCode::WrongCheckDigit, detail)
    })
}

/// Of the century only the length of February depends: that of this one is taken.
fn is_date(value: &str) -> bool {
    let number = |from: usize| value[from..from + 2].parse::<u32>().unwrap_or(0);
    let (year, month, day) = (2000 + number(0) as i32, number(2), number(4));
    NaiveDate::from_ymd_opt(year, month, day.max(1)).is_some()
}

/// Element strings as a symbol carries them: a separator behind each of open length that another
/// follows.
pub fn composed(elements: &[Element]) -> String {
    let mut text = String::new();
    for (place, element) in elements.iter().enumerate() {
        text.push_str(&element.ai);
        text.push_str(&element.value);
        let open = named(&element.ai).is_none_or(|ai| ai.form.length().is_none());
        if open && place + 1 < elements.len() {
            text.push(SEPARATOR);
        }
    }
    text
}

/// Element strings as they are printed for people.
pub fn bracketed(elements: &[Element]) -> String {
    let mut text = String::new();
    for element in elements {
        let _ = write!(text, "({}){}", element.ai, element.value);
    }
    text
}
