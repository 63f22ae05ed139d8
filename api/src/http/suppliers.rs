//! Suppliers: who delivers, and what is known of them.

use actix_web::{get, patch, post, web};
use plugwell_domain::fault::Fault;
use plugwell_domain::order::{Supplier, SupplierData};
use serde_json::Value;
use utoipa::IntoParams;
use uuid::Uuid;

use crate::http::answer::{Answer, ask, changed, created, page, patched, record};
use crate::http::body::{Body, Patch, checked};
use crate::http::etag::{IfMatch, IfNoneMatch};
use crate::http::paging::{Page, PageQuery, Paging};
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::http::request::{Checked, Id, Unread};
use crate::service::{Shop, suppliers};

impl Body for SupplierData {
    const FLAGS: &'static [(&'static str, &'static str)] =
        &[("retired", "Nothing more is ordered from it.")];

    fn read(value: Value) -> Result<Self, Vec<Fault>> {
        checked(value)
    }
}

/// One page of suppliers.
type SupplierPage = Page<Supplier>;
/// What a PATCH changes of a supplier.
type SupplierPatch = Patch<SupplierData>;

/// What a list of suppliers is narrowed by.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct SupplierQuery {
    /// The name, case-blind.
    name: Option<String>,
}

impl FromQuery for SupplierQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            name: members.text("name"),
        }
    }
}

/// Lists suppliers in the order that they were made in; a receipt or an order makes them as well.
#[utoipa::path(
    operation_id = "list_suppliers", tag = "stock", params(PageQuery, SupplierQuery),
    responses((status = 200, description = "A page of suppliers.", body = SupplierPage))
)]
#[get("/v1/suppliers")]
pub async fn list_suppliers(
    shop: web::Data<Shop>,
    query: CheckedQuery<(Paging<Uuid>, SupplierQuery)>,
) -> Answer {
    let CheckedQuery((paging, SupplierQuery { name })) = query;
    let (after, limit) = (paging.after, paging.one_more());
    let found = ask(&shop, move |shop| {
        suppliers::list(shop, name.as_deref(), after, limit)
    });
    let (found, next) = paging.page(found.await?, |supplier| supplier.id);
    page(&found, next)
}

/// Enters a supplier.
#[utoipa::path(
    operation_id = "create_supplier", tag = "stock", request_body = SupplierData,
    responses(
        (status = 201, description = "The supplier.", body = Supplier),
        (status = 409, description = "`duplicate_record`.")
    )
)]
#[post("/v1/suppliers")]
pub async fn create_supplier(shop: web::Data<Shop>, body: Checked<SupplierData>) -> Answer {
    let made = ask(&shop, move |shop| suppliers::create(shop, &body.0)).await?;
    let at = format!("/v1/suppliers/{}", made.id);
    created(&shop, &at, made.version, &made)
}

/// Shows a supplier.
#[utoipa::path(
    operation_id = "get_supplier", tag = "stock", params(Id),
    responses((status = 200, description = "The supplier.", body = Supplier))
)]
#[get("/v1/suppliers/{id}")]
pub async fn get_supplier(shop: web::Data<Shop>, id: Id, known: IfNoneMatch) -> Answer {
    let found = ask(&shop, move |shop| suppliers::get(shop, id.0)).await?;
    record(found.version, &known, &found)
}

/// Changes what is known of a supplier, renames or retires it, by a JSON merge patch.
#[utoipa::path(
    operation_id = "patch_supplier", tag = "stock", params(Id),
    request_body(content((SupplierPatch = "application/json"), (SupplierPatch = "application/merge-patch+json"))),
    responses(
        (status = 200, description = "The supplier as it is now.", body = Supplier),
        (status = 409, description = "`duplicate_record`.")
    )
)]
#[patch("/v1/suppliers/{id}")]
pub async fn patch_supplier(
    shop: web::Data<Shop>,
    id: Id,
    expected: IfMatch,
    body: Unread<SupplierPatch>,
) -> Answer {
    let now = patched(&shop, id, expected, body, suppliers::get, suppliers::patch).await?;
    changed(&shop, now.version, &now)
}
