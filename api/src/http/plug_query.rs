//! What a list of plugs is narrowed by: any attribute, by value, bounds or being unknown.

use plugwell_domain::attribute::{ATTRIBUTES, Attr, Attribute, Kind};
use plugwell_domain::decimal::exact;
use plugwell_domain::fault::FaultCode;
use plugwell_domain::gtin::Gtin;
use plugwell_domain::words::Status;
use plugwell_store::{FactFilter, PlugFilter};
use serde_json::{Value, json};
use utoipa::IntoParams;
use utoipa::openapi::path::{Parameter, ParameterBuilder, ParameterIn};
use utoipa::openapi::{RefOr, Required, Schema};

use crate::http::query::{FromQuery, Members};
use crate::service::catalogue::Wanted;

/// The word that asks for records of which the attribute is unknown.
const NULL: &str = "null";

/// Most records that are asked for by id.
const MOST_IDS: usize = 200;

/// What a list of plugs is narrowed by; all conditions together.
#[derive(Debug, Default)]
pub struct PlugQuery(pub Wanted);

impl FromQuery for PlugQuery {
    fn take(members: &mut Members) -> Self {
        let ids: Vec<String> = members.all("id");
        let mut filter = PlugFilter {
            maker: members.text("maker"),
            part_number: members.text("part_number"),
            gtin: members
                .parsed::<Gtin>("gtin", "a GTIN with a right check digit")
                .map(|g| g.to_string()),
            status: members.word::<Status>("status"),
            retired: members.flag("retired").unwrap_or(false),
            heat_scale_id: members.parsed("heat_scale_id", "a UUID"),
            superseded_by: members.parsed("superseded_by", "a UUID"),
            ..PlugFilter::default()
        };
        if ids.len() > MOST_IDS {
            let detail = format!("{} ids are more than {MOST_IDS}", ids.len());
            members.fault("id", FaultCode::OutOfRange, detail);
        }
        for text in ids {
            match text.parse() {
                Ok(id) => filter.ids.push(id),
                Err(_) => members.fault(
                    "id",
                    FaultCode::WrongForm,
                    format!("{text:?} is not a UUID"),
                ),
            }
        }
        if !filter.ids.is_empty() {
            no_pages(members);
        }
        for attribute in ATTRIBUTES {
            let facts = &mut filter.facts;
            facts.extend(value(members, attribute).map(|fact| (attribute.attr, fact)));
            if let Kind::Number { decimals, .. } = attribute.kind {
                let name = attribute.attr.word();
                let least = end(members, &format!("{name}_min"), decimals).map(FactFilter::AtLeast);
                let most = end(members, &format!("{name}_max"), decimals).map(FactFilter::AtMost);
                facts.extend(
                    least
                        .into_iter()
                        .chain(most)
                        .map(|fact| (attribute.attr, fact)),
                );
            }
        }
        Self(Wanted {
            text: members.text("q").filter(|text| !text.trim().is_empty()),
            filter,
        })
    }
}

/// Records by their ids are one answer: there is no page behind it.
fn no_pages(members: &mut Members) {
    if members.given().iter().any(|(given, _)| given == "cursor") {
        let detail = "records that are asked for by id come in one answer";
        members.fault("cursor", FaultCode::NotTogether, detail);
    }
}

/// `?electrode=iridium&electrode=platinum`, `?heat_index=null`.
fn value(members: &mut Members, attribute: &Attribute) -> Option<FactFilter> {
    let name = attribute.attr.word();
    let given = members.all(name);
    if given.iter().any(|text| text == NULL) {
        if given.len() > 1 {
            members.fault(
                name,
                FaultCode::NotTogether,
                "null cannot stand beside other values",
            );
        }
        return Some(FactFilter::Null);
    }
    let mut values = Vec::with_capacity(given.len());
    for text in &given {
        match attribute.attr.from_json(&as_json(attribute.attr, text)) {
            Ok(raw) => values.push(raw),
            Err(fault) => members.fault(name, fault.code, fault.detail),
        }
    }
    match values.as_slice() {
        [] => None,
        [one] => Some(FactFilter::Is(*one)),
        _ => Some(FactFilter::OneOf(values)),
    }
}

/// The value that a text stands for; what is no number or flag stays a text, and is refused as such.
fn as_json(attr: Attr, text: &str) -> Value {
    let read = match attr.declared().kind {
        Kind::Number { .. } => text
            .parse::<f64>()
            .ok()
            .filter(|n| n.is_finite())
            .map(Value::from),
        Kind::Flag => text.parse::<bool>().ok().map(Value::from),
        Kind::Choice(_) => None,
    };
    read.unwrap_or_else(|| text.into())
}

/// An end of a range; it may lie outside what a plug can have.
fn end(members: &mut Members, name: &str, decimals: u32) -> Option<i64> {
    let number = members.parsed::<f64>(name, "a number")?;
    if !number.is_finite() {
        members.fault(name, FaultCode::WrongForm, format!("{number} is no number"));
        return None;
    }
    match exact(number, decimals) {
        Ok(raw) => Some(raw),
        Err(e) => {
            members.fault(name, FaultCode::TooFine, e.to_string());
            None
        }
    }
}

impl IntoParams for PlugQuery {
    fn into_params(_: impl Fn() -> Option<ParameterIn>) -> Vec<Parameter> {
        let mut all = vec![
            text(
                "q",
                "Words in maker, part number, description or barcode; a slip of one letter in a word is forgiven. The list has the thousand records that they mean best, in the order of all lists.",
            ),
            text("maker", "Maker, case-blind."),
            text("part_number", "Part number, case-blind."),
            parameter(
                "gtin",
                "Barcode.",
                &json!({ "type": "string", "pattern": "^([0-9]{8}|[0-9]{12,14})$" }),
            ),
            parameter(
                "status",
                "Whether it is still made.",
                &json!({ "$ref": "#/components/schemas/Status" }),
            ),
            parameter(
                "retired",
                "`true` shows retired records too.",
                &json!({ "type": "boolean", "default": false }),
            ),
            parameter("heat_scale_id", "Heat scale.", &uuid()),
            parameter("superseded_by", "The part that took its place.", &uuid()),
            parameter(
                "id",
                "Only these records, in this order; may stand up to 200 times, and all come in one answer, whatever `limit` says. Those that \
                 there are not, and retired ones without `retired=true`, are left out.",
                &json!({ "type": "array", "items": uuid() }),
            ),
        ];
        for attribute in ATTRIBUTES {
            let (name, label) = (attribute.attr.word(), attribute.label);
            let meaning = format!(
                "{label}; may stand several times, `{NULL}` finds those of which it is unknown."
            );
            let values = json!({ "type": "array", "items": one_of(attribute.kind) });
            all.push(parameter(name, &meaning, &values));
            if matches!(attribute.kind, Kind::Number { .. }) {
                let number = json!({ "type": "number" });
                all.push(parameter(
                    &format!("{name}_min"),
                    &format!("{label}: at least."),
                    &number,
                ));
                all.push(parameter(
                    &format!("{name}_max"),
                    &format!("{label}: at most."),
                    &number,
                ));
            }
        }
        all
    }
}

/// A value of an attribute, or the word for unknown.
fn one_of(kind: Kind) -> Value {
    match kind {
        Kind::Number { min, max, .. } => json!({ "anyOf": [
            { "type": "number", "minimum": min, "maximum": max },
            { "type": "string", "enum": [NULL] },
        ]}),
        Kind::Flag => json!({ "type": "string", "enum": ["true", "false", NULL] }),
        Kind::Choice(words) => {
            let words: Vec<&str> = words.iter().copied().chain([NULL]).collect();
            json!({ "type": "string", "enum": words })
        }
    }
}

fn uuid() -> Value {
    json!({ "type": "string", "format": "uuid" })
}

fn text(name: &str, meaning: &str) -> Parameter {
    parameter(name, meaning, &json!({ "type": "string" }))
}

fn parameter(name: &str, meaning: &str, schema: &Value) -> Parameter {
    let schema: Option<RefOr<Schema>> = serde_json::from_value(schema.clone()).ok();
    ParameterBuilder::new()
        .name(name)
        .parameter_in(ParameterIn::Query)
        .required(Required::False)
        .description(Some(meaning))
        .schema(schema)
        .build()
}

#[cfg(test)]
mod tests {
    use super::*;
    use plugwell_domain::thread::Thread;
    use plugwell_domain::words::Electrode;

    fn read(query: &str) -> Result<PlugFilter, Vec<(String, String)>> {
        let mut members = Members::of("/v1/plugs", query);
        let PlugQuery(wanted) = PlugQuery::take(&mut members);
        members.finish().map(|()| wanted.filter).map_err(|problem| {
            let errors = problem.to_json()["errors"]
                .as_array()
                .cloned()
                .unwrap_or_default();
            let told = |e: &Value, m: &str| e[m].as_str().unwrap_or_default().to_owned();
            errors
                .iter()
                .map(|e| (told(e, "pointer"), told(e, "code")))
                .collect()
        })
    }

    #[test]
    fn attributes_are_asked_for_by_value_by_bounds_and_by_being_unknown() {
        let query = "thread=14x1.25&reach_mm_min=18.7&reach_mm_max=19.3&heat_index=null&resistor=true\
                     &electrode=iridium&electrode=platinum";
        let facts = read(query).unwrap().facts;
        let metals = vec![
            Electrode::Iridium.position(),
            Electrode::Platinum.position(),
        ];
        assert_eq!(
            facts,
            [
                (Attr::Thread, FactFilter::Is(Thread::M14x125.position())),
                (Attr::Reach, FactFilter::AtLeast(187_000)),
                (Attr::Reach, FactFilter::AtMost(193_000)),
                (Attr::Heat, FactFilter::Null),
                (Attr::Resistor, FactFilter::Is(1)),
                (Attr::Electrode, FactFilter::OneOf(metals)),
            ]
        );
    }

    #[test]
    fn faults_of_a_filter_are_told_all_at_once() {
        let told = read(
            "thread=M15x1&reach_mm=300&reach_mm_min=x&hex_mm=16.00001&seat=flat&resistor=1&id=7&colour=red",
        );
        let expected = [
            ("?id", "wrong_form"),
            ("?thread", "not_in_list"),
            ("?reach_mm", "out_of_range"),
            ("?reach_mm_min", "wrong_form"),
            ("?seat", "not_in_list"),
            ("?hex_mm", "too_fine"),
            ("?resistor", "wrong_type"),
            ("?colour", "unknown_member"),
        ];
        assert_eq!(
            told.unwrap_err(),
            expected.map(|(p, c)| (p.to_owned(), c.to_owned()))
        );
    }
}
