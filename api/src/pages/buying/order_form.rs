//! The forms of orders: drafting one, and changing what it says and its lines, each once.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::fault::Fault;
use plugwell_domain::order::OrderData;
use plugwell_domain::words::Role;
use serde_json::{Map, Value};
use uuid::Uuid;

use super::order_written::{Written, seen};
use crate::http::body::{Body, Patch};
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::field::{Field, Line, Wrong, add, put};
use crate::pages::form;
use crate::pages::once::{leading_to, once};
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::{say, say_with};
use crate::service::{Actor, Refusal, Shop, new_id, now, orders};

#[derive(Template)]
#[template(path = "buying/order_form.html")]
struct Page {
    frame: Frame,
    heading: String,
    path: String,
    /// Where to go without changing anything.
    back: String,
    /// Makes a form that is sent twice the same.
    once: Uuid,
    /// The version that the form was begun with; empty for a new order.
    version: String,
    fields: Vec<Field>,
    /// The field to begin with.
    focus: &'static str,
    faults: Vec<Line>,
    button: &'static str,
    /// Whether the line can be taken away.
    can_remove: bool,
    /// Whether the supplier has the order.
    is_sent: bool,
}

/// Which order and line the path of a request names.
fn named(request: &HttpRequest) -> (Option<String>, Option<String>) {
    let path = request.match_info();
    let one = |name| path.get(name).map(str::to_owned);
    (one("id"), one("line"))
}

/// A form as it begins.
pub(super) async fn shown(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Clerk) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let (id, line) = named(&request);
    let mut typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let written = Written::at(shop, id.as_deref(), line.as_deref())?;
        typed.extend(written.stands()?);
        page(shop, frame, &written, &typed, &[], StatusCode::OK)
    })
    .await
}

fn page(
    shop: &Shop,
    frame: Frame,
    written: &Written,
    typed: &Typed,
    wrong: &[Wrong],
    status: StatusCode,
) -> Result<Reply, Refusal> {
    let mut fields = form::all_shown(shop, written.declared(), typed)?;
    let faults = put(wrong, &mut fields.iter_mut().collect::<Vec<_>>());
    let first_wrong = faults.iter().map(|line| line.at).find(|at| !at.is_empty());
    let first = written.declared().first().map_or("", |one| one.name);
    let order = written.order();
    let page = Page {
        frame,
        heading: written.heading(shop)?,
        path: written.path(),
        back: order.map_or_else(|| "/orders".into(), |order| format!("/orders/{}", order.id)),
        once: typed.one("once").parse().unwrap_or_else(|_| new_id()),
        version: order.map_or_else(String::new, |order| order.version.to_string()),
        focus: first_wrong.unwrap_or(first),
        fields,
        faults,
        button: written.button(),
        can_remove: written.can_remove(),
        is_sent: !written.is_draft(),
    };
    Reply::page(status, &page)
}

/// A form that was sent.
pub(super) async fn send(
    shop: web::Data<Shop>,
    request: HttpRequest,
    posted: Posted,
) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Clerk) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    let (id, line) = named(&request);
    let path = request.path().to_owned();
    made(&shop, who.frame, move |shop, frame| {
        // A line that the same form took away is not there when it comes again.
        let written = match Written::at(shop, id.as_deref(), line.as_deref()) {
            Err(Refusal::NotFound(what))
                if what == say("buying-line-of-an-order") && !typed.one("remove").is_empty() =>
            {
                let whole = Written::at(shop, id.as_deref(), None)?;
                let sent = Sent::of(&whole, &path, &typed);
                return sent
                    .run(shop, &who.actor, Value::Null)
                    .map(Reply::Elsewhere);
            }
            other => other?,
        };
        answer(shop, &who.actor, frame, &written, &path, &typed)
    })
    .await
}

fn answer(
    shop: &Shop,
    actor: &Actor,
    frame: Frame,
    written: &Written,
    path: &str,
    typed: &Typed,
) -> Result<Reply, Refusal> {
    let removes = !typed.one("remove").is_empty();
    let (map, mut wrong) = match removes {
        true => (Map::new(), Vec::new()),
        false => form::object(shop, written.declared(), typed)?,
    };
    let body = written.body(map, removes);
    let checked = Sent::of(written, path, typed).checked(&body);
    let outcome = match checked {
        Ok(()) if wrong.is_empty() => Sent::of(written, path, typed).run(shop, actor, body),
        Ok(()) => Err(Refusal::Faults(Vec::new())),
        Err(faults) => Err(Refusal::Faults(faults)),
    };
    let status = match outcome {
        Ok(there) => return Ok(Reply::Elsewhere(there)),
        Err(Refusal::Faults(faults)) => {
            add(&mut wrong, &of_line(faults, written.place()));
            StatusCode::BAD_REQUEST
        }
        Err(Refusal::Stale) => {
            wrong.push(Wrong::all(meanwhile(shop, written, typed)?));
            StatusCode::CONFLICT
        }
        Err(Refusal::Conflict { detail, .. }) => {
            wrong.push(Wrong::all(detail));
            StatusCode::CONFLICT
        }
        Err(other) => return Err(other),
    };
    page(shop, frame, written, typed, &wrong, status)
}

/// A form that was sent to a path.
struct Sent<'a> {
    written: &'a Written,
    path: &'a str,
    typed: &'a Typed,
}

impl<'a> Sent<'a> {
    fn of(written: &'a Written, path: &'a str, typed: &'a Typed) -> Self {
        Self {
            written,
            path,
            typed,
        }
    }

    /// Checks what was typed as the API checks it.
    fn checked(&self, body: &Value) -> Result<(), Vec<Fault>> {
        match self.written {
            Written::New => OrderData::check(body.clone()).map(drop),
            _ => Patch::<OrderData>::check(body.clone()).map(drop),
        }
    }

    /// Writes it, once; where to see it.
    fn run(&self, shop: &Shop, actor: &Actor, body: Value) -> Result<String, Refusal> {
        let policy = shop.policy();
        let version = self.typed.one("version").parse::<i64>();
        let expected = |now: i64| match &version {
            Ok(seen) if *seen == now => Ok(()),
            _ => Err(Refusal::Stale),
        };
        let order = self.written.order().map(|order| order.id);
        once(actor, self.path, self.typed, |key| {
            let run = |session: &mut _| {
                let order = match (order, &body) {
                    (None, _) => {
                        let data = OrderData::check(body.clone()).map_err(Refusal::Faults)?;
                        orders::write(session, &policy, &data, now())?
                    }
                    (Some(id), Value::Object(patch)) => {
                        orders::change(session, &policy, id, &expected, patch)?
                    }
                    (Some(_), _) => return Err(Refusal::NotFound(say("buying-line-of-an-order"))),
                };
                Ok((order, Vec::new()))
            };
            let done = if order.is_some() {
                "changed"
            } else {
                "drafted"
            };
            let kept = |order: &plugwell_domain::order::Order| leading_to(seen(order.id, done));
            shop.once(key, run, kept).map(|done| done.stored)
        })
    }
}

/// Faults of the line that a form is about, as those of its fields.
fn of_line(faults: Vec<Fault>, place: Option<usize>) -> Vec<Fault> {
    let Some(place) = place else { return faults };
    let outer = format!("#/lines/{place}/");
    let of_field = |fault: Fault| match fault.pointer.strip_prefix(&outer) {
        Some(member) => Fault {
            pointer: format!("#/{member}"),
            ..fault
        },
        None => fault,
    };
    faults.into_iter().map(of_field).collect()
}

/// What somebody else changed while the form was being filled in.
fn meanwhile(shop: &Shop, written: &Written, typed: &Typed) -> Result<String, Refusal> {
    let stands = written.stands()?;
    let mut differs = Vec::new();
    for field in form::all_shown(shop, written.declared(), &stands)? {
        if typed.one(field.name) != field.value.trim() {
            let value = match field.value.as_str() {
                "" => say("buying-left-open"),
                value => value,
            };
            differs.push(format!("{}: {value}", field.label));
        }
    }
    let now = match (written, differs.is_empty()) {
        (Written::Add(_), _) => say("buying-look-lines-before-you-add").to_owned(),
        (_, true) => say("buying-you-typed-stands-already").to_owned(),
        (_, false) => say_with(
            "buying-there-stands-now-differs",
            &[("differs", &differs.join("; "))],
        ),
    };
    Ok(say_with(
        "buying-order-changed-while-you-typed",
        &[("now", &now)],
    ))
}
