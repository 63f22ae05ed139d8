//! What the shop knows: tables in and out, statements, the policy, people, and who is told of events.

mod badge;
mod deliveries;
mod exporting;
mod importing;
mod looked_at;
mod people;
mod person;
mod policy;
mod policy_fields;
mod policy_form;
mod roles;
mod stand_ins;
mod statement;
mod webhook;
mod webhooks;

use actix_web::web;

use crate::pages::{at, form, posted};

/// Puts the pages into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config
        .service(form("/import", importing::show, importing::look))
        .service(at("/import/{kind}.csv", importing::template))
        .service(form("/import/{id}", looked_at::show, looked_at::book))
        .service(at("/imported", looked_at::imported))
        .service(at("/export", exporting::show))
        .service(at("/export/{kind}.csv", exporting::table))
        .service(form("/stand-ins", stand_ins::list, stand_ins::create))
        .service(at("/stand-ins/new", stand_ins::begin))
        .service(at("/stand-ins/{id}", statement::show))
        .service(posted("/stand-ins/{id}/withdrawal", statement::withdraw))
        .service(at("/policy", policy::show))
        .service(form("/policy/change", policy_form::show, policy_form::send))
        .service(form("/people", people::show, people::make))
        .service(at("/people/{id}", person::show))
        .service(posted("/people/{id}/link", person::link))
        .service(posted("/people/{id}/revocation", person::revoke))
        .configure(told);
}

/// Who is told of events.
fn told(config: &mut web::ServiceConfig) {
    let delivery = "/webhooks/{id}/deliveries/{delivery_id}";
    config
        .service(at("/webhooks", webhooks::list))
        .service(form("/webhooks/new", webhooks::begin, webhooks::create))
        .service(at("/webhooks/{id}", webhook::show))
        .service(form("/webhooks/{id}/change", webhook::old, webhook::change))
        .service(posted("/webhooks/{id}/sending", webhook::switch))
        .service(posted("/webhooks/{id}/secrets", webhook::add_secret))
        .service(posted("/webhooks/{id}/retirement", webhook::retire_secret))
        .service(posted("/webhooks/{id}/removal", webhook::remove))
        .service(form(delivery, deliveries::show, deliveries::resend));
}
