//! The forms of answers that handlers give.

use std::borrow::Cow;
use std::sync::LazyLock;

use actix_web::http::header::{self, HeaderName};
use actix_web::{HttpResponse, HttpResponseBuilder, web};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use chrono::{DateTime, Utc};
use plugwell_domain::instant;
use serde::Serialize;
use serde_json::{Map, Value};
use sha2::{Digest, Sha256};
use utoipa::openapi::schema::{AllOfBuilder, ObjectBuilder, Schema, SchemaType};
use utoipa::openapi::{Ref, RefOr, SchemaFormat, Type};
use utoipa::{PartialSchema, ToSchema};
use uuid::Uuid;

use crate::drawing;
use crate::http::body::{Body, Patch};
use crate::http::etag::{IfMatch, IfNoneMatch, content_tag, tag};
use crate::http::problem::Problem;
use crate::http::rate::away;
use crate::http::request::{Id, Unread};
use crate::service::{Refusal, Shop};

/// What a handler gives.
pub type Answer = Result<HttpResponse, Problem>;

/// Whether a change is meant for a version of the record.
pub type IsMeant = Box<dyn Fn(i64) -> Result<(), Refusal> + Send + Sync>;

/// How far the service had come when it answered a write; sent back with a read, the read shows at
/// least that.
pub const POSITION: HeaderName = HeaderName::from_static("plugwell-position");

/// Asks the shop away from the event loop, in the request's span.
///
/// # Errors
/// What `ask` refuses; `rate_limited` where the caller has too much in work already; `internal` where it
/// panics.
pub async fn ask<T, E>(
    shop: &web::Data<Shop>,
    ask: impl FnOnce(&Shop) -> Result<T, E> + Send + 'static,
) -> Result<T, Problem>
where
    T: Send + 'static,
    E: Send + 'static,
    Problem: From<E>,
{
    let shop = shop.clone();
    Ok(away(move || ask(&shop)).await??)
}

/// Changes a record by a JSON merge patch, in the contract's order of refusals: it has to be there, then
/// the body is read, then the use case patches it.
///
/// # Errors
/// What `look` refuses, what is wrong with the body, what `patch` refuses.
pub async fn patched<B, F, T>(
    shop: &web::Data<Shop>,
    id: Id,
    expected: IfMatch,
    body: Unread<Patch<B>>,
    look: impl FnOnce(&Shop, Uuid) -> Result<F, Refusal> + Send + 'static,
    patch: impl FnOnce(&Shop, Uuid, IsMeant, &Map<String, Value>) -> Result<T, Refusal> + Send + 'static,
) -> Result<T, Problem>
where
    Patch<B>: Body,
    B: 'static,
    T: Send + 'static,
{
    ask(shop, move |shop| {
        look(shop, id.0)?;
        let body = body.read()?;
        let meant: IsMeant = Box::new(move |version| expected.check(version));
        Ok::<_, Problem>(patch(shop, id.0, meant, &body.members)?)
    })
    .await
}

/// 200 with a body.
pub fn ok(body: &impl Serialize) -> Answer {
    Ok(json(HttpResponse::Ok(), written(body)?))
}

/// 200 with a record and its version, or 304 where the caller has it as it would be shown.
pub fn record(version: i64, known: &IfNoneMatch, body: &impl Serialize) -> Answer {
    let raw = written(body)?;
    Ok(unless_known(known, tag(version, &raw), raw))
}

/// 201 with a new record, its version and where it is.
pub fn created(shop: &Shop, location: &str, version: i64, body: &impl Serialize) -> Answer {
    let raw = written(body)?;
    let mut answer = HttpResponse::Created();
    answer
        .insert_header((header::LOCATION, location))
        .insert_header((header::ETAG, tag(version, &raw)))
        .insert_header((POSITION, shop.position().to_string()));
    Ok(json(answer, raw))
}

/// 201 with what was done to several records, and where they are.
pub fn stored(shop: &Shop, location: &str, body: &impl Serialize) -> Answer {
    let mut answer = HttpResponse::Created();
    answer
        .insert_header((header::LOCATION, location))
        .insert_header((POSITION, shop.position().to_string()));
    Ok(json(answer, written(body)?))
}

/// 200 with a changed record and its new version.
pub fn changed(shop: &Shop, version: i64, body: &impl Serialize) -> Answer {
    let raw = written(body)?;
    let mut answer = HttpResponse::Ok();
    answer
        .insert_header((header::ETAG, tag(version, &raw)))
        .insert_header((POSITION, shop.position().to_string()));
    Ok(json(answer, raw))
}

/// 204: the record is gone.
pub fn gone(shop: &Shop) -> Answer {
    Ok(HttpResponse::NoContent()
        .insert_header((POSITION, shop.position().to_string()))
        .finish())
}

/// 200 with a page of a list and the link to the next one.
pub fn page(page: &impl Serialize, next: Option<String>) -> Answer {
    let mut answer = HttpResponse::Ok();
    if let Some(link) = next {
        answer.insert_header((header::LINK, link));
    }
    Ok(json(answer, written(page)?))
}

/// 200 with a picture, or 304 where the caller has it: its tag is made of what it shows.
pub fn picture(svg: String, known: &IfNoneMatch) -> HttpResponse {
    static POLICY: LazyLock<String> = LazyLock::new(|| only(&[drawing::STYLE]));
    let tag = content_tag(&svg);
    let is_known = known.has(&tag);
    let mut answer = match is_known {
        true => HttpResponse::NotModified(),
        false => HttpResponse::Ok(),
    };
    // Also where it is known: what a browser keeps takes the headers of the later answer.
    answer
        .insert_header((header::ETAG, tag))
        .insert_header((header::CONTENT_SECURITY_POLICY, POLICY.as_str()));
    if is_known {
        return answer.finish();
    }
    answer.content_type("image/svg+xml").body(svg)
}

/// 200 with a record that has no version of its own, or 304 where the caller has it: its tag is made
/// of what it shows.
pub fn tagged(known: &IfNoneMatch, body: &impl Serialize) -> Answer {
    let raw = written(body)?;
    Ok(unless_known(known, content_tag(&raw), raw))
}

/// 200 with a body under its tag, or 304 where the caller has it.
fn unless_known(known: &IfNoneMatch, tag: String, raw: String) -> HttpResponse {
    let is_known = known.has(&tag);
    let mut answer = match is_known {
        true => HttpResponse::NotModified(),
        false => HttpResponse::Ok(),
    };
    answer.insert_header((header::ETAG, tag));
    match is_known {
        true => answer.finish(),
        false => json(answer, raw),
    }
}

/// 200 with a sheet for print and the stylesheet that stands in it; the same address also gives
/// another form.
pub fn sheet(html: String, style: &str) -> HttpResponse {
    by_accept(page_for_print(html, &[style]))
}

/// 200 with a sheet for print, its stylesheet and the pictures in it, which bring their own.
pub fn illustrated(html: String, style: &str) -> HttpResponse {
    by_accept(page_for_print(html, &[style, drawing::STYLE]))
}

/// 200 with a page for print that needs nothing but the stylesheets that stand in it.
pub fn page_for_print(html: String, styles: &[&str]) -> HttpResponse {
    HttpResponse::Ok()
        .insert_header((header::CONTENT_SECURITY_POLICY, only(styles)))
        .content_type("text/html; charset=utf-8")
        .body(html)
}

/// The answer of an address that gives another form to who accepts another.
pub fn by_accept(mut answer: HttpResponse) -> HttpResponse {
    let accept = header::HeaderValue::from_static("accept");
    answer.headers_mut().insert(header::VARY, accept);
    answer
}

/// The policy of what needs nothing but the stylesheets that stand in it.
fn only(styles: &[&str]) -> String {
    let hash = |style: &&str| {
        let hash = STANDARD.encode(Sha256::digest(style.as_bytes()));
        format!("'sha256-{hash}'")
    };
    let hashes: Vec<String> = styles.iter().map(hash).collect();
    format!(
        "default-src 'none'; style-src {}; frame-ancestors 'none'; base-uri 'none'; form-action 'none'",
        hashes.join(" ")
    )
}

/// The JSON of an answer.
fn written(body: &impl Serialize) -> Result<String, Problem> {
    serde_json::to_string(body).map_err(|e| Problem::internal(format!("answer: {e}")))
}

fn json(mut answer: HttpResponseBuilder, raw: String) -> HttpResponse {
    answer.content_type("application/json").body(raw)
}

/// A record of the shop's as it stands in an answer: its own members between those that the service
/// gives it.
#[derive(Debug, Clone, Serialize)]
pub struct Record<T> {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// What was established.
    #[serde(flatten)]
    pub data: T,
    /// Counts the changes, from 1.
    pub version: i64,
    /// When it was first stored.
    #[serde(serialize_with = "instant::serialize")]
    pub created_at: DateTime<Utc>,
    /// When it last changed.
    #[serde(serialize_with = "instant::serialize")]
    pub updated_at: DateTime<Utc>,
}

impl<T> From<plugwell_store::Stored<T>> for Record<T> {
    fn from(stored: plugwell_store::Stored<T>) -> Self {
        let plugwell_store::Stored {
            id,
            version,
            created_at,
            updated_at,
            data,
        } = stored;
        Self {
            id,
            data,
            version,
            created_at,
            updated_at,
        }
    }
}

impl<T: ToSchema> PartialSchema for Record<T> {
    fn schema() -> RefOr<Schema> {
        let text = |format: &str, meaning: &str| {
            ObjectBuilder::new()
                .schema_type(SchemaType::new(Type::String))
                .format(Some(SchemaFormat::Custom(format.to_owned())))
                .description(Some(meaning))
        };
        let id = ObjectBuilder::new()
            .property("id", text("uuid", "UUID v7 made by the service."))
            .required("id");
        let version = ObjectBuilder::new()
            .schema_type(SchemaType::new(Type::Integer))
            .description(Some("Counts the changes, from 1."));
        let standing = ObjectBuilder::new()
            .property("version", version)
            .property("created_at", text("date-time", "When it was first stored."))
            .property("updated_at", text("date-time", "When it last changed."))
            .required("version")
            .required("created_at")
            .required("updated_at");
        AllOfBuilder::new()
            .item(id)
            .item(Ref::from_schema_name(T::name()))
            .item(standing)
            .into()
    }
}

impl<T: ToSchema> ToSchema for Record<T> {
    fn name() -> Cow<'static, str> {
        format!("{}Record", T::name()).into()
    }

    fn schemas(schemas: &mut Vec<(String, RefOr<Schema>)>) {
        schemas.push((T::name().into_owned(), T::schema()));
        T::schemas(schemas);
    }
}
