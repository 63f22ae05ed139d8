//! Errors as they leave the service: RFC 9457 problem details, for our own refusals and for
//! whatever the framework answers by itself.

mod codes;
mod framework;
mod table;

use std::fmt;

use actix_web::http::StatusCode;
use actix_web::http::header::{self, HeaderName, HeaderValue};
use actix_web::{HttpResponse, ResponseError};
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::wording::counted;
use serde_json::{Map, Value};
use uuid::Uuid;

use crate::service::Refusal;
use crate::service::conflict::Conflict;

pub use codes::*;
pub use framework::configure;
pub use table::table;

/// The media type of every error.
pub const MEDIA_TYPE: &str = "application/problem+json";

/// An error that a caller gets to see. What it must not see goes into the cause, and to the log.
#[derive(Debug, Clone)]
pub struct Problem(Box<Told>);

#[derive(Debug, Clone)]
struct Told {
    code: &'static Code,
    detail: String,
    faults: Vec<Fault>,
    members: Map<String, Value>,
    headers: Vec<(HeaderName, HeaderValue)>,
    instance: Option<Uuid>,
    cause: Option<String>,
}

impl Problem {
    /// A problem of a kind; the detail is a sentence on this occurrence.
    pub fn new(code: &'static Code, detail: impl Into<String>) -> Self {
        Self(Box::new(Told {
            code,
            detail: detail.into(),
            faults: Vec::new(),
            members: Map::new(),
            headers: Vec::new(),
            instance: None,
            cause: None,
        }))
    }

    /// Faults of a request, all of them.
    pub fn faults(faults: Vec<Fault>) -> Self {
        let code = match faults.as_slice() {
            [only] if only.code == FaultCode::WrongCurrency => &WRONG_CURRENCY,
            _ => &INVALID,
        };
        let detail = match faults.as_slice() {
            // The pointer of a header ends with a colon already.
            [only] => format!("{}: {}", only.pointer.trim_end_matches(':'), only.detail),
            several => format!("{} faults, each named in `errors`", several.len()),
        };
        let mut problem = Self::new(code, detail);
        problem.0.faults = faults;
        problem
    }

    /// A single fault.
    pub fn fault(pointer: impl Into<String>, code: FaultCode, detail: impl Into<String>) -> Self {
        Self::faults(vec![Fault {
            pointer: pointer.into(),
            code,
            detail: detail.into(),
        }])
    }

    /// Our own fault; the cause goes to the log only.
    pub fn internal(cause: impl Into<String>) -> Self {
        Self::new(&INTERNAL, "something went wrong inside; the log says what").because(cause)
    }

    /// What the log gets to see and the caller does not.
    pub fn because(mut self, cause: impl Into<String>) -> Self {
        self.0.cause = Some(cause.into());
        self
    }

    /// With one more member, such as `available`; `errors` replaces the list of faults.
    pub fn member(mut self, name: &str, value: impl Into<Value>) -> Self {
        self.0.members.insert(name.to_owned(), value.into());
        self
    }

    /// With a header of its own.
    pub fn header(mut self, name: HeaderName, value: &str) -> Self {
        // A value that is no header value is left out rather than sent wrong.
        self.0
            .headers
            .extend(HeaderValue::from_str(value).ok().map(|value| (name, value)));
        self
    }

    /// In answer to a request.
    pub fn instance(mut self, request: Uuid) -> Self {
        self.0.instance = Some(request);
        self
    }

    /// The kind of problem.
    pub fn code(&self) -> &'static Code {
        self.0.code
    }

    /// The cause that only the log gets to see.
    pub fn cause(&self) -> Option<&str> {
        self.0.cause.as_deref()
    }

    /// The answer's body.
    pub fn to_json(&self) -> Value {
        let told = &self.0;
        let mut map = Map::new();
        map.insert("type".into(), told.code.urn().into());
        map.insert("title".into(), told.code.title.into());
        map.insert("status".into(), told.code.status.into());
        map.insert("detail".into(), told.detail.clone().into());
        if let Some(request) = told.instance {
            map.insert("instance".into(), format!("urn:uuid:{request}").into());
        }
        if !told.faults.is_empty() {
            map.insert(
                "errors".into(),
                serde_json::to_value(&told.faults).unwrap_or_default(),
            );
        }
        map.extend(told.members.clone());
        Value::Object(map)
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.0.code.word, self.0.detail)
    }
}

impl std::error::Error for Problem {}

impl ResponseError for Problem {
    fn status_code(&self) -> StatusCode {
        StatusCode::from_u16(self.0.code.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR)
    }

    fn error_response(&self) -> HttpResponse {
        let mut answer = HttpResponse::build(self.status_code());
        for (name, value) in &self.0.headers {
            answer.append_header((name.clone(), value.clone()));
        }
        answer.insert_header((header::CACHE_CONTROL, "no-store"));
        answer
            .content_type(MEDIA_TYPE)
            .body(self.to_json().to_string())
    }
}

impl From<Refusal> for Problem {
    fn from(refusal: Refusal) -> Self {
        match refusal {
            Refusal::Faults(faults) => Self::faults(faults),
            Refusal::Rows { errors, count } => Self::new(
                &INVALID,
                format!(
                    "{} in the table; nothing was stored",
                    counted(count, "fault")
                ),
            )
            .member("errors", serde_json::to_value(errors).unwrap_or_default())
            .member("error_count", count),
            Refusal::NotFound(what) => {
                Self::new(&NOT_FOUND, format!("there is no {what} of this id"))
            }
            Refusal::Forbidden(detail) => Self::new(&FORBIDDEN, detail),
            Refusal::Conflict {
                conflict,
                detail,
                members,
            } => match Code::named(conflict.word()) {
                Some(code) => {
                    let mut problem = Self::new(code, detail);
                    problem.0.members = members;
                    match conflict {
                        Conflict::StillRunning => problem.header(header::RETRY_AFTER, "1"),
                        _ => problem,
                    }
                }
                None => Self::internal(format!("{} is no listed problem", conflict.word())),
            },
            Refusal::Stale => Self::new(
                &STALE,
                "If-Match names another version than the present one",
            ),
            Refusal::NeedsVersion => Self::new(
                &PRECONDITION_REQUIRED,
                "send the ETag that you read as If-Match",
            ),
            Refusal::KeyReused => Self::new(
                &ONCE_KEY_REUSED,
                "this key came before with another method, path or body",
            ),
            Refusal::Unavailable(cause) => {
                Self::new(&UNAVAILABLE, "the database cannot be reached just now")
                    .header(header::RETRY_AFTER, "1")
                    .because(cause)
            }
            Refusal::Behind { position, waited } => Self::new(
                &UNAVAILABLE,
                format!(
                    "position {position} has not been reached within {} seconds; ask again in a moment, or \
                     without Plugwell-Position",
                    waited.as_secs()
                ),
            )
            .header(header::RETRY_AFTER, "1"),
            Refusal::Fault(cause) => Self::internal(cause),
        }
    }
}

impl From<Vec<Fault>> for Problem {
    fn from(faults: Vec<Fault>) -> Self {
        Self::faults(faults)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use plugwell_domain::ledger::rules::Rejection;

    #[test]
    fn a_conflict_keeps_its_members_and_an_inner_cause_stays_inside() {
        let mut members = Map::new();
        members.insert("available".into(), 3.into());
        let refusal = Refusal::Conflict {
            conflict: Conflict::Ledger(Rejection::NotEnoughStock),
            detail: "there are 3".into(),
            members,
        };
        let id = Uuid::now_v7();
        let body = Problem::from(refusal).instance(id).to_json();
        assert_eq!(body["type"], "urn:plugwell:problem:not_enough_stock");
        assert_eq!(body["status"], 409);
        assert_eq!(body["available"], 3);
        assert_eq!(body["instance"], format!("urn:uuid:{id}"));

        let inner = Problem::from(Refusal::Fault("table plugs is gone".into()));
        assert_eq!(inner.status_code(), 500);
        assert_eq!(inner.cause(), Some("table plugs is gone"));
        assert!(!inner.to_json().to_string().contains("plugs"));
    }

    #[test]
    fn faults_are_listed_each_with_pointer_code_and_sentence() {
        let faults = vec![
            Fault::at("reach_mm", FaultCode::OutOfRange, "300 is outside 5 to 60"),
            Fault::at("head/seat", FaultCode::Missing, "seat has to be given"),
        ];
        let body = Problem::faults(faults).to_json();
        assert_eq!(body["type"], "urn:plugwell:problem:invalid");
        assert_eq!(body["errors"][0]["pointer"], "#/reach_mm");
        assert_eq!(body["errors"][0]["code"], "out_of_range");
        assert_eq!(body["errors"][1]["pointer"], "#/head/seat");
        let one = Problem::fault("Plugwell-Position:", FaultCode::WrongForm, "send another");
        assert_eq!(one.to_json()["detail"], "Plugwell-Position: send another");
    }
}
