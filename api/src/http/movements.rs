//! Commands that move stock, each answered once whatever is sent twice, and the movements that they
//! left.

use actix_web::{get, post, web};
use plugwell_domain::ledger::commands::{Issue, Receipt, Return, Reversal, Scrapping, Transfer};
use plugwell_domain::ledger::{Lot, Movement, MovementKind, Reservation};
use plugwell_domain::order::Delivery;
use plugwell_store::MovementFilter;
use serde::Serialize;
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::http::answer::{Answer, ask, page, record};
use crate::http::etag::IfNoneMatch;
use crate::http::once::{booked, kept};
use crate::http::paging::{Page, PageQuery, Paging};
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::http::request::{Id, OnceOnly};
use crate::service::once::Stored;
use crate::service::stock::{self, By, Outcome};
use crate::service::{Actor, Shop, stock_lists};

/// What a command did.
#[derive(Debug, Serialize, ToSchema)]
pub struct Movements<'a> {
    /// The movements, in the order they were written.
    movements: &'a [Movement],
    /// Lots that it made.
    lots: &'a [Lot],
    /// Reservations whose state or open quantity it changed.
    reservations: &'a [Reservation],
    /// What a receipt, or its reversal, did to the line of an order; null where it was for none.
    delivery: Option<&'a Delivery>,
}

/// The answer that is kept: 201, at the first movement.
fn moved(outcome: &Outcome) -> Stored {
    let Outcome {
        movements,
        lots,
        reservations,
        delivery,
    } = outcome;
    let first = movements
        .first()
        .map(|movement| format!("/v1/stock/movements/{}", movement.id));
    kept(
        201,
        first,
        &Movements {
            movements,
            lots,
            reservations,
            delivery: delivery.as_ref(),
        },
    )
}

/// Receives plugs from a supplier into a bin: makes a lot. With the line of an order, counts them for
/// it and says what is still to come or too many.
#[utoipa::path(
    operation_id = "receive", tag = "stock", request_body = Receipt,
    responses(
        (status = 201, description = "The movement and its lot.", body = Movements),
        (status = 409, description = "`plug_retired`, `place_retired`, `order_withdrawn`, `order_not_sent`.")
    )
)]
#[post("/v1/stock/receipts")]
pub async fn receive(shop: web::Data<Shop>, actor: Actor, asked: OnceOnly<Receipt>) -> Answer {
    let OnceOnly { key, body } = asked;
    let done = ask(&shop, move |shop| {
        let policy = shop.policy();
        shop.once(
            &key,
            |session| stock::receive(session, &By::now(&actor), &policy, &body),
            moved,
        )
    });
    Ok(booked(&shop, done.await?))
}

/// Issues plugs from bins to a job: oldest lot first, one lot where one is big enough.
#[utoipa::path(
    operation_id = "issue", tag = "stock", request_body = Issue,
    responses((status = 201, description = "The movements, one for each lot and bin.", body = Movements))
)]
#[post("/v1/stock/issues")]
pub async fn issue(shop: web::Data<Shop>, actor: Actor, asked: OnceOnly<Issue>) -> Answer {
    let OnceOnly { key, body } = asked;
    let done = ask(&shop, move |shop| {
        let policy = shop.policy();
        shop.once(
            &key,
            |session| stock::issue(session, &By::now(&actor), &policy, &body),
            moved,
        )
    });
    Ok(booked(&shop, done.await?))
}

/// Takes plugs back from a job: into a bin what is sealed or gapped, to the scrap drum the rest.
#[utoipa::path(
    operation_id = "give_back", tag = "stock", request_body = Return,
    responses((status = 201, description = "The movements.", body = Movements))
)]
#[post("/v1/stock/returns")]
pub async fn give_back(shop: web::Data<Shop>, actor: Actor, asked: OnceOnly<Return>) -> Answer {
    let OnceOnly { key, body } = asked;
    let done = ask(&shop, move |shop| {
        shop.once(
            &key,
            |session| stock::give_back(session, &By::now(&actor), &body),
            moved,
        )
    });
    Ok(booked(&shop, done.await?))
}

/// Moves plugs between bins, to quarantine and, for a manager, out of it.
#[utoipa::path(
    operation_id = "transfer", tag = "stock", request_body = Transfer,
    responses((status = 201, description = "The movement.", body = Movements))
)]
#[post("/v1/stock/transfers")]
pub async fn transfer(shop: web::Data<Shop>, actor: Actor, asked: OnceOnly<Transfer>) -> Answer {
    let OnceOnly { key, body } = asked;
    let done = ask(&shop, move |shop| {
        shop.once(
            &key,
            |session| stock::transfer(session, &By::now(&actor), &body),
            moved,
        )
    });
    Ok(booked(&shop, done.await?))
}

/// Puts plugs into the scrap drum, for good; from a bin or quarantine it takes a clerk.
#[utoipa::path(
    operation_id = "discard", tag = "stock", request_body = Scrapping,
    responses((status = 201, description = "The movements.", body = Movements))
)]
#[post("/v1/stock/scrappings")]
pub async fn discard(shop: web::Data<Shop>, actor: Actor, asked: OnceOnly<Scrapping>) -> Answer {
    let OnceOnly { key, body } = asked;
    let done = ask(&shop, move |shop| {
        shop.once(
            &key,
            |session| stock::discard(session, &By::now(&actor), &body),
            moved,
        )
    });
    Ok(booked(&shop, done.await?))
}

/// Puts a movement right by one in the other direction; a scrapping in time and by a manager only.
#[utoipa::path(
    operation_id = "reverse", tag = "stock", request_body = Reversal,
    responses((status = 201, description = "The movements.", body = Movements))
)]
#[post("/v1/stock/reversals")]
pub async fn reverse(shop: web::Data<Shop>, actor: Actor, asked: OnceOnly<Reversal>) -> Answer {
    let OnceOnly { key, body } = asked;
    let done = ask(&shop, move |shop| {
        let policy = shop.policy();
        shop.once(
            &key,
            |session| stock::reverse(session, &By::now(&actor), &policy, &body),
            moved,
        )
    });
    Ok(booked(&shop, done.await?))
}

/// One page of movements.
type MovementPage = Page<Movement>;

/// What a list of movements is narrowed by.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct MovementQuery {
    /// The part.
    plug_id: Option<Uuid>,
    /// The lot.
    lot_id: Option<Uuid>,
    /// Where from or where to.
    place_id: Option<Uuid>,
    /// What it did.
    kind: Option<MovementKind>,
    /// The job, case-blind.
    job: Option<String>,
}

impl FromQuery for MovementQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            plug_id: members.parsed("plug_id", "a UUID"),
            lot_id: members.parsed("lot_id", "a UUID"),
            place_id: members.parsed("place_id", "a UUID"),
            kind: members.word("kind"),
            job: members.text("job"),
        }
    }
}

/// Lists movements by their running number.
#[utoipa::path(
    operation_id = "list_movements", tag = "stock", params(PageQuery, MovementQuery),
    responses((status = 200, description = "A page of movements.", body = MovementPage))
)]
#[get("/v1/stock/movements")]
pub async fn list_movements(
    shop: web::Data<Shop>,
    query: CheckedQuery<(Paging<i64>, MovementQuery)>,
) -> Answer {
    let CheckedQuery((
        paging,
        MovementQuery {
            plug_id,
            lot_id,
            place_id,
            kind,
            job,
        },
    )) = query;
    let filter = MovementFilter {
        plug_id,
        lot_id,
        place_id,
        kind,
        job,
    };
    let (after, limit) = (paging.after, paging.one_more());
    let found = ask(&shop, move |shop| {
        stock_lists::movements(shop, &filter, after, limit)
    })
    .await?;
    let (found, next) = paging.page(found, |movement| movement.sequence);
    page(&found, next)
}

/// Shows a movement; it never changes.
#[utoipa::path(
    operation_id = "get_movement", tag = "stock", params(Id),
    responses((status = 200, description = "The movement.", body = Movement))
)]
#[get("/v1/stock/movements/{id}")]
pub async fn get_movement(shop: web::Data<Shop>, id: Id, known: IfNoneMatch) -> Answer {
    record(
        1,
        &known,
        &ask(&shop, move |shop| stock_lists::movement(shop, id.0)).await?,
    )
}
