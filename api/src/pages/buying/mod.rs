//! Buying: what to order, orders from the draft to the last plug, who delivers, and makers' heat scales
//! beside each other.

mod order;
mod order_form;
mod order_written;
mod orders;
mod proposal;
mod reorder;
mod suppliers;

use actix_web::web;
use plugwell_domain::ledger::Money;
use uuid::Uuid;

use crate::pages::figures::money;
use crate::pages::words::say;
use crate::pages::{at, form, posted};
use crate::service::{Refusal, Shop, catalogue};

/// Puts the pages into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config
        .service(form("/reorder", reorder::show, reorder::send))
        .service(at("/reorder/ordered", reorder::ordered))
        .service(at("/reorder/{id}/chart.svg", reorder::chart))
        .service(at("/orders", orders::show))
        .service(form("/orders/new", order_form::shown, order_form::send))
        .service(at("/orders/{id}", order::show))
        .service(at("/orders/{id}/print", order::print))
        .service(posted("/orders/{id}/state", order::step))
        .service(form(
            "/orders/{id}/change",
            order_form::shown,
            order_form::send,
        ))
        .service(form(
            "/orders/{id}/lines/{line}",
            order_form::shown,
            order_form::send,
        ))
        .service(at("/suppliers", suppliers::show));
}

/// The identifier that stands in a path.
fn id_of(text: &str, what: &'static str) -> Result<Uuid, Refusal> {
    text.parse().map_err(|_| Refusal::NotFound(what))
}

/// What a part is called.
fn part_name(shop: &Shop, id: Uuid) -> Result<String, Refusal> {
    catalogue::get(shop, id).map(|plug| crate::pages::part::name(&plug))
}

/// A sum of money, where there is one.
fn cost(cost: Option<&Money>) -> String {
    cost.map_or_else(
        || say("buying-not-said").to_owned(),
        |cost| money(cost.minor, &cost.currency),
    )
}
