//! The fields of the policy's values, made of their declarations.

use std::sync::LazyLock;

use plugwell_domain::policy::{Entry, Form as Written, Label, Policy};
use plugwell_domain::words::Electrode;
use serde_json::{Value, json};

use crate::pages::field::{Field, Wrong};
use crate::pages::form::{self, Declared, Form, Known, worded};
use crate::pages::records::policy::name;
use crate::pages::typed::Typed;
use crate::pages::words::{Word, say, say_with};
use crate::service::Refusal;
use crate::shown::marked;

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
            (
                form,
                say_with(
                    "records-min-to-max",
                    &[
                        ("min", &bounds.min.to_string()),
                        ("max", &bounds.max.to_string()),
                    ],
                ),
            )
        }
        Written::Metals => (Form::Several(Electrode::WORDS), String::new()),
        Written::Currency => (
            Form::Words,
            say("records-three-capital-letters-iso-4217").into(),
        ),
        Written::TimeZone => (
            Form::Words,
            say("records-name-iana-database-pacific-auckland").into(),
        ),
        Written::Word(words) => (Form::One(words), String::new()),
    };
    let member = |member: &str| -> &'static str { format!("{}/{member}", entry.key).leak() };
    let value = worded(
        member("value"),
        Word::Own(name),
        form,
        Word::Own(hint.leak()),
    );
    let rests = say_with("records-name-rests-on", &[("name", &name)]).leak();
    let sentence = say_with("records-name-in-a-sentence", &[("name", &name)]).leak();
    let none = Word::Own("");
    let label = worded(
        member("label"),
        Word::Own(rests),
        Form::One(Label::WORDS),
        none,
    );
    let text = worded(member("text"), Word::Own(sentence), Form::Lines, none);
    Asked {
        entry,
        name,
        fields: [("value", value), ("label", label), ("text", text)],
    }
}

impl Asked {
    /// Its fields with what was typed.
    pub fn shown(&self, known: &impl Known, typed: &Typed) -> Result<Vec<Field>, Refusal> {
        let fields = self.fields.iter();
        let shown = fields.map(|(_, one)| {
            let mut field = form::shown(known, one, typed)?;
            // The bounds were written before it was known who reads them.
            field.hint = marked(field.hint);
            Ok(field)
        });
        shown.collect()
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
                None => wrong.push(Wrong::with(one.name, Wrong::missing())),
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
