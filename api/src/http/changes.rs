//! The feed of what happened: by cursor, and by waiting for what comes next.

use std::convert::Infallible;
use std::time::{Duration, Instant};

use actix_web::dev::Payload;
use actix_web::http::header::{self, HeaderMap, HeaderName};
use actix_web::{FromRequest, HttpRequest, HttpResponse, get, web};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use futures_util::future::{Ready, ok};
use plugwell_domain::event::EventKind;
use plugwell_domain::fault::FaultCode;
use plugwell_domain::words::NotInList;
use serde::Serialize;
use utoipa::{IntoParams, ToSchema};

use crate::http::answer::{Answer, ask};
use crate::http::paging::{DEFAULT_LIMIT, MOST, encoded};
use crate::http::prefer::preference;
use crate::http::problem::{CURSOR_GONE, Problem};
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::service::Shop;
use crate::service::changes::{self, After, Asked, ChangeEvent, Cursor, Found};

/// The longest that a request waits.
const LONGEST: u64 = 30;
/// How often it is looked again while waiting, should no bell be heard.
const LOOK: Duration = Duration::from_secs(5);
/// How long it is waited after a ring.
const GATHER: Duration = Duration::from_millis(50);
const APPLIED: HeaderName = HeaderName::from_static("preference-applied");

/// What is asked of the feed.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
#[expect(dead_code, reason = "describes the query; read by `Asked`")]
pub struct ChangesQuery {
    /// `next_cursor` of an answer before, with any `types` and `limit`; `now` begins with what happens
    /// from now on. Left out: the oldest event that is kept.
    after: Option<String>,
    /// Events at the most.
    #[param(minimum = 1, maximum = 200, default = 50)]
    limit: Option<i64>,
    /// The types that are wanted, with commas between or the member several times; all where left out.
    types: Option<Vec<EventKind>>,
}

impl FromQuery for Asked {
    fn take(members: &mut Members) -> Self {
        let after = match members.text("after") {
            None => After::Nothing,
            Some(text) if text == "now" => After::Now,
            Some(text) => opened(&text).map_or_else(
                || {
                    let detail = "no cursor of this feed; start without one, or with now";
                    members.fault("after", FaultCode::WrongForm, detail);
                    After::Nothing
                },
                After::Cursor,
            ),
        };
        let limit = members
            .within("limit", "a whole number", 1..=MOST)
            .unwrap_or(DEFAULT_LIMIT);
        let mut types = Vec::new();
        for word in members.all("types").iter().flat_map(|t| t.split(',')) {
            match word.trim().parse::<EventKind>() {
                Ok(kind) => types.push(kind),
                Err(e) => {
                    let e: NotInList = e;
                    members.fault("types", FaultCode::NotInList, e.to_string());
                }
            }
        }
        Self {
            after,
            types,
            limit,
        }
    }
}

fn sealed(cursor: &Cursor) -> String {
    URL_SAFE_NO_PAD.encode(serde_json::to_vec(cursor).unwrap_or_default())
}

fn opened(text: &str) -> Option<Cursor> {
    serde_json::from_slice(&URL_SAFE_NO_PAD.decode(text).ok()?).ok()
}

/// How long the caller would wait for something to happen: the header `Prefer: wait=…` (RFC 7240).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wait(Option<u64>);

impl Wait {
    fn of(headers: &HeaderMap) -> Self {
        let seconds = preference(headers, "wait").and_then(|value| value.parse::<u64>().ok());
        Self(seconds.map(|seconds| seconds.min(LONGEST)))
    }
}

impl FromRequest for Wait {
    type Error = Infallible;
    type Future = Ready<Result<Self, Infallible>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        ok(Self::of(request.headers()))
    }
}

/// What happened, in order.
#[derive(Debug, Serialize, ToSchema)]
pub struct ChangePage {
    /// The events; perhaps none.
    items: Vec<ChangeEvent>,
    /// Where to go on: always there, since there is always more to come.
    next_cursor: String,
}

/// Tells what happened, in an order in which nothing ever appears before what was read: each event
/// at least once, those of one subject in the order of its versions. Many events that nobody wants may
/// make an answer empty; go on with its `next_cursor` until `types` come or the answer took its time.
#[utoipa::path(
    operation_id = "list_changes", tag = "changes",
    params(ChangesQuery, ("Prefer" = Option<String>, Header, description = "`wait=30`: where there is nothing yet, the answer comes with the first event, or empty after so many seconds, at most 30.")),
    responses(
        (status = 200, description = "Events in order, as CloudEvents 1.0, and where to go on.", body = ChangePage,
         headers(("Preference-Applied" = String, description = "`wait=…` as it was applied."), ("Link" = String, description = "Where to go on, `rel=\"next\"`."))),
        (status = 410, description = "`cursor_gone`, with `oldest`: a cursor to begin again with.")
    )
)]
#[get("/v1/changes")]
pub async fn list_changes(
    shop: web::Data<Shop>,
    request: HttpRequest,
    CheckedQuery(mut next): CheckedQuery<Asked>,
    wait: Wait,
) -> Answer {
    let end = Instant::now() + Duration::from_secs(wait.0.unwrap_or(0));
    loop {
        let mut bell = shop.bell.listen();
        let looked = next.clone();
        match ask(&shop, move |shop| changes::read(shop, &looked)).await? {
            Found::Gone { why, oldest } => {
                return Err(Problem::new(&CURSOR_GONE, why).member("oldest", sealed(&oldest)));
            }
            Found::Events(items, cursor) => {
                let left = end.saturating_duration_since(Instant::now());
                if !items.is_empty() || left.is_zero() || shop.bell.is_closing() {
                    return told(&request, items, &cursor, wait);
                }
                // A place that more lies behind is gone on from at once.
                let moved = next.after != After::Cursor(cursor.clone());
                next.after = After::Cursor(cursor);
                if !moved {
                    let heard = tokio::time::timeout(left.min(LOOK), bell.heard()).await;
                    if heard.is_ok() {
                        // What is written together is looked at together.
                        tokio::time::sleep(GATHER.min(left)).await;
                    }
                }
            }
        }
    }
}

fn told(request: &HttpRequest, items: Vec<ChangeEvent>, cursor: &Cursor, wait: Wait) -> Answer {
    let next_cursor = sealed(cursor);
    let mut target = format!("{}?after={next_cursor}", request.path());
    let query = web::Query::<Vec<(String, String)>>::from_query(request.query_string());
    for (name, value) in query.map(web::Query::into_inner).unwrap_or_default() {
        if name != "after" {
            target.push_str(&format!("&{}={}", encoded(&name), encoded(&value)));
        }
    }
    let mut answer = HttpResponse::Ok();
    answer.insert_header((header::LINK, format!("<{target}>; rel=\"next\"")));
    if let Some(seconds) = wait.0 {
        answer.insert_header((APPLIED, format!("wait={seconds}")));
    }
    let page = ChangePage { items, next_cursor };
    let raw = serde_json::to_vec(&page).map_err(|e| Problem::internal(format!("answer: {e}")))?;
    Ok(answer.content_type("application/json").body(raw))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_preferred_is_read_and_bounded() {
        let wait = |lines: &[&str]| {
            let mut headers = HeaderMap::new();
            for line in lines {
                headers.append(HeaderName::from_static("prefer"), line.parse().unwrap());
            }
            Wait::of(&headers).0
        };
        assert_eq!(wait(&[]), None);
        assert_eq!(wait(&["wait=10"]), Some(10));
        assert_eq!(wait(&["return=minimal, Wait = \"7\"; x=y"]), Some(7));
        assert_eq!(wait(&["return=minimal", "wait=99"]), Some(30));
        for none in ["wait", "wait=soon", "wait=-1", "waiting=3"] {
            assert_eq!(wait(&[none]), None, "{none}");
        }
    }
}
