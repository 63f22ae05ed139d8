//! The pages: server-rendered, usable without JavaScript, on the same use cases as the API.

mod counter;
mod engine_form;
mod find;
mod typed;
mod visitor;

use actix_web::http::StatusCode;
use actix_web::http::header::{CACHE_CONTROL, CONTENT_SECURITY_POLICY, ETAG, IF_NONE_MATCH};
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;

use crate::service::Refusal;

/// Nothing but our own stylesheet and forms: no script, nothing inline, nothing from elsewhere.
const POLICY: &str = "default-src 'none'; style-src 'self'; img-src 'self'; form-action 'self'; \
                      frame-ancestors 'none'; base-uri 'none'";
const STYLE: &str = include_str!("../../templates/plugwell.css");

/// Puts the pages into the application.
pub fn configure(config: &mut web::ServiceConfig) {
    config
        .route("/", web::get().to(find::find))
        .route("/sign-in", web::get().to(visitor::follow_link))
        .route("/sign-in", web::post().to(visitor::sign_in))
        .route("/sign-out", web::post().to(visitor::sign_out))
        .route("/receive", web::get().to(counter::receive_form))
        .route("/receive", web::post().to(counter::receive))
        .route("/issue", web::get().to(counter::issue_form))
        .route("/issue", web::post().to(counter::issue))
        .route("/scrap", web::get().to(counter::scrap_form))
        .route("/scrap", web::post().to(counter::scrap))
        .route("/assets/plugwell.css", web::get().to(style));
}

async fn style(request: HttpRequest) -> HttpResponse {
    let tag = format!("\"{}-{}\"", env!("CARGO_PKG_VERSION"), STYLE.len());
    if request
        .headers()
        .get(IF_NONE_MATCH)
        .is_some_and(|known| known.as_bytes() == tag.as_bytes())
    {
        return HttpResponse::NotModified()
            .insert_header((ETAG, tag))
            .finish();
    }
    HttpResponse::Ok()
        .content_type("text/css; charset=utf-8")
        .insert_header((ETAG, tag))
        .insert_header((CACHE_CONTROL, "private, no-cache"))
        .body(STYLE)
}

/// What every page shows around its own content.
#[derive(Debug, Clone, Default)]
struct Frame {
    /// Who is signed in, with the role; empty where nobody is.
    signed_in: String,
    /// What every form has to carry.
    form_key: String,
}

/// A page with a heading and a sentence, for what went wrong.
#[derive(Template)]
#[template(path = "message.html")]
struct Message {
    frame: Frame,
    heading: &'static str,
    text: String,
}

/// The page of a template.
fn page(status: StatusCode, template: &impl Template) -> HttpResponse {
    match template.render() {
        Ok(html) => HttpResponse::build(status)
            .content_type("text/html; charset=utf-8")
            .insert_header((CONTENT_SECURITY_POLICY, POLICY))
            .insert_header((CACHE_CONTROL, "no-store"))
            .body(html),
        Err(error) => {
            tracing::error!(%error, "a page cannot be rendered");
            HttpResponse::InternalServerError().finish()
        }
    }
}

/// The page for a refusal that no field can show.
fn refused(frame: Frame, refusal: &Refusal) -> HttpResponse {
    let (status, heading, text) = match refusal {
        Refusal::Forbidden(text) => (StatusCode::FORBIDDEN, "Not with this role", text.clone()),
        Refusal::NotFound(what) => (
            StatusCode::NOT_FOUND,
            "Not there",
            format!("There is no such {what}."),
        ),
        Refusal::KeyReused => (
            StatusCode::CONFLICT,
            "Done already",
            "This form was sent before with other values; begin anew.".into(),
        ),
        Refusal::Unavailable(_) => (
            StatusCode::SERVICE_UNAVAILABLE,
            "Not just now",
            "The database cannot be reached; try again.".into(),
        ),
        other => {
            tracing::error!(refusal = ?other, "a page was refused");
            (
                StatusCode::INTERNAL_SERVER_ERROR,
                "Something broke",
                "The log says what.".into(),
            )
        }
    };
    page(
        status,
        &Message {
            frame,
            heading,
            text,
        },
    )
}
