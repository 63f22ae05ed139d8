//! Receiving, issuing and scrapping: a form each, done once whatever is sent twice.

mod acts;
pub(super) mod booked;

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::fault::Fault;
use plugwell_domain::ledger::commands::{Issue, Receipt, Scrapping};
use plugwell_domain::plug::Plug;
use serde_json::Value;
use uuid::Uuid;

use crate::http::body::Body;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::counter::acts::{Act, PART, command, fields};
use crate::pages::field::{Field, Line, Wrong, add, put};
use crate::pages::figures::in_short;
use crate::pages::form as fields_of;
use crate::pages::once::once;
use crate::pages::part::{Card, Meant, card, meant, name};
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::pages::{at, form};
use crate::service::stock::{self, By};
use crate::service::{Actor, Refusal, Shop, builds, catalogue, new_id};

#[derive(Template)]
#[template(path = "counter/act.html")]
struct Page {
    frame: Frame,
    act: Act,
    /// Makes a form that is sent twice the same.
    once: Uuid,
    /// The part, where it stands fast.
    card: Option<Card>,
    /// Where it does not: the field for it, and what it could be.
    part: Field,
    parts: Vec<(Uuid, String, String)>,
    /// The build that plugs are issued for.
    build: Option<(Uuid, String)>,
    fields: Vec<Field>,
    /// The field to begin with.
    focus: &'static str,
    faults: Vec<Line>,
}

/// Puts the pages into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config
        .service(form("/receive", receipt_form, receive))
        .service(form("/issue", issue_form, issue))
        .service(form("/scrap", scrap_form, scrap))
        .service(at("/booked", booked::show));
}

/// The part that a form is about, as far as it is known.
#[derive(Default)]
struct Found {
    card: Option<Card>,
    /// Parts that could be meant.
    parts: Vec<Plug>,
    wrong: Option<Wrong>,
}

fn found(shop: &Shop, typed: &Typed) -> Result<Found, Refusal> {
    let settled = |plug: &Plug| {
        Ok::<_, Refusal>(Found {
            card: Some(card(shop, plug)?),
            ..Found::default()
        })
    };
    let unknown = |text: &str, parts| {
        Ok(Found {
            wrong: Some(Wrong::with("part", text)),
            parts,
            ..Found::default()
        })
    };
    match typed.one("plug_id") {
        "" => {}
        id => {
            return settled(&catalogue::get(
                shop,
                id.parse().map_err(|_| Refusal::NotFound("part"))?,
            )?);
        }
    }
    let text = typed.one("part");
    if text.is_empty() {
        return unknown(Wrong::MISSING, Vec::new());
    }
    match meant(shop, text)? {
        Meant::This(plug) => settled(&plug),
        Meant::Perhaps(parts) => match parts.as_slice() {
            [] => unknown("no part is known by that", parts),
            // Words may lead to a part that was not meant: whoever typed them has a look first.
            [only] => {
                let look = Wrong::all(
                    "Look whether this is the part that you mean, and send the form again.",
                );
                Ok(Found {
                    wrong: Some(look),
                    ..settled(only)?
                })
            }
            _ => unknown("several parts are meant; choose one", parts),
        },
    }
}

/// A form that begins takes a few things for granted; one that comes back keeps what was typed.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Stage<'a> {
    Begins(&'a [Wrong]),
    ComesBack(&'a [Wrong]),
}

fn page(
    shop: &Shop,
    frame: Frame,
    act: Act,
    typed: &Typed,
    found: Found,
    stage: Stage<'_>,
) -> Result<Page, Refusal> {
    let (wrong, begins) = match stage {
        Stage::Begins(wrong) => (wrong, true),
        Stage::ComesBack(wrong) => (wrong, false),
    };
    let mut fields = fields(shop, act, typed, found.card.as_ref(), begins)?;
    let mut part = fields_of::shown(shop, &PART, typed)?;
    let mut all: Vec<&mut Field> = std::iter::once(&mut part).chain(&mut fields).collect();
    let faults = put(wrong, &mut all);
    let build = match typed.one("build_id") {
        id if act == Act::Issue && !id.is_empty() => {
            let build = builds::get(shop, id.parse().map_err(|_| Refusal::NotFound("build"))?)?;
            Some((
                build.id,
                build
                    .data
                    .name
                    .unwrap_or_else(|| "a build without a name".into()),
            ))
        }
        _ => None,
    };
    let first_wrong = faults.iter().map(|line| line.at).find(|at| !at.is_empty());
    let first = if found.card.is_some() {
        "quantity"
    } else {
        "part"
    };
    Ok(Page {
        frame,
        act,
        focus: first_wrong.unwrap_or(first),
        // A form that was refused keeps its key: nothing was done under it.
        once: typed.one("once").parse().unwrap_or_else(|_| new_id()),
        card: found.card,
        part,
        parts: found
            .parts
            .iter()
            .map(|plug| (plug.id, name(plug), in_short(&plug.data)))
            .collect(),
        build,
        fields,
        faults,
    })
}

async fn shown(shop: web::Data<Shop>, request: HttpRequest, act: Act) -> HttpResponse {
    let who = match visitor(&shop, &request, act.least()) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        if typed.one("part").is_empty() && typed.one("plug_id").is_empty() {
            let page = page(
                shop,
                frame,
                act,
                &typed,
                Found::default(),
                Stage::Begins(&[]),
            )?;
            return Reply::page(StatusCode::OK, &page);
        }
        looked_up(shop, frame, act, &typed)
    })
    .await
}

/// The form, with the part looked up.
fn looked_up(shop: &Shop, frame: Frame, act: Act, typed: &Typed) -> Result<Reply, Refusal> {
    let mut found = found(shop, typed)?;
    // Whoever looks a part up sees it, or chooses: there is nothing to warn of.
    let seen = found.card.is_some() || !found.parts.is_empty();
    let wrong: Vec<_> = found.wrong.take().filter(|_| !seen).into_iter().collect();
    let status = if wrong.is_empty() {
        StatusCode::OK
    } else {
        StatusCode::BAD_REQUEST
    };
    Reply::page(
        status,
        &page(shop, frame, act, typed, found, Stage::Begins(&wrong))?,
    )
}

async fn sent(
    shop: web::Data<Shop>,
    request: HttpRequest,
    posted: Posted,
    act: Act,
) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, act.least()) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, frame| {
        if !typed.one("look").is_empty() {
            return looked_up(shop, frame, act, &typed);
        }
        answer(shop, &who.actor, frame, act, &typed)
    })
    .await
}

fn answer(
    shop: &Shop,
    actor: &Actor,
    frame: Frame,
    act: Act,
    typed: &Typed,
) -> Result<Reply, Refusal> {
    let mut found = found(shop, typed)?;
    let plug_id = found.card.as_ref().map(|card| card.id);
    let (value, mut wrong) = command(shop, act, typed, plug_id.unwrap_or_default())?;
    wrong.extend(found.wrong.take());
    let outcome = match Command::read(act, value) {
        Ok(command) if wrong.is_empty() => run(shop, actor, act, typed, &command),
        Ok(_) => Err(Refusal::Faults(Vec::new())),
        Err(faults) => Err(Refusal::Faults(faults)),
    };
    let status = match outcome {
        Ok(there) => return Ok(Reply::Elsewhere(there)),
        Err(Refusal::Faults(faults)) => {
            add(&mut wrong, &faults);
            StatusCode::BAD_REQUEST
        }
        Err(Refusal::Conflict {
            detail, members, ..
        }) => {
            wrong.push(Wrong::with(
                if members.contains_key("available") {
                    "quantity"
                } else {
                    ""
                },
                detail,
            ));
            StatusCode::CONFLICT
        }
        Err(Refusal::Forbidden(detail)) => {
            wrong.push(Wrong::all(detail));
            StatusCode::FORBIDDEN
        }
        Err(other) => return Err(other),
    };
    Reply::page(
        status,
        &page(shop, frame, act, typed, found, Stage::ComesBack(&wrong))?,
    )
}

/// A command, checked.
enum Command {
    Receive(Receipt),
    Issue(Issue),
    Scrap(Scrapping),
}

impl Command {
    fn read(act: Act, value: Value) -> Result<Self, Vec<Fault>> {
        match act {
            Act::Receive => Receipt::check(value).map(Self::Receive),
            Act::Issue => Issue::check(value).map(Self::Issue),
            Act::Scrap => Scrapping::check(value).map(Self::Scrap),
        }
    }
}

/// Does it, once; where to see what was done.
fn run(
    shop: &Shop,
    actor: &Actor,
    act: Act,
    typed: &Typed,
    command: &Command,
) -> Result<String, Refusal> {
    let policy = shop.policy();
    once(actor, act.path(), typed, |key| {
        let by = By::now(actor);
        let done = match command {
            Command::Receive(body) => {
                shop.once(key, |s| stock::receive(s, &by, &policy, body), booked::kept)
            }
            Command::Issue(body) => {
                let issued = shop.once(key, |s| stock::issue(s, &by, &policy, body), booked::kept);
                issued.map_err(|refusal| {
                    stock::with_equivalents(shop, body.plug_id, body.quantity, refusal)
                })
            }
            Command::Scrap(body) => shop.once(key, |s| stock::discard(s, &by, body), booked::kept),
        };
        done.map(|done| done.stored)
    })
}

async fn receipt_form(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    shown(shop, request, Act::Receive).await
}

async fn receive(shop: web::Data<Shop>, request: HttpRequest, posted: Posted) -> HttpResponse {
    sent(shop, request, posted, Act::Receive).await
}

async fn issue_form(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    shown(shop, request, Act::Issue).await
}

async fn issue(shop: web::Data<Shop>, request: HttpRequest, posted: Posted) -> HttpResponse {
    sent(shop, request, posted, Act::Issue).await
}

async fn scrap_form(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    shown(shop, request, Act::Scrap).await
}

async fn scrap(shop: web::Data<Shop>, request: HttpRequest, posted: Posted) -> HttpResponse {
    sent(shop, request, posted, Act::Scrap).await
}
