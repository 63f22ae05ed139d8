//! Builds: customers' engines as built, over a head.

use actix_web::{delete, get, patch, post, web};
use plugwell_domain::build::Build;
use uuid::Uuid;

use crate::http::answer::{Answer, Record, ask, changed, created, gone, page, patched, record};
use crate::http::body::Patch;
use crate::http::etag::{IfMatch, IfNoneMatch};
use crate::http::paging::{Page, PageQuery, Paging};
use crate::http::query::CheckedQuery;
use crate::http::request::{Checked, Id, Unread};
use crate::service::{Shop, builds};

/// A stored build.
type BuildRecord = Record<Build>;
/// One page of builds.
type BuildPage = Page<BuildRecord>;
/// What a PATCH changes of a build.
type BuildPatch = Patch<Build>;

/// Lists builds in the order they were stored.
#[utoipa::path(
    operation_id = "list_builds", tag = "builds", params(PageQuery),
    responses((status = 200, description = "A page of builds.", body = BuildPage))
)]
#[get("/v1/builds")]
pub async fn list_builds(
    shop: web::Data<Shop>,
    CheckedQuery(paging): CheckedQuery<Paging<Uuid>>,
) -> Answer {
    let (after, limit) = (paging.after, paging.one_more());
    let found = ask(&shop, move |shop| builds::list(shop, after, limit)).await?;
    let (found, next) = paging.page(found, |build| build.id);
    page(&found.map(BuildRecord::from), next)
}

/// Stores a new build.
#[utoipa::path(
    operation_id = "create_build", tag = "builds", request_body = Build,
    responses((status = 201, description = "The build.", body = BuildRecord))
)]
#[post("/v1/builds")]
pub async fn create_build(shop: web::Data<Shop>, body: Checked<Build>) -> Answer {
    let made = ask(&shop, move |shop| builds::create(shop, &body.0)).await?;
    created(
        &shop,
        &format!("/v1/builds/{}", made.id),
        made.version,
        &BuildRecord::from(made),
    )
}

/// Shows a build.
#[utoipa::path(
    operation_id = "get_build", tag = "builds", params(Id),
    responses((status = 200, description = "The build.", body = BuildRecord))
)]
#[get("/v1/builds/{id}")]
pub async fn get_build(shop: web::Data<Shop>, id: Id, known: IfNoneMatch) -> Answer {
    let found = ask(&shop, move |shop| builds::get(shop, id.0)).await?;
    record(found.version, &known, &BuildRecord::from(found))
}

/// Changes a build by a JSON merge patch.
#[utoipa::path(
    operation_id = "patch_build", tag = "builds", params(Id),
    request_body(content((BuildPatch = "application/json"), (BuildPatch = "application/merge-patch+json"))),
    responses((status = 200, description = "The build as it is now.", body = BuildRecord))
)]
#[patch("/v1/builds/{id}")]
pub async fn patch_build(
    shop: web::Data<Shop>,
    id: Id,
    expected: IfMatch,
    body: Unread<BuildPatch>,
) -> Answer {
    let now = patched(&shop, id, expected, body, builds::get, builds::patch).await?;
    changed(&shop, now.version, &BuildRecord::from(now))
}

/// Removes a build that no movement, reservation, tuning day, reading or waiting job names.
#[utoipa::path(
    operation_id = "delete_build", tag = "builds", params(Id),
    responses((status = 204, description = "It is gone."), (status = 409, description = "`in_use`."))
)]
#[delete("/v1/builds/{id}")]
pub async fn delete_build(shop: web::Data<Shop>, id: Id, expected: IfMatch) -> Answer {
    ask(&shop, move |shop| {
        builds::remove(shop, id.0, |version| expected.check(version))
    })
    .await?;
    gone(&shop)
}
