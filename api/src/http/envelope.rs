//! The outermost layer: an identifier and a span for every request, the one form of errors whoever
//! made them, counters, and the headers that every answer carries.

use std::panic::AssertUnwindSafe;
use std::time::Instant;

use actix_web::body::{BoxBody, MessageBody};
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::StatusCode;
use actix_web::http::header::{self, HeaderMap, HeaderName, HeaderValue};
use actix_web::middleware::Next;
use actix_web::web::Data;
use actix_web::{Error, HttpMessage, HttpResponse, ResponseError};
use futures_util::FutureExt;
use tracing::Instrument;
use uuid::Uuid;

use crate::http::problem::Problem;
use crate::http::trace::Trace;
use crate::http::{rate, retiring, routes};
use crate::metrics::{Metrics, Operation};

/// The identifier of a request: in every line of the log and in every problem.
#[derive(Debug, Clone, Copy)]
pub struct RequestId(pub Uuid);

/// The middleware.
///
/// # Errors
/// A [`Problem`] where what is behind it failed without an answer.
pub async fn envelope<B: MessageBody + 'static>(
    request: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<BoxBody>, Error> {
    let (id, started) = (Uuid::now_v7(), Instant::now());
    let metrics = request.app_data::<Data<Metrics>>().cloned();
    let operation = Operation {
        method: routes::method(request.method()),
        route: routes::label(request.path()),
    };
    let trace = Trace::of(request.headers());
    let span = tracing::info_span!(
        "request",
        request_id = %id,
        trace_id = trace.trace_id,
        span_id = trace.span_id,
        parent_id = trace.parent_id,
        method = %request.method(),
        path = request.path(),
        route = operation.route,
    );
    request.extensions_mut().insert(RequestId(id));
    // The request is gone with the panic: what is left is to answer without it.
    let outcome = AssertUnwindSafe(next.call(request).instrument(span.clone()))
        .catch_unwind()
        .await;
    let answer = span.in_scope(|| match outcome {
        Ok(Ok(response)) => Ok(in_form(response, id)),
        Ok(Err(error)) => Err(told(Problem::of_error(&error), id)),
        Err(_) => {
            if let Some(metrics) = &metrics {
                metrics.panicked();
            }
            Err(told(
                Problem::internal("a panic; its message stands above"),
                id,
            ))
        }
    });
    let status = match &answer {
        Ok(response) => response.status(),
        Err(problem) => problem.status_code(),
    };
    let took = started.elapsed();
    if let Some(metrics) = metrics {
        metrics.answered(&operation, status.as_u16(), took);
    }
    let micros = u64::try_from(took.as_micros()).unwrap_or(u64::MAX);
    span.in_scope(|| tracing::info!(status = status.as_u16(), micros, "answered"));
    Ok(answer?)
}

/// Writes the cause into the log, and the identifier under which it is found into the problem.
fn told(problem: Problem, id: Uuid) -> Problem {
    if let Some(cause) = problem.cause() {
        tracing::error!(code = problem.code().word, cause, "refused");
    }
    problem.instance(id)
}

/// The answer as it leaves: an error always as a problem, but for the pages' own.
fn in_form<B: MessageBody + 'static>(
    response: ServiceResponse<B>,
    id: Uuid,
) -> ServiceResponse<BoxBody> {
    let status = response.status();
    let is_page = media(response.headers()).is_some_and(|m| m.starts_with("text/html"));
    if !(status.is_client_error() || status.is_server_error()) || is_page {
        let mut response = response.map_into_boxed_body();
        if status != StatusCode::NO_CONTENT {
            vary(response.headers_mut());
        }
        harden(response.headers_mut());
        return response;
    }
    let problem = match response.response().error() {
        Some(error) => Problem::of_error(error),
        None => Problem::of_status(status),
    };
    let (request, bare) = response.into_parts();
    let mut answer: HttpResponse = told(problem, id).error_response();
    let kept = [
        header::ALLOW,
        rate::RATE,
        rate::POLICY,
        retiring::DEPRECATION,
        retiring::SUNSET,
        header::LINK,
    ];
    for name in kept {
        if let Some(value) = bare.headers().get(&name) {
            answer.headers_mut().insert(name, value.clone());
        }
    }
    harden(answer.headers_mut());
    ServiceResponse::new(request, answer)
}

/// What is packed for those who accept it says so also where it is not, and where the caller has it already
/// (RFC 9110, 12.5.5): who keeps answers would give a packed one to the next otherwise.
fn vary(headers: &mut HeaderMap) {
    let accepted = header::ACCEPT_ENCODING.as_str();
    let mut names = headers.get_all(header::VARY).flat_map(|line| {
        let names = line.to_str().unwrap_or_default().split(',');
        names.map(str::trim)
    });
    if !names.any(|name| name.eq_ignore_ascii_case(accepted)) {
        headers.append(header::VARY, HeaderValue::from_static("accept-encoding"));
    }
}

fn media(headers: &HeaderMap) -> Option<&str> {
    headers
        .get(header::CONTENT_TYPE)
        .and_then(|v| v.to_str().ok())
}

/// Headers that keep a browser from making more of an answer than it is; pages set their own policy.
fn harden(headers: &mut HeaderMap) {
    let everywhere: [(HeaderName, &str); 4] = [
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::X_FRAME_OPTIONS, "DENY"),
        (header::CACHE_CONTROL, "private, no-cache"),
    ];
    for (name, value) in everywhere {
        if !headers.contains_key(&name) {
            headers.insert(name, HeaderValue::from_static(value));
        }
    }
    if !headers.contains_key(header::CONTENT_SECURITY_POLICY) {
        let nothing = HeaderValue::from_static("default-src 'none'; frame-ancestors 'none'");
        headers.insert(header::CONTENT_SECURITY_POLICY, nothing);
    }
}

#[cfg(test)]
mod tests {
    use actix_web::dev::Service;
    use actix_web::middleware::from_fn;
    use actix_web::test::{TestRequest, init_service, read_body};
    use actix_web::{App, web};
    use serde_json::Value;

    use super::*;
    use crate::http::problem::MEDIA_TYPE;

    async fn panics() -> HttpResponse {
        panic!("on purpose")
    }

    async fn bare() -> HttpResponse {
        HttpResponse::UnprocessableEntity().body("the framework's own words")
    }

    async fn page() -> HttpResponse {
        HttpResponse::NotFound()
            .content_type("text/html; charset=utf-8")
            .body("<h1>Not here</h1>")
    }

    async fn inner() -> Result<HttpResponse, Problem> {
        Err(Problem::internal("the secret cause"))
    }

    /// Status, content type and body of the answer to a GET.
    async fn got(path: &str) -> (StatusCode, String, Vec<u8>) {
        let metrics = Data::new(Metrics::default());
        let app = App::new()
            .app_data(metrics.clone())
            .route("/panics", web::get().to(panics))
            .route("/bare", web::get().to(bare))
            .route("/page", web::get().to(page))
            .route("/inner", web::get().to(inner))
            .route("/fine", web::get().to(HttpResponse::Ok))
            .wrap(from_fn(envelope));
        let app = init_service(app).await;
        let answer = match app.call(TestRequest::get().uri(path).to_request()).await {
            Ok(response) => response.into_parts().1.map_into_boxed_body(),
            Err(error) => error.error_response(),
        };
        let status = answer.status();
        let counted = metrics.exposition_of_requests();
        let sample = format!(
            "plugwell_requests_total{{method=\"GET\",route=\"page\",status=\"{}\"}} 1\n",
            status.as_u16()
        );
        assert!(counted.contains(&sample), "{path}: {counted}");
        let panics = u64::from(path == "/panics");
        assert!(
            counted.contains(&format!("plugwell_panics_total {panics}\n")),
            "{path}: {counted}"
        );
        let type_ = answer
            .headers()
            .get(header::CONTENT_TYPE)
            .map(|v| v.to_str().unwrap().to_owned());
        let request = TestRequest::default().to_http_request();
        let body = read_body(ServiceResponse::new(request, answer)).await;
        (status, type_.unwrap_or_default(), body.to_vec())
    }

    #[actix_web::test]
    async fn whatever_fails_is_told_in_the_one_form() {
        for (path, status, kind) in [
            ("/panics", 500, "internal"),
            ("/inner", 500, "internal"),
            ("/bare", 400, "bad_request"),
            ("/nowhere", 404, "not_found"),
        ] {
            let (answered, type_, body) = got(path).await;
            assert_eq!(
                (answered.as_u16(), type_.as_str()),
                (status, MEDIA_TYPE),
                "{path}"
            );
            let body: Value = serde_json::from_slice(&body).unwrap();
            assert_eq!(
                body["type"],
                format!("urn:plugwell:problem:{kind}"),
                "{path}"
            );
            assert!(
                body["instance"].as_str().unwrap().starts_with("urn:uuid:"),
                "{path}"
            );
            assert!(
                !body.to_string().contains("secret") && !body.to_string().contains("purpose"),
                "{body}"
            );
        }
    }

    #[actix_web::test]
    async fn pages_and_good_answers_stay_as_they_are() {
        assert_eq!(
            got("/page").await,
            (
                StatusCode::NOT_FOUND,
                "text/html; charset=utf-8".into(),
                b"<h1>Not here</h1>".to_vec()
            )
        );
        assert_eq!(got("/fine").await.0, StatusCode::OK);
    }
}
