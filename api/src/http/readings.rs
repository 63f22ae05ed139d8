//! Readings: plugs looked at after a run, judged once and kept.

use actix_web::{get, post, web};
use plugwell_domain::reading::{Reading, ShownReading};
use plugwell_store::ReadingFilter;
use utoipa::IntoParams;
use uuid::Uuid;

use crate::http::answer::{Answer, Record, ask, created, page, record};
use crate::http::body::bodies;
use crate::http::etag::IfNoneMatch;
use crate::http::paging::{Page, PageQuery, Paging};
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::http::request::{Checked, Id};
use crate::service::stock::By;
use crate::service::{Actor, Shop, readings};

bodies!(Reading);

/// A stored reading.
type ReadingRecord = Record<ShownReading>;
/// One page of readings.
type ReadingPage = Page<ReadingRecord>;

/// What a list of readings is narrowed by.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct ReadingQuery {
    /// The build: its history.
    build_id: Option<Uuid>,
    /// The tuning day.
    tuning_day_id: Option<Uuid>,
    /// Whether they count as evidence.
    evidence: Option<bool>,
}

impl FromQuery for ReadingQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            build_id: members.parsed("build_id", "a UUID"),
            tuning_day_id: members.parsed("tuning_day_id", "a UUID"),
            evidence: members.flag("evidence"),
        }
    }
}

/// Lists readings, the newest first, each with its plug and heat beside it.
#[utoipa::path(
    operation_id = "list_readings", tag = "readings", params(PageQuery, ReadingQuery),
    responses((status = 200, description = "A page of readings.", body = ReadingPage))
)]
#[get("/v1/readings")]
pub async fn list_readings(
    shop: web::Data<Shop>,
    query: CheckedQuery<(Paging<Uuid>, ReadingQuery)>,
) -> Answer {
    let CheckedQuery((paging, given)) = query;
    let filter = ReadingFilter {
        build_id: given.build_id,
        tuning_day_id: given.tuning_day_id,
        evidence: given.evidence,
        ..ReadingFilter::default()
    };
    let (before, limit) = (paging.after, paging.one_more());
    let found = ask(&shop, move |shop| {
        readings::list(shop, &filter, before, limit)
    });
    let (found, next) = paging.page(found.await?, |reading| reading.id);
    page(&found.map(ReadingRecord::from), next)
}

/// Keeps a reading: judged as evidence, with what it suggests in words.
#[utoipa::path(
    operation_id = "record_reading", tag = "readings", request_body = Reading,
    responses((status = 201, description = "The reading and what is made of it.", body = ReadingRecord))
)]
#[post("/v1/readings")]
pub async fn record_reading(shop: web::Data<Shop>, actor: Actor, body: Checked<Reading>) -> Answer {
    let made = ask(&shop, move |shop| {
        let policy = shop.policy();
        shop.write(|session| readings::record(session, &By::now(&actor), &policy, &body.0))
    });
    let made = made.await?;
    created(
        &shop,
        &format!("/v1/readings/{}", made.id),
        made.version,
        &ReadingRecord::from(made),
    )
}

/// Shows a reading; it never changes, what its plug's record says beside it may.
#[utoipa::path(
    operation_id = "get_reading", tag = "readings", params(Id),
    responses((status = 200, description = "The reading.", body = ReadingRecord))
)]
#[get("/v1/readings/{id}")]
pub async fn get_reading(shop: web::Data<Shop>, id: Id, known: IfNoneMatch) -> Answer {
    let found = ask(&shop, move |shop| readings::get(shop, id.0)).await?;
    record(found.version, &known, &ReadingRecord::from(found))
}
