//! Pictures of plugs to scale, alone, over each other and in the head.

use actix_web::{get, post, web};
use plugwell_domain::build::{Build, bound_fault};
use plugwell_domain::decimal::Length;
use utoipa::IntoParams;
use uuid::Uuid;

use crate::drawing::{head_section, plug_outline};
use crate::http::answer::{Answer, ask, picture};
use crate::http::etag::IfNoneMatch;
use crate::http::problem::Problem;
use crate::http::query::{CheckedQuery, FromQuery, Members, of_query};
use crate::http::request::{Checked, Id};
use crate::service::{Shop, builds, catalogue, outlines};

/// What is drawn of a plug.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct OutlineQuery {
    /// A part that is laid over it as an outline.
    over: Option<Uuid>,
    /// Whether dimensions are written beside it, in mm and inches; without it they are not.
    dimensions: Option<bool>,
    /// The gap that it is set to; without it the gap that it comes with.
    #[param(value_type = Option<f64>, minimum = 0.2, maximum = 2.5)]
    gap_mm: Option<Length>,
}

impl FromQuery for OutlineQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            over: members.parsed("over", "a UUID"),
            dimensions: members.flag("dimensions"),
            gap_mm: gap(members),
        }
    }
}

fn gap(members: &mut Members) -> Option<Length> {
    let mm: f64 = members.parsed("gap_mm", "a number of millimetres")?;
    if let Some(fault) = bound_fault("gap_mm", mm) {
        members.fault("gap_mm", fault.code, fault.detail);
    }
    Length::exact(mm).ok()
}

/// What is laid into a head.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct SectionQuery {
    /// The part that is laid in; without it the head is drawn alone.
    plug_id: Option<Uuid>,
    /// Whether the part's dimensions are written beside it, in mm and inches; without it they are not.
    dimensions: Option<bool>,
}

impl FromQuery for SectionQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            plug_id: members.parsed("plug_id", "a UUID"),
            dimensions: members.flag("dimensions"),
        }
    }
}

/// Draws a plug to scale from its record; what is not known is drawn dashed at the usual figure and named.
#[utoipa::path(
    operation_id = "draw_outline", tag = "pictures", params(Id, OutlineQuery),
    responses((status = 200, description = "The picture.", body = String, content_type = "image/svg+xml"))
)]
#[get("/v1/plugs/{id}/outline.svg")]
pub async fn draw_outline(
    shop: web::Data<Shop>,
    id: Id,
    query: Result<CheckedQuery<OutlineQuery>, Problem>,
    known: IfNoneMatch,
) -> Answer {
    let drawn = ask(&shop, move |shop| {
        catalogue::get(shop, id.0)?;
        let CheckedQuery(query) = query?;
        let (plug, over) = outlines::plugs(shop, id.0, query.over)
            .map_err(|refusal| of_query(refusal, &["over"]))?;
        let with_dimensions = query.dimensions.unwrap_or(false);
        Ok::<_, Problem>(plug_outline::of_records(
            &plug,
            over.as_ref(),
            query.gap_mm,
            with_dimensions,
        ))
    });
    Ok(picture(drawn.await?, &known))
}

/// Draws the head of a stored build in section, and how a plug lies in it.
#[utoipa::path(
    operation_id = "draw_section", tag = "pictures", params(Id, SectionQuery),
    responses((status = 200, description = "The picture.", body = String, content_type = "image/svg+xml"))
)]
#[get("/v1/builds/{id}/section.svg")]
pub async fn draw_section(
    shop: web::Data<Shop>,
    id: Id,
    query: Result<CheckedQuery<SectionQuery>, Problem>,
    known: IfNoneMatch,
) -> Answer {
    let drawn = ask(&shop, move |shop| {
        let build = builds::get(shop, id.0)?.data;
        let CheckedQuery(query) = query?;
        section(shop, &build, &query)
    });
    Ok(picture(drawn.await?, &known))
}

/// Draws the same of a build that is not stored.
#[utoipa::path(
    operation_id = "draw_section_of_build", tag = "pictures", params(SectionQuery), request_body = Build,
    responses((status = 200, description = "The picture.", body = String, content_type = "image/svg+xml"))
)]
#[post("/v1/requirements/section.svg")]
pub async fn draw_section_of_build(
    shop: web::Data<Shop>,
    CheckedQuery(query): CheckedQuery<SectionQuery>,
    body: Checked<Build>,
    known: IfNoneMatch,
) -> Answer {
    let drawn = ask(&shop, move |shop| section(shop, &body.0, &query));
    Ok(picture(drawn.await?, &known))
}

fn section(shop: &Shop, build: &Build, query: &SectionQuery) -> Result<String, Problem> {
    let (drawn, plug) = outlines::laid_in(shop, build, query.plug_id)
        .map_err(|refusal| of_query(refusal, &["plug_id"]))?;
    let with_dimensions = query.dimensions.unwrap_or(false);
    let name = build.name.as_deref();
    Ok(head_section::of_records(
        &drawn,
        name,
        plug.as_ref(),
        with_dimensions,
    ))
}
