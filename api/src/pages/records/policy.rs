//! The policy: every number that is a judgement, with what it rests on.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::policy::{Entry, Label, Policy};
use plugwell_domain::words::Role;
use serde_json::Value;

use crate::pages::answer::{Frame, Reply, made};
use crate::pages::field::Field;
use crate::pages::figures::marked;
use crate::pages::form::{self, Declared, Form, field};
use crate::pages::listing::{Cell, Listing, words};
use crate::pages::typed::Typed;
use crate::pages::visitor::visitor;
use crate::pages::words::{say, say_with};
use crate::service::{Refusal, Shop};

const NARROW: &[Declared] = &[
    field("words", "records-words", Form::Words, "records-words-hint"),
    field("rests_on", "records-rests-on", Form::One(Label::WORDS), ""),
];

/// Units that names of values end with.
const UNITS: &[&str] = &[
    "_mm", "_kw", "_kpa", "_k", "_c", "_kv", "_km", "_ohm", "_minor", "_percent",
];

/// The values of a group that are shown.
struct Shown {
    title: &'static str,
    /// Its number, for the page that changes it.
    number: usize,
    listing: Listing,
}

#[derive(Template)]
#[template(path = "records/policy.html")]
struct Page {
    frame: Frame,
    version: i64,
    narrow: Vec<Field>,
    focus: &'static str,
    groups: Vec<Shown>,
    may_change: bool,
    /// What was changed just now; empty where nothing was.
    saved: String,
}

/// What people call a value: its name without the unit.
pub(super) fn name(entry: &Entry) -> String {
    let stem = UNITS.iter().find_map(|unit| entry.key.strip_suffix(unit));
    let words = stem.unwrap_or(entry.key).replace('_', " ");
    let mut letters = words.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => words,
    }
}

/// A value as people read it.
pub(super) fn told(entry: &Entry, value: &Value) -> String {
    match value {
        Value::Array(words) if words.is_empty() => say("pages-none").into(),
        Value::Array(words) => {
            let words = words.iter().filter_map(Value::as_str);
            words
                .map(|word| word.replace('_', " "))
                .collect::<Vec<_>>()
                .join(", ")
        }
        Value::String(word) => word.clone(),
        number => {
            let number = form::text(number);
            marked(
                format!("{number} {}", entry.bounds.unit)
                    .trim_end()
                    .to_owned(),
            )
        }
    }
}

/// What a value rests on, in words.
pub(super) fn rests_on(judged: &Value) -> &'static str {
    let word = judged["label"].as_str().unwrap_or_default();
    word.parse::<Label>()
        .map_or(say("pages-unknown"), Label::meaning)
}

/// A policy as it stands in JSON.
pub(super) fn as_json(policy: &Policy) -> Result<Value, Refusal> {
    serde_json::to_value(policy).map_err(|e| Refusal::Fault(format!("a policy: {e}")))
}

/// The page at `/policy`.
pub(super) async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    let may_change = who.actor.role >= Role::Manager;
    made(&shop, who.frame, move |shop, frame| {
        let policy = shop.policy();
        let saved = match typed.one("saved").parse::<u32>() {
            Ok(values) => say_with(
                "records-values-changed-version-version-force",
                &[("values", &values), ("version", &policy.version)],
            ),
            Err(_) => String::new(),
        };
        let page = Page {
            frame,
            version: policy.version,
            narrow: form::all_shown(shop, NARROW, &typed)?,
            focus: "",
            groups: groups(&as_json(&policy)?["values"], &typed),
            may_change,
            saved,
        };
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

/// The groups with the values that were asked for.
fn groups(values: &Value, typed: &Typed) -> Vec<Shown> {
    let (wanted, rests) = (typed.one("words").to_lowercase(), typed.one("rests_on"));
    let is_meant = |entry: &&&'static Entry| {
        let judged = &values[entry.key];
        let text = judged["text"].as_str().unwrap_or_default();
        let said = format!("{} {} {text}", entry.key, name(entry)).to_lowercase();
        said.contains(&wanted) && (rests.is_empty() || judged["label"] == rests)
    };
    let mut shown = Vec::new();
    for (number, group) in Policy::groups().iter().enumerate() {
        let row = |entry: &&'static Entry| {
            let judged = &values[entry.key];
            vec![
                Cell::of(name(entry)).noted(entry.key),
                Cell::of(told(entry, &judged["value"])),
                Cell::of(judged["text"].as_str().unwrap_or_default()).noted(rests_on(judged)),
            ]
        };
        let rows: Vec<_> = group.entries.iter().filter(is_meant).map(row).collect();
        if rows.is_empty() {
            continue;
        }
        shown.push(Shown {
            title: group.title,
            number,
            listing: Listing {
                caption: group.title.into(),
                columns: vec![
                    words("records-name"),
                    words("records-value"),
                    words("records-why"),
                ],
                rows,
                ..Listing::default()
            },
        });
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::*;
    use plugwell_domain::policy::ENTRIES;
    use serde_json::json;

    #[test]
    fn values_are_told_with_their_units_and_in_words() {
        let entry = |key| ENTRIES.iter().find(|entry| entry.key == key).unwrap();
        let reach = entry("reach_tolerance_mm");
        assert_eq!(name(reach), "Reach tolerance");
        assert_eq!(told(reach, &json!(0.3)), "0.3 mm");
        assert_eq!(told(entry("heat_slack_steps"), &json!(1)), "1");
        assert_eq!(told(reach, &json!([])), "none");
        assert_eq!(
            told(reach, &json!(["double_platinum", "iridium"])),
            "double platinum, iridium"
        );
        assert_eq!(
            rests_on(&json!({ "label": "from_memory" })),
            "from memory, to be checked"
        );
    }
}
