//! What a scanned or typed text is.

use actix_web::{get, web};
use plugwell_domain::fault::FaultCode;
use plugwell_domain::plug::Plug;
use serde::Serialize;
use serde_json::{Map, Value};
use utoipa::{IntoParams, ToSchema};

use crate::http::answer::{Answer, ask, ok};
use crate::http::match_answer;
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::service::Shop;
use crate::service::scanning::{self, Scan};

/// What was scanned or typed.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct ScanQuery {
    /// As the scanner sends it: a GTIN, GS1 element strings (FNC1 as the group separator, `%1D`, or with
    /// identifiers in brackets), a label of the shop's own, an attached barcode, a part number or a name.
    text: String,
}

impl FromQuery for ScanQuery {
    fn take(members: &mut Members) -> Self {
        let text = members.text("text");
        if text.is_none() {
            members.fault("text", FaultCode::Missing, "say what was scanned");
        }
        Self {
            text: text.unwrap_or_default(),
        }
    }
}

/// What was understood, with the whole record of the part.
#[derive(Debug, Serialize, ToSchema)]
pub struct ScanAnswer {
    /// The part that is meant; null where none is for certain.
    #[schema(value_type = Option<Plug>)]
    part: Option<Map<String, Value>>,
    /// The rest.
    #[serde(flatten)]
    scan: Scan,
}

/// Says what a scanned or typed text is: the part, lot or place, how many plugs, the bin that they go
/// into, and what can be done with it. What is unknown is said to be, with how to attach it.
#[utoipa::path(
    operation_id = "read_scan", tag = "stock", params(ScanQuery),
    responses((status = 200, description = "What was understood.", body = ScanAnswer))
)]
#[get("/v1/scans")]
pub async fn read_scan(
    shop: web::Data<Shop>,
    CheckedQuery(query): CheckedQuery<ScanQuery>,
) -> Answer {
    let scan = ask(&shop, move |shop| {
        let scan = scanning::read(shop, &query.text)?;
        let policy = shop.policy();
        let part = scan
            .plug
            .as_ref()
            .map(|plug| match_answer::plug(plug, &policy));
        Ok::<_, crate::service::Refusal>(ScanAnswer { part, scan })
    });
    ok(&scan.await?)
}
