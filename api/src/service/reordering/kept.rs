//! The proposal that was made last, kept for as long as nothing has changed that it rests on: the
//! pages of a list then come from the same lines.

use std::sync::Arc;

use chrono::{DateTime, NaiveDate, Utc};
use parking_lot::Mutex;
use plugwell_domain::policy::Policy;
use plugwell_store::Session;

use super::Whole;
use crate::service::{Refusal, Shop};

/// All that the lines rest on: they are a function of it.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Basis {
    state: String,
    policy: i64,
    day: NaiveDate,
}

/// The proposal that was made last, with what it rests on; never more than one.
#[derive(Default)]
pub struct KeptProposal(Mutex<Option<(Basis, Arc<Whole>)>>);

impl KeptProposal {
    /// The proposal as the session sees the shop: the kept one, or a new one that is kept in its place.
    ///
    /// # Errors
    /// Where the database fails.
    pub(super) fn of(
        &self,
        shop: &Shop,
        session: &mut Session,
        policy: &Policy,
        at: DateTime<Utc>,
    ) -> Result<Arc<Whole>, Refusal> {
        let basis = Basis {
            state: session.state()?,
            policy: policy.version,
            day: at.date_naive(),
        };
        if let Some((_, whole)) = self.0.lock().as_ref().filter(|(own, _)| *own == basis) {
            return Ok(Arc::clone(whole));
        }
        let whole = Arc::new(Whole::of(shop, session, policy, None, at)?);
        *self.0.lock() = Some((basis, Arc::clone(&whole)));
        Ok(whole)
    }
}
