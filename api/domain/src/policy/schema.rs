//! The policy's schema in the OpenAPI document, read off [`ENTRIES`].

use utoipa::openapi::schema::{AdditionalProperties, Array, Object, Schema, Type};
use utoipa::openapi::{ObjectBuilder, RefOr};

use super::{ENTRIES, Entry, Form, Label, Policy, TEXT_MAX};
use crate::words::Electrode;

impl utoipa::PartialSchema for Policy {
    fn schema() -> RefOr<Schema> {
        let mut values =
            closed().description(Some("Every value has to be given; none may be added."));
        for entry in ENTRIES {
            values = values
                .property(entry.key, judged(entry))
                .required(entry.key);
        }
        let version = ObjectBuilder::new()
            .schema_type(Type::Integer)
            .minimum(Some(1))
            .description(Some("Counts the changes; set by the service."));
        closed()
            .description(Some(
                "Every number that is a judgement, each with what it rests on.",
            ))
            .property("version", version)
            .property("values", values)
            .required("values")
            .into()
    }
}

impl utoipa::ToSchema for Policy {}

/// An object that takes no member but its own.
fn closed() -> ObjectBuilder {
    ObjectBuilder::new()
        .schema_type(Type::Object)
        .additional_properties(Some(AdditionalProperties::<Schema>::FreeForm(false)))
}

fn judged(entry: &Entry) -> ObjectBuilder {
    let text = ObjectBuilder::new()
        .schema_type(Type::String)
        .min_length(Some(1))
        .max_length(Some(TEXT_MAX));
    closed()
        .property("value", value(entry))
        .property("label", words(Label::WORDS))
        .property("text", text)
        .required("value")
        .required("label")
        .required("text")
}

fn value(entry: &Entry) -> Schema {
    match entry.form {
        Form::Number(places) => ObjectBuilder::new()
            .schema_type(if places == Some(0) {
                Type::Integer
            } else {
                Type::Number
            })
            .minimum(Some(entry.bounds.min))
            .maximum(Some(entry.bounds.max))
            .into(),
        Form::Metals => {
            let mut list = Array::new(words(Electrode::WORDS));
            list.unique_items = true;
            list.into()
        }
        Form::Currency => ObjectBuilder::new()
            .schema_type(Type::String)
            .pattern(Some("^[A-Z]{3}$"))
            .into(),
        Form::TimeZone => ObjectBuilder::new()
            .schema_type(Type::String)
            .description(Some("A name of the IANA time zone database."))
            .min_length(Some(1))
            .max_length(Some(64))
            .into(),
        Form::Word(list) => words(list).into(),
    }
}

fn words(list: &'static [&'static str]) -> Object {
    ObjectBuilder::new()
        .schema_type(Type::String)
        .enum_values(Some(list.iter().copied()))
        .build()
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};
    use utoipa::PartialSchema;

    use super::*;

    #[test]
    fn the_schema_asks_for_every_value_and_no_other() {
        let schema = serde_json::to_value(Policy::schema()).unwrap();
        let values = &schema["properties"]["values"];
        assert_eq!(
            (
                &schema["additionalProperties"],
                &values["additionalProperties"]
            ),
            (&json!(false), &json!(false))
        );
        let keys: Vec<Value> = ENTRIES.iter().map(|entry| entry.key.into()).collect();
        assert_eq!(values["required"], Value::from(keys));
        assert_eq!(
            values["properties"].as_object().unwrap().len(),
            ENTRIES.len()
        );
        let slack = &values["properties"]["heat_slack_steps"]["properties"]["value"];
        assert_eq!(slack["type"], "integer");
        assert_eq!(
            (slack["minimum"].as_f64(), slack["maximum"].as_f64()),
            (Some(0.0), Some(6.0))
        );
        let metals = &values["properties"]["street_metals"]["properties"]["value"];
        assert_eq!(
            (
                &metals["type"],
                metals["items"]["enum"].as_array().unwrap().len()
            ),
            (&json!("array"), Electrode::ALL.len())
        );
    }
}
