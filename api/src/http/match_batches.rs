//! Many matches in one call: each answered as it would be by itself.

use std::borrow::Cow;

use actix_web::http::StatusCode;
use actix_web::{HttpMessage, HttpRequest, ResponseError, post, web};
use plugwell_domain::fault::{Fault, FaultCode};
use serde::Serialize;
use serde_json::Value;
use utoipa::openapi::schema::{ArrayBuilder, ObjectBuilder, Schema, SchemaType};
use utoipa::openapi::{Ref, RefOr, Type};
use utoipa::{PartialSchema, ToSchema};
use uuid::Uuid;

use crate::http::answer::{Answer, ask, ok};
use crate::http::body::Body;
use crate::http::envelope::RequestId;
use crate::http::match_answer;
use crate::http::matches::Question;
use crate::http::problem::Problem;
use crate::http::request::Checked;
use crate::service::{Refusal, Shop, matching};

/// Most questions of a batch.
const MOST: usize = 200;

/// Questions for plugs, each read when its turn comes.
#[derive(Debug)]
pub struct MatchBatch(Vec<Value>);

impl PartialSchema for MatchBatch {
    fn schema() -> RefOr<Schema> {
        let requests = ArrayBuilder::new()
            .items(Ref::from_schema_name(Question::name()))
            .min_items(Some(1))
            .max_items(Some(MOST))
            .description(Some(
                "Questions as `POST /v1/matches` takes them. One that is well formed and cannot be answered is told so \
                 in its place, and keeps no other from its answer.",
            ));
        ObjectBuilder::new()
            .schema_type(SchemaType::new(Type::Object))
            .property("requests", requests)
            .required("requests")
            .description(Some("Questions for plugs that are answered in one call."))
            .into()
    }
}

impl ToSchema for MatchBatch {
    fn name() -> Cow<'static, str> {
        "MatchBatch".into()
    }

    fn schemas(schemas: &mut Vec<(String, RefOr<Schema>)>) {
        schemas.push((Question::name().into_owned(), Question::schema()));
        Question::schemas(schemas);
    }
}

impl Body for MatchBatch {
    fn read(value: Value) -> Result<Self, Vec<Fault>> {
        match value {
            Value::Object(mut members) => match members.remove("requests") {
                Some(Value::Array(requests)) => Ok(Self(requests)),
                _ => Err(vec![Fault::at(
                    "requests",
                    FaultCode::WrongType,
                    "requests is a list",
                )]),
            },
            _ => Err(vec![Fault::at(
                "",
                FaultCode::WrongType,
                "a batch is an object",
            )]),
        }
    }
}

/// The answer to one question of a batch.
#[derive(Debug, Serialize, ToSchema)]
pub struct BatchItem {
    /// The status that the question would have had by itself.
    #[schema(minimum = 200, maximum = 599)]
    pub status: u16,
    /// The body that it would have had: a `MatchAnswer` with 200, a `Problem` else.
    #[schema(value_type = Object)]
    pub body: Value,
}

/// The answers of a batch.
#[derive(Debug, Serialize, ToSchema)]
pub struct BatchAnswer {
    /// One for each question, in their order.
    pub answers: Vec<BatchItem>,
}

/// Answers 1 to 200 matches in one call. Each has the status and body that it would have had by itself,
/// in the order of the questions, an error under the `instance` of the whole call. A batch in which a
/// question does not keep to its schema is refused as a whole, with the faults of all of them. Each sees the stock as it is when its turn comes. The call counts for twenty where
/// requests are limited.
#[utoipa::path(
    operation_id = "match_batch", tag = "matching", request_body = MatchBatch,
    responses((status = 200, description = "An answer for each question.", body = BatchAnswer))
)]
#[post("/v1/match-batches")]
pub async fn match_batch(
    shop: web::Data<Shop>,
    request: HttpRequest,
    body: Checked<MatchBatch>,
) -> Answer {
    let id = request.extensions().get::<RequestId>().map(|id| id.0);
    let answered = ask(&shop, move |shop| {
        let Checked(MatchBatch(questions)) = body;
        let answers = shop
            .hands
            .spread(&questions, |question| answered(shop, question, id));
        Ok::<_, Refusal>(BatchAnswer { answers })
    });
    ok(&answered.await?)
}

fn answered(shop: &Shop, question: &Value, request: Option<Uuid>) -> BatchItem {
    let found = Question::read(question.clone())
        .map_err(Problem::faults)
        .and_then(|Question(asked)| Ok(matching::find(shop, &asked)?));
    match found {
        Ok(matched) => BatchItem {
            status: StatusCode::OK.as_u16(),
            body: match_answer::matched(&matched, &shop.policy()),
        },
        Err(problem) => {
            if let Some(cause) = problem.cause() {
                tracing::error!(code = problem.code().word, cause, "refused within a batch");
            }
            let problem = match request {
                Some(id) => problem.instance(id),
                None => problem,
            };
            BatchItem {
                status: problem.status_code().as_u16(),
                body: problem.to_json(),
            }
        }
    }
}
