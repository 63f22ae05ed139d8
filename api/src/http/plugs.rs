//! Catalogue records.

use actix_web::{delete, get, patch, post, web};
use plugwell_domain::plug::{Plug, PlugData};
use uuid::Uuid;

use crate::http::answer::{Answer, ask, changed, created, gone, page, patched, record};
use crate::http::body::Patch;
use crate::http::etag::{IfMatch, IfNoneMatch};
use crate::http::match_answer::plug;
use crate::http::paging::{Page, PageQuery, Paging};
use crate::http::plug_query::PlugQuery;
use crate::http::query::CheckedQuery;
use crate::http::request::{Checked, Id, Unread};
use crate::service::{Shop, catalogue};

/// One page of records.
type PlugPage = Page<Plug>;
/// What a PATCH changes of a record.
type PlugPatch = Patch<PlugData>;

/// Lists records in the order they were stored, or by their ids in the order of those; retired ones are
/// left out unless asked for.
#[utoipa::path(
    operation_id = "list_plugs", tag = "catalogue", params(PageQuery, PlugQuery),
    responses((status = 200, description = "A page of records.", body = PlugPage))
)]
#[get("/v1/plugs")]
pub async fn list_plugs(
    shop: web::Data<Shop>,
    query: CheckedQuery<(Paging<Uuid>, PlugQuery)>,
) -> Answer {
    let CheckedQuery((paging, PlugQuery(wanted))) = query;
    let (after, limit) = (paging.after, paging.one_more());
    if !wanted.filter.ids.is_empty() {
        let found = ask(&shop, move |shop| catalogue::named(shop, &wanted)).await?;
        let policy = shop.policy();
        let items: Vec<_> = found.iter().map(|found| plug(found, &policy)).collect();
        let whole = Page {
            items,
            next_cursor: None,
        };
        return page(&whole, None);
    }
    let found = ask(&shop, move |shop| {
        catalogue::list(shop, &wanted, after, limit)
    })
    .await?;
    let policy = shop.policy();
    let (found, next) = paging.page(found, |plug| plug.id);
    page(&found.map(|found| plug(&found, &policy)), next)
}

/// Stores a new record.
#[utoipa::path(
    operation_id = "create_plug", tag = "catalogue", request_body = PlugData,
    responses(
        (status = 201, description = "The record.", body = Plug),
        (status = 409, description = "`duplicate_part`.")
    )
)]
#[post("/v1/plugs")]
pub async fn create_plug(shop: web::Data<Shop>, body: Checked<PlugData>) -> Answer {
    let made = ask(&shop, move |shop| catalogue::create(shop, &body.0)).await?;
    created(
        &shop,
        &format!("/v1/plugs/{}", made.id),
        made.version,
        &plug(&made, &shop.policy()),
    )
}

/// Shows a record.
#[utoipa::path(
    operation_id = "get_plug", tag = "catalogue", params(Id),
    responses((status = 200, description = "The record.", body = Plug))
)]
#[get("/v1/plugs/{id}")]
pub async fn get_plug(shop: web::Data<Shop>, id: Id, known: IfNoneMatch) -> Answer {
    let found = ask(&shop, move |shop| catalogue::get(shop, id.0)).await?;
    record(found.version, &known, &plug(&found, &shop.policy()))
}

/// Changes a record by a JSON merge patch; `retired` takes it out of lists and matches.
#[utoipa::path(
    operation_id = "patch_plug", tag = "catalogue", params(Id),
    request_body(content((PlugPatch = "application/json"), (PlugPatch = "application/merge-patch+json"))),
    responses((status = 200, description = "The record as it is now.", body = Plug))
)]
#[patch("/v1/plugs/{id}")]
pub async fn patch_plug(
    shop: web::Data<Shop>,
    id: Id,
    expected: IfMatch,
    body: Unread<Patch<PlugData>>,
) -> Answer {
    let now = patched(&shop, id, expected, body, catalogue::get, catalogue::patch).await?;
    changed(&shop, now.version, &plug(&now, &shop.policy()))
}

/// Removes a record that nothing has used; one with history is retired instead.
#[utoipa::path(
    operation_id = "delete_plug", tag = "catalogue", params(Id),
    responses((status = 204, description = "It is gone."), (status = 409, description = "`has_history`."))
)]
#[delete("/v1/plugs/{id}")]
pub async fn delete_plug(shop: web::Data<Shop>, id: Id, expected: IfMatch) -> Answer {
    ask(&shop, move |shop| {
        catalogue::remove(shop, id.0, |version| expected.check(version))
    })
    .await?;
    gone(&shop)
}
