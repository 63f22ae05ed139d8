//! Counts of bins: a blind sheet, numbers from a clerk, a manager's approval.

use actix_web::{HttpRequest, get, patch, post, web};
use plugwell_domain::fault::Fault;
use plugwell_domain::ledger::counting::{
    Count, CountApproval, CountHead, CountState, Counting, NewCount, ShownCount,
};
use plugwell_domain::ledger::{Movement, Reservation};
use plugwell_store::CountFilter;
use serde::Serialize;
use serde_json::Value;
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::drawing::count_sheet::{CountPaper, STYLE, count_sheet};
use crate::http::accept::preferred;
use crate::http::answer::{Answer, ask, by_accept, changed, created, page, record, sheet};
use crate::http::body::{Body, bodies, checked};
use crate::http::etag::{IfMatch, IfNoneMatch};
use crate::http::once::{booked, kept};
use crate::http::paging::{Page, PageQuery, Paging};
use crate::http::problem::Problem;
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::http::request::{Checked, Id, Optional, Unread};
use crate::service::counts::{self, ApprovedNow};
use crate::service::stock::By;
use crate::service::{Actor, Shop};
use crate::shown::{Reader, for_reader};

bodies!(NewCount, CountApproval);

impl Body for Counting {
    const MEDIA: &'static [&'static str] = &["application/json", "application/merge-patch+json"];

    fn read(value: Value) -> Result<Self, Vec<Fault>> {
        checked(value)
    }
}

/// One page of counts.
type CountPage = Page<CountHead>;

/// What a list of counts is narrowed by.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct CountQuery {
    /// Where it stands.
    state: Option<CountState>,
    /// A bin that it counts.
    place_id: Option<Uuid>,
}

impl FromQuery for CountQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            state: members.word("state"),
            place_id: members.parsed("place_id", "a UUID"),
        }
    }
}

/// Lists counts, the newest first, without their lines.
#[utoipa::path(
    operation_id = "list_counts", tag = "stock", params(PageQuery, CountQuery),
    responses((status = 200, description = "A page of counts.", body = CountPage))
)]
#[get("/v1/stock/counts")]
pub async fn list_counts(
    shop: web::Data<Shop>,
    query: CheckedQuery<(Paging<Uuid>, CountQuery)>,
) -> Answer {
    let CheckedQuery((paging, CountQuery { state, place_id })) = query;
    let filter = CountFilter { state, place_id };
    let (before, limit) = (paging.after, paging.one_more());
    let found = ask(&shop, move |shop| {
        counts::list(shop, &filter, before, limit)
    })
    .await?;
    let (found, next) = paging.page(found, |count| count.id);
    page(&found, next)
}

fn shown(shop: &Shop, actor: &Actor, count: &Count) -> ShownCount {
    ShownCount::of(count, &shop.policy().values.currency.value, actor.role)
}

/// Begins a count: a line for every lot that the bins hold, blind. Nothing is frozen.
#[utoipa::path(
    operation_id = "begin_count", tag = "stock", request_body = NewCount,
    responses(
        (status = 201, description = "The count.", body = ShownCount),
        (status = 409, description = "`place_being_counted` with `places`, `nothing_to_count`.")
    )
)]
#[post("/v1/stock/counts")]
pub async fn begin_count(shop: web::Data<Shop>, actor: Actor, body: Checked<NewCount>) -> Answer {
    let by = actor.clone();
    let made = ask(&shop, move |shop| {
        shop.write(|session| counts::begin(session, &By::now(&by), &body.0))
    });
    let made = made.await?;
    let at = format!("/v1/stock/counts/{}", made.id);
    created(&shop, &at, made.version, &shown(&shop, &actor, &made))
}

/// On which paper.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct SheetQuery {
    /// The paper of the printed form: `a4` where it is not said, or `letter`.
    #[param(value_type = Option<String>, pattern = "^(a4|letter)$")]
    paper: Option<CountPaper>,
}

impl FromQuery for SheetQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            paper: members.word("paper"),
        }
    }
}

/// Shows a count; as a blind sheet for print and phone where HTML is accepted.
#[utoipa::path(
    operation_id = "get_count", tag = "stock", params(Id, SheetQuery),
    responses(
        (status = 200, description = "The count, or its sheet.", content(
            (ShownCount = "application/json"), (String = "text/html")
        )),
        (status = 406, description = "`not_acceptable`.")
    )
)]
#[get("/v1/stock/counts/{id}")]
pub async fn get_count(
    shop: web::Data<Shop>,
    actor: Actor,
    id: Id,
    query: Result<CheckedQuery<SheetQuery>, Problem>,
    known: IfNoneMatch,
    request: HttpRequest,
) -> Answer {
    let form = preferred(&request, &["application/json", "text/html"]);
    let made = ask(&shop, move |shop| {
        let count = counts::get(shop, id.0)?;
        let (form, CheckedQuery(query)) = (form?, query?);
        if form != "text/html" {
            return Ok::<_, Problem>(Ok(count));
        }
        let paper = query.paper.unwrap_or_default();
        let sheet = counts::sheet(shop, id.0)?;
        let html = for_reader(Reader::of(&shop.policy()), || count_sheet(&sheet, paper));
        Ok(Err(
            html.map_err(|e| Problem::internal(format!("sheet: {e}")))?
        ))
    });
    match made.await? {
        Ok(count) => record(count.version, &known, &shown(&shop, &actor, &count)).map(by_accept),
        Err(html) => Ok(sheet(html, STYLE)),
    }
}

/// Counts lines, each against its level at this instant, also of lots that the sheet lacks; closes the
/// sheet, opens it again or calls the count off.
#[utoipa::path(
    operation_id = "patch_count", tag = "stock", params(Id),
    request_body(content((Counting = "application/json"), (Counting = "application/merge-patch+json"))),
    responses(
        (status = 200, description = "The count as it is now.", body = ShownCount),
        (status = 409, description = "`count_closed`, `count_incomplete` with `lines`.")
    )
)]
#[patch("/v1/stock/counts/{id}")]
pub async fn patch_count(
    shop: web::Data<Shop>,
    actor: Actor,
    id: Id,
    expected: IfMatch,
    body: Unread<Counting>,
) -> Answer {
    let by = actor.clone();
    let now = ask(&shop, move |shop| {
        counts::get(shop, id.0)?;
        let asked = body.read()?;
        let policy = shop.policy();
        Ok::<_, Problem>(shop.write(|session| {
            let expected = |version| expected.check(version);
            counts::change(session, &By::now(&by), &policy, id.0, expected, &asked)
        })?)
    });
    let now = now.await?;
    changed(&shop, now.version, &shown(&shop, &actor, &now))
}

/// What an approval did.
#[derive(Debug, Serialize, ToSchema)]
pub struct CountApproved {
    /// The count as it is now.
    #[serde(flatten)]
    count: ShownCount,
    /// The differences that were booked.
    movements: Vec<Movement>,
    /// Reservations whose state changed with them.
    reservations: Vec<Reservation>,
}

/// Approves a count: books what differs as movements of kind `difference`, whatever has moved since it was
/// counted. A version in `If-Match` is checked.
#[utoipa::path(
    operation_id = "approve_count", tag = "stock", params(Id), request_body = Option<CountApproval>,
    responses(
        (status = 200, description = "The count as it is now, with what was booked.", body = CountApproved),
        (status = 409, description = "`count_closed`; `count_incomplete`, `recount_asked`, `count_overtaken` with `lines`."),
        (status = 412, description = "`stale`.")
    )
)]
#[post("/v1/stock/counts/{id}/approval")]
pub async fn approve_count(
    shop: web::Data<Shop>,
    actor: Actor,
    id: Id,
    expected: IfMatch,
    asked: Optional<CountApproval>,
) -> Answer {
    let done = ask(&shop, move |shop| {
        counts::get(shop, id.0)?;
        let (key, approval) = asked.read(&actor)?;
        let run = |session: &mut _| {
            let expected = |version| expected.check_given(version);
            counts::approve(session, &By::now(&actor), id.0, expected, &approval)
        };
        Ok::<_, Problem>(shop.once(&key, run, |done: &ApprovedNow| {
            kept(200, None, &approved(shop, &actor, done))
        })?)
    });
    Ok(booked(&shop, done.await?))
}

fn approved(shop: &Shop, actor: &Actor, done: &ApprovedNow) -> CountApproved {
    CountApproved {
        count: shown(shop, actor, &done.count),
        movements: done.movements.clone(),
        reservations: done.reservations.clone(),
    }
}
