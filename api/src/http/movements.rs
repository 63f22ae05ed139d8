//! Commands that move stock, each answered once whatever is sent twice, and the movements that they
//! left.

use std::str::FromStr;

use actix_web::{HttpRequest, get, post, web};
use plugwell_domain::caution::Caution;
use plugwell_domain::ledger::commands::{Issue, Receipt, Return, Reversal, Scrapping, Transfer};
use plugwell_domain::ledger::{Lot, Movement, MovementKind, Reservation};
use plugwell_domain::order::Delivery;
use plugwell_domain::words::NotInList;
use plugwell_store::MovementFilter;
use serde::Serialize;
use serde_json::{Map, Value};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::http::accept::preferred;
use crate::http::answer::{Answer, ask, by_accept, page, record};
use crate::http::between::{Between, BetweenQuery};
use crate::http::csv_answer::CSV;
use crate::http::etag::IfNoneMatch;
use crate::http::match_shapes::Failed;
use crate::http::movement_table::traced;
use crate::http::once::{booked, kept};
use crate::http::paging::{Page, PageQuery, Paging};
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::http::request::{Id, OnceOnly};
use crate::service::judged::Judged;
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
    /// Of an issue, and of what comes in or comes back set to a gap: musts that the part fails, or that
    /// nobody can say it passes, of its build and of the gap, each as in a near miss. It is booked all the
    /// same.
    #[schema(value_type = Vec<Failed>)]
    fails: Vec<Map<String, Value>>,
    /// What to beware of: what fails or is unknown, whose gap was written down, what went on to quarantine.
    cautions: &'a [Caution],
}

/// The answer that is kept: 201, at the first movement.
fn moved(outcome: &Outcome) -> Stored {
    let Outcome {
        movements,
        lots,
        reservations,
        delivery,
        fails,
        cautions,
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
            fails: fails.iter().map(Judged::failed).collect(),
            cautions,
        },
    )
}

/// Receives plugs from a supplier into a bin: makes a lot. With the line of an order, counts them for
/// it and says what is still to come or too many. A gap outside the plug's own range is said in `fails`
/// and `cautions`.
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

/// Issues plugs from bins to a job: from one lot where one is big enough, else from the fewest, oldest
/// first. A part that fails a must of its build, or a gap outside the plug's own range, is booked and said
/// in `fails` and `cautions`; what is unknown is never taken for fit. Without `gap_mm` the gap of a gapped
/// lot that is named by `lot_id` is written down, and said so.
#[utoipa::path(
    operation_id = "issue", tag = "stock", request_body = Issue,
    responses(
        (status = 201, description = "The movements, one for each lot and bin.", body = Movements),
        (status = 409, description = "`reservation_closed`, `wrong_gap`, or `not_enough_stock` with what there is, and with `equivalents`: a list of what is equal to the part and on the shelf, each as in a pick list.")
    )
)]
#[post("/v1/stock/issues")]
pub async fn issue(shop: web::Data<Shop>, actor: Actor, asked: OnceOnly<Issue>) -> Answer {
    let OnceOnly { key, body } = asked;
    let done = ask(&shop, move |shop| {
        let policy = shop.policy();
        let issued = shop.once(
            &key,
            |session| stock::issue(session, &By::now(&actor), &policy, &body),
            moved,
        );
        issued
            .map_err(|refusal| stock::with_equivalents(shop, body.plug_id, body.quantity, refusal))
    });
    Ok(booked(&shop, done.await?))
}

/// Takes plugs back from a job: into a bin what is sealed or gapped, to the scrap drum the rest. What is
/// of a lot that waits in quarantine, or descends from one, goes on to quarantine; `cautions` says so, as
/// it says of a gap outside the plug's own range.
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

/// Puts a movement right by one in the other direction; a scrapping in time and by a manager only. What
/// comes back of a lot that waits in quarantine, or descends from one, goes on to quarantine.
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

/// What a list of movements is narrowed by, in any combination.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
#[expect(dead_code, reason = "describes the query; read into `Narrowed`")]
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
    /// Who did it: the name of the token, to the letter.
    actor: Option<String>,
    /// The build that an issue was for.
    build_id: Option<Uuid>,
    /// Which come first: `oldest` where it is not said, or `newest`.
    #[param(value_type = Option<String>, pattern = "^(oldest|newest)$")]
    order: Option<Order>,
}

/// Which movements come first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Order {
    /// In the order of their running numbers.
    #[default]
    Oldest,
    /// Against it.
    Newest,
}

impl Order {
    /// The words, in the order of the list.
    const WORDS: &'static [&'static str] = &["oldest", "newest"];
}

impl FromStr for Order {
    type Err = NotInList;

    fn from_str(text: &str) -> Result<Self, NotInList> {
        match text {
            "oldest" => Ok(Self::Oldest),
            "newest" => Ok(Self::Newest),
            _ => Err(NotInList {
                what: "order of movements",
                found: text.to_owned(),
                words: Self::WORDS,
            }),
        }
    }
}

/// What a list of movements is narrowed by.
#[derive(Debug)]
pub struct Narrowed(MovementFilter);

impl FromQuery for Narrowed {
    fn take(members: &mut Members) -> Self {
        let Between(period) = Between::take(members);
        Self(MovementFilter {
            plug_id: members.parsed("plug_id", "a UUID"),
            lot_id: members.parsed("lot_id", "a UUID"),
            place_id: members.parsed("place_id", "a UUID"),
            kind: members.word("kind"),
            job: members.text("job"),
            actor: members.text("actor"),
            build_id: members.parsed("build_id", "a UUID"),
            from: period.from,
            to: period.to,
            newest: members.word("order") == Some(Order::Newest),
        })
    }
}

/// Lists movements by their running number; as a table all that the filters leave, whatever the page.
#[utoipa::path(
    operation_id = "list_movements", tag = "stock", params(PageQuery, MovementQuery, BetweenQuery),
    responses(
        (status = 200, description = "A page of movements, or the table of all of them.", content(
            (MovementPage = "application/json"), (String = "text/csv")
        )),
        (status = 406, description = "`not_acceptable`.")
    )
)]
#[get("/v1/stock/movements")]
pub async fn list_movements(
    shop: web::Data<Shop>,
    request: HttpRequest,
    query: CheckedQuery<(Paging<i64>, Narrowed)>,
) -> Answer {
    let form = preferred(&request, &["application/json", CSV])?;
    let CheckedQuery((paging, Narrowed(filter))) = query;
    if form == CSV {
        return traced(shop, filter).await;
    }
    let (after, limit) = (paging.after, paging.one_more());
    let found = ask(&shop, move |shop| {
        stock_lists::movements(shop, &filter, after, limit)
    })
    .await?;
    let (found, next) = paging.page(found, |movement| movement.sequence);
    page(&found, next).map(by_accept)
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
