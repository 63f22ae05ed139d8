//! Pick lists: what to take for a job, on a screen or on paper.

use actix_web::{HttpRequest, get, web};
use plugwell_domain::fault::FaultCode;
use utoipa::IntoParams;
use uuid::Uuid;

use crate::drawing::pick_list;
use crate::http::accept::preferred;
use crate::http::answer::{Answer, ask, by_accept, ok, sheet};
use crate::http::problem::Problem;
use crate::http::query::{CheckedQuery, FromQuery, Members, of_query};
use crate::service::Shop;
use crate::service::pick_list::{PickList, of_job};
use crate::shown::{Reader, for_reader};

/// Which job, and for which build.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct PickQuery {
    /// The job, case-blind.
    #[param(min_length = 1)]
    job: String,
    /// The build that the plugs go into: tells the gap for reservations that name none. Where none is
    /// open for it, what its match would pick is listed.
    build_id: Option<Uuid>,
}

impl FromQuery for PickQuery {
    fn take(members: &mut Members) -> Self {
        let job = members.text("job").unwrap_or_default();
        if job.trim().is_empty() {
            members.fault("job", FaultCode::Missing, "say which job");
        }
        Self {
            job,
            build_id: members.parsed("build_id", "a UUID"),
        }
    }
}

/// Says what to take for a job in the order of the bins, with the gap to set; as a page for print where
/// HTML is accepted.
#[utoipa::path(
    operation_id = "get_pick_list", tag = "stock", params(PickQuery),
    responses(
        (status = 200, description = "The list.", content(
            (PickList = "application/json"), (String = "text/html")
        )),
        (status = 406, description = "`not_acceptable`.")
    )
)]
#[get("/v1/pick-lists")]
pub async fn get_pick_list(
    shop: web::Data<Shop>,
    query: CheckedQuery<PickQuery>,
    request: HttpRequest,
) -> Answer {
    let form = preferred(&request, &["application/json", "text/html"])?;
    let CheckedQuery(query) = query;
    let made = ask(&shop, move |shop| {
        of_job(shop, &query.job, query.build_id)
            .map_err(|refusal| of_query(refusal, &["job", "build_id"]))
    });
    let list = made.await?;
    if form == "text/html" {
        let html = for_reader(Reader::of(&shop.policy()), || pick_list::sheet(&list));
        let html = html.map_err(|e| Problem::internal(format!("pick list: {e}")))?;
        return Ok(sheet(html, pick_list::STYLE));
    }
    ok(&list).map(by_accept)
}
