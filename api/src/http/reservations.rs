//! Reservations: plugs of a part kept for a job.

use actix_web::{get, post, web};
use plugwell_domain::ledger::commands::Reserve;
use plugwell_domain::ledger::{Reservation, ReservationState};
use plugwell_store::ReservationFilter;
use utoipa::IntoParams;
use uuid::Uuid;

use crate::http::answer::{Answer, ask, page, record};
use crate::http::etag::IfNoneMatch;
use crate::http::once::{booked, kept_record};
use crate::http::paging::{Page, PageQuery, Paging};
use crate::http::problem::Problem;
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::http::request::{Bare, Id, OnceOnly};
use crate::service::once::Stored;
use crate::service::stock::{self, By, Outcome};
use crate::service::{Actor, Shop, stock_lists};

/// One page of reservations.
type ReservationPage = Page<Reservation>;

/// What a list of reservations is narrowed by.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct ReservationQuery {
    /// The part.
    plug_id: Option<Uuid>,
    /// The job, case-blind.
    job: Option<String>,
    /// Where it stands.
    state: Option<ReservationState>,
}

impl FromQuery for ReservationQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            plug_id: members.parsed("plug_id", "a UUID"),
            job: members.text("job"),
            state: members.word("state"),
        }
    }
}

/// Lists reservations in the order they were made.
#[utoipa::path(
    operation_id = "list_reservations", tag = "stock", params(PageQuery, ReservationQuery),
    responses((status = 200, description = "A page of reservations.", body = ReservationPage))
)]
#[get("/v1/stock/reservations")]
pub async fn list_reservations(
    shop: web::Data<Shop>,
    query: CheckedQuery<(Paging<Uuid>, ReservationQuery)>,
) -> Answer {
    let CheckedQuery((
        paging,
        ReservationQuery {
            plug_id,
            job,
            state,
        },
    )) = query;
    let filter = ReservationFilter {
        plug_id,
        job,
        state,
        ..ReservationFilter::default()
    };
    let (after, limit) = (paging.after, paging.one_more());
    let found = ask(&shop, move |shop| {
        stock_lists::reservations(shop, &filter, after, limit)
    })
    .await?;
    let (found, next) = paging.page(found, |reservation| reservation.id);
    page(&found, next)
}

/// The answer that is kept: the reservation that a command was about.
fn reserved(status: u16, outcome: &Outcome, own: impl Fn(&Reservation) -> bool) -> Stored {
    let reservation = outcome.reservations.iter().find(|r| own(r));
    let at = reservation
        .filter(|_| status == 201)
        .map(|r| format!("/v1/stock/reservations/{}", r.id));
    kept_record(
        status,
        at,
        reservation.map_or(0, |r| r.version),
        &reservation,
    )
}

/// Keeps plugs of a part for a job.
#[utoipa::path(
    operation_id = "reserve", tag = "stock", request_body = Reserve,
    responses(
        (status = 201, description = "The reservation.", body = Reservation, headers(("ETag" = String, description = "Version and content of the reservation."))),
        (status = 409, description = "`not_enough_stock` with what there is, and with `equivalents`: a list of what is equal to the part and on the shelf, each as in a pick list.")
    )
)]
#[post("/v1/stock/reservations")]
pub async fn reserve(shop: web::Data<Shop>, actor: Actor, asked: OnceOnly<Reserve>) -> Answer {
    let OnceOnly { key, body } = asked;
    let done = ask(&shop, move |shop| {
        let policy = shop.policy();
        let run = |session: &mut _| stock::reserve(session, &By::now(&actor), &policy, &body);
        let kept = shop.once(&key, run, |outcome| {
            reserved(201, outcome, |r| r.version == 1)
        });
        kept.map_err(|refusal| stock::with_equivalents(shop, body.plug_id, body.quantity, refusal))
    });
    Ok(booked(&shop, done.await?))
}

/// Shows a reservation.
#[utoipa::path(
    operation_id = "get_reservation", tag = "stock", params(Id),
    responses((status = 200, description = "The reservation.", body = Reservation))
)]
#[get("/v1/stock/reservations/{id}")]
pub async fn get_reservation(shop: web::Data<Shop>, id: Id, known: IfNoneMatch) -> Answer {
    let found = ask(&shop, move |shop| stock_lists::reservation(shop, id.0)).await?;
    record(found.version, &known, &found)
}

/// Gives a reservation back: what it kept can be had by others.
#[utoipa::path(
    operation_id = "release", tag = "stock", params(Id),
    responses((status = 200, description = "The reservation as it is now.", body = Reservation, headers(("ETag" = String, description = "Version and content of the reservation."))))
)]
#[post("/v1/stock/reservations/{id}/release")]
pub async fn release(shop: web::Data<Shop>, actor: Actor, id: Id, asked: Bare) -> Answer {
    let done = ask(&shop, move |shop| {
        stock_lists::reservation(shop, id.0)?;
        let key = asked.read(&actor)?;
        let run = |session: &mut _| stock::release(session, &By::now(&actor), id.0);
        Ok::<_, Problem>(shop.once(&key, run, |outcome| {
            reserved(200, outcome, |r| r.id == id.0)
        })?)
    });
    Ok(booked(&shop, done.await?))
}
