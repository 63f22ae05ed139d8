//! Places: suppliers, bins, jobs, quarantine, scrap, difference.

use actix_web::{get, patch, post, web};
use plugwell_domain::ledger::commands::{NewPlace, PlaceName};
use plugwell_domain::ledger::{Place, PlaceKind};
use utoipa::IntoParams;
use uuid::Uuid;

use crate::http::answer::{Answer, ask, changed, created, page, patched, record};
use crate::http::body::Patch;
use crate::http::etag::{IfMatch, IfNoneMatch};
use crate::http::paging::{Page, PageQuery, Paging};
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::http::request::{Checked, Id, Unread};
use crate::service::{Shop, stock, stock_lists};

/// What a PATCH changes of a place.
type PlacePatch = Patch<PlaceName>;
/// One page of places.
type PlacePage = Page<Place>;

/// What a list of places is narrowed by.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct PlaceQuery {
    /// The kind.
    kind: Option<PlaceKind>,
    /// The code on the label: `P` and a running number.
    code: Option<String>,
}

impl FromQuery for PlaceQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            kind: members.word("kind"),
            code: members.text("code"),
        }
    }
}

/// Lists places in the order they were made.
#[utoipa::path(
    operation_id = "list_places", tag = "stock", params(PageQuery, PlaceQuery),
    responses((status = 200, description = "A page of places.", body = PlacePage))
)]
#[get("/v1/stock/places")]
pub async fn list_places(
    shop: web::Data<Shop>,
    query: CheckedQuery<(Paging<Uuid>, PlaceQuery)>,
) -> Answer {
    let CheckedQuery((paging, PlaceQuery { kind, code })) = query;
    let (after, limit) = (paging.after, paging.one_more());
    let found = ask(&shop, move |shop| {
        stock_lists::places(shop, kind, code.as_deref(), after, limit)
    })
    .await?;
    let (found, next) = paging.page(found, |place| place.id);
    page(&found, next)
}

/// Makes a place; suppliers and jobs are made by their first use as well.
#[utoipa::path(
    operation_id = "create_place", tag = "stock", request_body = NewPlace,
    responses(
        (status = 201, description = "The place.", body = Place),
        (status = 409, description = "`duplicate_record`.")
    )
)]
#[post("/v1/stock/places")]
pub async fn create_place(shop: web::Data<Shop>, body: Checked<NewPlace>) -> Answer {
    let made = ask(&shop, move |shop| stock::add_place(shop, &body.0)).await?;
    created(
        &shop,
        &format!("/v1/stock/places/{}", made.id),
        made.version,
        &made,
    )
}

/// Shows a place.
#[utoipa::path(
    operation_id = "get_place", tag = "stock", params(Id),
    responses((status = 200, description = "The place.", body = Place))
)]
#[get("/v1/stock/places/{id}")]
pub async fn get_place(shop: web::Data<Shop>, id: Id, known: IfNoneMatch) -> Answer {
    let found = ask(&shop, move |shop| stock_lists::place(shop, id.0)).await?;
    record(found.version, &known, &found)
}

/// Renames or retires a bin or a quarantine by a JSON merge patch. What is retired holds nothing.
#[utoipa::path(
    operation_id = "patch_place", tag = "stock", params(Id),
    request_body(content((PlacePatch = "application/json"), (PlacePatch = "application/merge-patch+json"))),
    responses(
        (status = 200, description = "The place as it is now.", body = Place),
        (status = 409, description = "`duplicate_record`; `in_use` with `lies`, `counts` and `incoming_checks`: the lots that lie in what is to be retired, the first twenty, the counts that have it, and the checks that wait there.")
    )
)]
#[patch("/v1/stock/places/{id}")]
pub async fn patch_place(
    shop: web::Data<Shop>,
    id: Id,
    expected: IfMatch,
    body: Unread<PlacePatch>,
) -> Answer {
    let now = patched(
        &shop,
        id,
        expected,
        body,
        stock_lists::place,
        stock::patch_place,
    )
    .await?;
    changed(&shop, now.version, &now)
}
