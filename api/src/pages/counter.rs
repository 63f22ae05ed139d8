//! Receiving, issuing and scrapping: a form each, and what was done in large type.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::fault::{Check, Fault, FaultCode};
use plugwell_domain::ledger::commands::{Issue, Receipt, Scrapping};
use plugwell_domain::ledger::{Money, PlaceKind, ScrapReason};
use plugwell_domain::plug::Plug;
use plugwell_domain::words::Role;
use plugwell_store::Session;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};
use uuid::Uuid;

use crate::http::body::Body;
use crate::pages::visitor::{Visitor, sender, visitor, with_role};
use crate::pages::{Frame, page, refused};
use crate::service::once::{OnceKey, Stored};
use crate::service::stock::{self, By, Moved};
use crate::service::{Actor, Refusal, Shop, access, catalogue, stock_lists};

/// Parts that a search offers to choose from.
const CHOICES: usize = 12;

/// What a form does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Act {
    Receive,
    Issue,
    Scrap,
}

/// A field of a form: name, label, kind of input, hint.
type Declared = (&'static str, &'static str, &'static str, &'static str);

impl Act {
    fn path(self) -> &'static str {
        match self {
            Self::Receive => "/receive",
            Self::Issue => "/issue",
            Self::Scrap => "/scrap",
        }
    }

    fn heading(self) -> &'static str {
        match self {
            Self::Receive => "Receive plugs",
            Self::Issue => "Issue plugs to a job",
            Self::Scrap => "Scrap plugs",
        }
    }

    fn least(self) -> Role {
        match self {
            Self::Receive => Role::Clerk,
            Self::Issue | Self::Scrap => Role::Tuner,
        }
    }

    fn fields(self) -> &'static [Declared] {
        match self {
            Self::Receive => &[
                ("quantity", "Plugs", "number", "single plugs, not boxes"),
                ("place_id", "Into bin", "bin", ""),
                ("supplier", "Supplier", "text", ""),
                (
                    "cost",
                    "Cost of all, in minor units",
                    "number",
                    "may be left open",
                ),
                ("pack_size", "Plugs in a box", "number", "may be left open"),
                ("reference", "Delivery note", "text", "may be left open"),
            ],
            Self::Issue => &[
                ("quantity", "Plugs", "number", ""),
                ("job", "Job", "text", ""),
                ("gap_mm", "Gap that is set, mm", "text", "may be left open"),
            ],
            Self::Scrap => &[
                ("quantity", "Plugs", "number", ""),
                ("place_id", "From bin", "bin", "or the job below"),
                ("job", "From job", "text", "or the bin above"),
                ("reason", "Reason", "reason", ""),
                ("note", "What happened", "text", "may be left open"),
            ],
        }
    }
}

struct Field {
    name: &'static str,
    label: &'static str,
    kind: &'static str,
    hint: &'static str,
    value: String,
    choices: Vec<(String, String, bool)>,
    fault: String,
}

#[derive(Template)]
#[template(path = "counter.html")]
struct Form {
    frame: Frame,
    heading: &'static str,
    path: &'static str,
    once: Uuid,
    part: String,
    part_fault: String,
    parts: Vec<(Uuid, String, bool)>,
    fields: Vec<Field>,
    faults: Vec<String>,
    done: String,
}

/// What was typed, by name of field.
type Typed = Vec<(String, String)>;

fn of<'a>(typed: &'a Typed, name: &str) -> &'a str {
    typed
        .iter()
        .find(|(n, _)| n == name)
        .map_or("", |(_, value)| value.trim())
}

fn form(
    shop: &Shop,
    frame: Frame,
    act: Act,
    typed: &Typed,
    parts: Vec<Plug>,
    faults: &[Fault],
    done: String,
) -> Result<Form, Refusal> {
    let bins = stock_lists::places(shop, Some(PlaceKind::Bin), None, None, 1_000)?;
    let fault = |name: &str| {
        let at = |f: &&Fault| {
            f.pointer == format!("#/{name}") || f.pointer.starts_with(&format!("#/{name}/"))
        };
        faults
            .iter()
            .find(at)
            .map_or_else(String::new, |f| f.detail.clone())
    };
    let fields = act.fields().iter().map(|(name, label, kind, hint)| {
        let value = of(typed, name).to_owned();
        let choices = match *kind {
            "bin" => bins
                .iter()
                .map(|b| (b.id.to_string(), b.name.clone(), b.id.to_string() == value))
                .collect(),
            "reason" => ScrapReason::WORDS
                .iter()
                .map(|w| ((*w).to_owned(), w.replace('_', " "), *w == value))
                .collect(),
            _ => Vec::new(),
        };
        Field {
            name,
            label,
            kind,
            hint,
            fault: fault(name),
            value,
            choices,
        }
    });
    let fields: Vec<Field> = fields.collect();
    let chosen = of(typed, "plug_id");
    let named = |p: &Plug| {
        format!(
            "{} {} — {}",
            p.data.maker,
            p.data.part_number,
            p.data.description.as_deref().unwrap_or("")
        )
    };
    Ok(Form {
        frame,
        heading: act.heading(),
        path: act.path(),
        // A form that failed keeps its key: it has done nothing yet.
        once: of(typed, "once")
            .parse()
            .ok()
            .filter(|_| done.is_empty())
            .unwrap_or_else(Uuid::now_v7),
        part: of(typed, "part").to_owned(),
        part_fault: fault("plug_id"),
        parts: parts
            .iter()
            .map(|p| {
                (
                    p.id,
                    named(p),
                    parts.len() == 1 || p.id.to_string() == chosen,
                )
            })
            .collect(),
        fields,
        faults: faults.iter().map(|f| f.detail.clone()).collect(),
        done,
    })
}

/// The part that was meant, or those that it could be.
fn parts(shop: &Shop, typed: &Typed) -> Result<Vec<Plug>, Refusal> {
    if let Ok(id) = of(typed, "plug_id").parse() {
        return catalogue::get(shop, id).map(|plug| vec![plug]);
    }
    let text = of(typed, "part");
    if text.is_empty() {
        return Ok(Vec::new());
    }
    let found = catalogue::find(shop, text, CHOICES)?;
    let exact = |p: &&Plug| {
        p.data.part_number.eq_ignore_ascii_case(text)
            || p.data.gtin.as_ref().is_some_and(|g| g.as_str() == text)
    };
    let meant: Vec<Plug> = found.iter().filter(exact).cloned().collect();
    Ok(if meant.len() == 1 { meant } else { found })
}

async fn shown(shop: web::Data<Shop>, request: HttpRequest, act: Act) -> HttpResponse {
    let who = match visitor(&shop, &request).and_then(|who| with_role(who, act.least())) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed: Typed = web::Query::from_query(request.query_string())
        .map(web::Query::into_inner)
        .unwrap_or_default();
    let frame = who.frame.clone();
    let made = web::block(move || {
        let found = parts(&shop, &typed)?;
        form(&shop, frame, act, &typed, found, &[], String::new())
    });
    match made.await {
        Ok(Ok(form)) => page(StatusCode::OK, &form),
        Ok(Err(refusal)) => refused(who.frame, &refusal),
        Err(blocked) => refused(who.frame, &Refusal::Fault(blocked.to_string())),
    }
}

async fn sent(shop: web::Data<Shop>, request: HttpRequest, typed: Typed, act: Act) -> HttpResponse {
    let who = match sender(&shop, &request, of(&typed, "form_key"), act.least()) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let frame = who.frame.clone();
    let answered = web::block(move || answer(&shop, who, &typed, act)).await;
    match answered {
        Ok(Ok((status, form))) => page(status, &form),
        Ok(Err(refusal)) => refused(frame, &refusal),
        Err(blocked) => refused(frame, &Refusal::Fault(blocked.to_string())),
    }
}

fn answer(
    shop: &Shop,
    who: Visitor,
    typed: &Typed,
    act: Act,
) -> Result<(StatusCode, Form), Refusal> {
    let found = parts(shop, typed)?;
    let outcome = match found.as_slice() {
        [] => Err(vec![Fault::at(
            "plug_id",
            FaultCode::NotFound,
            "no part is known by that; try its number or a word",
        )]),
        [plug] => done(shop, &who.actor, typed, act, plug),
        _ => Err(vec![Fault::at(
            "plug_id",
            FaultCode::Missing,
            "several parts are meant; choose one",
        )]),
    };
    match outcome {
        Ok(done) => Ok((
            StatusCode::OK,
            form(shop, who.frame, act, &Typed::new(), Vec::new(), &[], done)?,
        )),
        Err(faults) => Ok((
            StatusCode::BAD_REQUEST,
            form(shop, who.frame, act, typed, found, &faults, String::new())?,
        )),
    }
}

/// Does it, once; a refusal that a person can mend comes back as faults of the form.
fn done(
    shop: &Shop,
    actor: &Actor,
    typed: &Typed,
    act: Act,
    plug: &Plug,
) -> Result<String, Vec<Fault>> {
    let policy = shop.policy();
    let by = By::now(actor);
    let body = body(typed, act, plug, &policy.values.currency.value)?;
    let once = OnceKey {
        token_id: actor.token_id,
        key: format!("page {}", of(typed, "once")),
        fingerprint: access::hashed(&format!("{} {body}", act.path())),
    };
    let name = format!("{} {}", plug.data.maker, plug.data.part_number);
    let told = |verb: &str, quantity: i64| Stored {
        status: 200,
        headers: Vec::new(),
        body: format!("{quantity} × {name} {verb}.").into_bytes(),
        replayed: false,
    };
    let stored = match act {
        Act::Receive => {
            let receipt: Receipt = read(body)?;
            run(
                shop,
                &once,
                |s| stock::receive(s, &by, &policy, &receipt),
                || told("received", receipt.quantity),
            )
        }
        Act::Issue => {
            let issue: Issue = read(body)?;
            let verb = format!("issued to {}", issue.job.as_deref().unwrap_or_default());
            run(
                shop,
                &once,
                |s| stock::issue(s, &by, &policy, &issue),
                || told(&verb, issue.quantity),
            )
        }
        Act::Scrap => {
            let scrapping: Scrapping = read(body)?;
            run(
                shop,
                &once,
                |s| stock::discard(s, &by, &scrapping),
                || told("scrapped for good", scrapping.quantity),
            )
        }
    };
    stored
        .map(|stored| String::from_utf8_lossy(&stored.body).into_owned())
        .map_err(|refusal| match refusal {
            Refusal::Faults(faults) => faults,
            Refusal::Conflict { detail, .. } | Refusal::Forbidden(detail) => {
                vec![Fault::at("quantity", FaultCode::OutOfRange, detail)]
            }
            Refusal::KeyReused => {
                let detail = "this form was sent before with other values; open it anew";
                vec![Fault::at("once", FaultCode::Contradiction, detail)]
            }
            other => {
                tracing::error!(refusal = ?other, "a form was refused");
                vec![Fault::at(
                    "",
                    FaultCode::WrongForm,
                    "that could not be done; the log says why",
                )]
            }
        })
}

fn run(
    shop: &Shop,
    once: &OnceKey,
    command: impl FnMut(&mut Session) -> Moved + Send,
    told: impl Fn() -> Stored + Send + Sync,
) -> Result<Stored, Refusal> {
    shop.once(once, command, |_| told()).map(|done| done.stored)
}

/// The command's body, under the same checks as over HTTP.
fn read<T: Body + DeserializeOwned + Check>(body: Value) -> Result<T, Vec<Fault>> {
    T::check(body)
}

fn body(typed: &Typed, act: Act, plug: &Plug, currency: &str) -> Result<Value, Vec<Fault>> {
    let mut map = Map::new();
    map.insert("plug_id".into(), plug.id.to_string().into());
    let mut faults = Vec::new();
    for (name, ..) in act.fields() {
        let text = of(typed, name);
        if text.is_empty() {
            continue;
        }
        let number = || {
            text.parse::<i64>()
                .map_err(|_| format!("{text:?} is no whole number"))
        };
        let value = match *name {
            "quantity" | "pack_size" => number().map(Value::from),
            "cost" => number().map(|minor| {
                serde_json::json!(Money {
                    minor,
                    currency: currency.to_owned()
                })
            }),
            "gap_mm" => text
                .replace(',', ".")
                .parse::<f64>()
                .map(Value::from)
                .map_err(|_| format!("{text:?} is no number")),
            _ => Ok(Value::from(text)),
        };
        match value {
            Ok(value) => {
                let member = if *name == "cost" { "total_cost" } else { name };
                map.insert(member.into(), value);
            }
            Err(detail) => faults.push(Fault::at(name, FaultCode::WrongType, detail)),
        }
    }
    if faults.is_empty() {
        Ok(Value::Object(map))
    } else {
        Err(faults)
    }
}

pub(super) async fn receive_form(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    shown(shop, request, Act::Receive).await
}

pub(super) async fn receive(
    shop: web::Data<Shop>,
    request: HttpRequest,
    typed: web::Form<Typed>,
) -> HttpResponse {
    sent(shop, request, typed.into_inner(), Act::Receive).await
}

pub(super) async fn issue_form(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    shown(shop, request, Act::Issue).await
}

pub(super) async fn issue(
    shop: web::Data<Shop>,
    request: HttpRequest,
    typed: web::Form<Typed>,
) -> HttpResponse {
    sent(shop, request, typed.into_inner(), Act::Issue).await
}

pub(super) async fn scrap_form(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    shown(shop, request, Act::Scrap).await
}

pub(super) async fn scrap(
    shop: web::Data<Shop>,
    request: HttpRequest,
    typed: web::Form<Typed>,
) -> HttpResponse {
    sent(shop, request, typed.into_inner(), Act::Scrap).await
}
