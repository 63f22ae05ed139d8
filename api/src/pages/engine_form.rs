//! The form in which a build is described: its fields, and the build that they mean.

use serde_json::{Map, Value};

use crate::pages::engine_fields::{Declared, Form, GROUPS, NOTHING_ELECTRONIC, WANTED, declared};
use crate::pages::field::{Choice, Field, Input, Wrong};
use crate::pages::typed::{Typed, count, quantity};

/// Whether something of a build was typed.
pub(super) fn is_typed(typed: &Typed) -> bool {
    let mut of_build = declared().filter(|d| !WANTED.iter().any(|w| w.name == d.name));
    of_build.any(|d| !typed.one(d.name).is_empty())
}

/// Fields of the form that belong together.
#[derive(Debug)]
pub(super) struct Group {
    pub legend: &'static str,
    pub note: &'static str,
    /// Whether it can be folded away, and whether it is.
    pub folds: bool,
    pub fields: Vec<Field>,
}

impl Group {
    /// Whether it lies open: something in it was typed, or is wrong.
    pub fn is_open(&self) -> bool {
        self.fields.iter().any(|f| {
            f.is_wrong()
                || !f.value.is_empty()
                || f.choices.iter().any(|c| c.chosen && !c.value.is_empty())
        })
    }
}

/// The fields with what was typed; `heads` are the stored ones, by id and name.
pub(super) fn groups(typed: &Typed, heads: &[(String, String)]) -> Vec<Group> {
    let group =
        |(legend, note, folds, fields): &(&'static str, &'static str, bool, &[Declared])| Group {
            legend,
            note,
            folds: *folds,
            fields: fields
                .iter()
                .map(|declared| field(declared, typed, heads))
                .collect(),
        };
    GROUPS.iter().map(group).collect()
}

fn field(declared: &Declared, typed: &Typed, heads: &[(String, String)]) -> Field {
    let values: Vec<&str> = typed.all(declared.name).collect();
    let value = values.first().copied().unwrap_or_default();
    let (input, unit, mut choices) = match declared.form {
        Form::Measured(unit) => (Input::Figures, unit, Vec::new()),
        Form::Counted => (Input::Digits, "", Vec::new()),
        Form::Part => (Input::Text, "", Vec::new()),
        Form::One(words) => (
            Input::One,
            "",
            Choice::of_words(words, |word| word == value),
        ),
        Form::Several(words) => (
            Input::Several,
            "",
            Choice::of_words(words, |word| values.contains(&word)),
        ),
        Form::Flag => (
            Input::One,
            "",
            Choice::of_words(&["yes", "no"], |word| word == value),
        ),
        Form::Head => {
            let choice = |(id, name): &(String, String)| Choice {
                value: id.clone(),
                words: name.clone(),
                chosen: id == value,
            };
            (Input::One, "", heads.iter().map(choice).collect())
        }
    };
    match declared.name {
        "electronics" => choices.push(Choice {
            value: NOTHING_ELECTRONIC.into(),
            words: "nothing electronic at all".into(),
            chosen: values.contains(&NOTHING_ELECTRONIC),
        }),
        "stock" => in_words(&mut choices),
        _ => {}
    }
    let value = if matches!(input, Input::One | Input::Several) {
        ""
    } else {
        value
    };
    Field {
        name: declared.name,
        label: declared.label,
        unit: unit.to_owned(),
        needed: declared.needed,
        hint: declared.hint.to_owned(),
        input,
        value: value.to_owned(),
        choices,
        fault: String::new(),
    }
}

fn in_words(stock: &mut [Choice]) {
    for choice in stock {
        choice.words = match choice.value.as_str() {
            "enough" => "the whole quantity",
            "some" => "at least one",
            _ => "shelf or not",
        }
        .to_owned();
    }
}

/// The build that was typed, as JSON, for the same checks as over HTTP; fields that are not
/// understood are left out of it. `part` looks a part up.
pub(super) fn build<E>(
    typed: &Typed,
    mut part: impl FnMut(&str) -> Result<Result<String, String>, E>,
) -> Result<(Value, Vec<Wrong>), E> {
    let (mut build, mut head) = (Map::new(), Map::new());
    let mut wrong = Vec::new();
    for declared in declared().filter(|d| !WANTED.iter().any(|w| w.name == d.name)) {
        let values: Vec<&str> = typed.all(declared.name).collect();
        let Some(first) = values.first() else {
            if declared.needed {
                wrong.push(Wrong::with(declared.name, Wrong::MISSING));
            }
            continue;
        };
        let value = match declared.form {
            Form::Measured(unit) => quantity(first, unit).map(Value::from),
            Form::Counted => count(first).map(Value::from),
            Form::One(_) | Form::Head => Ok(Value::from(*first)),
            Form::Flag => yes_or_no(first).map(Value::from),
            Form::Several(_) => several(&values),
            Form::Part => part(first)?.map(Value::from),
        };
        match value {
            Err(why) => wrong.push(Wrong::with(declared.name, why)),
            Ok(value) if declared.of_head => _ = head.insert(declared.name.to_owned(), value),
            Ok(value) => _ = build.insert(member(declared).to_owned(), value),
        }
    }
    let head_is_wrong = wrong
        .iter()
        .any(|w| declared().any(|d| d.of_head && d.name == w.field));
    if !head.is_empty() || head_is_wrong {
        build.insert("head".into(), Value::Object(head));
    } else if !build.contains_key("head_id") {
        // The checks would say so only once all else is right.
        wrong.push(Wrong::with(
            "head",
            "choose a stored head, or describe it below",
        ));
    }
    Ok((Value::Object(build), wrong))
}

fn member(declared: &Declared) -> &'static str {
    match declared.form {
        Form::Head => "head_id",
        Form::Part => "base_plug_id",
        _ => declared.name,
    }
}

fn yes_or_no(text: &str) -> Result<bool, String> {
    match text {
        "yes" => Ok(true),
        "no" => Ok(false),
        other => Err(format!("{other:?} is neither yes nor no")),
    }
}

/// Some words; the word for nothing stands alone, and is an empty list.
fn several(values: &[&str]) -> Result<Value, String> {
    match values {
        [NOTHING_ELECTRONIC] => Ok(Value::Array(Vec::new())),
        some if some.contains(&NOTHING_ELECTRONIC) => {
            Err("either nothing electronic, or what there is".into())
        }
        some => Ok(some.iter().map(|word| Value::from(*word)).collect()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn typed(query: &str) -> (Value, Vec<Wrong>) {
        let part = |text: &str| {
            Ok::<_, ()>(if text == "FW-1" {
                Ok("7".to_owned())
            } else {
                Err("no part".to_owned())
            })
        };
        build(&Typed::of_query(query), part).unwrap()
    }

    #[test]
    fn names_are_unique() {
        for (place, one) in declared().enumerate() {
            assert!(
                declared()
                    .skip(place + 1)
                    .all(|other| other.name != one.name),
                "{}",
                one.name
            );
        }
    }

    #[test]
    fn a_build_is_what_its_fields_mean() {
        let query = "thread=M14x1.25&reach_mm=0.75+in&seat=gasket&heat_index=50&hex_max_mm=13/16+in&tight_gap=no&cylinders=8\
                     &induction=supercharged&use=street&boost_kpa=8+psi&coil_kv=&electronics=radio&electronics=wideband\
                     &base_plug=FW-1&quantity=9&stock=some";
        let (build, wrong) = typed(query);
        assert_eq!(wrong, []);
        assert_eq!(
            build["head"],
            json!({ "thread": "M14x1.25", "reach_mm": 19.05, "seat": "gasket", "heat_index": 50.0, "hex_max_mm": 20.6375, "tight_gap": false })
        );
        assert_eq!(build["cylinders"], 8);
        assert_eq!(build["electronics"], json!(["radio", "wideband"]));
        assert_eq!(build["base_plug_id"], "7");
        for absent in ["coil_kv", "quantity", "stock", "head_id"] {
            assert!(build.get(absent).is_none(), "{absent}");
        }
    }

    #[test]
    fn nothing_electronic_is_not_unknown() {
        assert_eq!(typed("electronics=none").0["electronics"], json!([]));
        assert!(typed("cylinders=8").0.get("electronics").is_none());
        let (_, wrong) = typed("electronics=none&electronics=radio");
        assert!(wrong.contains(&Wrong::with(
            "electronics",
            "either nothing electronic, or what there is"
        )));
    }

    #[test]
    fn every_field_that_is_not_understood_is_named() {
        let (build, wrong) =
            typed("reach_mm=long&cylinders=some&power_kw=9+psi&base_plug=FW-2&head=5");
        let named: Vec<_> = wrong.iter().map(|w| w.field.as_str()).collect();
        let all = [
            "reach_mm",
            "cylinders",
            "induction",
            "use",
            "power_kw",
            "base_plug",
        ];
        assert_eq!(named, all, "those that are needed and left open too");
        assert_eq!(
            build,
            json!({ "head_id": "5", "head": {} }),
            "the head that was meant is still there to be checked"
        );
    }

    #[test]
    fn what_was_typed_opens_its_group() {
        let groups =
            |query: &str| groups(&Typed::of_query(query), &[("5".into(), "Cormorant".into())]);
        let open = |query: &str| {
            groups(query)
                .iter()
                .filter(|g| g.folds && g.is_open())
                .map(|g| g.legend)
                .collect::<Vec<_>>()
        };
        assert!(open("head=5&cylinders=8").is_empty());
        assert_eq!(
            open("rod_mm=150&electrode=iridium"),
            ["Finer figures", "The makers' word"]
        );
        assert!(
            is_typed(&Typed::of_query("rod_mm=150"))
                && !is_typed(&Typed::of_query("quantity=9&stock=some&build=1"))
        );
    }
}
