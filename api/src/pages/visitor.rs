//! Who looks at a page: signing in with a token or a one-time link, and out.

use actix_web::cookie::{Cookie, SameSite};
use actix_web::http::StatusCode;
use actix_web::http::header::{HeaderValue, WWW_AUTHENTICATE};
use actix_web::{HttpMessage, HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::words::Role;
use subtle::ConstantTimeEq;

use crate::http::envelope::RequestId;
use crate::http::guard::COOKIE;
use crate::http::rate::{self, Limiter};
use crate::pages::anew::{Anew, anew};
use crate::pages::answer::{Frame, Message, Reply, page, refused};
use crate::pages::typed::{Posted, Typed};
use crate::pages::words::{say, say_with};
use crate::service::{Actor, Refusal, Shop};

/// Somebody who is signed in.
#[derive(Debug)]
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
    /// Why one is asked to; empty where one came by oneself.
    said: String,
    fault: &'static str,
    /// Where to go from here.
    then: String,
}

/// The page for a form of another sign-in.
#[derive(Template)]
#[template(path = "not_yours.html")]
struct NotYours {
    frame: Frame,
    anew: Anew,
}

#[derive(Template)]
#[template(path = "signed_in.html")]
struct SignedIn {
    frame: Frame,
}

/// What a page shows around its content, whoever asks.
pub(super) fn frame(shop: &Shop, request: &HttpRequest) -> Frame {
    known(shop, request).map_or_else(|| nobody(request), |visitor| visitor.frame)
}

fn nobody(request: &HttpRequest) -> Frame {
    let id = request.extensions().get::<RequestId>().map(|id| id.0);
    Frame {
        here: request.path().to_owned(),
        request: id.unwrap_or_default(),
        ..Frame::default()
    }
}

fn known(shop: &Shop, request: &HttpRequest) -> Option<Visitor> {
    let (actor, form_key) = shop.access.signed_in(request.cookie(COOKIE)?.value())?;
    let frame = Frame {
        who: Some((actor.name.clone(), actor.role)),
        form_key,
        idle_seconds: shop.access.idle().num_seconds(),
        ..nobody(request)
    };
    Some(Visitor { actor, frame })
}

/// Who asks for a page, or the page that asks them to sign in, or says that their role is too small.
pub(super) fn visitor(
    shop: &Shop,
    request: &HttpRequest,
    least: Role,
) -> Result<Visitor, Box<HttpResponse>> {
    let Some(visitor) = known(shop, request) else {
        let then = request
            .uri()
            .path_and_query()
            .map_or("/", |there| there.as_str());
        // The first page is where one signs in; what lies behind it is refused till then.
        let status = if request.path() == "/" {
            StatusCode::OK
        } else {
            StatusCode::UNAUTHORIZED
        };
        return Err(sign_in_page(nobody(request), status, "", then).into());
    };
    if visitor.actor.role >= least {
        return Ok(visitor);
    }
    let text = say_with(
        "pages-takes-role-least-you-signed",
        &[
            ("least", &least.word()),
            ("role", &visitor.actor.role.word()),
        ],
    );
    Err(refused(visitor.frame, Refusal::Forbidden(text)).into())
}

/// Who sends a form, and what it says: the form has to be one of theirs.
pub(super) fn sender(
    shop: &Shop,
    request: &HttpRequest,
    posted: Posted,
    least: Role,
) -> Result<(Visitor, Typed), Box<HttpResponse>> {
    let typed = posted.typed(&frame(shop, request))?;
    if known(shop, request).is_none() {
        return Err(signed_out(request, &typed).into());
    }
    let visitor = visitor(shop, request, least)?;
    let visitor = with_own_form(visitor, request, &typed)?;
    Ok((visitor, typed))
}

/// Somebody whose form is one of theirs.
pub(super) fn with_own_form(
    visitor: Visitor,
    request: &HttpRequest,
    typed: &Typed,
) -> Result<Visitor, Box<HttpResponse>> {
    if from_elsewhere(request) {
        let message = Message {
            frame: visitor.frame,
            heading: say("pages-not-your-form"),
            text: say("pages-form-came-from-another-site").to_owned(),
        };
        return Err(page(StatusCode::FORBIDDEN, &message).into());
    }
    let own = visitor.frame.form_key.as_bytes();
    if !bool::from(own.ct_eq(typed.one("form_key").as_bytes())) {
        let message = NotYours {
            frame: visitor.frame,
            anew: anew(request, typed),
        };
        return Err(page(StatusCode::FORBIDDEN, &message).into());
    }
    Ok(visitor)
}

/// The page for whoever sends a form and is signed in no more.
fn signed_out(request: &HttpRequest, typed: &Typed) -> HttpResponse {
    let anew = anew(request, typed);
    let said = match (anew.is_filled_in, anew.typed.as_str()) {
        (true, _) => say("pages-signed-out-comes-along").to_owned(),
        (false, "") => say("pages-signed-out-go-on").to_owned(),
        (false, typed) => say_with("pages-signed-out-type-again", &[("typed", &typed)]),
    };
    let status = StatusCode::UNAUTHORIZED;
    asked_to_sign_in(nobody(request), status, said, "", &anew.path)
}

/// Whether the browser says that a page of another site sent this.
fn from_elsewhere(request: &HttpRequest) -> bool {
    let site = request
        .headers()
        .get("sec-fetch-site")
        .map(HeaderValue::as_bytes);
    matches!(site, Some(b"cross-site" | b"same-site"))
}

fn sign_in_page(frame: Frame, status: StatusCode, fault: &'static str, then: &str) -> HttpResponse {
    asked_to_sign_in(frame, status, String::new(), fault, then)
}

fn asked_to_sign_in(
    frame: Frame,
    status: StatusCode,
    said: String,
    fault: &'static str,
    then: &str,
) -> HttpResponse {
    let mut answer = page(
        status,
        &SignIn {
            frame,
            said,
            fault,
            then: within(then).to_owned(),
        },
    );
    if status == StatusCode::UNAUTHORIZED {
        answer.headers_mut().insert(
            WWW_AUTHENTICATE,
            HeaderValue::from_static("Bearer realm=\"plugwell\""),
        );
    }
    answer
}

/// A path of this service, so that nobody is sent elsewhere after signing in; the start else.
pub(super) fn within(then: &str) -> &str {
    let own = then.starts_with('/')
        && !then.starts_with("//")
        && then.bytes().all(|b| b.is_ascii_graphic() && b != b'\\');
    if own && !then.starts_with("/sign-") {
        then
    } else {
        "/"
    }
}

/// The cookie of a session. `Secure` is set where a proxy says that it serves over TLS; over plain
/// HTTP, as on the loopback, a browser would not send such a cookie back.
fn cookie(request: &HttpRequest, value: String) -> Cookie<'static> {
    let over_tls = request.connection_info().scheme() == "https";
    Cookie::build(COOKIE, value)
        .path("/")
        .http_only(true)
        .same_site(SameSite::Strict)
        .secure(over_tls)
        .finish()
}

fn with_cookie(mut answer: HttpResponse, cookie: &Cookie<'_>) -> HttpResponse {
    match answer.add_cookie(cookie) {
        Ok(()) => answer,
        Err(error) => refused(
            Frame::default(),
            Refusal::Fault(format!("a cookie cannot be set: {error}")),
        ),
    }
}

/// Counts a wrong token or link; the refusal where too many came from the same address.
async fn guessed(request: &HttpRequest) -> Option<HttpResponse> {
    let limiter = request.app_data::<web::Data<Limiter>>()?;
    let refused = limiter.wrong_token(limiter.address(request)?).err()?;
    rate::pause().await;
    Some(HttpResponse::from_error(refused))
}

/// Signs in with a token.
pub(super) async fn sign_in(
    shop: web::Data<Shop>,
    request: HttpRequest,
    posted: Posted,
) -> HttpResponse {
    let nobody = nobody(&request);
    let typed = match posted.typed(&nobody) {
        Ok(typed) => typed,
        Err(page) => return *page,
    };
    // There is no session yet to hold a key for this form.
    if from_elsewhere(&request) {
        let text = say("pages-form-came-another-site-nobody").to_owned();
        return page(
            StatusCode::FORBIDDEN,
            &Message {
                frame: nobody,
                heading: say("pages-not-your-form"),
                text,
            },
        );
    }
    let then = typed.one("then");
    let Some(actor) = shop.access.authenticate(typed.one("token")) else {
        if let Some(refused) = guessed(&request).await {
            return refused;
        }
        let fault = say("pages-token-unknown-revoked");
        return sign_in_page(nobody, StatusCode::UNAUTHORIZED, fault, then);
    };
    match shop.access.sign_in(actor.token_id) {
        Ok(session) => with_cookie(
            Reply::Elsewhere(within(then).to_owned()).into(),
            &cookie(&request, session),
        ),
        Err(refusal) => refused(nobody, refusal),
    }
}

/// Signs in by a link that works once; without one it shows the form.
pub(super) async fn follow_link(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let (nobody, typed) = (nobody(&request), Typed::of_query(request.query_string()));
    let code = typed.one("link");
    // A look ahead must not use the link up.
    if code.is_empty() || request.method() == actix_web::http::Method::HEAD {
        return sign_in_page(nobody, StatusCode::OK, "", "/");
    }
    match shop.access.follow_link(code) {
        Ok(Some(session)) => {
            // A browser keeps a strict cookie back on a redirect that another site began.
            let answer = if from_elsewhere(&request) {
                page(StatusCode::OK, &SignedIn { frame: nobody })
            } else {
                Reply::Elsewhere("/".into()).into()
            };
            with_cookie(answer, &cookie(&request, session))
        }
        Ok(None) => {
            if let Some(refused) = guessed(&request).await {
                return refused;
            }
            let fault = say("pages-link-has-been-used-too");
            sign_in_page(nobody, StatusCode::UNAUTHORIZED, fault, "/")
        }
        Err(refusal) => refused(nobody, refusal),
    }
}

/// Signs out.
pub(super) async fn sign_out(
    shop: web::Data<Shop>,
    request: HttpRequest,
    posted: Posted,
) -> HttpResponse {
    if let Err(page) = sender(&shop, &request, posted, Role::Reader) {
        return *page;
    }
    if let Some(cookie) = request.cookie(COOKIE) {
        shop.access.sign_out(cookie.value());
    }
    let mut gone = cookie(&request, String::new());
    gone.make_removal();
    with_cookie(Reply::Elsewhere("/".into()).into(), &gone)
}

/// Signs out of every browser that the same token is signed in to.
pub(super) async fn sign_out_everywhere(
    shop: web::Data<Shop>,
    request: HttpRequest,
    posted: Posted,
) -> HttpResponse {
    let who = match sender(&shop, &request, posted, Role::Reader) {
        Ok((who, _)) => who,
        Err(page) => return *page,
    };
    shop.access.sign_out_everywhere(who.actor.token_id);
    let mut gone = cookie(&request, String::new());
    gone.make_removal();
    with_cookie(Reply::Elsewhere("/".into()).into(), &gone)
}

/// Keeps a session from running out; nothing else.
pub(super) async fn stay(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    match visitor(&shop, &request, Role::Reader) {
        Ok(_) => HttpResponse::NoContent().finish(),
        Err(page) => *page,
    }
}

#[derive(Template)]
#[template(path = "session.html")]
struct Session {
    frame: Frame,
}

/// Who one is signed in as, and for how long.
pub(super) async fn session(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    match visitor(&shop, &request, Role::Reader) {
        Ok(who) => page(StatusCode::OK, &Session { frame: who.frame }),
        Err(page) => *page,
    }
}

#[cfg(test)]
mod tests {
    use super::within;

    #[test]
    fn nobody_is_sent_to_another_site() {
        for own in ["/", "/issue?plug_id=1&quantity=9", "/?head=1"] {
            assert_eq!(within(own), own);
        }
        for other in [
            "",
            "//other.example",
            "https://other.example",
            "/\\other.example",
            "issue",
            "/a b",
            "/sign-out",
        ] {
            assert_eq!(within(other), "/", "{other:?}");
        }
    }
}
