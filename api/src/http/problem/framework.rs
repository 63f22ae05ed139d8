//! Problems for what the framework refuses by itself.

use actix_web::error::{
    BlockingError, JsonPayloadError, PathError, PayloadError, QueryPayloadError, UrlencodedError,
};
use actix_web::http::StatusCode;
use actix_web::{Error, HttpRequest, ResponseError, web};
use plugwell_domain::fault::FaultCode;

use super::*;

/// Gives the framework's own extractors the one form of errors.
pub fn configure(config: &mut web::ServiceConfig) {
    config
        .app_data(
            web::JsonConfig::default()
                .error_handler(|e: JsonPayloadError, _: &HttpRequest| in_our_form(e)),
        )
        .app_data(
            web::PathConfig::default()
                .error_handler(|e: PathError, _: &HttpRequest| in_our_form(e)),
        )
        .app_data(
            web::QueryConfig::default()
                .error_handler(|e: QueryPayloadError, _: &HttpRequest| in_our_form(e)),
        )
        .app_data(
            web::FormConfig::default()
                .error_handler(|e: UrlencodedError, _: &HttpRequest| in_our_form(e)),
        );
}

fn in_our_form<E>(error: E) -> Error
where
    Problem: From<E>,
{
    Problem::from(error).into()
}

impl Problem {
    /// A problem in place of an answer that the framework gave with a bare status.
    pub fn of_status(status: StatusCode) -> Self {
        let code: &'static Code = match status.as_u16() {
            401 => &UNAUTHORIZED,
            403 => &FORBIDDEN,
            404 => &NOT_FOUND,
            405 => &METHOD_NOT_ALLOWED,
            406 => &NOT_ACCEPTABLE,
            408 => &TOO_SLOW,
            413 => &PAYLOAD_TOO_LARGE,
            415 => &UNSUPPORTED_MEDIA_TYPE,
            429 => &RATE_LIMITED,
            503 => &UNAVAILABLE,
            400..=499 => &BAD_REQUEST,
            _ => &INTERNAL,
        };
        Self::new(code, code.cause)
    }

    /// The problem that an error of the framework stands for.
    pub fn of_error(error: &Error) -> Self {
        match error.as_error::<Self>() {
            Some(problem) => problem.clone(),
            None => {
                let problem = Self::of_status(error.as_response_error().status_code());
                if problem.code() == &INTERNAL {
                    problem.because(error.to_string())
                } else {
                    problem
                }
            }
        }
    }
}

impl From<PayloadError> for Problem {
    fn from(error: PayloadError) -> Self {
        match error {
            PayloadError::Overflow => Self::new(&PAYLOAD_TOO_LARGE, PAYLOAD_TOO_LARGE.cause),
            other => {
                Self::new(&BAD_REQUEST, "the body did not arrive whole").because(other.to_string())
            }
        }
    }
}

impl From<JsonPayloadError> for Problem {
    fn from(error: JsonPayloadError) -> Self {
        match error {
            JsonPayloadError::Payload(error) => error.into(),
            JsonPayloadError::Deserialize(_) => Self::new(&BAD_JSON, BAD_JSON.cause),
            other => Self::of_status(other.status_code()),
        }
    }
}

impl From<PathError> for Problem {
    fn from(_: PathError) -> Self {
        Self::fault(
            "/",
            FaultCode::WrongForm,
            "a segment of the path is not in the form that is asked for",
        )
    }
}

impl From<QueryPayloadError> for Problem {
    fn from(_: QueryPayloadError) -> Self {
        Self::fault("?", FaultCode::WrongForm, "the query cannot be read")
    }
}

impl From<UrlencodedError> for Problem {
    fn from(error: UrlencodedError) -> Self {
        match error {
            UrlencodedError::Payload(error) => error.into(),
            other => Self::of_status(other.status_code()),
        }
    }
}

impl From<BlockingError> for Problem {
    fn from(_: BlockingError) -> Self {
        Self::internal("the work was given up: a panic, or the process is stopping")
    }
}
