//! Who is told of events by a request to a URL, as the shop enters it.

use serde::{Deserialize, Serialize};

use super::EventKind;
use crate::fault::{Check, Fault, FaultCode, text_fault};

/// Who is told of events by a request to a URL.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct WebhookData {
    /// Where deliveries go by POST: https, or http where the operator's allow-list has the target. No
    /// redirect is followed.
    #[cfg_attr(
        feature = "schema",
        schema(min_length = 1, max_length = 2000, format = "uri")
    )]
    pub url: String,
    /// The types that it is told of; null for all, also those that come later.
    #[serde(default)]
    pub types: Option<Vec<EventKind>>,
    /// What it is for.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 500))]
    pub description: Option<String>,
}

impl Check for WebhookData {
    fn faults(&self) -> Vec<Fault> {
        let mut faults: Vec<Fault> = text_fault("description", self.description.as_deref())
            .into_iter()
            .collect();
        if let Some(types) = &self.types {
            if types.is_empty() {
                let detail = "an empty list is told of nothing; leave it null for all";
                faults.push(Fault::at("types", FaultCode::OutOfRange, detail));
            }
            for (place, kind) in types.iter().enumerate() {
                if types[..place].contains(kind) {
                    let detail = format!("{kind} stands in the list before");
                    let at = format!("types/{place}");
                    faults.push(Fault::at(&at, FaultCode::Duplicate, detail));
                }
            }
        }
        faults
    }
}
