//! From a build to what it needs, and to the plugs that meet it.

use std::borrow::Cow;

use actix_web::{post, web};
use plugwell_domain::build::Build;
use plugwell_domain::fault::{Check, Fault, FaultCode};
use plugwell_domain::fit::StockMode;
use plugwell_domain::requirement::Requirement;
use serde::Deserialize;
use serde_json::Value;
use utoipa::openapi::{RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};
use uuid::Uuid;

use crate::http::answer::{Answer, ask, ok};
use crate::http::body::{Body, choice};
use crate::http::match_answer;
use crate::http::match_shapes::{MatchAnswer, PostedRequirement};
use crate::http::request::Checked;
use crate::service::matching::{self, Asked, Subject};
use crate::service::{Refusal, Shop};

/// A question for plugs: exactly one of `build`, `build_id`, `requirement` and `plug_id`.
#[derive(Debug, Deserialize, ToSchema)]
pub struct MatchRequest {
    /// The build, in full or over a stored head.
    #[serde(default)]
    build: Option<Build>,
    /// A stored build.
    #[serde(default)]
    build_id: Option<Uuid>,
    /// A requirement, as it was answered or as another program makes it.
    #[serde(default)]
    #[schema(value_type = Option<PostedRequirement>)]
    requirement: Option<Value>,
    /// A part whose equivalents are wanted, itself among them.
    #[serde(default)]
    plug_id: Option<Uuid>,
    /// Plugs wanted; the build's total where null, 1 for a part.
    #[serde(default)]
    #[schema(minimum = 1, maximum = 1_000_000)]
    quantity: Option<i64>,
    /// How much has to be there: `enough` where null.
    #[serde(default)]
    stock: Option<StockMode>,
    /// Most fits answered; 20 where null.
    #[serde(default)]
    #[schema(minimum = 1, maximum = 200)]
    limit: Option<usize>,
    /// Most near misses answered; 5 where null.
    #[serde(default)]
    #[schema(minimum = 0, maximum = 50)]
    near_misses: Option<usize>,
}

/// A question, understood.
#[derive(Debug)]
pub struct Question(pub Asked);

impl PartialSchema for Question {
    fn schema() -> RefOr<Schema> {
        MatchRequest::schema()
    }
}

impl ToSchema for Question {
    fn name() -> Cow<'static, str> {
        MatchRequest::name()
    }

    fn schemas(schemas: &mut Vec<(String, RefOr<Schema>)>) {
        MatchRequest::schemas(schemas);
    }
}

impl Body for Question {
    fn read(value: Value) -> Result<Self, Vec<Fault>> {
        let request: MatchRequest = serde_json::from_value(value)
            .map_err(|e| vec![Fault::at("", FaultCode::WrongForm, e.to_string())])?;
        let given = [
            ("build", request.build.is_some()),
            ("build_id", request.build_id.is_some()),
            ("requirement", request.requirement.is_some()),
            ("plug_id", request.plug_id.is_some()),
        ];
        let mut asked = Asked::of(subject(
            &given,
            request.build,
            request.build_id,
            request.requirement,
            request.plug_id,
        )?);
        asked.quantity = request.quantity;
        asked.stock = request.stock.unwrap_or(asked.stock);
        asked.limit = request.limit.unwrap_or(asked.limit);
        asked.near_misses = request.near_misses.unwrap_or(asked.near_misses);
        Ok(Self(asked))
    }
}

/// What a question is for, by whichever of the members that may stand for it was given.
///
/// # Errors
/// None of them, more than one, and what is wrong with the one.
pub(super) fn subject(
    given: &[(&str, bool)],
    build: Option<Build>,
    build_id: Option<Uuid>,
    requirement: Option<Value>,
    plug_id: Option<Uuid>,
) -> Result<Subject, Vec<Fault>> {
    let under = |outer: &str, faults: Vec<Fault>| {
        faults
            .into_iter()
            .map(|f| f.under(outer))
            .collect::<Vec<_>>()
    };
    match (choice(given), build, build_id, requirement, plug_id) {
        (None, Some(build), ..) => {
            let faults = build.faults();
            if faults.is_empty() {
                Ok(Subject::Build(Box::new(build)))
            } else {
                Err(under("build", faults))
            }
        }
        (None, _, Some(id), ..) => Ok(Subject::Stored(id)),
        (None, _, _, Some(posted), _) => {
            let read =
                Requirement::from_json(&posted).map_err(|faults| under("requirement", faults))?;
            Ok(Subject::Requirement(Box::new(read)))
        }
        (None, .., Some(id)) => Ok(Subject::Part(id)),
        (fault, ..) => Err(fault.into_iter().collect()),
    }
}

/// Says what the plugs of a build must be, and why; stores nothing.
#[utoipa::path(
    operation_id = "derive_requirement", tag = "matching", request_body = Build,
    responses((status = 200, description = "All that the build needs of its plugs.", body = Requirement))
)]
#[post("/v1/requirements")]
pub async fn derive_requirement(shop: web::Data<Shop>, body: Checked<Build>) -> Answer {
    ok(&ask(&shop, move |shop| matching::requirement(shop, &body.0)).await?)
}

/// Finds the plugs that meet a build, a requirement or a part, in stock as it is now.
#[utoipa::path(
    operation_id = "match_plugs", tag = "matching", request_body = MatchRequest,
    responses(
        (status = 200, description = "What fits, best first, each with every verdict.", body = MatchAnswer),
        (status = 409, description = "`requirement_incomplete`.")
    )
)]
#[post("/v1/matches")]
pub async fn match_plugs(shop: web::Data<Shop>, body: Checked<Question>) -> Answer {
    let found = ask(&shop, move |shop| {
        let matched = matching::find(shop, &body.0.0)?;
        Ok::<_, Refusal>(match_answer::matched(&matched, &shop.policy()))
    });
    ok(&found.await?)
}
