//! Letting a job wait for what a build needs: its name and how many plugs.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::words::Role;
use serde_json::Value;
use uuid::Uuid;

use crate::http::body::Body;
use crate::http::waiting_jobs::Asking;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::field::{Field, Line, Wrong, add, put};
use crate::pages::find::engine_form;
use crate::pages::form::{self, Declared, Form, field, needed};
use crate::pages::once::{leading_to, once};
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::service::stock::By;
use crate::service::waiting_jobs::{self, Wanted};
use crate::service::{Actor, Refusal, Shop, new_id};

/// Where the form stands.
pub(super) const PATH: &str = "/waiting/new";

const FIELDS: &[Declared] = &[
    needed(field(
        "job",
        "find-job-that-waits",
        Form::Words,
        "find-job-that-waits-hint",
    )),
    field(
        "quantity",
        "find-plugs-to-wait-for",
        Form::Counted(""),
        "find-plugs-to-wait-for-hint",
    ),
];

#[derive(Template)]
#[template(path = "find/wait.html")]
struct Page {
    frame: Frame,
    /// Makes a form that is sent twice the same.
    once: Uuid,
    /// What was said of the build, field by field.
    kept: Vec<(String, String)>,
    fields: Vec<Field>,
    focus: &'static str,
    faults: Vec<Line>,
}

/// The form in which a job is named.
pub(super) async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Tuner) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        page(shop, frame, &typed, &[], StatusCode::OK)
    })
    .await
}

/// Lets the job wait, once.
pub(super) async fn send(
    shop: web::Data<Shop>,
    request: HttpRequest,
    posted: Posted,
) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Tuner) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, frame| {
        answer(shop, &who.actor, frame, &typed)
    })
    .await
}

fn answer(shop: &Shop, actor: &Actor, frame: Frame, typed: &Typed) -> Result<Reply, Refusal> {
    let (wanted, mut wrong) = read(shop, typed)?;
    let Some(wanted) = wanted.filter(|_| wrong.is_empty()) else {
        return page(shop, frame, typed, &wrong, StatusCode::BAD_REQUEST);
    };
    let (by, policy) = (By::now(actor), shop.policy());
    let asked = once(actor, PATH, typed, |key| {
        let done = shop.once(
            key,
            |s| waiting_jobs::keep(s, &by, &policy, &wanted).map(|id| (id, Vec::new())),
            |_| leading_to("/waiting?done=asked".into()),
        );
        done.map(|done| done.stored)
    });
    match asked {
        Ok(there) => Ok(Reply::Elsewhere(there)),
        Err(Refusal::Faults(faults)) => {
            add(&mut wrong, &faults);
            page(shop, frame, typed, &wrong, StatusCode::BAD_REQUEST)
        }
        Err(other) => Err(other),
    }
}

/// What the job waits for, and what is wrong with how it was said: the body that the API takes.
fn read(shop: &Shop, typed: &Typed) -> Result<(Option<Wanted>, Vec<Wrong>), Refusal> {
    let (mut body, mut wrong) = form::object(shop, FIELDS, typed)?;
    match typed.one("build") {
        "" => {
            let (build, faults) = engine_form::build(shop, typed)?;
            wrong.extend(faults);
            body.insert("build".into(), build);
        }
        id => {
            body.insert("build_id".into(), id.into());
        }
    }
    Ok(match Asking::check(Value::Object(body)) {
        Ok(Asking(wanted)) => (Some(wanted), wrong),
        Err(faults) => {
            // What is missing here has been named already.
            let named: Vec<_> = wrong.iter().map(|one| one.field.clone()).collect();
            let new = |fault: &plugwell_domain::fault::Fault| {
                let at = fault.pointer.trim_start_matches("#/");
                named.iter().all(|field| field != at)
            };
            add(
                &mut wrong,
                &faults.into_iter().filter(new).collect::<Vec<_>>(),
            );
            (None, wrong)
        }
    })
}

/// What of a question is carried along in a form: all that says which build it is for.
pub(super) fn carried(typed: &Typed) -> Vec<(String, String)> {
    let own = |name: &str| FIELDS.iter().any(|field| field.name == name);
    let besides = ["form_key", "once", "stock"];
    typed
        .pairs()
        .filter(|(name, _)| !own(name) && !besides.contains(name))
        .map(|(name, value)| (name.to_owned(), value.to_owned()))
        .collect()
}

fn page(
    shop: &Shop,
    frame: Frame,
    typed: &Typed,
    wrong: &[Wrong],
    status: StatusCode,
) -> Result<Reply, Refusal> {
    let mut fields = form::all_shown(shop, FIELDS, typed)?;
    let faults = put(wrong, &mut fields.iter_mut().collect::<Vec<_>>());
    let focus = faults.iter().map(|line| line.at).find(|at| !at.is_empty());
    let page = Page {
        frame,
        once: typed.one("once").parse().unwrap_or_else(|_| new_id()),
        kept: carried(typed),
        focus: focus.unwrap_or(FIELDS[0].name),
        fields,
        faults,
    };
    Reply::page(status, &page)
}
