//! The forms of answers that pages give.

use actix_web::http::StatusCode;
use actix_web::http::header::{CACHE_CONTROL, CONTENT_SECURITY_POLICY, LOCATION, REFERRER_POLICY};
use actix_web::{HttpResponse, web};
use askama::Template;
use plugwell_domain::words::Role;
use uuid::Uuid;

use crate::http::answer as drawn;
use crate::http::csv_answer;
use crate::http::etag::IfNoneMatch;
use crate::http::problem::RATE_LIMITED;
use crate::http::rate::away;
use crate::pages::ways::{Room, WAYS, Way};
use crate::pages::words::{say, say_with};
use crate::pages::{SCRIPT_MARK, STYLE_MARK, lately};
use crate::service::{Refusal, Shop};
use crate::shown::{self, Reader, marked};

/// Nothing but our own stylesheets, scripts, pictures and forms: nothing inline, nothing from elsewhere.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; connect-src 'self'; \
                      img-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'";

/// What every page shows around its own content.
#[derive(Debug, Clone, Default)]
pub(super) struct Frame {
    /// Name and role of who is signed in.
    pub who: Option<(String, Role)>,
    /// What every form has to carry.
    pub form_key: String,
    /// The path that is shown.
    pub here: String,
    /// The request, as the log knows it.
    pub request: Uuid,
    /// How long a page may lie idle, in seconds.
    pub idle_seconds: i64,
    /// The form on the page that takes in what is scanned at the top; empty where that leads to the
    /// thing itself.
    pub line_of: &'static str,
    /// What was done last.
    pub lately: Vec<lately::Act>,
}

/// Pages of a room, as the frame lists them.
#[derive(Debug)]
pub(super) struct Listed {
    /// What the room is called.
    pub room: &'static str,
    /// Whether one is in it.
    pub is_here: bool,
    /// Path, words, whether one is there.
    pub ways: Vec<(&'static str, &'static str, bool)>,
}

impl Frame {
    /// The page that one is on, where one can go to it by itself; of a page below one, that one.
    fn way(&self) -> Option<&'static Way> {
        let within = |way: &&Way| {
            let rest = self.here.strip_prefix(way.path);
            rest.is_some_and(|rest| rest.is_empty() || (way.path != "/" && rest.starts_with('/')))
        };
        WAYS.iter().filter(within).max_by_key(|way| way.path.len())
    }

    /// Where one can go from here, room by room.
    pub fn rooms(&self) -> Vec<Listed> {
        let Some((_, role)) = &self.who else {
            return Vec::new();
        };
        let here = self.way();
        let listed = |room: &Room| Listed {
            room: room.words(),
            is_here: here.is_some_and(|way| way.room == *room),
            ways: WAYS
                .iter()
                .filter(|way| way.room == *room && *role >= way.least)
                .map(|way| {
                    (
                        way.path,
                        way.words(),
                        here.is_some_and(|at| at.path == way.path),
                    )
                })
                .collect(),
        };
        let mut rooms: Vec<Listed> = Room::ALL.iter().map(listed).collect();
        rooms.retain(|room| !room.ways.is_empty());
        rooms
    }

    /// Whether who looks has at least a role.
    pub fn may(&self, least: Role) -> bool {
        self.who.as_ref().is_some_and(|(_, role)| *role >= least)
    }

    /// Whether what was done last lies open.
    pub fn is_at_counter(&self) -> bool {
        let is_act = |way: &Way| way.takes_part || way.path == "/return";
        self.here == "/booked" || self.way().is_some_and(is_act)
    }

    /// The stylesheet's address.
    pub fn style(&self) -> String {
        format!("/assets/plugwell.css?{}", *STYLE_MARK)
    }

    /// The script's address.
    pub fn script(&self) -> String {
        format!("/assets/plugwell.js?{}", *SCRIPT_MARK)
    }

    /// How long a page may lie idle, in words.
    pub fn idle(&self) -> String {
        match (self.idle_seconds / 3600, self.idle_seconds / 60) {
            (0, 0) => say_with("pages-seconds", &[("seconds", &self.idle_seconds)]),
            (0, minutes) => say_with("pages-minutes", &[("minutes", &minutes)]),
            (hours, _) => say_with("pages-hours", &[("hours", &hours)]),
        }
    }
}

/// A page with a heading and a sentence, for what went wrong.
#[derive(Template)]
#[template(path = "message.html")]
pub(super) struct Message {
    pub frame: Frame,
    pub heading: &'static str,
    pub text: String,
}

/// An answer, before it is one of HTTP's: it may cross threads.
#[derive(Debug)]
pub(super) enum Reply {
    /// A page.
    Page(StatusCode, String),
    /// Look there.
    Elsewhere(String),
    /// A picture, and which the browser has already.
    Picture(String, IfNoneMatch),
    /// A sheet for print, and the stylesheet that stands in it.
    Sheet(String, &'static str),
    /// The same with pictures in it, which bring their own stylesheet.
    Illustrated(String, &'static str),
    /// A table that is saved as a file, by its name without ending.
    File(&'static str, Vec<u8>),
}

impl Reply {
    /// The page of a template.
    pub fn page(status: StatusCode, template: &impl Template) -> Result<Self, Refusal> {
        let html = template
            .render()
            .map_err(|e| Refusal::Fault(format!("a page cannot be rendered: {e}")))?;
        Ok(Self::Page(status, html))
    }
}

impl From<Reply> for HttpResponse {
    fn from(reply: Reply) -> Self {
        match reply {
            Reply::Page(status, html) => Self::build(status)
                .content_type("text/html; charset=utf-8")
                .insert_header((CONTENT_SECURITY_POLICY, POLICY))
                // A form that outlived its sign-in goes back to the page that it was on.
                .insert_header((REFERRER_POLICY, "same-origin"))
                .insert_header((CACHE_CONTROL, "no-store"))
                .body(html),
            Reply::Picture(svg, known) => drawn::picture(svg, &known),
            Reply::Sheet(html, style) => drawn::sheet(html, style),
            Reply::Illustrated(html, style) => drawn::illustrated(html, style),
            Reply::File(name, lines) => csv_answer::file(name, lines),
            Reply::Elsewhere(there) => Self::SeeOther()
                .insert_header((LOCATION, there))
                .insert_header((CACHE_CONTROL, "no-store"))
                .finish(),
        }
    }
}

/// The page of a template, from where no refusal can be given any more.
pub(super) fn page(status: StatusCode, template: &impl Template) -> HttpResponse {
    match Reply::page(status, template) {
        Ok(reply) => reply.into(),
        Err(refusal) => {
            tracing::error!(?refusal, "a page cannot be shown");
            HttpResponse::InternalServerError().finish()
        }
    }
}

/// Lets a page be made away from the event loop, in the request's span; a refusal is a page as well.
pub(super) async fn made(
    shop: &web::Data<Shop>,
    frame: Frame,
    make: impl FnOnce(&Shop, Frame) -> Result<Reply, Refusal> + Send + 'static,
) -> HttpResponse {
    let reader = Reader::of(&shop.policy());
    let (shop, mut own) = (shop.clone(), frame.clone());
    let make = move || {
        shown::for_reader(reader, || {
            own.lately = lately::acts(&shop, own.who.as_ref())?;
            make(&shop, own)
        })
    };
    match away(make).await {
        Ok(Ok(reply)) => reply.into(),
        Ok(Err(refusal)) => shown::for_reader(reader, || refused(frame, refusal)),
        Err(problem) if problem.code() == &RATE_LIMITED => HttpResponse::from_error(problem),
        Err(problem) => refused(frame, Refusal::Fault(problem.to_string())),
    }
}

/// The page for a refusal that no form can show.
pub(super) fn refused(frame: Frame, refusal: Refusal) -> HttpResponse {
    let sentences = |faults: Vec<plugwell_domain::fault::Fault>| {
        faults
            .into_iter()
            .map(|fault| marked(fault.detail))
            .collect::<Vec<_>>()
            .join("; ")
    };
    let (status, heading, text) = match refusal {
        Refusal::Forbidden(text) => (StatusCode::FORBIDDEN, say("pages-not-with-this-role"), text),
        Refusal::NotFound(what) => (
            StatusCode::NOT_FOUND,
            say("pages-not-there"),
            say_with("pages-there-is-no-such-what", &[("what", &what)]),
        ),
        Refusal::Faults(faults) => (
            StatusCode::BAD_REQUEST,
            say("pages-not-understood"),
            sentences(faults),
        ),
        Refusal::Conflict { detail, .. } => {
            (StatusCode::CONFLICT, say("pages-not-now"), marked(detail))
        }
        Refusal::Stale => {
            let text = say("pages-somebody-changed-meanwhile-nothing-done");
            (
                StatusCode::CONFLICT,
                say("pages-changed-meanwhile"),
                text.into(),
            )
        }
        Refusal::KeyReused => {
            let text = say("pages-form-sent-before-other-values");
            (StatusCode::CONFLICT, say("pages-done-already"), text.into())
        }
        Refusal::Unavailable(cause) => {
            tracing::error!(cause, "a page was refused");
            let text = say("pages-database-cannot-reached-just-now");
            (
                StatusCode::SERVICE_UNAVAILABLE,
                say("pages-not-just-now"),
                text.into(),
            )
        }
        other => {
            tracing::error!(refusal = ?other, "a page was refused");
            let text = say_with(
                "pages-something-went-wrong-inside-log",
                &[("request", &frame.request.to_string())],
            );
            (
                StatusCode::INTERNAL_SERVER_ERROR,
                say("pages-our-own-fault"),
                text,
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
