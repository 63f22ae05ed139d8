//! What to order: looked at by supplier, ordered as drafts, once.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::ledger::QUANTITY_MAX;
use plugwell_domain::reorder::{LeftOutCode, OrderChoice};
use plugwell_domain::words::Role;
use serde_json::{Value, json};
use uuid::Uuid;

use super::proposal::{Proposed, proposed, quantity_field};
use super::{id_of, part_name};
use crate::drawing;
use crate::http::body::Body;
use crate::http::etag::IfNoneMatch;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::field::Line;
use crate::pages::once::{leading_to, once};
use crate::pages::typed::{Posted, Typed, count};
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::{say, say_with};
use crate::service::once::Stored;
use crate::service::reordering::{self, OrderedProposal};
use crate::service::stock::By;
use crate::service::{Actor, Refusal, Shop, new_id, orders};
use crate::shown::marked;

#[derive(Template)]
#[template(path = "buying/reorder.html")]
struct Page {
    frame: Frame,
    /// Makes a form that is sent twice the same.
    once: Uuid,
    may_order: bool,
    proposed: Proposed,
    faults: Vec<Line>,
}

#[derive(Template)]
#[template(path = "buying/ordered.html")]
struct Ordered {
    frame: Frame,
    again: bool,
    /// Drafts that were made: id, code, supplier.
    orders: Vec<(Uuid, String, String)>,
    /// What was not ordered: part, name, why.
    left_out: Vec<(Uuid, String, &'static str)>,
}

/// The page at `/reorder`.
pub(super) async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        page(shop, frame, &typed, StatusCode::OK, Faults::default())
    })
    .await
}

/// What is wrong with a form: of the quantities of parts, and as a whole.
#[derive(Default)]
struct Faults {
    of_parts: Vec<(Uuid, String)>,
    of_all: Vec<String>,
}

fn page(
    shop: &Shop,
    frame: Frame,
    typed: &Typed,
    status: StatusCode,
    faults: Faults,
) -> Result<Reply, Refusal> {
    let proposed = proposed(shop, typed, &faults.of_parts)?;
    let mut lines = faults.of_all;
    for (id, why) in &faults.of_parts {
        lines.push(format!("{}: {why}", part_name(shop, *id)?));
    }
    let told = |text| Line {
        at: "",
        label: "",
        text,
    };
    let page = Page {
        may_order: frame.may(Role::Clerk),
        frame,
        once: typed.one("once").parse().unwrap_or_else(|_| new_id()),
        proposed,
        faults: lines.into_iter().map(told).collect(),
    };
    Reply::page(status, &page)
}

/// Makes draft orders of the lines that are ticked.
pub(super) async fn send(
    shop: web::Data<Shop>,
    request: HttpRequest,
    posted: Posted,
) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Clerk) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, frame| {
        let (value, mut faults) = chosen(&typed)?;
        if !faults.of_parts.is_empty() || !faults.of_all.is_empty() {
            return page(shop, frame, &typed, StatusCode::BAD_REQUEST, faults);
        }
        let choice = OrderChoice::check(value).map_err(Refusal::Faults);
        let outcome = choice.and_then(|choice| run(shop, &who.actor, &typed, &choice));
        let status = match outcome {
            Ok(there) => return Ok(Reply::Elsewhere(there)),
            Err(Refusal::Faults(found)) => {
                faults.of_all = found
                    .into_iter()
                    .map(|fault| marked(fault.detail))
                    .collect();
                StatusCode::BAD_REQUEST
            }
            Err(Refusal::Conflict { detail, .. }) => {
                faults.of_all.push(detail);
                StatusCode::CONFLICT
            }
            Err(other) => return Err(other),
        };
        page(shop, frame, &typed, status, faults)
    })
    .await
}

/// The choice that was typed, for the same checks as over HTTP, and what is not understood of it.
fn chosen(typed: &Typed) -> Result<(Value, Faults), Refusal> {
    let (mut ids, mut quantities, mut faults) = (Vec::new(), Vec::new(), Faults::default());
    for text in typed.all("plug_id") {
        let id = id_of(text, "part")?;
        ids.push(id);
        match typed.one(&quantity_field(id)) {
            "" => {}
            text => match count(text) {
                Ok(plugs) if (1..=QUANTITY_MAX).contains(&plugs) => {
                    quantities.push(json!({ "plug_id": id, "quantity": plugs }));
                }
                Ok(plugs) => {
                    let why = say_with(
                        "buying-from-one-to-most-plugs",
                        &[("most", &QUANTITY_MAX), ("plugs", &plugs)],
                    );
                    faults.of_parts.push((id, why));
                }
                Err(why) => faults.of_parts.push((id, why)),
            },
        }
    }
    if ids.is_empty() {
        let text = say("buying-tick-parts-ordered").to_owned();
        faults.of_all.push(text);
    }
    let mut choice = json!({ "plug_ids": ids });
    if !quantities.is_empty() {
        choice["quantities"] = quantities.into();
    }
    Ok((choice, faults))
}

/// Makes the drafts, once; where to see them.
fn run(shop: &Shop, actor: &Actor, typed: &Typed, choice: &OrderChoice) -> Result<String, Refusal> {
    let policy = shop.policy();
    let by = By::now(actor);
    once(actor, "/reorder", typed, |key| {
        let order = |session: &mut _| reordering::order(shop, session, &by, &policy, choice);
        shop.once(key, order, kept).map(|done| done.stored)
    })
}

/// Where to see what was made.
fn kept(done: &OrderedProposal) -> Stored {
    if let ([order], true) = (done.orders.as_slice(), done.left_out.is_empty()) {
        return leading_to(format!("/orders/{}?made=yes", order.id));
    }
    let made = done
        .orders
        .iter()
        .map(|order| format!("order={}", order.id));
    let left = done
        .left_out
        .iter()
        .map(|part| format!("left={}:{}", part.plug_id, part.code));
    let query: Vec<String> = made.chain(left).collect();
    leading_to(format!("/reorder/ordered?{}", query.join("&")))
}

/// The page at `/reorder/ordered`: what became of a proposal.
pub(super) async fn ordered(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let order = |id: &str| {
            let order = orders::get(shop, id_of(id, "order")?)?;
            Ok::<_, Refusal>((order.id, order.code, order.supplier))
        };
        let left = |text: &str| {
            let (id, code) = text.split_once(':').ok_or(Refusal::NotFound("part"))?;
            let id = id_of(id, "part")?;
            let code: LeftOutCode = code.parse().map_err(|_| Refusal::NotFound("reason"))?;
            Ok::<_, Refusal>((id, part_name(shop, id)?, why(code)))
        };
        let page = Ordered {
            frame,
            again: !typed.one("again").is_empty(),
            orders: typed.all("order").map(order).collect::<Result<_, _>>()?,
            left_out: typed.all("left").map(left).collect::<Result<_, _>>()?,
        };
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

/// Why a part was not ordered.
fn why(code: LeftOutCode) -> &'static str {
    match code {
        LeftOutCode::Discontinued => say("buying-maker-no-longer-supplies"),
        LeftOutCode::Superseded => say("buying-another-part-took-its-place"),
        LeftOutCode::UseEquivalentFirst => say("buying-equivalent-lies-unsold-use-up"),
        LeftOutCode::SupplierUnknown => say("buying-nobody-knows-who-supplies-it"),
        LeftOutCode::SupplierRetired => say("buying-nothing-more-ordered-supplier"),
        LeftOutCode::Retired => say("buying-its-record-is-retired"),
        LeftOutCode::NotDue => say("buying-nothing-order-any-more"),
    }
}

/// The picture of a line: demand by period, and where the stock stands.
pub(super) async fn chart(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    known: IfNoneMatch,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let id = path.into_inner();
    made(&shop, who.frame, move |shop, _| {
        let line = reordering::line_of(shop, id_of(&id, "part")?)?;
        Ok(Reply::Picture(drawing::reorder::reorder(&line), known))
    })
    .await
}
