//! Where plugs change hands: a form for each act, done once whatever is sent twice, and fed by the
//! line at the top.

mod acts;
mod barcodes;
pub(super) mod booked;
mod counting;
mod counts;
mod doubt;
mod form_of;
mod given;
mod incoming;
mod jobs;
mod labels;
mod movement;
mod movements;
mod quarantine;
mod taking;

use actix_web::{HttpRequest, HttpResponse, web};
use plugwell_domain::fault::Fault;
use plugwell_domain::ledger::commands::{Issue, Receipt, Reserve, Return, Scrapping, Transfer};
use serde_json::Value;

use crate::http::body::Body;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::counter::acts::{Act, command};
use crate::pages::counter::doubt::doubt;
use crate::pages::counter::form_of::{Shown, Stage, found, shown};
use crate::pages::counter::taking::{Heard, Taken, in_field, noted_in_field, take};
use crate::pages::field::{Wrong, add};
use crate::pages::once::once;
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::service::stock::{self, By, InStead};
use crate::service::{Actor, Refusal, Shop};

/// The form on the page that the line at the top feeds.
const LINE_OF: &str = "act";

/// Puts the pages into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    for act in Act::ALL {
        config.service(super::form(
            act.path(),
            move |shop, request| look(shop, request, act),
            move |shop, request, posted| sent(shop, request, posted, act),
        ));
    }
    config
        .service(super::at("/booked", booked::show))
        .configure(barcodes::configure)
        .configure(counts::configure)
        .configure(counting::configure)
        .configure(incoming::configure)
        .configure(jobs::configure)
        .configure(labels::configure)
        .configure(movements::configure)
        .configure(movement::configure)
        .configure(quarantine::configure);
}

async fn look(shop: web::Data<Shop>, request: HttpRequest, act: Act) -> HttpResponse {
    let who = match visitor(&shop, &request, act.least()) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        if typed.one("scan").is_empty() {
            return looked_up(shop, frame, act, &typed, Heard::default());
        }
        match take(shop, act, who.actor.role, &typed)? {
            Taken::There(path) => Ok(Reply::Elsewhere(path)),
            Taken::Shown(typed, heard) => looked_up(shop, frame, act, &typed, heard),
            // An address books nothing.
            Taken::Booked(typed) => looked_up(shop, frame, act, &typed, Heard::default()),
        }
    })
    .await
}

/// The form, with what was understood and what follows from it.
fn looked_up(
    shop: &Shop,
    frame: Frame,
    act: Act,
    typed: &Typed,
    mut heard: Heard,
) -> Result<Reply, Refusal> {
    let mut typed = typed.clone();
    if let Some(more) = in_field(shop, act, &mut typed)?
        && heard.said.is_empty()
        && heard.wrong.is_empty()
    {
        heard = more;
    }
    let typed = given::named(shop, act, &typed)?;
    let mut found = found(shop, act, &typed)?;
    let begins = typed.one("part").is_empty();
    // Whoever looks a part up sees it, or chooses: there is nothing to warn of.
    let seen = begins || found.card.is_some() || !found.parts.is_empty();
    heard.wrong.extend(found.wrong.take().filter(|_| !seen));
    if found.card.is_none() && found.parts.is_empty() {
        found.parts = std::mem::take(&mut heard.parts);
    }
    shown(Shown {
        shop,
        frame,
        act,
        typed,
        found,
        stage: Stage::Begins(heard),
    })
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
        if typed.one("look").is_empty() {
            return answer(shop, &who.actor, frame, act, &typed);
        }
        match take(shop, act, who.actor.role, &typed)? {
            Taken::There(path) => Ok(Reply::Elsewhere(path)),
            Taken::Booked(typed) => answer(shop, &who.actor, frame, act, &typed),
            Taken::Shown(typed, heard) => looked_up(shop, frame, act, &typed, heard),
        }
    })
    .await
}

fn answer(
    shop: &Shop,
    actor: &Actor,
    frame: Frame,
    act: Act,
    sent: &Typed,
) -> Result<Reply, Refusal> {
    // What was being scanned when the button was pressed belongs to no command.
    let sent = sent.without(&["scan"]);
    let mut typed = given::named(shop, act, &sent)?;
    noted_in_field(shop, act, &mut typed)?;
    let mut found = found(shop, act, &typed)?;
    if let Some(card) = found.card.as_ref().filter(|_| act == Act::Issue) {
        given::kept_for_job(shop, &mut typed, card.id)?;
    }
    let plug_id = found.card.as_ref().map(|card| card.id);
    let (value, mut wrong) = command(shop, act, &typed, plug_id)?;
    wrong.extend(found.wrong.take());
    let outcome = match Command::read(act, value) {
        Ok(command) if wrong.is_empty() => {
            let unseen = doubt(shop, act, &typed, plug_id)?;
            match unseen.filter(|doubt| !doubt.is_seen(&typed)) {
                None => run(shop, actor, act, &sent, &command),
                Some(doubt) => {
                    wrong.push(doubt.wrong());
                    Err(Refusal::Faults(Vec::new()))
                }
            }
        }
        Ok(_) => Err(Refusal::Faults(Vec::new())),
        Err(faults) => Err(Refusal::Faults(faults)),
    };
    let mut instead = Vec::new();
    match outcome {
        Ok(there) => return Ok(Reply::Elsewhere(there)),
        Err(Refusal::Faults(faults)) => add(&mut wrong, &faults),
        Err(Refusal::Conflict {
            detail, members, ..
        }) => {
            let field = if members.contains_key("available") {
                "quantity"
            } else {
                ""
            };
            wrong.push(Wrong::with(field, detail));
            instead = form_of::instead(members.get("equivalents"));
            return shown_again(shop, frame, act, typed, found, (wrong, instead, 409));
        }
        Err(Refusal::Forbidden(detail)) => {
            wrong.push(Wrong::all(detail));
            return shown_again(shop, frame, act, typed, found, (wrong, instead, 403));
        }
        Err(other) => return Err(other),
    }
    shown_again(shop, frame, act, typed, found, (wrong, instead, 400))
}

fn shown_again(
    shop: &Shop,
    frame: Frame,
    act: Act,
    typed: Typed,
    found: form_of::Found,
    (wrong, instead, status): (Vec<Wrong>, Vec<InStead>, u16),
) -> Result<Reply, Refusal> {
    shown(Shown {
        shop,
        frame,
        act,
        typed,
        found,
        stage: Stage::ComesBack {
            wrong,
            instead,
            status,
        },
    })
}

/// A command, checked.
enum Command {
    Receive(Receipt),
    Issue(Issue),
    Return(Return),
    Move(Transfer),
    Scrap(Scrapping),
    Reserve(Reserve),
}

impl Command {
    fn read(act: Act, value: Value) -> Result<Self, Vec<Fault>> {
        match act {
            Act::Receive => Receipt::check(value).map(Self::Receive),
            Act::Issue => Issue::check(value).map(Self::Issue),
            Act::Return => Return::check(value).map(Self::Return),
            Act::Move => Transfer::check(value).map(Self::Move),
            Act::Scrap => Scrapping::check(value).map(Self::Scrap),
            Act::Reserve => Reserve::check(value).map(Self::Reserve),
        }
    }

    /// The part and number of plugs that can be wanting.
    fn wanted(&self) -> Option<(uuid::Uuid, i64)> {
        match self {
            Self::Issue(body) => Some((body.plug_id, body.quantity)),
            Self::Reserve(body) => Some((body.plug_id, body.quantity)),
            _ => None,
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
        let render = match act {
            Act::Reserve => jobs::kept,
            _ => booked::kept,
        };
        let done = shop.once(
            key,
            |s| match command {
                Command::Receive(body) => stock::receive(s, &by, &policy, body),
                Command::Issue(body) => stock::issue(s, &by, &policy, body),
                Command::Return(body) => stock::give_back(s, &by, body),
                Command::Move(body) => stock::transfer(s, &by, body),
                Command::Scrap(body) => stock::discard(s, &by, body),
                Command::Reserve(body) => stock::reserve(s, &by, &policy, body),
            },
            render,
        );
        match command.wanted() {
            Some((plug_id, quantity)) => {
                done.map_err(|refusal| stock::with_equivalents(shop, plug_id, quantity, refusal))
            }
            None => done,
        }
        .map(|done| done.stored)
    })
}
