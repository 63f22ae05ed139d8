//! Barcodes that the shop attaches to a part, and takes off again.

use actix_web::{HttpRequest, HttpResponse, web};
use plugwell_domain::scan::barcode::BarcodeData;
use plugwell_domain::words::Role;
use serde_json::Value;

use crate::http::body::Body;
use crate::pages::answer::Reply;
use crate::pages::changing::{meant_for, told, version};
use crate::pages::field::add;
use crate::pages::form::{self, Declared, Form, field, needed};
use crate::pages::parts::{id, part, take};
use crate::pages::typed::Posted;
use crate::service::{Shop, barcodes, catalogue};

/// The fields of a new one.
pub(super) const FORM: &[Declared] = &[
    needed(field(
        "code",
        "parts-another-barcode",
        Form::Words,
        "parts-another-barcode-hint",
    )),
    field(
        "plugs",
        "parts-plugs-in-what-bears-it",
        Form::Counted(""),
        "parts-plugs-in-what-bears-it-hint",
    ),
];

/// Attaches a barcode.
pub(super) async fn attach(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    take(
        shop,
        request,
        posted,
        Role::Clerk,
        move |shop, frame, typed, actor| {
            let plug = catalogue::get(shop, id(&path, "part")?)?;
            let (map, mut wrong) = form::object(shop, FORM, typed)?;
            let status = match BarcodeData::check(Value::Object(map)) {
                Ok(data) if wrong.is_empty() => {
                    match barcodes::attach(shop, plug.id, &data, &actor.name) {
                        Ok(_) => {
                            return Ok(Reply::Elsewhere(format!("/parts/{}#barcodes", plug.id)));
                        }
                        Err(refusal) => told(&mut wrong, refusal)?,
                    }
                }
                Ok(_) => actix_web::http::StatusCode::BAD_REQUEST,
                Err(faults) => {
                    add(&mut wrong, &faults);
                    actix_web::http::StatusCode::BAD_REQUEST
                }
            };
            part::page(shop, frame, &plug, typed, &wrong, status)
        },
    )
    .await
}

/// Takes one off its part.
pub(super) async fn remove(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    take(
        shop,
        request,
        posted,
        Role::Clerk,
        move |shop, _, typed, _| {
            let barcode = barcodes::get(shop, id(&path, "barcode")?)?;
            barcodes::remove(shop, barcode.id, meant_for(version(typed)))?;
            Ok(Reply::Elsewhere(format!(
                "/parts/{}#barcodes",
                barcode.plug_id
            )))
        },
    )
    .await
}
