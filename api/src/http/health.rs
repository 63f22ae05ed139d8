//! Whether the service lives and can work, what it has counted, and what it is: for supervisors,
//! scrapers and generators of clients.

use actix_web::{HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;

use crate::http::answer::{Answer, ask};
use crate::http::envelope::Counters;
use crate::http::openapi as document;
use crate::http::problem::{Problem, UNAVAILABLE};
use crate::service::{Refusal, Shop};

/// Outbox marks that the index may lie behind and still be called ready.
const LAG_READY: i64 = 10_000;

/// What the service needs to work.
#[derive(Debug, Serialize, ToSchema)]
pub struct Readiness {
    /// Whether it can work.
    pub ready: bool,
    /// Whether the database answers.
    pub database: bool,
    /// Whether its tables are those of this program; they are made so before the service answers.
    pub migrations: bool,
    /// Changes that the index has not followed yet.
    pub index_lag: i64,
}

/// Whether the process answers at all.
#[utoipa::path(
    operation_id = "livez", tag = "health",
    responses((status = 200, description = "It lives.", body = String, content_type = "text/plain"))
)]
#[get("/livez")]
pub async fn livez() -> HttpResponse {
    HttpResponse::Ok()
        .content_type("text/plain; charset=utf-8")
        .body("lives\n")
}

/// Whether database and index are there.
#[utoipa::path(
    operation_id = "readyz", tag = "health",
    responses((status = 200, description = "It can work.", body = Readiness))
)]
#[get("/readyz")]
pub async fn readyz(shop: web::Data<Shop>) -> Answer {
    let found = ask(&shop, |shop| Ok::<_, Refusal>(readiness(shop))).await?;
    if found.ready {
        return Ok(HttpResponse::Ok().json(found));
    }
    let detail = if found.database {
        "the index lies too far behind"
    } else {
        "the database does not answer"
    };
    Err(Problem::new(&UNAVAILABLE, detail)
        .member("database", found.database)
        .member("migrations", found.migrations)
        .member("index_lag", found.index_lag))
}

fn readiness(shop: &Shop) -> Readiness {
    let (database, index_lag) = match shop.lag() {
        Ok(lag) => (true, lag),
        Err(_) => (false, 0),
    };
    Readiness {
        ready: database && index_lag <= LAG_READY,
        database,
        migrations: database,
        index_lag,
    }
}

/// This document.
#[utoipa::path(
    operation_id = "openapi", tag = "health",
    responses((status = 200, description = "OpenAPI 3.1.", body = Object))
)]
#[get("/openapi.json")]
pub async fn openapi() -> HttpResponse {
    HttpResponse::Ok()
        .content_type("application/json")
        .body(document::text())
}

/// Counters in the OpenMetrics text format. Without a token from this machine only.
#[utoipa::path(
    operation_id = "metrics", tag = "health",
    responses((
        status = 200, description = "OpenMetrics.", body = String,
        content_type = "application/openmetrics-text"
    ))
)]
#[get("/metrics")]
pub async fn metrics(counters: web::Data<Counters>, shop: web::Data<Shop>) -> HttpResponse {
    HttpResponse::Ok()
        .content_type("application/openmetrics-text; version=1.0.0; charset=utf-8")
        .body(exposition(&counters, shop.followed()))
}

fn exposition(counters: &Counters, position: i64) -> String {
    let mut text = String::from(
        "# TYPE plugwell_answers counter\n# HELP plugwell_answers Answers by class of status.\n",
    );
    for (class, count) in counters.answered() {
        text.push_str(&format!(
            "plugwell_answers_total{{class=\"{class}xx\"}} {count}\n"
        ));
    }
    text.push_str(
        "# TYPE plugwell_panics counter\n# HELP plugwell_panics Requests that ended in a panic.\n",
    );
    text.push_str(&format!("plugwell_panics_total {}\n", counters.panics()));
    text.push_str("# TYPE plugwell_index_position gauge\n# HELP plugwell_index_position Last change that the index follows.\n");
    text.push_str(&format!("plugwell_index_position {position}\n# EOF\n"));
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_exposition_ends_as_openmetrics_asks() {
        let text = exposition(&Counters::default(), 7);
        assert!(text.ends_with("plugwell_index_position 7\n# EOF\n"));
        for line in text.lines().filter(|l| !l.starts_with('#')) {
            let (_, value) = line.rsplit_once(' ').unwrap();
            assert!(value.parse::<i64>().is_ok(), "{line}");
        }
        assert_eq!(text.matches("plugwell_answers_total{").count(), 5);
    }
}
