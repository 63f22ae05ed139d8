//! What the shop knows: tables in and out, statements, the policy, and people.

mod badge;
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
        .service(posted("/people/{id}/revocation", person::revoke));
}
