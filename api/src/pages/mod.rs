//! The pages: server-rendered, usable without JavaScript, on the same use cases as the API.
//!
//! A handler takes who asks and what was typed, lets one use case run away from the event loop, and
//! fills a template in; whatever is refused is a page too.

mod amounts;
mod anew;
mod answer;
mod asking;
mod buying;
mod card;
mod changing;
mod counter;
mod declared;
mod field;
mod figures;
mod find;
mod form;
mod known;
mod lately;
mod limited;
mod line;
mod listing;
mod once;
mod outlines;
mod part;
mod parts;
mod picks;
mod records;
mod reports;
mod scales;
mod typed;
mod uploaded;
mod visitor;
pub mod ways;
mod words;
mod workshop;

use std::sync::LazyLock;

use actix_web::http::header::{
    ACCEPT, ALLOW, CACHE_CONTROL, ETAG, HeaderMap, HeaderValue, IF_NONE_MATCH,
};
use actix_web::http::{Method, StatusCode};
use actix_web::{FromRequest, Handler, HttpRequest, HttpResponse, Resource, Responder, web};

use crate::http::problem::{METHOD_NOT_ALLOWED, NOT_FOUND, Problem};
use crate::pages::answer::{Message, page};
use crate::pages::words::say;
use crate::service::{Shop, access};

pub use limited::too_many;

/// The stylesheet: a file for each thing that pages have, the one about paper and narrow windows last.
const STYLE: &str = concat!(
    include_str!("../../templates/style/frame.css"),
    include_str!("../../templates/style/words.css"),
    include_str!("../../templates/style/forms.css"),
    include_str!("../../templates/style/listing.css"),
    include_str!("../../templates/style/counter.css"),
    include_str!("../../templates/style/find.css"),
    include_str!("../../templates/style/parts.css"),
    include_str!("../../templates/style/workshop.css"),
    include_str!("../../templates/style/buying.css"),
    include_str!("../../templates/style/reports.css"),
    include_str!("../../templates/style/records.css"),
    include_str!("../../templates/style/narrow.css"),
);
const SCRIPT: &str = include_str!("../../templates/script/plugwell.js");
const ICON: &str = include_str!("../../templates/plugwell.svg");

/// What the links to stylesheet and script carry: another one for another text.
static STYLE_MARK: LazyLock<String> = LazyLock::new(|| mark(STYLE));
static SCRIPT_MARK: LazyLock<String> = LazyLock::new(|| mark(SCRIPT));

fn mark(text: &str) -> String {
    access::hashed(text).chars().take(16).collect()
}

/// Puts the pages into the application.
pub fn configure(config: &mut web::ServiceConfig) {
    config
        .service(form("/sign-in", visitor::follow_link, visitor::sign_in))
        .service(posted("/sign-out", visitor::sign_out))
        .service(posted("/sign-out-everywhere", visitor::sign_out_everywhere))
        .service(at("/session", visitor::session))
        .service(at("/stay", visitor::stay))
        .service(at("/go", line::go))
        .service(posted("/undo", lately::undo))
        .service(at("/builds/{id}/fitting-card", card::show))
        .service(at("/pick-list", picks::show))
        .configure(outlines::configure)
        .service(at("/assets/plugwell.css", style))
        .service(at("/assets/plugwell.js", script))
        .service(at("/assets/plugwell.svg", icon))
        .configure(find::configure)
        .configure(counter::configure)
        .configure(parts::configure)
        .configure(workshop::configure)
        .configure(buying::configure)
        .configure(reports::configure)
        .configure(scales::configure)
        .configure(records::configure);
}

/// A path that is looked at.
fn at<F, Args>(path: &str, look: F) -> Resource
where
    F: Handler<Args> + Clone,
    Args: FromRequest + 'static,
    F::Output: Responder + 'static,
{
    web::resource(path)
        .route(web::get().to(look.clone()))
        .route(web::head().to(look))
        .default_service(web::to(|shop, request| not_so(shop, request, "GET, HEAD")))
}

/// A path that is looked at, and that takes the form which stands there.
fn form<F, G, Args, Sent>(path: &str, look: F, send: G) -> Resource
where
    F: Handler<Args> + Clone,
    Args: FromRequest + 'static,
    F::Output: Responder + 'static,
    G: Handler<Sent>,
    Sent: FromRequest + 'static,
    G::Output: Responder + 'static,
{
    web::resource(path)
        .route(web::get().to(look.clone()))
        .route(web::head().to(look))
        .route(web::post().to(send))
        .default_service(web::to(|shop, request| {
            not_so(shop, request, "GET, HEAD, POST")
        }))
}

/// A path that only takes a form.
fn posted<G, Sent>(path: &str, send: G) -> Resource
where
    G: Handler<Sent>,
    Sent: FromRequest + 'static,
    G::Output: Responder + 'static,
{
    web::resource(path)
        .route(web::post().to(send))
        .default_service(web::to(|shop, request| not_so(shop, request, "POST")))
}

/// Whether a browser asks: only it gets its errors as pages.
fn is_browser(headers: &HeaderMap) -> bool {
    let accepted = headers.get(ACCEPT).and_then(|value| value.to_str().ok());
    accepted.is_some_and(|accepted| accepted.contains("text/html"))
}

/// What stands at a path that leads nowhere.
///
/// # Errors
/// `not_found` for whoever is no browser.
pub async fn nowhere(shop: web::Data<Shop>, request: HttpRequest) -> Result<HttpResponse, Problem> {
    if !is_browser(request.headers()) {
        return Err(Problem::new(
            &NOT_FOUND,
            format!("{} leads nowhere", request.path()),
        ));
    }
    let text = say("pages-nothing-stands-address-may-have");
    let message = Message {
        frame: visitor::frame(&shop, &request),
        heading: say("pages-not-here"),
        text: text.into(),
    };
    Ok(page(StatusCode::NOT_FOUND, &message))
}

/// A page that was asked for in a way that it does not answer.
async fn not_so(
    shop: web::Data<Shop>,
    request: HttpRequest,
    allow: &'static str,
) -> Result<HttpResponse, Problem> {
    if !is_browser(request.headers()) {
        let method = request.method();
        let problem = Problem::new(&METHOD_NOT_ALLOWED, format!("{method} is none of {allow}"));
        return Err(problem.header(ALLOW, allow));
    }
    let text = if allow == "POST" {
        say("pages-done-button-page-not-opening")
    } else {
        say("pages-open-the-page-anew")
    };
    let message = Message {
        frame: visitor::frame(&shop, &request),
        heading: say("pages-not-in-this-way"),
        text: text.into(),
    };
    let mut answer = page(StatusCode::METHOD_NOT_ALLOWED, &message);
    answer
        .headers_mut()
        .insert(ALLOW, HeaderValue::from_static(allow));
    Ok(answer)
}

async fn script(request: HttpRequest) -> HttpResponse {
    asset(
        &request,
        "text/javascript; charset=utf-8",
        SCRIPT,
        &SCRIPT_MARK,
    )
}

async fn style(request: HttpRequest) -> HttpResponse {
    asset(&request, "text/css; charset=utf-8", STYLE, &STYLE_MARK)
}

async fn icon(request: HttpRequest) -> HttpResponse {
    asset(&request, "image/svg+xml", ICON, &mark(ICON))
}

/// What a page draws on; kept for good where the address names the mark of this very one.
fn asset(request: &HttpRequest, media: &str, body: &'static str, mark: &str) -> HttpResponse {
    let tag = format!("\"{mark}\"");
    let kept = if request.query_string() == mark {
        "private, max-age=31536000, immutable"
    } else {
        "private, no-cache"
    };
    let known = request.headers().get(IF_NONE_MATCH);
    let is_known = known.is_some_and(|known| known.as_bytes() == tag.as_bytes());
    let mut answer = if is_known {
        HttpResponse::NotModified()
    } else {
        HttpResponse::Ok()
    };
    answer
        .insert_header((ETAG, tag))
        .insert_header((CACHE_CONTROL, kept))
        .content_type(media);
    if is_known || request.method() == Method::HEAD {
        return answer.finish();
    }
    answer.body(body)
}
