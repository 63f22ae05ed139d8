//! Forms that change a record: what differs from it, under the version that they began with.

use actix_web::http::StatusCode;
use askama::Template;
use serde_json::{Map, Value};

use crate::pages::answer::{Frame, Reply};
use crate::pages::field::{Field, Line, Wrong, add, put};
use crate::pages::form::{self, Declared, Known};
use crate::pages::typed::{Typed, count};
use crate::pages::words::{say, say_with};
use crate::service::{Refusal, Shop};
use crate::shown::marked;

/// A form that changes a record.
#[derive(Template)]
#[template(path = "changing.html")]
struct Page {
    frame: Frame,
    heading: String,
    /// What it does, in a sentence; empty where the fields say enough.
    note: &'static str,
    /// Where the record stands, and what leads back to it.
    back: String,
    /// Where the form is sent.
    action: String,
    version: i64,
    fields: Vec<Field>,
    focus: &'static str,
    faults: Vec<Line>,
}

/// A record that a form changes.
#[derive(Debug)]
pub(super) struct Changing {
    /// What is changed.
    pub heading: String,
    /// What it does, in a sentence; empty where the fields say enough.
    pub note: &'static str,
    /// Where the record stands.
    pub back: String,
    /// Where the form is sent.
    pub action: String,
    /// The fields.
    pub declared: &'static [Declared],
    /// The record as it is now.
    pub record: Value,
    /// Its version.
    pub version: i64,
}

impl Changing {
    /// The form as it begins.
    pub fn begin(&self, shop: &Shop, frame: Frame) -> Result<Reply, Refusal> {
        let typed = form::as_typed(self.declared, &self.record);
        self.page(shop, frame, &typed, &[], StatusCode::OK)
    }

    /// Changes the record as it was typed, and leads back to it; or the form again, with what is wrong.
    pub fn send(
        &self,
        shop: &Shop,
        frame: Frame,
        typed: &Typed,
        change: impl FnOnce(&Map<String, Value>, i64) -> Result<(), Refusal>,
    ) -> Result<Reply, Refusal> {
        let (given, mut wrong) = form::object(shop, self.declared, typed)?;
        let patch = differing(self.declared, &given, &self.record);
        if !wrong.is_empty() {
            return self.page(shop, frame, typed, &wrong, StatusCode::BAD_REQUEST);
        }
        let status = match change(&patch, version(typed)) {
            Ok(()) => return Ok(Reply::Elsewhere(self.back.clone())),
            Err(Refusal::Stale) => {
                wrong = meanwhile(shop, self.declared, typed, &self.record)?;
                StatusCode::CONFLICT
            }
            Err(refusal) => told(&mut wrong, refusal)?,
        };
        self.page(shop, frame, typed, &wrong, status)
    }

    fn page(
        &self,
        shop: &Shop,
        frame: Frame,
        typed: &Typed,
        wrong: &[Wrong],
        status: StatusCode,
    ) -> Result<Reply, Refusal> {
        let mut fields = form::all_shown(shop, self.declared, typed)?;
        let faults = put(wrong, &mut fields.iter_mut().collect::<Vec<_>>());
        let first = faults.iter().map(|line| line.at).find(|at| !at.is_empty());
        let page = Page {
            frame,
            heading: self.heading.clone(),
            note: self.note,
            back: self.back.clone(),
            action: self.action.clone(),
            version: self.version,
            focus: first.unwrap_or(self.declared[0].name),
            fields,
            faults,
        };
        Reply::page(status, &page)
    }
}

/// The version that a form began with; 0, which no record has, where it does not say.
pub(super) fn version(typed: &Typed) -> i64 {
    count(typed.one("version")).unwrap_or(0)
}

/// Lets a change through that was made to the present version.
pub(super) fn meant_for(version: i64) -> impl Fn(i64) -> Result<(), Refusal> + Send + Sync {
    move |present| {
        if present == version {
            Ok(())
        } else {
            Err(Refusal::Stale)
        }
    }
}

/// The members that differ from the record: null where a field was emptied.
pub(super) fn differing(
    declared: &[Declared],
    given: &Map<String, Value>,
    record: &Value,
) -> Map<String, Value> {
    let members = declared.iter().map(Declared::member);
    let differing = members.filter_map(|member| {
        let now = given.get(&member).unwrap_or(&Value::Null);
        (!same(now, &record[member.as_str()])).then(|| (member, now.clone()))
    });
    differing.collect()
}

/// Whether two values say the same: 19 is 19.0.
fn same(one: &Value, other: &Value) -> bool {
    match (one.as_f64(), other.as_f64()) {
        (Some(one), Some(other)) => one.to_bits() == other.to_bits(),
        _ => one == other,
    }
}

/// What a record that somebody else changed says now, field by field; what was typed stays.
pub(super) fn meanwhile(
    known: &impl Known,
    declared: &[Declared],
    typed: &Typed,
    record: &Value,
) -> Result<Vec<Wrong>, Refusal> {
    let mut told = vec![Wrong::all(say(
        "pages-somebody-changed-meanwhile-you-typed",
    ))];
    for one in declared {
        let mine = match form::read(known, one, typed)? {
            Some(Ok(value)) => value,
            _ => Value::Null,
        };
        let theirs = &record[one.member().as_str()];
        if !same(&mine, theirs) {
            let words = match (theirs, form::text(theirs)) {
                (Value::Null, _) => say("pages-nothing").to_owned(),
                (_, text) if text.is_empty() => say("pages-something-else").to_owned(),
                (_, text) => text.replace('_', " "),
            };
            told.push(Wrong::with(
                one.name,
                say_with("pages-the-record-says-words-now", &[("words", &words)]),
            ));
        }
    }
    Ok(told)
}

/// Adds what a refusal says to what is wrong with a form; the status of the answer.
///
/// # Errors
/// What no form can show.
pub(super) fn told(wrong: &mut Vec<Wrong>, refusal: Refusal) -> Result<StatusCode, Refusal> {
    match refusal {
        Refusal::Faults(faults) => {
            add(wrong, &faults);
            Ok(StatusCode::BAD_REQUEST)
        }
        Refusal::Conflict { detail, .. } => {
            wrong.push(Wrong::all(marked(detail)));
            Ok(StatusCode::CONFLICT)
        }
        other => Err(other),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::form::{Form, OnePart, field};
    use serde_json::json;

    const FORM: &[Declared] = &[
        field("reach_mm", "Reach", Form::Measured("mm"), ""),
        field("note", "Note", Form::Words, ""),
        field("retired", "Retired", Form::Flag, ""),
    ];

    #[test]
    fn only_what_differs_is_changed() {
        let record = json!({ "reach_mm": 19, "note": "old", "retired": false });
        let changed = |query: &str| {
            let typed = Typed::of_query(query);
            let (given, wrong) = form::object(&OnePart, FORM, &typed).unwrap();
            assert_eq!(wrong, []);
            Value::Object(differing(FORM, &given, &record))
        };
        assert_eq!(changed("reach_mm=19.0&note=old&retired=no"), json!({}));
        assert_eq!(
            changed("reach_mm=0.75+in&retired=no"),
            json!({ "reach_mm": 19.05, "note": null })
        );
    }

    #[test]
    fn whoever_comes_late_sees_what_the_record_says() {
        let record = json!({ "reach_mm": 26.5, "note": null, "retired": false });
        let typed = Typed::of_query("reach_mm=19&note=mine&retired=no");
        let told = meanwhile(&OnePart, FORM, &typed, &record).unwrap();
        let by_field: Vec<_> = told[1..]
            .iter()
            .map(|w| (w.field.as_str(), w.text.as_str()))
            .collect();
        assert_eq!(
            by_field,
            [
                ("reach_mm", "the record says 26.5 now"),
                ("note", "the record says nothing now")
            ]
        );
        assert!(meant_for(3)(3).is_ok() && meant_for(2)(3).is_err());
    }
}
