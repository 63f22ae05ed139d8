//! Jobs that wait for plugs that nothing in stock meets yet.

use std::borrow::Cow;

use actix_web::{delete, get, post, web};
use plugwell_domain::build::Build;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::waiting::{WaitingJobShown, WaitingState, job_fault};
use plugwell_store::WaitingFilter;
use serde::Deserialize;
use serde_json::Value;
use utoipa::openapi::{RefOr, Schema};
use utoipa::{IntoParams, PartialSchema, ToSchema};
use uuid::Uuid;

use crate::http::answer::{Answer, Record, ask, created, gone, page, record};
use crate::http::body::Body;
use crate::http::etag::{IfMatch, IfNoneMatch};
use crate::http::match_shapes::PostedRequirement;
use crate::http::matches::subject;
use crate::http::paging::{Page, PageQuery, Paging};
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::http::request::{Checked, Id};
use crate::service::waiting_jobs::{self, Wanted};
use crate::service::{Actor, Shop};

/// A waiting job.
type WaitingJobRecord = Record<WaitingJobShown>;
/// One page of waiting jobs.
type WaitingJobPage = Page<WaitingJobRecord>;

/// A job that is to wait: exactly one of `build`, `build_id` and `requirement`.
#[derive(Debug, Deserialize, ToSchema)]
pub struct WaitingRequest {
    /// The job, by name; case-blind it is the one that plugs are reserved for and issued to.
    #[schema(min_length = 1, max_length = 80)]
    job: String,
    /// The build, in full or over a stored head.
    #[serde(default)]
    build: Option<Build>,
    /// A stored build.
    #[serde(default)]
    build_id: Option<Uuid>,
    /// A requirement, as it was answered or as another program makes it.
    #[serde(default)]
    #[schema(value_type = Option<PostedRequirement>)]
    requirement: Option<Value>,
    /// Plugs wanted; the total of build or requirement where null, 1 where that has none.
    #[serde(default)]
    #[schema(minimum = 1, maximum = 1_000_000)]
    quantity: Option<i64>,
}

/// What a job is to wait for, understood.
#[derive(Debug)]
pub struct Asking(pub Wanted);

impl PartialSchema for Asking {
    fn schema() -> RefOr<Schema> {
        WaitingRequest::schema()
    }
}

impl ToSchema for Asking {
    fn name() -> Cow<'static, str> {
        WaitingRequest::name()
    }

    fn schemas(schemas: &mut Vec<(String, RefOr<Schema>)>) {
        WaitingRequest::schemas(schemas);
    }
}

impl Body for Asking {
    fn read(value: Value) -> Result<Self, Vec<Fault>> {
        let request: WaitingRequest = serde_json::from_value(value)
            .map_err(|e| vec![Fault::at("", FaultCode::WrongForm, e.to_string())])?;
        let given = [
            ("build", request.build.is_some()),
            ("build_id", request.build_id.is_some()),
            ("requirement", request.requirement.is_some()),
        ];
        let asked = subject(
            &given,
            request.build,
            request.build_id,
            request.requirement,
            None,
        );
        match (job_fault(&request.job), asked) {
            (None, Ok(subject)) => Ok(Self(Wanted {
                job: request.job,
                subject,
                quantity: request.quantity,
            })),
            (fault, asked) => Err(fault
                .into_iter()
                .chain(asked.err().into_iter().flatten())
                .collect()),
        }
    }
}

/// What a list of waiting jobs is narrowed by.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct WaitingQuery {
    /// The job, case-blind.
    job: Option<String>,
    /// Where it stands; without it all but those that are closed.
    state: Option<WaitingState>,
}

impl FromQuery for WaitingQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            job: members.text("job"),
            state: members.word("state"),
        }
    }
}

/// Lists the jobs that wait, in the order in which they asked: first come, first served.
#[utoipa::path(
    operation_id = "list_waiting_jobs", tag = "stock", params(PageQuery, WaitingQuery),
    responses((status = 200, description = "A page of waiting jobs.", body = WaitingJobPage))
)]
#[get("/v1/waiting-jobs")]
pub async fn list_waiting_jobs(
    shop: web::Data<Shop>,
    query: CheckedQuery<(Paging<Uuid>, WaitingQuery)>,
) -> Answer {
    let CheckedQuery((paging, WaitingQuery { job, state })) = query;
    let filter = WaitingFilter { job, state };
    let (after, limit) = (paging.after, paging.one_more());
    let found = ask(&shop, move |shop| {
        waiting_jobs::list(shop, &filter, after, limit)
    });
    let (found, next) = paging.page(found.await?, |own| own.id);
    page(&found.map(WaitingJobRecord::from), next)
}

/// Lets a job wait for plugs. Once a receipt, release, return or anything else makes them possible, an event
/// tells it; reserving them for the job, or issuing them to it, ends the waiting.
#[utoipa::path(
    operation_id = "ask_for_plugs", tag = "stock", request_body = WaitingRequest,
    responses((status = 201, description = "The waiting job; `possible` where it need not wait.", body = WaitingJobRecord))
)]
#[post("/v1/waiting-jobs")]
pub async fn ask_for_plugs(shop: web::Data<Shop>, actor: Actor, body: Checked<Asking>) -> Answer {
    let made = ask(&shop, move |shop| {
        waiting_jobs::ask(shop, &actor, &body.0.0)
    })
    .await?;
    created(
        &shop,
        &format!("/v1/waiting-jobs/{}", made.id),
        made.version,
        &WaitingJobRecord::from(made),
    )
}

/// Shows a waiting job, also one that has got its plugs.
#[utoipa::path(
    operation_id = "get_waiting_job", tag = "stock", params(Id),
    responses((status = 200, description = "The waiting job.", body = WaitingJobRecord))
)]
#[get("/v1/waiting-jobs/{id}")]
pub async fn get_waiting_job(shop: web::Data<Shop>, id: Id, known: IfNoneMatch) -> Answer {
    let found = ask(&shop, move |shop| waiting_jobs::get(shop, id.0)).await?;
    record(found.version, &known, &WaitingJobRecord::from(found))
}

/// Calls a waiting job off: those behind it move up.
#[utoipa::path(
    operation_id = "delete_waiting_job", tag = "stock", params(Id),
    responses((status = 204, description = "It is gone."))
)]
#[delete("/v1/waiting-jobs/{id}")]
pub async fn delete_waiting_job(shop: web::Data<Shop>, id: Id, expected: IfMatch) -> Answer {
    ask(&shop, move |shop| {
        waiting_jobs::remove(shop, id.0, |version| expected.check(version))
    })
    .await?;
    gone(&shop)
}
