//! The policy: every number that is a judgement.

use actix_web::{get, put, web};
use plugwell_domain::fault::Fault;
use plugwell_domain::policy::Policy;
use serde_json::Value;

use crate::http::answer::{Answer, ask, changed, record};
use crate::http::body::Body;
use crate::http::etag::{IfMatch, IfNoneMatch};
use crate::http::request::Checked;
use crate::service::{Shop, judgement};

impl Body for Policy {
    fn read(value: Value) -> Result<Self, Vec<Fault>> {
        Self::from_json(&value)
    }
}

/// Shows the policy in force.
#[utoipa::path(
    operation_id = "get_policy", tag = "shop",
    responses((status = 200, description = "The policy.", body = Policy))
)]
#[get("/v1/policy")]
pub async fn get_policy(shop: web::Data<Shop>, known: IfNoneMatch) -> Answer {
    let policy = shop.policy();
    record(policy.version, &known, &*policy)
}

/// Replaces the policy as a whole; every requirement names the version that it was made with.
#[utoipa::path(
    operation_id = "put_policy", tag = "shop", request_body = Policy,
    responses((status = 200, description = "The policy as it is now.", body = Policy))
)]
#[put("/v1/policy")]
pub async fn put_policy(shop: web::Data<Shop>, expected: IfMatch, body: Checked<Policy>) -> Answer {
    let replaced = ask(&shop, move |shop| {
        judgement::replace(shop, body.0, |version| expected.check(version))
    })
    .await?;
    changed(&shop, replaced.version, &replaced)
}
