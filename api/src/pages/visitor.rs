//! Who looks at a page: signing in with a token or a one-time link, and out.

use actix_web::cookie::{Cookie, SameSite};
use actix_web::http::StatusCode;
use actix_web::http::header::LOCATION;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::words::Role;
use serde::Deserialize;

use crate::pages::{Frame, Message, page, refused};
use crate::service::{Actor, Shop};

const COOKIE: &str = "plugwell";

/// Somebody who is signed in.
pub(super) struct Visitor {
    /// Who.
    pub actor: Actor,
    /// What their pages show and their forms carry.
    pub frame: Frame,
}

#[derive(Template)]
#[template(path = "sign_in.html")]
struct SignIn {
    frame: Frame,
    fault: &'static str,
}

/// Who asks for a page, or the page that asks them to sign in.
pub(super) fn visitor(shop: &Shop, request: &HttpRequest) -> Result<Visitor, Box<HttpResponse>> {
    let cookie = request.cookie(COOKIE);
    match cookie.and_then(|cookie| shop.access.signed_in(cookie.value())) {
        Some((actor, form_key)) => {
            let signed_in = format!("{} ({})", actor.name, actor.role);
            Ok(Visitor {
                actor,
                frame: Frame {
                    signed_in,
                    form_key,
                },
            })
        }
        None => Err(Box::new(page(
            StatusCode::UNAUTHORIZED,
            &SignIn {
                frame: Frame::default(),
                fault: "",
            },
        ))),
    }
}

/// The same for a form: the role has to be large enough, and the form one of ours.
pub(super) fn sender(
    shop: &Shop,
    request: &HttpRequest,
    form_key: &str,
    least: Role,
) -> Result<Visitor, Box<HttpResponse>> {
    let visitor = visitor(shop, request)?;
    if form_key != visitor.frame.form_key {
        let text = "The form does not belong to this sign-in; open the page anew.".to_owned();
        let heading = "Form out of date";
        return Err(Box::new(page(
            StatusCode::FORBIDDEN,
            &Message {
                frame: visitor.frame,
                heading,
                text,
            },
        )));
    }
    with_role(visitor, least)
}

/// Only for a role and those that hold it.
pub(super) fn with_role(visitor: Visitor, least: Role) -> Result<Visitor, Box<HttpResponse>> {
    if visitor.actor.role >= least {
        return Ok(visitor);
    }
    let text = format!(
        "This takes the role {least}; you are signed in as {}.",
        visitor.actor.role
    );
    let heading = "Not with this role";
    Err(Box::new(page(
        StatusCode::FORBIDDEN,
        &Message {
            frame: visitor.frame,
            heading,
            text,
        },
    )))
}

fn to_the_start(cookie: Cookie<'_>) -> HttpResponse {
    HttpResponse::SeeOther()
        .insert_header((LOCATION, "/"))
        .cookie(cookie)
        .finish()
}

/// Not `Secure`: the service itself speaks plain HTTP to this machine; the proxy that adds TLS is
/// the one that can add the flag.
fn signed(value: String) -> Cookie<'static> {
    Cookie::build(COOKIE, value)
        .path("/")
        .http_only(true)
        .same_site(SameSite::Strict)
        .finish()
}

#[derive(Deserialize)]
pub(super) struct Shown {
    token: String,
}

/// Signs in with a token.
pub(super) async fn sign_in(shop: web::Data<Shop>, form: web::Form<Shown>) -> HttpResponse {
    let Some(actor) = shop.access.authenticate(form.token.trim()) else {
        let fault = "That token is unknown or revoked.";
        return page(
            StatusCode::UNAUTHORIZED,
            &SignIn {
                frame: Frame::default(),
                fault,
            },
        );
    };
    match shop.access.sign_in(actor.token_id) {
        Ok(cookie) => to_the_start(signed(cookie)),
        Err(refusal) => refused(Frame::default(), &refusal),
    }
}

#[derive(Deserialize)]
pub(super) struct Link {
    #[serde(default)]
    link: String,
}

/// Signs in by a link that works once.
pub(super) async fn follow_link(shop: web::Data<Shop>, link: web::Query<Link>) -> HttpResponse {
    match shop.access.follow_link(&link.link) {
        Ok(Some(cookie)) => to_the_start(signed(cookie)),
        Ok(None) => {
            let fault = "That link has been used, or is too old. Sign in with a token.";
            page(
                StatusCode::UNAUTHORIZED,
                &SignIn {
                    frame: Frame::default(),
                    fault,
                },
            )
        }
        Err(refusal) => refused(Frame::default(), &refusal),
    }
}

#[derive(Deserialize)]
pub(super) struct Leaving {
    form_key: String,
}

/// Signs out.
pub(super) async fn sign_out(
    shop: web::Data<Shop>,
    request: HttpRequest,
    form: web::Form<Leaving>,
) -> HttpResponse {
    if let Err(page) = sender(&shop, &request, &form.form_key, Role::Reader) {
        return *page;
    }
    if let Some(cookie) = request.cookie(COOKIE) {
        shop.access.sign_out(cookie.value());
    }
    let mut gone = signed(String::new());
    gone.make_removal();
    to_the_start(gone)
}
