//! Tables out.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::words::Role;

use crate::http::exports;
use crate::pages::answer::{Frame, Reply, made, refused};
use crate::pages::records::importing::{kind_of, told};
use crate::pages::visitor::visitor;
use crate::service::exchange::TableKind;
use crate::service::{Refusal, Shop};

#[derive(Template)]
#[template(path = "records/export.html")]
struct Page {
    frame: Frame,
    /// Title and word of each kind.
    kinds: Vec<(&'static str, &'static str)>,
    /// Whether what goes out may come in again.
    may_import: bool,
}

/// The page at `/export`.
pub(super) async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let may_import = who.actor.role >= Role::Clerk;
    made(&shop, who.frame, move |_, frame| {
        let kinds = TableKind::ALL.iter();
        let page = Page {
            frame,
            kinds: kinds.map(|kind| (told(*kind).0, kind.word())).collect(),
            may_import,
        };
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

/// A table.
pub(super) async fn table(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let Some(kind) = kind_of(&path) else {
        return refused(who.frame, Refusal::NotFound("table"));
    };
    match exports::export(shop, kind).await {
        Ok(table) => table,
        Err(problem) => refused(who.frame, Refusal::Unavailable(format!("{problem:?}"))),
    }
}
