//! The badge of a token: what a scanner types for its holder.

use crate::drawing::qr::{Drawn, drawn};
use crate::service::access::Shown;

/// What stands on a badge.
#[derive(Debug, Clone)]
pub(super) struct Badge {
    /// What the shop calls its holder.
    pub name: String,
    /// What they may do.
    pub role: String,
    /// The secret, shown this once.
    pub secret: String,
    /// The same to be scanned.
    pub code: Option<Drawn>,
}

impl Badge {
    /// The badge of a token that was just made.
    pub fn of(shown: &Shown) -> Self {
        Self {
            name: shown.token.name.clone(),
            role: shown.token.role.to_string(),
            code: drawn(&shown.secret),
            secret: shown.secret.clone(),
        }
    }
}
