//! An operation that will go: said beforehand in the document and with every answer, by the headers
//! `Deprecation` (RFC 9745) and `Sunset` (RFC 8594).

use actix_web::http::header::{HeaderMap, HeaderName, HeaderValue, LINK};
use chrono::{NaiveDate, NaiveTime};
use serde_json::Value;

/// From when on nobody should begin to use it.
pub const DEPRECATION: HeaderName = HeaderName::from_static("deprecation");
/// From when on it may be gone.
pub const SUNSET: HeaderName = HeaderName::from_static("sunset");

/// When an operation goes, and what takes its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Retiring {
    /// From this day on, in UTC, nobody should begin to use it.
    pub since: NaiveDate,
    /// From this day on it may be gone.
    pub until: NaiveDate,
    /// The path of what takes its place.
    pub instead: &'static str,
}

impl Retiring {
    /// Puts the headers to an answer.
    pub fn tell(&self, headers: &mut HeaderMap) {
        let since = self.since.and_time(NaiveTime::MIN).and_utc().timestamp();
        let until = self.until.format("%a, %d %b %Y 00:00:00 GMT");
        let told = [
            (DEPRECATION, format!("@{since}")),
            (SUNSET, until.to_string()),
            (
                LINK,
                format!("<{}>; rel=\"successor-version\"", self.instead),
            ),
        ];
        for (name, value) in told {
            if let Ok(value) = HeaderValue::from_str(&value) {
                headers.append(name, value);
            }
        }
    }

    /// Marks the operation of the document.
    pub fn describe(&self, operation: &mut Value) {
        let Self {
            since,
            until,
            instead,
        } = self;
        operation["deprecated"] = true.into();
        let said = operation["description"].as_str().unwrap_or_default();
        operation["description"] = format!(
            "{said}\n\nDeprecated since {since}, and gone from {until} on: use `{instead}`. Its answers \
             say so with `Deprecation` (RFC 9745) and `Sunset` (RFC 8594)."
        )
        .into();
    }
}

#[cfg(test)]
mod tests {
    use actix_web::dev::Service;
    use actix_web::http::Method;
    use actix_web::middleware::from_fn;
    use actix_web::test::{TestRequest, init_service};
    use actix_web::{App, HttpResponse, web};

    use super::*;
    use crate::http::envelope::envelope;
    use crate::http::guard::telling;
    use crate::http::problem::Problem;
    use crate::http::routes::{self, Route};

    #[test]
    fn headers_have_the_forms_of_their_standards() {
        let day = |year, month, day| NaiveDate::from_ymd_opt(year, month, day).unwrap();
        let retiring = Retiring {
            since: day(2027, 1, 1),
            until: day(2027, 7, 4),
            instead: "/v1/plugs",
        };
        let mut headers = HeaderMap::new();
        headers.append(LINK, HeaderValue::from_static("</v1/x>; rel=\"next\""));
        retiring.tell(&mut headers);
        // 2027-01-01T00:00:00Z, counted by hand: 57 years of 365 days and 14 leap days.
        let seconds = (57 * 365 + 14) * 86_400;
        assert_eq!(headers.get(DEPRECATION).unwrap(), &format!("@{seconds}"));
        assert_eq!(
            headers.get(SUNSET).unwrap(),
            "Sun, 04 Jul 2027 00:00:00 GMT"
        );
        assert_eq!(headers.get_all(LINK).count(), 2, "what leads on stays");
    }

    /// The table, as if some of its routes were on their way out.
    fn going(pattern: &str, method: &str) -> Option<&'static Route> {
        let route = routes::taken(pattern, method)?;
        let day = |month| NaiveDate::from_ymd_opt(2027, month, 1).unwrap();
        let goes = Retiring {
            since: day(1),
            until: day(7),
            instead: "/v2/instead",
        };
        match pattern {
            "/livez" | "/openapi.json" | "/v1/heads" => {
                Some(Box::leak(Box::new(route.retiring(goes))))
            }
            _ => Some(route),
        }
    }

    async fn failing() -> Result<HttpResponse, Problem> {
        Err(Problem::internal("on purpose"))
    }

    /// Status of the answer to a request, and what it says of the end of its operation.
    async fn told(method: Method, path: &str) -> (u16, [String; 3]) {
        let app = App::new()
            .route("/livez", web::get().to(HttpResponse::Ok))
            .route("/openapi.json", web::get().to(failing))
            .route("/readyz", web::get().to(HttpResponse::Ok))
            .wrap(from_fn(|request, next| telling(going, request, next)))
            .wrap(from_fn(envelope));
        let app = init_service(app).await;
        let request = TestRequest::with_uri(path).method(method).to_request();
        let answer = match app.call(request).await {
            Ok(response) => response.into_parts().1.map_into_boxed_body(),
            Err(error) => error.error_response(),
        };
        let said = |name: &str| {
            let value = answer.headers().get(name);
            value.map_or_else(String::new, |v| v.to_str().unwrap().to_owned())
        };
        (
            answer.status().as_u16(),
            ["deprecation", "sunset", "link"].map(said),
        )
    }

    #[actix_web::test]
    async fn every_answer_of_what_will_go_says_so() {
        // 2027-01-01T00:00:00Z, counted by hand: 57 years of 365 days and 14 leap days.
        let goes = [
            format!("@{}", (57 * 365 + 14) * 86_400),
            "Thu, 01 Jul 2027 00:00:00 GMT".to_owned(),
            "</v2/instead>; rel=\"successor-version\"".to_owned(),
        ];
        assert_eq!(told(Method::GET, "/livez").await, (200, goes.clone()));
        // Also where something fails, and where nobody is let in.
        assert_eq!(
            told(Method::GET, "/openapi.json").await,
            (500, goes.clone())
        );
        assert_eq!(told(Method::GET, "/v1/heads").await, (401, goes));
        assert_eq!(
            told(Method::GET, "/readyz").await,
            (200, Default::default())
        );
        assert_eq!(told(Method::POST, "/livez").await.1, [""; 3]);
    }
}
