//! Problem documents, RFC 9457, as plugwell answers them.

use serde::Deserialize;
use serde_json::{Map, Value};

/// Why the service refused.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Problem {
    /// `urn:plugwell:problem:` and a code of a closed list.
    #[serde(rename = "type")]
    pub kind: String,
    /// What the code means.
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
    /// The code at the end of the type.
    pub fn code(&self) -> &str {
        self.kind.rsplit(':').next().unwrap_or_default()
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
