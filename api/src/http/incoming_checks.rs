//! Incoming checks: a sample of a lot is measured, and a manager decides about what was put aside.

use actix_web::{get, post, web};
use plugwell_domain::incoming::{CheckState, Decide, IncomingCheck, KeptCheck};
use plugwell_domain::ledger::{Movement, Reservation};
use plugwell_domain::order::Delivery;
use plugwell_store::IncomingFilter;
use serde::Serialize;
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::http::answer::{Answer, Record, ask, page, record};
use crate::http::body::bodies;
use crate::http::etag::IfNoneMatch;
use crate::http::once::{booked, kept};
use crate::http::paging::{Page, PageQuery, Paging};
use crate::http::problem::Problem;
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::http::request::{Id, OnceOnly, UnreadOnce};
use crate::service::once::Stored;
use crate::service::stock::{self, Aside, By};
use crate::service::{Actor, Shop};

bodies!(IncomingCheck, Decide);

/// A stored incoming check.
type CheckRecord = Record<KeptCheck>;
/// One page of incoming checks.
type CheckPage = Page<CheckRecord>;

/// What a list of incoming checks is narrowed by.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct CheckQuery {
    /// Where they stand.
    state: Option<CheckState>,
    /// The lot.
    lot_id: Option<Uuid>,
}

impl FromQuery for CheckQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            state: members.word("state"),
            lot_id: members.parsed("lot_id", "a UUID"),
        }
    }
}

/// An incoming check, or the decision on one, with what it moved.
#[derive(Debug, Serialize, ToSchema)]
pub struct CheckAnswer<'a> {
    /// The check as it stands now.
    check: CheckRecord,
    /// The movements, in the order they were written.
    movements: &'a [Movement],
    /// Reservations whose state it changed.
    reservations: &'a [Reservation],
    /// What sending it back did to the line of an order; null where there was none.
    delivery: Option<&'a Delivery>,
}

fn answered(status: u16, aside: &Aside) -> Stored {
    let at = (status == 201).then(|| format!("/v1/stock/incoming-checks/{}", aside.check.id));
    let answer = CheckAnswer {
        check: CheckRecord::from(aside.check.clone()),
        movements: &aside.outcome.movements,
        reservations: &aside.outcome.reservations,
        delivery: aside.outcome.delivery.as_ref(),
    };
    kept(status, at, &answer)
}

/// Lists incoming checks, the newest first.
#[utoipa::path(
    operation_id = "list_incoming_checks", tag = "stock", params(PageQuery, CheckQuery),
    responses((status = 200, description = "A page of incoming checks.", body = CheckPage))
)]
#[get("/v1/stock/incoming-checks")]
pub async fn list_incoming_checks(
    shop: web::Data<Shop>,
    query: CheckedQuery<(Paging<Uuid>, CheckQuery)>,
) -> Answer {
    let CheckedQuery((paging, CheckQuery { state, lot_id })) = query;
    let filter = IncomingFilter { state, lot_id };
    let (before, limit) = (paging.after, paging.one_more());
    let found = ask(&shop, move |shop| {
        stock::incoming_checks(shop, &filter, before, limit)
    });
    let (found, next) = paging.page(found.await?, |check| check.id);
    page(&found.map(CheckRecord::from), next)
}

/// Records what was measured of a sample of a lot. Where a reading contradicts the record of the part,
/// everything that the lot, and what descends from it, has in bins goes to quarantine until a manager
/// decides; what comes back of them later follows.
#[utoipa::path(
    operation_id = "check_incoming", tag = "stock", request_body = IncomingCheck,
    responses(
        (status = 201, description = "The check, and what it moved.", body = CheckAnswer),
        (status = 409, description = "`place_retired`.")
    )
)]
#[post("/v1/stock/incoming-checks")]
pub async fn check_incoming(
    shop: web::Data<Shop>,
    actor: Actor,
    asked: OnceOnly<IncomingCheck>,
) -> Answer {
    let OnceOnly { key, body } = asked;
    let done = ask(&shop, move |shop| {
        let policy = shop.policy();
        shop.once(
            &key,
            |session| stock::check(session, &By::now(&actor), &policy, &body),
            |aside| answered(201, aside),
        )
    });
    Ok(booked(&shop, done.await?))
}

/// Shows an incoming check.
#[utoipa::path(
    operation_id = "get_incoming_check", tag = "stock", params(Id),
    responses((status = 200, description = "The check.", body = CheckRecord))
)]
#[get("/v1/stock/incoming-checks/{id}")]
pub async fn get_incoming_check(shop: web::Data<Shop>, id: Id, known: IfNoneMatch) -> Answer {
    let found = ask(&shop, move |shop| stock::incoming_check(shop, id.0)).await?;
    record(found.version, &known, &CheckRecord::from(found))
}

/// Decides what becomes of what a check put into quarantine, of the lot and of what descends from it: into
/// a bin, into the scrap drum, or back to the supplier. What lies elsewhere stays there, and the decision
/// says where.
#[utoipa::path(
    operation_id = "decide_incoming", tag = "stock", params(Id), request_body = Decide,
    responses(
        (status = 200, description = "The check as it is now, and what was moved.", body = CheckAnswer),
        (status = 409, description = "`already_decided`, `forebear_waits`, `place_retired`, `already_reversed`, `not_enough_stock`.")
    )
)]
#[post("/v1/stock/incoming-checks/{id}/decision")]
pub async fn decide_incoming(
    shop: web::Data<Shop>,
    actor: Actor,
    id: Id,
    asked: UnreadOnce<Decide>,
) -> Answer {
    let done = ask(&shop, move |shop| {
        stock::incoming_check(shop, id.0)?;
        let OnceOnly { key, body } = asked.read(&actor)?;
        let run = |session: &mut _| stock::decide(session, &By::now(&actor), id.0, &body);
        Ok::<_, Problem>(shop.once(&key, run, |aside| answered(200, aside))?)
    });
    Ok(booked(&shop, done.await?))
}
