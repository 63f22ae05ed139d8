//! Cylinder heads: what they take.

use actix_web::{delete, get, patch, post, web};
use plugwell_domain::build::Head;
use uuid::Uuid;

use crate::http::answer::{Answer, Record, ask, changed, created, gone, page, patched, record};
use crate::http::body::Patch;
use crate::http::etag::{IfMatch, IfNoneMatch};
use crate::http::paging::{Page, PageQuery, Paging};
use crate::http::query::CheckedQuery;
use crate::http::request::{Checked, Id, Unread};
use crate::service::{Shop, heads};

/// A stored head.
type HeadRecord = Record<Head>;
/// One page of heads.
type HeadPage = Page<HeadRecord>;
/// What a PATCH changes of a head.
type HeadPatch = Patch<Head>;

/// Lists heads in the order they were stored.
#[utoipa::path(
    operation_id = "list_heads", tag = "builds", params(PageQuery),
    responses((status = 200, description = "A page of heads.", body = HeadPage))
)]
#[get("/v1/heads")]
pub async fn list_heads(
    shop: web::Data<Shop>,
    CheckedQuery(paging): CheckedQuery<Paging<Uuid>>,
) -> Answer {
    let (after, limit) = (paging.after, paging.one_more());
    let found = ask(&shop, move |shop| heads::list(shop, after, limit)).await?;
    let (found, next) = paging.page(found, |head| head.id);
    page(&found.map(HeadRecord::from), next)
}

/// Stores a new head.
#[utoipa::path(
    operation_id = "create_head", tag = "builds", request_body = Head,
    responses((status = 201, description = "The head.", body = HeadRecord))
)]
#[post("/v1/heads")]
pub async fn create_head(shop: web::Data<Shop>, body: Checked<Head>) -> Answer {
    let made = ask(&shop, move |shop| heads::create(shop, &body.0)).await?;
    created(
        &shop,
        &format!("/v1/heads/{}", made.id),
        made.version,
        &HeadRecord::from(made),
    )
}

/// Shows a head.
#[utoipa::path(
    operation_id = "get_head", tag = "builds", params(Id),
    responses((status = 200, description = "The head.", body = HeadRecord))
)]
#[get("/v1/heads/{id}")]
pub async fn get_head(shop: web::Data<Shop>, id: Id, known: IfNoneMatch) -> Answer {
    let found = ask(&shop, move |shop| heads::get(shop, id.0)).await?;
    record(found.version, &known, &HeadRecord::from(found))
}

/// Changes a head by a JSON merge patch.
#[utoipa::path(
    operation_id = "patch_head", tag = "builds", params(Id),
    request_body(content((HeadPatch = "application/json"), (HeadPatch = "application/merge-patch+json"))),
    responses((status = 200, description = "The head as it is now.", body = HeadRecord))
)]
#[patch("/v1/heads/{id}")]
pub async fn patch_head(
    shop: web::Data<Shop>,
    id: Id,
    expected: IfMatch,
    body: Unread<HeadPatch>,
) -> Answer {
    let now = patched(&shop, id, expected, body, heads::get, heads::patch).await?;
    changed(&shop, now.version, &HeadRecord::from(now))
}

/// Removes a head that no build stands on.
#[utoipa::path(
    operation_id = "delete_head", tag = "builds", params(Id),
    responses((status = 204, description = "It is gone."), (status = 409, description = "`in_use`."))
)]
#[delete("/v1/heads/{id}")]
pub async fn delete_head(shop: web::Data<Shop>, id: Id, expected: IfMatch) -> Answer {
    ask(&shop, move |shop| {
        heads::remove(shop, id.0, |version| expected.check(version))
    })
    .await?;
    gone(&shop)
}
