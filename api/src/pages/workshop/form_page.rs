//! The page of a form that stores something.

use actix_web::http::StatusCode;
use askama::Template;

use crate::pages::answer::{Frame, Reply};
use crate::pages::field::{Field, Line, Wrong, put};
use crate::pages::find::engine_form::Group;
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
