//! The form in which a build is described: its fields, and the build that they mean.

use serde_json::{Map, Value};

use crate::pages::field::{Choice, Field, Wrong};
use crate::pages::find::engine_fields::{GROUPS, NOTHING_ELECTRONIC, WANTED, declared, is_of_head};
use crate::pages::form::{self, Declared, Known};
use crate::pages::typed::Typed;
use crate::pages::words::say;
use crate::service::Refusal;

/// Whether something of a build was typed.
pub(in crate::pages) fn is_typed(typed: &Typed) -> bool {
    let mut of_build = declared().filter(|d| !WANTED.iter().any(|w| w.name == d.name));
    of_build.any(|d| !typed.one(d.name).is_empty())
}

/// Fields of the form that belong together.
#[derive(Debug)]
pub(in crate::pages) struct Group {
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

/// The fields with what was typed.
pub(in crate::pages) fn groups(known: &impl Known, typed: &Typed) -> Result<Vec<Group>, Refusal> {
    let group =
        |(legend, note, folds, fields): &(&'static str, &'static str, bool, &[Declared])| {
            let fields = fields.iter().map(|declared| field(known, declared, typed));
            Ok(Group {
                legend: say(legend),
                note: say(note),
                folds: *folds,
                fields: fields.collect::<Result<_, Refusal>>()?,
            })
        };
    GROUPS.iter().map(group).collect()
}

/// The fields of the build alone, with what was typed.
pub(in crate::pages) fn groups_of_build(
    known: &impl Known,
    typed: &Typed,
) -> Result<Vec<Group>, Refusal> {
    let mut groups = groups(known, typed)?;
    let is_of_build = |field: &Field| WANTED.iter().all(|wanted| wanted.name != field.name);
    groups.retain(|group| group.fields.iter().all(is_of_build));
    Ok(groups)
}

fn field(known: &impl Known, declared: &Declared, typed: &Typed) -> Result<Field, Refusal> {
    let mut field = form::shown(known, declared, typed)?;
    match declared.name {
        "electronics" => field.choices.push(Choice {
            value: NOTHING_ELECTRONIC.into(),
            words: say("find-nothing-electronic-at-all").into(),
            note: "",
            chosen: typed
                .all(declared.name)
                .any(|value| value == NOTHING_ELECTRONIC),
        }),
        "stock" => in_words(&mut field.choices),
        _ => {}
    }
    Ok(field)
}

fn in_words(stock: &mut [Choice]) {
    for choice in stock {
        choice.words = match choice.value.as_str() {
            "enough" => say("find-the-whole-quantity"),
            "some" => say("find-at-least-one"),
            _ => say("find-shelf-or-not"),
        }
        .to_owned();
    }
}

/// The build that was typed, as JSON, for the same checks as over HTTP; fields that are not
/// understood are left out of it.
pub(in crate::pages) fn build(
    known: &impl Known,
    typed: &Typed,
) -> Result<(Value, Vec<Wrong>), Refusal> {
    let (mut build, mut head) = (Map::new(), Map::new());
    let mut wrong = Vec::new();
    for declared in declared().filter(|d| !WANTED.iter().any(|w| w.name == d.name)) {
        let value = match form::read(known, declared, typed)? {
            None if declared.needed => Err(Wrong::missing().to_owned()),
            None => continue,
            Some(Ok(Value::Array(some))) => several(some),
            Some(read) => read,
        };
        match value {
            Err(why) => wrong.push(Wrong::with(declared.name, why)),
            Ok(value) if is_of_head(declared) => _ = head.insert(declared.member(), value),
            Ok(value) => _ = build.insert(declared.member(), value),
        }
    }
    let head_is_wrong = wrong
        .iter()
        .any(|w| declared().any(|d| is_of_head(d) && d.name == w.field));
    if !head.is_empty() || head_is_wrong {
        build.insert("head".into(), Value::Object(head));
    } else if !build.contains_key("head_id") {
        // The checks would say so only once all else is right.
        wrong.push(Wrong::with(
            "head",
            say("find-choose-stored-head-describe-below"),
        ));
    }
    Ok((Value::Object(build), wrong))
}

/// Some words; the word for nothing stands alone, and is an empty list.
fn several(values: Vec<Value>) -> Result<Value, String> {
    let nothing = values.iter().any(|value| value == NOTHING_ELECTRONIC);
    match values.len() {
        1 if nothing => Ok(Value::Array(Vec::new())),
        _ if nothing => Err(say("find-either-nothing-electronic").into()),
        _ => Ok(Value::Array(values)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::form::OnePart;
    use serde_json::json;

    fn typed(query: &str) -> (Value, Vec<Wrong>) {
        build(&OnePart, &Typed::of_query(query)).unwrap()
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
        let groups = |query: &str| groups(&OnePart, &Typed::of_query(query)).unwrap();
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
