//! Makers' heat scales beside each other, each with its codes, and their calibration.

mod calibration;
mod scale;
mod statements;

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::heat_scale::HeatScale;
use plugwell_domain::words::Role;
use uuid::Uuid;

use crate::drawing::heat_scales::heat_scales;
use crate::http::etag::IfNoneMatch;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::figures::day;
use crate::pages::listing::{Cell, Listing, figures, words};
use crate::pages::typed::Typed;
use crate::pages::visitor::visitor;
use crate::pages::words::{say, say_with};
use crate::pages::{at, form};
use crate::service::{Refusal, Shop, scales};

/// Most scales that one picture has room for.
const DRAWN: usize = 100;
/// Scales of one page.
const SCALES: usize = 50;

#[derive(Template)]
#[template(path = "scales/scales.html")]
struct Page {
    frame: Frame,
    /// Scales that a calibration was applied to a moment ago; nothing where none was.
    applied: Option<usize>,
    may_write: bool,
    listing: Listing,
}

/// Puts the pages into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config
        .service(at("/heat-scales", show))
        .service(at("/heat-scales/chart.svg", chart))
        .service(form(
            "/heat-scales/calibration",
            calibration::show,
            calibration::send,
        ))
        .service(form("/heat-scales/{id}", scale::show, scale::send));
}

/// The identifier that stands in a path.
fn id_of(text: &str) -> Result<Uuid, Refusal> {
    text.parse()
        .map_err(|_| Refusal::NotFound(say("scales-heat-scale")))
}

/// Maker and name.
fn name(scale: &HeatScale) -> String {
    format!("{} {}", scale.data.maker, scale.data.name)
}

/// The page at `/heat-scales`.
async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let page = Page {
            may_write: frame.may(Role::Clerk),
            frame,
            applied: typed.one("applied").parse().ok(),
            listing: listing(shop, &typed)?,
        };
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

fn listing(shop: &Shop, typed: &Typed) -> Result<Listing, Refusal> {
    let after = match typed.one("after") {
        "" => None,
        text => Some(id_of(text)?),
    };
    let mut found = scales::list(shop, after, SCALES as i64 + 1)?;
    let rest = found.len() > SCALES;
    found.truncate(SCALES);
    let last = found.last().filter(|_| rest);
    let row = |scale: &HeatScale| {
        let indices = scale.data.codes.iter().map(|code| code.heat_index);
        let ends = indices.clone().min().zip(indices.max());
        let from = match scale.calibrated_at {
            Some(at) => say_with("scales-calibrated-day", &[("day", &day(at))]),
            None => say("scales-typed-in").to_owned(),
        };
        vec![
            Cell::to(format!("/heat-scales/{}", scale.id), name(scale)),
            Cell::of(say_with(
                "scales-so-many-codes",
                &[("codes", &scale.data.codes.len())],
            )),
            Cell::of(ends.map_or_else(String::new, |(least, most)| {
                say_with(
                    "scales-least-to-most",
                    &[("least", &least), ("most", &most)],
                )
            })),
            Cell::of(from),
        ]
    };
    Ok(Listing {
        caption: say("scales-heat-scales").into(),
        columns: vec![
            words("scales-scale"),
            figures("scales-codes"),
            figures("scales-index"),
            words("scales-where-it-comes-from"),
        ],
        rows: found.iter().map(row).collect(),
        empty: say("scales-no-heat-scale-is-stored"),
        more: last.map_or_else(String::new, |s| format!("/heat-scales?after={}", s.id)),
    })
}

/// The picture of all scales beside each other.
async fn chart(shop: web::Data<Shop>, request: HttpRequest, known: IfNoneMatch) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, _| {
        let (found, more) = scales::side_by_side(shop, None, DRAWN)?;
        Ok(Reply::Picture(heat_scales(&found, more), known))
    })
    .await
}
