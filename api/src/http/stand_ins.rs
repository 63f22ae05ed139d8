//! Signed statements that one part stands in for another.

use actix_web::{delete, get, post, web};
use plugwell_domain::stand_in::{StandIn, StandInData};
use plugwell_store::StandInFilter;
use utoipa::IntoParams;
use uuid::Uuid;

use crate::http::answer::{Answer, ask, created, gone, page, record};
use crate::http::body::bodies;
use crate::http::etag::{IfMatch, IfNoneMatch};
use crate::http::paging::{Page, PageQuery, Paging};
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::http::request::{Checked, Id};
use crate::service::{Actor, Shop, stand_ins};

bodies!(StandInData);

/// One page of statements.
type StandInPage = Page<StandIn>;

/// What a list of statements is narrowed by; maker and part number are those of one of the two parts.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct StandInQuery {
    /// A maker on either side, case-blind.
    maker: Option<String>,
    /// A part number on either side, case-blind; with `maker` of the same part.
    part_number: Option<String>,
    /// Who says so, case-blind.
    who: Option<String>,
}

impl FromQuery for StandInQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            maker: members.text("maker"),
            part_number: members.text("part_number"),
            who: members.text("who"),
        }
    }
}

/// Lists statements in the order they were stored.
#[utoipa::path(
    operation_id = "list_stand_ins", tag = "catalogue", params(PageQuery, StandInQuery),
    responses((status = 200, description = "A page of statements.", body = StandInPage))
)]
#[get("/v1/stand-ins")]
pub async fn list_stand_ins(
    shop: web::Data<Shop>,
    query: CheckedQuery<(Paging<Uuid>, StandInQuery)>,
) -> Answer {
    let CheckedQuery((paging, asked)) = query;
    let filter = StandInFilter {
        maker: asked.maker,
        part_number: asked.part_number,
        who: asked.who,
    };
    let (after, limit) = (paging.after, paging.one_more());
    let found = ask(&shop, move |shop| {
        stand_ins::list(shop, &filter, after, limit)
    })
    .await?;
    let (found, next) = paging.page(found, |stand_in| stand_in.id);
    page(&found, next)
}

/// Stores a statement that one part stands in for another; the catalogue may lack either.
#[utoipa::path(
    operation_id = "create_stand_in", tag = "catalogue", request_body = StandInData,
    responses(
        (status = 201, description = "The statement.", body = StandIn),
        (status = 409, description = "`duplicate_record`: the same one has stated something of the two already.")
    )
)]
#[post("/v1/stand-ins")]
pub async fn create_stand_in(
    shop: web::Data<Shop>,
    actor: Actor,
    body: Checked<StandInData>,
) -> Answer {
    let made = ask(&shop, move |shop| {
        stand_ins::create(shop, &body.0, &actor.name)
    })
    .await?;
    created(
        &shop,
        &format!("/v1/stand-ins/{}", made.id),
        made.version,
        &made,
    )
}

/// Shows a statement.
#[utoipa::path(
    operation_id = "get_stand_in", tag = "catalogue", params(Id),
    responses((status = 200, description = "The statement.", body = StandIn))
)]
#[get("/v1/stand-ins/{id}")]
pub async fn get_stand_in(shop: web::Data<Shop>, id: Id, known: IfNoneMatch) -> Answer {
    let found = ask(&shop, move |shop| stand_ins::get(shop, id.0)).await?;
    record(found.version, &known, &found)
}

/// Withdraws a statement that was wrong.
#[utoipa::path(
    operation_id = "delete_stand_in", tag = "catalogue", params(Id),
    responses((status = 204, description = "It is gone."))
)]
#[delete("/v1/stand-ins/{id}")]
pub async fn delete_stand_in(shop: web::Data<Shop>, id: Id, expected: IfMatch) -> Answer {
    ask(&shop, move |shop| {
        stand_ins::remove(shop, id.0, |version| expected.check(version))
    })
    .await?;
    gone(&shop)
}
