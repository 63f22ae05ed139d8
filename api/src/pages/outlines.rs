//! Pictures of plugs to scale for the pages: alone, over each other and in the head.

use actix_web::{HttpRequest, HttpResponse, web};
use plugwell_domain::build::{Build, bound_fault};
use plugwell_domain::decimal::Length;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::words::Role;
use uuid::Uuid;

use crate::drawing::{head_section, plug_outline};
use crate::http::etag::IfNoneMatch;
use crate::pages::answer::{Reply, made};
use crate::pages::typed::{Typed, quantity};
use crate::pages::visitor::visitor;
use crate::pages::words::say_with;
use crate::pages::{at, find};
use crate::service::{Refusal, Shop, builds, outlines};

/// Puts the pictures into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config
        .service(at("/plugs/{id}/outline.svg", outline))
        .service(at("/builds/{id}/section.svg", stored_section))
        .service(at("/section.svg", section));
}

/// A part to scale: `over`, `dimensions` and `gap_mm` as the API has them.
async fn outline(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    known: IfNoneMatch,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    let part = path.into_inner();
    made(&shop, who.frame, move |shop, _| {
        let over = named(&typed, "over")?;
        let (plug, over) = outlines::plugs(shop, id(&part, "part")?, over)?;
        let with_dimensions = flag(&typed, "dimensions")?;
        let svg = plug_outline::of_records(&plug, over.as_ref(), gap(&typed)?, with_dimensions);
        Ok(Reply::Picture(svg, known))
    })
    .await
}

/// The head of a stored build, the part of `plug_id` laid in.
async fn stored_section(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    known: IfNoneMatch,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    let build = path.into_inner();
    made(&shop, who.frame, move |shop, _| {
        let build = builds::get(shop, id(&build, "build")?)?.data;
        drawn(shop, &build, &typed, known)
    })
    .await
}

/// The head of the build that the query of a match names or describes, the part of `plug_id` laid in.
async fn section(shop: web::Data<Shop>, request: HttpRequest, known: IfNoneMatch) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, _| {
        let build = find::build(shop, &typed)?;
        drawn(shop, &build, &typed, known)
    })
    .await
}

fn drawn(shop: &Shop, build: &Build, typed: &Typed, known: IfNoneMatch) -> Result<Reply, Refusal> {
    let (drawn, plug) = outlines::laid_in(shop, build, named(typed, "plug_id")?)?;
    let with_dimensions = flag(typed, "dimensions")?;
    let name = build.name.as_deref();
    let svg = head_section::of_records(&drawn, name, plug.as_ref(), with_dimensions);
    Ok(Reply::Picture(svg, known))
}

fn id(text: &str, what: &'static str) -> Result<Uuid, Refusal> {
    text.parse().map_err(|_| Refusal::NotFound(what))
}

fn named(typed: &Typed, name: &str) -> Result<Option<Uuid>, Refusal> {
    match typed.one(name) {
        "" => Ok(None),
        text => id(text, "part").map(Some),
    }
}

fn wrong(name: &str, detail: String) -> Refusal {
    Refusal::fault(Fault::at(name, FaultCode::WrongForm, detail))
}

fn flag(typed: &Typed, name: &str) -> Result<bool, Refusal> {
    match typed.one(name) {
        "" | "false" => Ok(false),
        "true" => Ok(true),
        text => Err(wrong(
            name,
            say_with(
                "pages-name-true-false-not-text",
                &[("name", &name), ("text", &format!("{text:?}"))],
            ),
        )),
    }
}

fn gap(typed: &Typed) -> Result<Option<Length>, Refusal> {
    let text = typed.one("gap_mm");
    if text.is_empty() {
        return Ok(None);
    }
    let mm = quantity(text, "mm")
        .map_err(|why| wrong("gap_mm", say_with("pages-gap-why", &[("why", &why)])))?;
    match bound_fault("gap_mm", mm) {
        Some(fault) => Err(Refusal::fault(fault)),
        None => Ok(Length::exact(mm).ok()),
    }
}
