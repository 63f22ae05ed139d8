//! Whether the service lives and can work, what it has counted, and what it is: for supervisors,
//! scrapers and generators of clients.

use actix_web::{HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;

use crate::http::answer::{Answer, ask};
use crate::http::openapi as document;
use crate::http::problem::{Problem, UNAVAILABLE};
use crate::metrics::MEDIA_TYPE;
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

/// What the service counts, in the OpenMetrics text format (version 1.0). Without a token from this
/// machine only.
#[utoipa::path(
    operation_id = "metrics", tag = "health",
    responses((
        status = 200, description = "OpenMetrics.", body = String,
        content_type = "application/openmetrics-text"
    ))
)]
#[get("/metrics")]
pub async fn metrics(shop: web::Data<Shop>) -> Answer {
    let text = ask(&shop, |shop| {
        Ok::<_, Refusal>(shop.metrics.exposition(shop))
    });
    let text = text.await?;
    Ok(HttpResponse::Ok().content_type(MEDIA_TYPE).body(text))
}
