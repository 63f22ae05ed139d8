//! Every type of event with its data, from the domain's own list.

use plugwell_domain::event::{DECLARED, Declared, Member, MemberKind};
use serde_json::{Map, Value, json};

use super::reference;
use crate::service::changes::EXAMPLE;

/// What every such request carries.
const HEADERS: &[(&str, &str)] = &[
    (
        "webhook-id",
        "The event's id, the same at every attempt: what tells one that comes a second time.",
    ),
    (
        "webhook-timestamp",
        "When the attempt was made, in seconds since 1970.",
    ),
    (
        "webhook-signature",
        "`v1,` and HMAC-SHA256 in base64 over id, timestamp and body with a point between; one for each secret, with a space between.",
    ),
];

fn parameter(name: &str) -> Value {
    json!({ "$ref": format!("#/components/parameters/{name}") })
}

/// What all those requests share.
pub(super) fn add_shared(components: &mut Value) {
    for (name, description) in HEADERS {
        components["parameters"][name] = json!({
            "name": name, "in": "header", "required": true, "description": description,
            "schema": { "type": "string" },
        });
    }
    let responses = [
        ("WebhookDelivered", "Delivered; the body is not looked at."),
        (
            "WebhookGone",
            "The receiver is gone: nothing more is sent until a manager lets it in again.",
        ),
        (
            "WebhookFailed",
            "Tried again on the schedule, not before `Retry-After`. Redirects are not followed.",
        ),
    ];
    for (name, description) in responses {
        components["responses"][name] = json!({ "description": description });
    }
}

/// The requests that are made to the URL of a webhook, by type of event.
pub(super) fn webhooks() -> Value {
    let told = |declared: &Declared| (declared.kind.word().to_owned(), request(declared));
    Value::Object(DECLARED.iter().map(told).collect())
}

fn request(declared: &Declared) -> Value {
    let own = json!({
        "type": "object",
        "properties": {
            "type": { "const": declared.kind.word() },
            "subject": { "description": format!("`{}`", declared.subject) },
            "data": data(declared),
        },
    });
    let mut content = json!({ "schema": { "allOf": [reference("ChangeEvent"), own] } });
    if EXAMPLE["type"] == declared.kind.word() {
        content["example"] = EXAMPLE.clone();
    }
    // In the form of the others' names: `told_plug_created` for `plugwell.plug.created.v1`.
    let words = declared.kind.word().split('.').skip(1);
    let words: Vec<&str> = words.filter(|word| *word != "v1").collect();
    json!({ "post": {
        "operationId": format!("told_{}", words.join("_")),
        "summary": declared.says,
        "tags": ["changes"],
        "security": [],
        "parameters": HEADERS.iter().map(|(name, _)| parameter(name)).collect::<Vec<_>>(),
        "requestBody": { "required": true, "content": { "application/cloudevents+json": content } },
        "responses": {
            "2XX": { "$ref": "#/components/responses/WebhookDelivered" },
            "410": { "$ref": "#/components/responses/WebhookGone" },
            "default": { "$ref": "#/components/responses/WebhookFailed" },
        },
    }})
}

fn data(declared: &Declared) -> Value {
    let members: Map<String, Value> = declared
        .members
        .iter()
        .map(|member| (member.name.to_owned(), schema(member)))
        .collect();
    let names: Vec<&str> = declared.members.iter().map(|member| member.name).collect();
    json!({ "type": "object", "properties": members, "required": names })
}

fn schema(member: &Member) -> Value {
    let mut schema = match member.kind {
        MemberKind::Id => json!({ "type": "string", "format": "uuid" }),
        MemberKind::Ids => {
            json!({ "type": "array", "items": { "type": "string", "format": "uuid" } })
        }
        MemberKind::Text => json!({ "type": "string" }),
        MemberKind::Number => json!({ "type": "integer" }),
        MemberKind::Flag => json!({ "type": "boolean" }),
    };
    if member.or_null {
        schema["type"] = json!([schema["type"], "null"]);
    }
    schema
}
