//! Makers' heat codes along the neutral index, typed in or calibrated.

use actix_web::{delete, get, patch, post, web};
use plugwell_domain::calibration::CalibrationRequest;
use plugwell_domain::heat_scale::{HeatScale, HeatScaleData};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use crate::http::answer::{Answer, ask, changed, created, gone, ok, page, patched, record, stored};
use crate::http::body::{Patch, bodies};
use crate::http::etag::{IfMatch, IfNoneMatch};
use crate::http::paging::{Page, PageQuery, Paging};
use crate::http::query::CheckedQuery;
use crate::http::request::{Checked, Id, Unread};
use crate::service::scales::{Calibrating, Followed};
use crate::service::{Actor, Shop, scales};

bodies!(CalibrationRequest);

/// One page of scales.
type HeatScalePage = Page<HeatScale>;
/// What a PATCH changes of a scale.
type HeatScalePatch = Patch<HeatScaleData>;

/// A scale as it is now, and what followed it.
#[derive(Serialize, ToSchema)]
struct ChangedHeatScale {
    #[serde(flatten)]
    scale: HeatScale,
    changed: Followed,
}

/// Lists heat scales in the order they were stored.
#[utoipa::path(
    operation_id = "list_heat_scales", tag = "catalogue", params(PageQuery),
    responses((status = 200, description = "A page of scales.", body = HeatScalePage))
)]
#[get("/v1/heat-scales")]
pub async fn list_heat_scales(
    shop: web::Data<Shop>,
    CheckedQuery(paging): CheckedQuery<Paging<Uuid>>,
) -> Answer {
    let (after, limit) = (paging.after, paging.one_more());
    let found = ask(&shop, move |shop| scales::list(shop, after, limit)).await?;
    let (found, next) = paging.page(found, |scale| scale.id);
    page(&found, next)
}

/// Stores a new heat scale.
#[utoipa::path(
    operation_id = "create_heat_scale", tag = "catalogue", request_body = HeatScaleData,
    responses(
        (status = 201, description = "The scale.", body = HeatScale),
        (status = 409, description = "`duplicate_record`.")
    )
)]
#[post("/v1/heat-scales")]
pub async fn create_heat_scale(shop: web::Data<Shop>, body: Checked<HeatScaleData>) -> Answer {
    let made = ask(&shop, move |shop| scales::create(shop, &body.0)).await?;
    created(
        &shop,
        &format!("/v1/heat-scales/{}", made.id),
        made.version,
        &made,
    )
}

/// Shows a heat scale.
#[utoipa::path(
    operation_id = "get_heat_scale", tag = "catalogue", params(Id),
    responses((status = 200, description = "The scale.", body = HeatScale))
)]
#[get("/v1/heat-scales/{id}")]
pub async fn get_heat_scale(shop: web::Data<Shop>, id: Id, known: IfNoneMatch) -> Answer {
    let found = ask(&shop, move |shop| scales::get(shop, id.0)).await?;
    record(found.version, &known, &found)
}

/// Changes a heat scale by a JSON merge patch; the parts that carry its codes follow.
#[utoipa::path(
    operation_id = "patch_heat_scale", tag = "catalogue", params(Id),
    request_body(content((HeatScalePatch = "application/json"), (HeatScalePatch = "application/merge-patch+json"))),
    responses((status = 200, description = "The scale as it is now, with the parts that followed it and what holds those.", body = ChangedHeatScale))
)]
#[patch("/v1/heat-scales/{id}")]
pub async fn patch_heat_scale(
    shop: web::Data<Shop>,
    id: Id,
    expected: IfMatch,
    body: Unread<HeatScalePatch>,
) -> Answer {
    let scales::Changed { scale, followed } =
        patched(&shop, id, expected, body, scales::get, scales::patch).await?;
    let version = scale.version;
    let body = ChangedHeatScale {
        scale,
        changed: followed,
    };
    changed(&shop, version, &body)
}

/// Removes a heat scale that no part names.
#[utoipa::path(
    operation_id = "delete_heat_scale", tag = "catalogue", params(Id),
    responses((status = 204, description = "It is gone."), (status = 409, description = "`in_use`."))
)]
#[delete("/v1/heat-scales/{id}")]
pub async fn delete_heat_scale(shop: web::Data<Shop>, id: Id, expected: IfMatch) -> Answer {
    ask(&shop, move |shop| {
        scales::remove(shop, id.0, |version| expected.check(version))
    })
    .await?;
    gone(&shop)
}

/// Fits heat scales to one that stands, from statements that two codes are as cold as each other;
/// stores the result only with `apply: true`, which takes a manager.
#[utoipa::path(
    operation_id = "calibrate_heat_scales", tag = "catalogue", request_body = CalibrationRequest,
    responses(
        (status = 200, description = "What was found; nothing is stored.", body = Calibrating),
        (status = 201, description = "What was found and applied, with the parts that followed.", body = Calibrating),
        (status = 409, description = "`calibration_changed`, `scale_flattened`.")
    )
)]
#[post("/v1/heat-scales/calibrations")]
pub async fn calibrate_heat_scales(
    shop: web::Data<Shop>,
    actor: Actor,
    body: Checked<CalibrationRequest>,
) -> Answer {
    let found = ask(&shop, move |shop| {
        scales::calibrate(shop, actor.role, &body.0)
    })
    .await?;
    match found.followed {
        Some(_) => stored(&shop, "/v1/heat-scales", &found),
        None => ok(&found),
    }
}
