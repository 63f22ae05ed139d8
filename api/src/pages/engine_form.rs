//! The form in which a build is typed: its fields, and the build that they mean.

use std::collections::HashMap;

use plugwell_domain::build::QUANTITIES;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::thread::Thread;
use plugwell_domain::words::{Electronics, Induction, Seat, Terminal, Use};
use serde_json::{Map, Value};

use crate::pages::typed::quantity;

/// How a field is filled in.
#[derive(Debug, Clone, Copy)]
enum Form {
    Number(&'static str),
    Choice(&'static [&'static str]),
    Several(&'static [&'static str]),
}

/// A field: its name is the JSON pointer of the member.
#[derive(Debug, Clone, Copy)]
struct Declared {
    name: &'static str,
    label: &'static str,
    form: Form,
    needed: bool,
}

const fn field(name: &'static str, label: &'static str, form: Form, needed: bool) -> Declared {
    Declared {
        name,
        label,
        form,
        needed,
    }
}

const FIELDS: &[Declared] = &[
    field("head/thread", "Thread", Form::Choice(Thread::WORDS), true),
    field("head/reach_mm", "Reach", Form::Number("mm"), true),
    field("head/seat", "Seat", Form::Choice(Seat::WORDS), true),
    field(
        "head/heat_index",
        "Heat index it came with",
        Form::Number(""),
        true,
    ),
    field("head/hex_max_mm", "Largest hex", Form::Number("mm"), false),
    field(
        "head/projection_min_mm",
        "Projection from",
        Form::Number("mm"),
        false,
    ),
    field(
        "head/projection_max_mm",
        "Projection to",
        Form::Number("mm"),
        false,
    ),
    field(
        "head/terminal",
        "Terminal",
        Form::Choice(Terminal::WORDS),
        false,
    ),
    field("cylinders", "Cylinders", Form::Number(""), true),
    field(
        "induction",
        "Induction",
        Form::Choice(Induction::WORDS),
        true,
    ),
    field("use", "Use", Form::Choice(Use::WORDS), true),
    field("base_power_kw", "Power before", Form::Number("kW"), false),
    field("power_kw", "Power as built", Form::Number("kW"), false),
    field("boost_kpa", "Boost", Form::Number("kPa"), false),
    field(
        "compression_ratio",
        "Compression ratio",
        Form::Number(""),
        false,
    ),
    field("coil_kv", "Coil", Form::Number("kV"), false),
    field(
        "electronics",
        "Electronics",
        Form::Several(Electronics::WORDS),
        false,
    ),
];

/// A field as it is shown.
#[derive(Debug, Clone)]
pub(super) struct Field {
    /// Name in the form.
    pub name: &'static str,
    /// What people call it.
    pub label: &'static str,
    /// Unit that counts where none is typed.
    pub unit: &'static str,
    /// Whether it has to be filled in.
    pub needed: bool,
    /// What was typed.
    pub value: String,
    /// Words to choose from: the word, how it reads, whether it is chosen.
    pub choices: Vec<(&'static str, String, bool)>,
    /// Whether several may be chosen.
    pub several: bool,
    /// What is wrong with it.
    pub fault: String,
}

/// What was typed, by name of field.
pub(super) type Typed = HashMap<String, Vec<String>>;

/// The fields with what was typed and what is wrong with it.
pub(super) fn fields(typed: &Typed, faults: &[Fault]) -> Vec<Field> {
    let shown = FIELDS.iter().map(|declared| {
        let values = typed.get(declared.name).map_or(&[][..], Vec::as_slice);
        let fault = faults
            .iter()
            .find(|f| f.pointer == format!("#/{}", declared.name));
        let (unit, words, several) = match declared.form {
            Form::Number(unit) => (unit, &[][..], false),
            Form::Choice(words) => ("", words, false),
            Form::Several(words) => ("", words, true),
        };
        Field {
            name: declared.name,
            label: declared.label,
            unit,
            needed: declared.needed,
            value: values.first().cloned().unwrap_or_default(),
            choices: words
                .iter()
                .map(|w| (*w, w.replace('_', " "), values.iter().any(|v| v == w)))
                .collect(),
            several,
            fault: fault.map_or_else(String::new, |f| f.detail.clone()),
        }
    });
    shown.collect()
}

/// The build that was typed, as JSON.
///
/// # Errors
/// A fault for each field that is not understood.
pub(super) fn build(typed: &Typed) -> Result<Value, Vec<Fault>> {
    let (mut engine, mut head) = (Map::new(), Map::new());
    let mut faults = Vec::new();
    for declared in FIELDS {
        let values = typed.get(declared.name).map_or(&[][..], Vec::as_slice);
        let first = values.first().map_or("", |text| text.trim());
        let value = match declared.form {
            _ if first.is_empty() => continue,
            Form::Number(unit) => match quantity(first, unit) {
                Ok(number) => number_of(declared.name, number),
                Err(detail) => {
                    faults.push(Fault::at(declared.name, FaultCode::WrongForm, detail));
                    continue;
                }
            },
            Form::Choice(_) => Value::from(first),
            // The box "nothing electronic" sends a dash: an empty list, where null would be unknown.
            Form::Several(_) => values.iter().filter(|v| *v != "-").cloned().collect(),
        };
        match declared.name.strip_prefix("head/") {
            Some(member) => head.insert(member.to_owned(), value),
            None => engine.insert(declared.name.to_owned(), value),
        };
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    engine.insert("head".into(), Value::Object(head));
    Ok(Value::Object(engine))
}

/// A number of a build: cylinders are counted, all else is measured.
fn number_of(name: &str, number: f64) -> Value {
    let counted = QUANTITIES
        .iter()
        .any(|q| q.field == name && q.unit.is_empty())
        && name == "cylinders";
    if counted && number.fract() == 0.0 {
        Value::from(number as i64)
    } else {
        Value::from(number)
    }
}
