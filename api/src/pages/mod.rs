//! The pages: server-rendered, usable without JavaScript, on the same use cases as the API.
//!
//! A handler takes who asks and what was typed, lets one use case run away from the event loop, and
//! fills a template in; whatever is refused is a page too.

mod answer;
mod booked;
mod card;
mod counter;
mod counter_form;
mod engine_fields;
mod engine_form;
mod engine_text;
mod field;
mod figures;
mod find;
mod outlines;
mod part;
mod picks;
mod result;
mod typed;
mod visitor;

use std::sync::LazyLock;

use actix_web::http::header::{ACCEPT, ALLOW, CACHE_CONTROL, ETAG, HeaderMap, IF_NONE_MATCH};
use actix_web::http::{Method, StatusCode};
use actix_web::{FromRequest, Handler, HttpRequest, HttpResponse, Resource, Responder, web};

use crate::http::problem::{METHOD_NOT_ALLOWED, NOT_FOUND, Problem};
use crate::pages::answer::{Message, page};
use crate::service::{Shop, access};

const STYLE: &str = include_str!("../../templates/plugwell.css");
const ICON: &str = include_str!("../../templates/plugwell.svg");

/// What the link to the stylesheet carries: another one for another stylesheet.
static STYLE_MARK: LazyLock<String> = LazyLock::new(|| mark(STYLE));

fn mark(text: &str) -> String {
    access::hashed(text).chars().take(16).collect()
}

/// Paths that take POST beside GET, and the one that takes nothing else.
const POSTED: &[&str] = &["/sign-in", "/receive", "/issue", "/scrap"];
const ONLY_POSTED: &str = "/sign-out";

/// Puts the pages into the application.
pub fn configure(config: &mut web::ServiceConfig) {
    config
        .service(at("/", find::show))
        .service(at("/sign-in", visitor::follow_link).route(web::post().to(visitor::sign_in)))
        .service(
            web::resource(ONLY_POSTED)
                .route(web::post().to(visitor::sign_out))
                .default_service(web::to(not_so)),
        )
        .service(at("/receive", counter::receipt_form).route(web::post().to(counter::receive)))
        .service(at("/issue", counter::issue_form).route(web::post().to(counter::issue)))
        .service(at("/scrap", counter::scrap_form).route(web::post().to(counter::scrap)))
        .service(at("/booked", booked::show))
        .service(at("/spark.svg", find::picture))
        .service(at("/builds/{id}/fitting-card", card::show))
        .service(at("/pick-list", picks::show))
        .configure(outlines::configure)
        .service(at("/assets/plugwell.css", style))
        .service(at("/assets/plugwell.svg", icon));
}

/// A path that is looked at.
fn at<F, Args>(path: &str, handler: F) -> Resource
where
    F: Handler<Args> + Clone,
    Args: FromRequest + 'static,
    F::Output: Responder + 'static,
{
    let (get, head) = (web::get().to(handler.clone()), web::head().to(handler));
    web::resource(path)
        .route(get)
        .route(head)
        .default_service(web::to(not_so))
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
    let text = "Nothing stands at this address. It may have been mistyped.";
    let message = Message {
        frame: visitor::frame(&shop, &request),
        heading: "Not here",
        text: text.into(),
    };
    Ok(page(StatusCode::NOT_FOUND, &message))
}

/// A page that was asked for in a way that it does not answer.
async fn not_so(shop: web::Data<Shop>, request: HttpRequest) -> Result<HttpResponse, Problem> {
    let path = request.path();
    let allow = match path {
        ONLY_POSTED => "POST",
        path if POSTED.contains(&path) => "GET, HEAD, POST",
        _ => "GET, HEAD",
    };
    if !is_browser(request.headers()) {
        let detail = format!("{} is none of {allow}", request.method());
        return Err(Problem::new(&METHOD_NOT_ALLOWED, detail).header(ALLOW, allow));
    }
    let text = if path == ONLY_POSTED {
        "Use the button to sign out."
    } else {
        "Open the page anew."
    };
    let message = Message {
        frame: visitor::frame(&shop, &request),
        heading: "Not in this way",
        text: text.into(),
    };
    let mut answer = page(StatusCode::METHOD_NOT_ALLOWED, &message);
    answer.headers_mut().insert(
        ALLOW,
        actix_web::http::header::HeaderValue::from_static(allow),
    );
    Ok(answer)
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
