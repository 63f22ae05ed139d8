//! The fitting card of a stored build, for print from the browser.

use actix_web::{HttpRequest, HttpResponse, web};
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::words::{NotInList, Role};
use uuid::Uuid;

use crate::drawing::fitting_card::{Paper, STYLE, fitting_card};
use crate::pages::answer::{Reply, made};
use crate::pages::typed::Typed;
use crate::pages::visitor::visitor;
use crate::service::fitting::{self, CardOf};
use crate::service::{Refusal, Shop};

/// The page at `/builds/{id}/fitting-card`, of the part or reservation and on the paper that the query names.
pub(super) async fn show(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    let build = path.into_inner();
    made(&shop, who.frame, move |shop, _| {
        let id = |text: &str, what| text.parse::<Uuid>().map_err(|_| Refusal::NotFound(what));
        let named = |name: &str, what| match typed.one(name) {
            "" => Ok(None),
            text => id(text, what).map(Some),
        };
        let of = CardOf {
            plug_id: named("plug_id", "part")?,
            reservation_id: named("reservation_id", "reservation")?,
        };
        let card = fitting::card(shop, id(&build, "build")?, of)?;
        let paper = match typed.one("paper") {
            "" => Paper::default(),
            text => text.parse().map_err(|e: NotInList| {
                Refusal::fault(Fault::at("paper", FaultCode::NotInList, e.to_string()))
            })?,
        };
        let sheet = fitting_card(&card, paper);
        sheet
            .map(|html| Reply::Sheet(html, STYLE))
            .map_err(|e| Refusal::Fault(format!("a card cannot be written: {e}")))
    })
    .await
}
