//! What the shop gives by hand for the reordering of a part.

use actix_web::{get, patch, web};
use plugwell_domain::reorder::Reordering;

use crate::http::answer::{Answer, Record, ask, changed, patched, record};
use crate::http::body::{Patch, bodies};
use crate::http::etag::{IfMatch, IfNoneMatch};
use crate::http::request::{Id, Unread};
use crate::service::{Shop, reordering};

bodies!(Reordering);

/// What is given for a part; `id` is the part's.
type ReorderingRecord = Record<Reordering>;
/// What a PATCH changes of it.
type ReorderingPatch = Patch<Reordering>;

/// Shows what is given by hand for a part; at version 1 and all null where nobody has given anything.
#[utoipa::path(
    operation_id = "get_reordering", tag = "orders", params(Id),
    responses((status = 200, description = "What is given.", body = ReorderingRecord))
)]
#[get("/v1/plugs/{id}/reordering")]
pub async fn get_reordering(shop: web::Data<Shop>, id: Id, known: IfNoneMatch) -> Answer {
    let found = ask(&shop, move |shop| reordering::given(shop, id.0)).await?;
    record(found.version, &known, &ReorderingRecord::from(found))
}

/// Changes by a JSON merge patch what is given by hand for a part; null gives a matter back to what is
/// measured and to the policy.
#[utoipa::path(
    operation_id = "patch_reordering", tag = "orders", params(Id),
    request_body(content((ReorderingPatch = "application/json"), (ReorderingPatch = "application/merge-patch+json"))),
    responses((status = 200, description = "What is given now.", body = ReorderingRecord))
)]
#[patch("/v1/plugs/{id}/reordering")]
pub async fn patch_reordering(
    shop: web::Data<Shop>,
    id: Id,
    expected: IfMatch,
    body: Unread<ReorderingPatch>,
) -> Answer {
    let now = patched(
        &shop,
        id,
        expected,
        body,
        reordering::given,
        reordering::give,
    )
    .await?;
    changed(&shop, now.version, &ReorderingRecord::from(now))
}
