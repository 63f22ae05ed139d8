//! Why a call brought no answer, or a refusal.

use crate::code::Code;
use crate::problem::Problem;

/// Why a call brought no answer that it asked for.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// The service refused, and says why.
    #[error("{0}")]
    Refused(Box<Problem>),
    /// The service could not be reached, or fell silent: what was asked may have been done or not.
    #[error("no answer: {0}")]
    NoAnswer(String),
    /// Somebody on the way answered, not plugwell.
    #[error("status {0} without a problem document")]
    Foreign(u16),
    /// What came back is not what this client knows.
    #[error("the answer is not understood: {0}")]
    NotUnderstood(String),
    /// It came, and could not be kept where the caller wants it.
    #[error("not kept: {0}")]
    NotKept(String),
    /// Nothing was sent: a body, a key or an address cannot be written.
    #[error("not sent: {0}")]
    NotSent(String),
}

impl Error {
    /// What the service refused, if it did.
    pub fn problem(&self) -> Option<&Problem> {
        match self {
            Self::Refused(problem) => Some(problem),
            _ => None,
        }
    }

    /// The kind of refusal; [`Code::Unknown`] where it is none.
    pub fn code(&self) -> Code {
        self.problem().map_or(Code::Unknown, Problem::code)
    }

    /// Whether the same call may succeed a little later.
    ///
    /// The client has then sent it as often as it may already. A command that is given again should
    /// be given under the same key, [`Client::under_key`](crate::Client::under_key): nobody knows
    /// whether it was done.
    pub fn is_retryable(&self) -> bool {
        match self {
            Self::Refused(problem) => problem.is_passing(),
            Self::NoAnswer(_) => true,
            Self::Foreign(status) => matches!(status, 429 | 502..=504),
            Self::NotUnderstood(_) | Self::NotKept(_) | Self::NotSent(_) => false,
        }
    }
}

impl From<reqwest::Error> for Error {
    fn from(error: reqwest::Error) -> Self {
        // The library's own sentence leaves the cause out.
        let mut text = error.to_string();
        let mut cause = std::error::Error::source(&error);
        while let Some(inner) = cause {
            text = format!("{text}: {inner}");
            cause = inner.source();
        }
        if error.is_builder() {
            Self::NotSent(text)
        } else {
            Self::NoAnswer(text)
        }
    }
}
