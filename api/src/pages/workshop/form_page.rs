//! The page of a form that stores something: its fields, what came of it, and what somebody else
//! changed meanwhile.

use actix_web::http::StatusCode;
use askama::Template;
use plugwell_domain::fault::{Fault, FaultCode};
use serde_json::{Map, Value};

use crate::pages::answer::{Frame, Reply};
use crate::pages::field::{Field, Line, Wrong, add, put};
use crate::pages::find::engine_form::Group;
use crate::pages::form::{self, Declared, Known};
use crate::pages::typed::Typed;
use crate::service::{Refusal, new_id};

/// A form.
#[derive(Template, Default)]
#[template(path = "workshop/form_page.html")]
pub(super) struct FormPage {
    pub frame: Frame,
    pub heading: String,
    /// A sentence on it.
    pub said: String,
    /// Where it is sent.
    pub path: String,
    /// What is sent along.
    pub hidden: Vec<(&'static str, String)>,
    pub fields: Vec<Field>,
    pub groups: Vec<Group>,
    pub button: &'static str,
    /// Where to go without doing it, and its words.
    pub back: (String, String),
    pub focus: &'static str,
    pub faults: Vec<Line>,
}

impl FormPage {
    /// The page, with what is wrong beside its fields.
    pub fn reply(mut self, status: StatusCode, wrong: &[Wrong]) -> Result<Reply, Refusal> {
        let groups = self.groups.iter_mut().flat_map(|group| &mut group.fields);
        let mut fields: Vec<&mut Field> = self.fields.iter_mut().chain(groups).collect();
        self.faults = put(wrong, &mut fields);
        let mut at = self.faults.iter().map(|line| line.at);
        self.focus = at.find(|at| !at.is_empty()).unwrap_or(self.focus);
        Reply::page(status, &self)
    }
}

/// What makes a form that is sent twice the same; one that was refused keeps its own.
pub(super) fn key(typed: &Typed) -> (&'static str, String) {
    let kept = typed.one("once").parse().unwrap_or_else(|_| new_id());
    ("once", kept.to_string())
}

/// Takes in why a form was not done; whatever no form can show is handed on.
pub(super) fn came_back(refusal: Refusal, wrong: &mut Vec<Wrong>) -> Result<StatusCode, Refusal> {
    match refusal {
        Refusal::Faults(faults) => {
            add(wrong, &faults);
            Ok(StatusCode::BAD_REQUEST)
        }
        Refusal::Conflict { detail, .. } => {
            wrong.push(Wrong::all(detail));
            Ok(StatusCode::CONFLICT)
        }
        other => Err(other),
    }
}

/// The version of the record that a form was made for.
pub(super) fn version(typed: &Typed) -> Result<i64, Refusal> {
    typed.one("version").parse().map_err(|_| {
        let detail = "the form came without the version it was made for; open it anew";
        Refusal::fault(Fault::at("", FaultCode::Missing, detail))
    })
}

/// Lets only the version pass that a form was made for.
pub(super) fn only(version: i64) -> impl Fn(i64) -> Result<(), Refusal> + Send + Sync {
    move |now| match now == version {
        true => Ok(()),
        false => Err(Refusal::Stale),
    }
}

/// A merge patch that leaves nothing as it was: what the form left open is cleared.
pub(super) fn whole<'a>(
    mut members: Map<String, Value>,
    declared: impl Iterator<Item = &'a Declared>,
) -> Map<String, Value> {
    for one in declared {
        members.entry(one.member()).or_insert(Value::Null);
    }
    members
}

/// What somebody else made of the record while a form was filled in, by its fields.
pub(super) fn meanwhile<'a>(
    known: &impl Known,
    declared: impl Iterator<Item = &'a Declared>,
    now: &Typed,
    typed: &Typed,
) -> Result<Vec<Wrong>, Refusal> {
    let mut wrong = vec![Wrong::all(
        "Somebody changed this record while you were at it, so nothing was stored. What you typed is kept; \
         sent again, it stands.",
    )];
    for one in declared {
        let (theirs, own) = (form::read(known, one, now)?, form::read(known, one, typed)?);
        if theirs != own {
            let is: Vec<&str> = now.all(one.name).collect();
            let is = match is.is_empty() {
                true => "left open".to_owned(),
                false => is.join(", ").replace('_', " "),
            };
            wrong.push(Wrong::with(one.name, format!("stored is now: {is}")));
        }
    }
    Ok(wrong)
}
