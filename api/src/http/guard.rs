//! Who may: the token, the role, the path and the method, in the contract's order, before anything
//! else looks at a request.

use std::net::SocketAddr;
use std::sync::Arc;

use actix_web::body::{EitherBody, MessageBody};
use actix_web::dev::{Payload, ServiceRequest, ServiceResponse};
use actix_web::http::header::{self, HeaderMap, HeaderValue};
use actix_web::http::{Method, StatusCode};
use actix_web::middleware::Next;
use actix_web::web::Data;
use actix_web::{Error, FromRequest, HttpMessage, HttpRequest, HttpResponse};
use futures_util::future::{Ready, ready};
use plugwell_domain::fault::FaultCode;
use plugwell_domain::words::Role;

use crate::http::answer::{POSITION, ask};
use crate::http::openapi;
use crate::http::problem::{FORBIDDEN, METHOD_NOT_ALLOWED, NOT_FOUND, Problem, UNAUTHORIZED};
use crate::http::query::Members;
use crate::http::rate::{self, Asker, Limiter, Standing, is_forwarded};
use crate::http::routes::{self, Least, Route};
use crate::service::{Actor, Shop};

/// The cookie of a session of the pages.
pub const COOKIE: &str = "plugwell";

/// The route of a pattern that a method takes.
pub(super) type Taken = fn(&str, &str) -> Option<&'static Route>;

/// The middleware: refuses, or lets through with the [`Actor`] known.
///
/// # Errors
/// Those of the services behind it; a refusal is an answer.
pub async fn guard<B: MessageBody + 'static>(
    request: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<EitherBody<B>>, Error> {
    telling(routes::taken, request, next).await
}

/// Says with every answer, a refusal among them, that its operation will go, where it will.
pub(super) async fn telling<B: MessageBody + 'static>(
    taken: Taken,
    request: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<EitherBody<B>>, Error> {
    let pattern = routes::pattern(request.path());
    let route = pattern.and_then(|pattern| taken(pattern, request.method().as_str()));
    let mut answer = in_turn(request, pattern, next).await?;
    if let Some(retires) = route.and_then(|route| route.retires) {
        retires.tell(answer.headers_mut());
    }
    Ok(answer)
}

/// Counts the request where requests like it are limited, and lets it wait its turn.
async fn in_turn<B: MessageBody + 'static>(
    request: ServiceRequest,
    pattern: Option<&'static str>,
    next: Next<B>,
) -> Result<ServiceResponse<EitherBody<B>>, Error> {
    let known = authenticated(&request);
    let counted = match counted(&request, pattern, known.as_ref().ok()) {
        Ok(counted) => counted,
        Err(problem) => {
            rate::pause().await;
            return Ok(request.error_response(problem).map_into_right_body());
        }
    };
    let Some((limiter, asker, standings)) = counted else {
        return let_through(request, pattern, known, next).await;
    };
    let answer = let_through(request, pattern, known, next);
    let mut answer = rate::in_line(Arc::clone(&limiter), asker, answer).await?;
    for (name, value) in limiter.told(&standings) {
        // A refusal on the way has headers of its own.
        if let Ok(value) = HeaderValue::from_str(&value)
            && !answer.headers().contains_key(&name)
        {
            answer.headers_mut().insert(name, value);
        }
    }
    Ok(answer)
}

/// A request that is counted: by whom, for whom, and what is left to them.
type Counted = (Arc<Limiter>, Asker, Vec<Standing>);

/// Counts a request where requests like it are limited.
fn counted(
    request: &ServiceRequest,
    pattern: Option<&'static str>,
    known: Option<&Actor>,
) -> Result<Option<Counted>, Problem> {
    let path = request.path();
    let cost = routes::cost(pattern, request.method().as_str(), path);
    let limiter = request.app_data::<Data<Limiter>>();
    let Some(limiter) = limiter.filter(|_| cost > 0) else {
        return Ok(None);
    };
    let Some(address) = limiter.address(request.request()) else {
        return Ok(None);
    };
    let is_page = pattern.is_none() && !routes::is_api(path);
    let token = if is_page {
        let shop = request.app_data::<Data<Shop>>();
        let cookie = request.cookie(COOKIE);
        shop.zip(cookie)
            .and_then(|(shop, cookie)| shop.access.session_of(cookie.value()))
    } else {
        let shown = request.headers().contains_key(header::AUTHORIZATION);
        if shown && known.is_none() {
            limiter.wrong_token(address)?;
        }
        known.map(|actor| actor.token_id)
    };
    let asker = Asker { token, address };
    let standings = limiter.admit(asker, cost)?;
    Ok(Some((Arc::clone(limiter), asker, standings)))
}

/// Puts token, path and method to the table of routes; then it is the handler's.
async fn let_through<B: MessageBody + 'static>(
    mut request: ServiceRequest,
    pattern: Option<&'static str>,
    known: Result<Actor, Problem>,
    next: Next<B>,
) -> Result<ServiceResponse<EitherBody<B>>, Error> {
    match judge(&request, pattern, known) {
        Ok(Passed::As(actor)) => {
            if let Some(actor) = actor {
                request.extensions_mut().insert(actor);
            }
            let fit = match known_members(&request, pattern) {
                Ok(()) => as_far_as_asked(&request).await,
                unknown => unknown,
            };
            if let Err(problem) = fit {
                return Ok(request.error_response(problem).map_into_right_body());
            }
            // What answers GET answers HEAD; the connection leaves the body out by itself.
            if pattern.is_some() && request.method() == Method::HEAD {
                request.head_mut().method = Method::GET;
            }
            Ok(next.call(request).await?.map_into_left_body())
        }
        Ok(Passed::Options(allow)) => {
            let answer = HttpResponse::build(StatusCode::NO_CONTENT)
                .insert_header((header::ALLOW, allow))
                .finish();
            Ok(request.into_response(answer).map_into_right_body())
        }
        Err(problem) => Ok(request.error_response(problem).map_into_right_body()),
    }
}

/// Refuses every member of a query where the operation has none; an operation that has some looks itself.
fn known_members(request: &ServiceRequest, pattern: Option<&str>) -> Result<(), Problem> {
    let query = request.query_string();
    let route = pattern
        .filter(|_| !query.is_empty() && routes::is_api(request.path()))
        .and_then(|pattern| routes::taken(pattern, request.method().as_str()));
    match route {
        Some(route) if !openapi::takes_query(route) => Members::of(request.path(), query).finish(),
        _ => Ok(()),
    }
}

/// Waits until the shop shows at least the place that the caller brings along from a write.
async fn as_far_as_asked(request: &ServiceRequest) -> Result<(), Problem> {
    let Some(value) = request.headers().get(POSITION) else {
        return Ok(());
    };
    let position = value
        .to_str()
        .ok()
        .and_then(|text| text.parse::<i64>().ok())
        .filter(|position| *position >= 0);
    let wrong = |code| {
        let detail = "send the position as an answer to a write of this shop gave it";
        Problem::fault("Plugwell-Position:", code, detail)
    };
    let Some(position) = position else {
        return Err(wrong(FaultCode::WrongForm));
    };
    match request.app_data::<Data<Shop>>() {
        Some(shop) if position > shop.position() => {
            ask(shop, move |shop| {
                if shop.never_gave(position)? {
                    return Err(wrong(FaultCode::OutOfRange));
                }
                Ok(shop.reach(position)?)
            })
            .await
        }
        _ => Ok(()),
    }
}

enum Passed {
    /// Goes on, as this actor.
    As(Option<Actor>),
    /// Asked only what is allowed.
    Options(String),
}

fn judge(
    request: &ServiceRequest,
    pattern: Option<&'static str>,
    known: Result<Actor, Problem>,
) -> Result<Passed, Problem> {
    let path = request.path();
    let Some(pattern) = pattern else {
        if routes::is_api(path) {
            known?;
            return Err(Problem::new(&NOT_FOUND, format!("{path} leads nowhere")));
        }
        // The pages know their own paths and who is signed in.
        return Ok(Passed::As(None));
    };
    let method = request.method();
    let route = routes::taken(pattern, method.as_str());
    let least = match route {
        Some(route) => route.least,
        // Without a route of this method any role will do to be told so.
        None => routes::of_pattern(pattern)
            .map(|route| route.least)
            .find(|least| !matches!(least, Least::Role(_)))
            .unwrap_or(Least::Role(Role::Reader)),
    };
    let actor = match least {
        Least::Open => None,
        Least::Loopback if is_local(request.peer_addr(), request.headers()) => None,
        Least::Loopback => Some(authorized(known?, Role::Reader)?),
        Least::Role(role) => Some(authorized(known?, role)?),
    };
    match route {
        Some(_) => Ok(Passed::As(actor)),
        None if method == Method::OPTIONS => Ok(Passed::Options(routes::allowed(pattern))),
        None => {
            let allow = routes::allowed(pattern);
            Err(
                Problem::new(&METHOD_NOT_ALLOWED, format!("{method} is none of {allow}"))
                    .header(header::ALLOW, &allow),
            )
        }
    }
}

/// Whether a request comes from this machine and not through a proxy on it.
fn is_local(peer: Option<SocketAddr>, headers: &HeaderMap) -> bool {
    peer.is_some_and(|peer| peer.ip().to_canonical().is_loopback()) && !is_forwarded(headers)
}

fn authorized(actor: Actor, least: Role) -> Result<Actor, Problem> {
    if actor.role >= least {
        return Ok(actor);
    }
    Err(Problem::new(
        &FORBIDDEN,
        format!(
            "this takes the role {least}; the token is a {}'s",
            actor.role
        ),
    ))
}

fn authenticated(request: &ServiceRequest) -> Result<Actor, Problem> {
    let refused = |detail: &str, challenge: &str| {
        Problem::new(&UNAUTHORIZED, detail).header(header::WWW_AUTHENTICATE, challenge)
    };
    let Some(value) = request.headers().get(header::AUTHORIZATION) else {
        return Err(refused(
            "send Authorization: Bearer and a token",
            "Bearer realm=\"plugwell\"",
        ));
    };
    let invalid = || {
        refused(
            "the token is malformed, unknown or revoked",
            "Bearer realm=\"plugwell\", error=\"invalid_token\"",
        )
    };
    let token = value.to_str().ok().and_then(bearer).ok_or_else(invalid)?;
    let shop = request
        .app_data::<Data<Shop>>()
        .ok_or_else(|| Problem::internal("no shop is open"))?;
    shop.access.authenticate(token).ok_or_else(invalid)
}

/// The token of an `Authorization` header; the scheme's case does not matter.
fn bearer(header: &str) -> Option<&str> {
    let (scheme, token) = header.trim().split_once(' ')?;
    let token = token.trim();
    (scheme.eq_ignore_ascii_case("bearer") && !token.is_empty()).then_some(token)
}

/// Who asks, as the guard found out.
///
/// # Errors
/// `unauthorized` where the route needs no token.
pub fn actor(request: &HttpRequest) -> Result<Actor, Problem> {
    request
        .extensions()
        .get::<Actor>()
        .cloned()
        .ok_or_else(|| Problem::new(&UNAUTHORIZED, "send Authorization: Bearer and a token"))
}

impl FromRequest for Actor {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        ready(actor(request))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_token_follows_the_scheme() {
        assert_eq!(bearer("Bearer abc"), Some("abc"));
        assert_eq!(bearer("bearer  abc "), Some("abc"));
        for wrong in ["", "abc", "Bearer", "Bearer ", "Basic abc"] {
            assert_eq!(bearer(wrong), None, "{wrong:?}");
        }
    }

    #[test]
    fn only_this_machine_itself_is_local() {
        let peer = |text: &str| Some(text.parse().unwrap());
        let mut headers = HeaderMap::new();
        assert!(is_local(peer("127.0.0.1:9"), &headers));
        assert!(is_local(peer("[::1]:9"), &headers));
        assert!(is_local(peer("[::ffff:127.0.0.1]:9"), &headers));
        assert!(!is_local(peer("192.0.2.1:9"), &headers));
        assert!(!is_local(None, &headers));
        headers.insert(header::X_FORWARDED_FOR, "192.0.2.1".parse().unwrap());
        assert!(
            !is_local(peer("127.0.0.1:9"), &headers),
            "a proxy stands on this machine"
        );
    }
}
