//! Pages that somebody looks at and forms that somebody sends, where their role is enough.

use actix_web::{HttpRequest, HttpResponse, web};
use plugwell_domain::words::Role;

use crate::pages::answer::{Frame, Reply, made};
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::service::{Actor, Refusal, Shop};

/// A page that is looked at.
pub(super) async fn look(
    shop: web::Data<Shop>,
    request: HttpRequest,
    least: Role,
    make: impl FnOnce(&Shop, Frame, &Typed) -> Result<Reply, Refusal> + Send + 'static,
) -> HttpResponse {
    let who = match visitor(&shop, &request, least) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        make(shop, frame, &typed)
    })
    .await
}

/// A form that is sent.
pub(super) async fn take(
    shop: web::Data<Shop>,
    request: HttpRequest,
    posted: Posted,
    least: Role,
    make: impl FnOnce(&Shop, Frame, &Typed, &Actor) -> Result<Reply, Refusal> + Send + 'static,
) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, least) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, frame| {
        make(shop, frame, &typed, &who.actor)
    })
    .await
}
