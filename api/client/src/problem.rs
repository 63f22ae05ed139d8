//! Problem documents, RFC 9457, as plugwell answers them.

use std::time::Duration;

use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};

use crate::code::Code;

/// Why the service refused.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Problem {
    /// `urn:plugwell:problem:` and a word of a closed list.
    #[serde(rename = "type")]
    pub kind: String,
    /// What the kind means.
    #[serde(default)]
    pub title: String,
    /// HTTP status.
    pub status: u16,
    /// What was wrong here.
    #[serde(default)]
    pub detail: Option<String>,
    /// The request, as it is found in the service's log.
    #[serde(default)]
    pub instance: Option<String>,
    /// Every fault of the input.
    #[serde(default)]
    pub errors: Vec<Fault>,
    /// Members of this kind of problem, such as `available`.
    #[serde(flatten)]
    pub further: Map<String, Value>,
    /// How long the service asks to wait before the next request.
    #[serde(skip)]
    pub retry_after: Option<Duration>,
    /// How often the request was sent. A change that was sent more than once and is [`Code::Stale`], or
    /// a removal that is [`Code::NotFound`], may have been done the first time: read the record again.
    #[serde(skip)]
    pub sent: u32,
}

/// One fault of an input.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Fault {
    /// JSON pointer into the body; empty for faults of a table.
    #[serde(default)]
    pub pointer: String,
    /// Row of a table.
    #[serde(default)]
    pub row: Option<u64>,
    /// Column of a table.
    #[serde(default)]
    pub column: Option<String>,
    /// What stands there.
    #[serde(default)]
    pub found: Option<String>,
    /// The rule.
    pub code: String,
    /// What is wrong, and what would be right.
    pub detail: String,
}

impl Problem {
    /// The kind, to branch on.
    pub fn code(&self) -> Code {
        Code::named(self.word())
    }

    /// The word at the end of the type, also of a kind that this client does not know.
    pub fn word(&self) -> &str {
        self.kind.rsplit(':').next().unwrap_or_default()
    }

    /// A member of this kind of problem, where it is there and of that type.
    pub fn member<T: DeserializeOwned>(&self, name: &str) -> Option<T> {
        serde_json::from_value(self.further.get(name)?.clone()).ok()
    }

    /// Plugs that may be taken, where there are not as many as were asked for.
    pub fn available(&self) -> Option<i64> {
        self.member("available")
    }

    /// Plugs that lie in bins, where there are not as many as were asked for.
    pub fn on_hand(&self) -> Option<i64> {
        self.member("on_hand")
    }

    /// Whether it passes by itself: the service is busy, or still at work on the same request.
    pub fn is_passing(&self) -> bool {
        matches!(self.status, 429 | 502..=504) || self.code() == Code::StillRunning
    }
}

impl std::fmt::Display for Problem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.title)?;
        if let Some(detail) = &self.detail {
            write!(f, ": {detail}")?;
        }
        for fault in &self.errors {
            match (fault.row, &fault.column) {
                (Some(row), Some(column)) => {
                    write!(f, "\n  row {row}, {column}: {}", fault.detail)?
                }
                _ => write!(f, "\n  {}: {}", fault.pointer, fault.detail)?,
            }
        }
        Ok(())
    }
}
