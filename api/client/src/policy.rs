//! The policy: every number of the shop that is a judgement.

use std::collections::BTreeMap;

use reqwest::{Method, header};
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::client::Client;
use crate::error::Error;
use crate::record::Versioned;
use crate::sending::{Call, Content};

/// The policy as a whole. Values that this client does not know go back as they came.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Policy {
    /// Counts the changes, from 1; requirements name it.
    pub version: i64,
    /// The judgements by their names, such as `spares_per_set`.
    pub values: BTreeMap<String, Judgement>,
}

/// One judgement.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Judgement {
    /// The number, word or list.
    pub value: Value,
    /// What it rests on.
    pub label: String,
    /// What it means, in a sentence.
    pub text: String,
}

impl Client {
    /// The policy that is in force.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn policy(&self) -> Result<Versioned<Policy>, Error> {
        let call = Call::new(Method::GET, "/v1/policy");
        Versioned::read(&self.send(&call).await?)
    }

    /// Replaces the policy that was read by the one that it has been made into. Refused as
    /// [`Code::Stale`](crate::Code::Stale) where somebody else was quicker; sent again like
    /// [`Client::change`].
    ///
    /// # Errors
    /// [`Error`].
    pub async fn put_policy(&self, policy: &Versioned<Policy>) -> Result<Versioned<Policy>, Error> {
        let call = Call::new(Method::PUT, "/v1/policy")
            .carrying(Content::json(&policy.record)?)
            .with(header::IF_MATCH, &policy.etag);
        Versioned::read(&self.send(&call).await?)
    }
}
