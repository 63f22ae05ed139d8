//! Words of closed lists, read by a client that may be older than the service.

use std::fmt;

use serde::{Deserialize, Serialize};

/// A word of a list that the service may add to: one that this client knows, or as it came.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Word<T> {
    /// A word of the list as this client knows it.
    Known(T),
    /// A word that came later.
    New(String),
}

impl<T: Copy> Word<T> {
    /// The member of the list, where this client knows it.
    pub fn known(&self) -> Option<T> {
        match self {
            Self::Known(word) => Some(*word),
            Self::New(_) => None,
        }
    }
}

impl<T> From<T> for Word<T> {
    fn from(word: T) -> Self {
        Self::Known(word)
    }
}

impl<T: PartialEq> PartialEq<T> for Word<T> {
    fn eq(&self, other: &T) -> bool {
        matches!(self, Self::Known(word) if word == other)
    }
}

impl<T: fmt::Display> fmt::Display for Word<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Known(word) => word.fmt(f),
            Self::New(word) => f.pad(word),
        }
    }
}
