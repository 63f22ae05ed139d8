//! Tokens: shown once, kept as a hash.

use actix_web::{delete, get, post, web};
use chrono::{DateTime, Utc};
use plugwell_domain::fault::{Check, Fault, FaultCode};
use plugwell_domain::instant;
use plugwell_domain::words::Role;
use plugwell_store::Token;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::http::answer::{Answer, ask, created, gone, page, record};
use crate::http::body::bodies;
use crate::http::etag::{IfMatch, IfNoneMatch};
use crate::http::paging::{Page, PageQuery, Paging};
use crate::http::query::CheckedQuery;
use crate::http::request::{Checked, Id};
use crate::service::{Actor, Shop, access};

/// A token to be made.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewToken {
    /// What the shop calls it; stands in the movements that it makes.
    #[schema(min_length = 1, max_length = 80)]
    pub(crate) name: String,
    /// What it may do.
    pub(crate) role: Role,
}

bodies!(NewToken);

impl Check for NewToken {
    fn faults(&self) -> Vec<Fault> {
        let name = self.name.trim();
        let wrong = if name.is_empty() {
            Some((FaultCode::OutOfRange, "name is empty"))
        } else if name.chars().any(char::is_control) {
            Some((FaultCode::WrongForm, "name holds a control character"))
        } else {
            None
        };
        wrong
            .map(|(code, detail)| Fault::at("name", code, detail))
            .into_iter()
            .collect()
    }
}

/// A token without its secret.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Token)]
pub struct Shown {
    /// UUID v7 made by the service.
    id: Uuid,
    /// What the shop calls it.
    name: String,
    /// What it may do.
    role: Role,
    /// When it was made.
    #[serde(serialize_with = "instant::serialize")]
    created_at: DateTime<Utc>,
}

/// A token that was just made.
#[derive(Debug, Serialize, ToSchema)]
pub struct MadeToken {
    /// UUID v7 made by the service.
    id: Uuid,
    /// What the shop calls it.
    name: String,
    /// What it may do.
    role: Role,
    /// When it was made.
    #[serde(serialize_with = "instant::serialize")]
    created_at: DateTime<Utc>,
    /// The secret, shown this once.
    token: String,
}

impl From<Token> for Shown {
    fn from(token: Token) -> Self {
        Self {
            id: token.id,
            name: token.name,
            role: token.role,
            created_at: token.created_at,
        }
    }
}

/// One page of tokens.
type TokenPage = Page<Shown>;

/// A token never changes: it is there or revoked.
const VERSION: i64 = 1;

/// Lists tokens that are not revoked.
#[utoipa::path(
    operation_id = "list_tokens", tag = "shop", params(PageQuery),
    responses((status = 200, description = "A page of tokens.", body = TokenPage))
)]
#[get("/v1/tokens")]
pub async fn list_tokens(
    shop: web::Data<Shop>,
    CheckedQuery(paging): CheckedQuery<Paging<Uuid>>,
) -> Answer {
    let (after, limit) = (paging.after, paging.one_more());
    let found = ask(&shop, move |shop| access::list(shop, after, limit)).await?;
    let (found, next) = paging.page(found, |token| token.id);
    page(&found.map(Shown::from), next)
}

/// Makes a token; its secret is in this answer and nowhere else.
#[utoipa::path(
    operation_id = "create_token", tag = "shop", request_body = NewToken,
    responses((status = 201, description = "The token with its secret.", body = MadeToken))
)]
#[post("/v1/tokens")]
pub async fn create_token(shop: web::Data<Shop>, body: Checked<NewToken>) -> Answer {
    let made = ask(&shop, move |shop| {
        access::create(shop, &body.0.name, body.0.role)
    })
    .await?;
    let Token {
        id,
        name,
        role,
        created_at,
        ..
    } = made.token;
    let shown = MadeToken {
        id,
        name,
        role,
        created_at,
        token: made.secret,
    };
    created(&shop, &format!("/v1/tokens/{id}"), VERSION, &shown)
}

/// Shows a token, without its secret.
#[utoipa::path(
    operation_id = "get_token", tag = "shop", params(Id),
    responses((status = 200, description = "The token.", body = Shown))
)]
#[get("/v1/tokens/{id}")]
pub async fn get_token(shop: web::Data<Shop>, id: Id, known: IfNoneMatch) -> Answer {
    let found = ask(&shop, move |shop| access::get(shop, id.0)).await?;
    record(VERSION, &known, &Shown::from(found))
}

/// Revokes a token, at once; the one that asks cannot revoke itself.
#[utoipa::path(
    operation_id = "delete_token", tag = "shop", params(Id),
    responses((status = 204, description = "It is revoked."), (status = 409, description = "`own_token`."))
)]
#[delete("/v1/tokens/{id}")]
pub async fn delete_token(
    shop: web::Data<Shop>,
    actor: Actor,
    id: Id,
    expected: IfMatch,
) -> Answer {
    ask(&shop, move |shop| {
        access::revoke(shop, &actor, id.0, |version| expected.check(version))
    })
    .await?;
    gone(&shop)
}
