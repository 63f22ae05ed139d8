//! The pick list of a job, for print from the browser.

use actix_web::{HttpRequest, HttpResponse, web};
use plugwell_domain::words::Role;
use uuid::Uuid;

use crate::drawing::pick_list;
use crate::pages::answer::{Reply, made};
use crate::pages::typed::Typed;
use crate::pages::visitor::visitor;
use crate::service::pick_list::of_job;
use crate::service::{Refusal, Shop};

/// The page at `/pick-list`, of the job and for the build that the query names.
pub(super) async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, _| {
        let build = match typed.one("build_id") {
            "" => None,
            text => Some(
                text.parse::<Uuid>()
                    .map_err(|_| Refusal::NotFound("build"))?,
            ),
        };
        let list = of_job(shop, typed.one("job"), build)?;
        let html = pick_list::sheet(&list)
            .map_err(|e| Refusal::Fault(format!("a pick list cannot be written: {e}")))?;
        Ok(Reply::Sheet(html, pick_list::STYLE))
    })
    .await
}
