//! The fields of the policy's values, made of their declarations.

use std::sync::LazyLock;

use plugwell_domain::policy::{Entry, Form as Written, Label, Policy};
use plugwell_domain::words::Electrode;
use serde_json::{Value, json};

use crate::pages::field::{Field, Wrong};
use crate::pages::form::{self, Declared, Form, Known, field};
use crate::pages::records::policy::name;
use crate::pages::typed::Typed;
use crate::service::Refusal;

/// A value with the fields for its three members.
pub(super) struct Asked {
    /// The value.
    pub entry: &'static Entry,
    /// What people call it.
    pub name: &'static str,
    fields: [(&'static str, Declared); 3],
}

/// A group of values with their fields.
pub(super) struct AskedGroup {
    /// What they are about.
    pub title: &'static str,
    /// The values.
    pub asked: Vec<Asked>,
}

/// Every group. The names of fields live as long as the program: they are made once.
pub(super) static GROUPS: LazyLock<Vec<AskedGroup>> = LazyLock::new(|| {
    let groups = Policy::groups().into_iter();
    let asked = |group: plugwell_domain::policy::Group| AskedGroup {
        title: group.title,
        asked: group.entries.into_iter().map(asked).collect(),
    };
    groups.map(asked).collect()
});

fn asked(entry: &'static Entry) -> Asked {
    let name: &'static str = name(entry).leak();
    let bounds = entry.bounds;
    let (form, hint) = match entry.form {
        Written::Number(places) => {
            let form = match places {
                Some(0) => Form::Counted(bounds.unit),
                _ => Form::Measured(bounds.unit),
            };
            (form, format!("{} to {}", bounds.min, bounds.max))
        }
        Written::Metals => (Form::Several(Electrode::WORDS), String::new()),
        Written::Currency => (Form::Words, "three capital letters of ISO 4217".into()),
        Written::TimeZone => (
            Form::Words,
            "a name of the IANA database, as Pacific/Auckland".into(),
        ),
        Written::Word(words) => (Form::One(words), String::new()),
    };
    let called = |member: &str| -> &'static str { format!("{}/{member}", entry.key).leak() };
    let value = field(called("value"), name, form, hint.leak());
    let rests = format!("{name} rests on").leak();
    let sentence = format!("{name} in a sentence").leak();
    let label = field(called("label"), rests, Form::One(Label::WORDS), "");
    Asked {
        entry,
        name,
        fields: [
            ("value", value),
            ("label", label),
            ("text", field(called("text"), sentence, Form::Lines, "")),
        ],
    }
}

impl Asked {
    /// Its fields with what was typed.
    pub fn shown(&self, known: &impl Known, typed: &Typed) -> Result<Vec<Field>, Refusal> {
        let fields = self.fields.iter();
        fields
            .map(|(_, one)| form::shown(known, one, typed))
            .collect()
    }

    /// The names of its fields.
    pub fn names(&self) -> impl Iterator<Item = &'static str> {
        self.fields.iter().map(|(_, one)| one.name)
    }

    /// A judged value as it would be typed.
    pub fn begin(&self, judged: &Value, typed: &mut Typed) {
        for (member, one) in &self.fields {
            match &judged[*member] {
                Value::Array(some) => some.iter().for_each(|v| typed.put(one.name, form::text(v))),
                value => typed.put(one.name, form::text(value)),
            }
        }
    }

    /// What was typed, put into a judged value; what is not understood is named and left as it was.
    pub fn read(
        &self,
        known: &impl Known,
        typed: &Typed,
        judged: &mut Value,
        wrong: &mut Vec<Wrong>,
    ) -> Result<(), Refusal> {
        for (member, one) in &self.fields {
            match form::read(known, one, typed)? {
                Some(Ok(value)) => judged[*member] = in_order(&judged[*member], value),
                Some(Err(why)) => wrong.push(Wrong::with(one.name, why)),
                // Of a list nothing need be ticked.
                None if matches!(one.form, Form::Several(_)) => judged[*member] = json!([]),
                None => wrong.push(Wrong::with(one.name, Wrong::MISSING)),
            }
        }
        Ok(())
    }
}

/// A list that holds the same as before keeps its order: boxes that are ticked have none.
fn in_order(before: &Value, value: Value) -> Value {
    let (Some(old), Some(new)) = (before.as_array(), value.as_array()) else {
        return value;
    };
    let same = old.len() == new.len() && new.iter().all(|one| old.contains(one));
    if same { before.clone() } else { value }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::form::OnePart;

    #[test]
    fn every_value_can_be_typed_as_it_stands() {
        let policy = serde_json::to_value(Policy::default()).unwrap();
        let mut again = policy.clone();
        let mut seen = 0;
        for asked in GROUPS.iter().flat_map(|group| &group.asked) {
            let (mut typed, mut wrong) = (Typed::default(), Vec::new());
            let key = asked.entry.key;
            asked.begin(&policy["values"][key], &mut typed);
            let judged = &mut again["values"][key];
            asked.read(&OnePart, &typed, judged, &mut wrong).unwrap();
            assert_eq!(wrong, [], "{key}");
            seen += 1;
        }
        assert_eq!(seen, plugwell_domain::policy::ENTRIES.len());
        assert_eq!(Policy::from_json(&again), Ok(Policy::default()));
    }
}
