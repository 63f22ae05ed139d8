//! Barcodes of parts.

use actix_web::{delete, get, post, web};
use plugwell_domain::scan::barcode::{Barcode, BarcodeData};
use uuid::Uuid;

use crate::http::answer::{Answer, ask, created, gone, page, record};
use crate::http::body::bodies;
use crate::http::etag::{IfMatch, IfNoneMatch};
use crate::http::paging::{Page, PageQuery, Paging};
use crate::http::problem::Problem;
use crate::http::query::CheckedQuery;
use crate::http::request::{Id, Unread};
use crate::service::{Actor, Shop, barcodes, catalogue};

bodies!(BarcodeData);

/// One page of barcodes.
type BarcodePage = Page<Barcode>;

/// Lists the barcodes that the shop attached to a part, in the order that it did; the part's own GTIN
/// stands in its record.
#[utoipa::path(
    operation_id = "list_barcodes", tag = "catalogue", params(Id, PageQuery),
    responses((status = 200, description = "A page of barcodes.", body = BarcodePage))
)]
#[get("/v1/plugs/{id}/barcodes")]
pub async fn list_barcodes(
    shop: web::Data<Shop>,
    id: Id,
    query: Result<CheckedQuery<Paging<Uuid>>, Problem>,
) -> Answer {
    let found = ask(&shop, move |shop| {
        catalogue::get(shop, id.0)?;
        let CheckedQuery(paging) = query?;
        let found = barcodes::list(shop, id.0, paging.after, paging.one_more())?;
        Ok::<_, Problem>(paging.page(found, |barcode| barcode.id))
    });
    let (found, next) = found.await?;
    page(&found, next)
}

/// Attaches a barcode to a part, with how many plugs are in what bears it.
#[utoipa::path(
    operation_id = "create_barcode", tag = "catalogue", params(Id), request_body = BarcodeData,
    responses(
        (status = 201, description = "The barcode.", body = Barcode),
        (status = 409, description = "`duplicate_record`: it is the barcode of a part already.")
    )
)]
#[post("/v1/plugs/{id}/barcodes")]
pub async fn create_barcode(
    shop: web::Data<Shop>,
    actor: Actor,
    id: Id,
    body: Unread<BarcodeData>,
) -> Answer {
    let made = ask(&shop, move |shop| {
        catalogue::get(shop, id.0)?;
        let data = body.read()?;
        Ok::<_, Problem>(barcodes::attach(shop, id.0, &data, &actor.name)?)
    });
    let made = made.await?;
    let at = format!("/v1/barcodes/{}", made.id);
    created(&shop, &at, made.version, &made)
}

/// Shows a barcode; it never changes.
#[utoipa::path(
    operation_id = "get_barcode", tag = "catalogue", params(Id),
    responses((status = 200, description = "The barcode.", body = Barcode))
)]
#[get("/v1/barcodes/{id}")]
pub async fn get_barcode(shop: web::Data<Shop>, id: Id, known: IfNoneMatch) -> Answer {
    let found = ask(&shop, move |shop| barcodes::get(shop, id.0)).await?;
    record(found.version, &known, &found)
}

/// Takes a barcode off its part.
#[utoipa::path(
    operation_id = "delete_barcode", tag = "catalogue", params(Id),
    responses((status = 204, description = "It is gone."))
)]
#[delete("/v1/barcodes/{id}")]
pub async fn delete_barcode(shop: web::Data<Shop>, id: Id, expected: IfMatch) -> Answer {
    ask(&shop, move |shop| {
        barcodes::remove(shop, id.0, |version| expected.check(version))
    })
    .await?;
    gone(&shop)
}
