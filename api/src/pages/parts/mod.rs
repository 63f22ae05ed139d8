//! What is known of parts, lots, places and suppliers.

mod barcodes;
mod catalogue;
mod change;
mod compare;
mod equal;
mod lot;
mod part;
mod place;
mod record;
mod reordering;
mod supplier;

use actix_web::http::StatusCode;
use actix_web::web;
use plugwell_domain::attribute::{Attr, Kind};
use plugwell_domain::plug::PlugData;
use uuid::Uuid;

use crate::pages::answer::Reply;
use crate::pages::asking::{look, take};
use crate::pages::figures;
use crate::pages::words::say;
use crate::pages::{at, form, posted};
use crate::service::Refusal;
use crate::shown::of_record;

/// Puts the pages into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config
        .service(form("/parts/new", change::new, change::create))
        .service(at("/parts/{id}", part::show))
        .service(form("/parts/{id}/change", change::old, change::change))
        .service(posted("/parts/{id}/delete", change::delete))
        .service(posted("/parts/{id}/barcodes", barcodes::attach))
        .service(posted("/barcodes/{id}/remove", barcodes::remove))
        .service(form(
            "/parts/{id}/reordering",
            reordering::show,
            reordering::send,
        ))
        .service(at("/compare", compare::show))
        .service(at("/catalogue", catalogue::show))
        .service(at("/catalogue.csv", catalogue::table))
        .service(at("/lots/{id}", lot::show))
        .service(at("/lots/{id}/life.svg", lot::picture))
        .service(at("/places/{id}", place::show))
        .service(form("/places/{id}/change", place::old, place::change))
        .service(at("/suppliers/{id}", supplier::show))
        .service(form(
            "/suppliers/{id}/change",
            supplier::old,
            supplier::change,
        ));
}

/// The identifier in a path.
fn id(text: &str, what: &'static str) -> Result<Uuid, Refusal> {
    text.parse().map_err(|_| Refusal::NotFound(what))
}

/// A page that is as it should be.
fn fine(template: &impl askama::Template) -> Result<Reply, Refusal> {
    Reply::page(StatusCode::OK, template)
}

/// What a record says of an attribute, with its unit and in the other that people use.
fn value(data: &PlugData, attr: Attr) -> String {
    let Some(raw) = data.facts.get(attr) else {
        return say("pages-unknown").to_owned();
    };
    match attr.declared().kind {
        Kind::Number {
            unit: "mm" | "km", ..
        } => of_record(data, attr),
        Kind::Number { unit, decimals, .. } => {
            let number = plugwell_domain::decimal::as_f64(raw, decimals);
            figures::both(number, unit).unwrap_or_else(|| attr.show(raw))
        }
        Kind::Flag | Kind::Choice(_) => attr.show(raw),
    }
}
