//! Why the stock forbids a command.

use crate::words::closed_list;

closed_list! {
    /// Why the stock forbids a command: a closed list, in the order in which the rules are put.
    /// The first two are put by whoever looks up the part and the places, before the shelf is read.
    Rejection, "rejection" {
        /// The part is retired: nothing more is received of it.
        PlugRetired = "plug_retired",
        /// The place is retired.
        PlaceRetired = "place_retired",
        /// Nothing comes out of the scrap drum, but by a manager's reversal in time.
        ScrapIsFinal = "scrap_is_final",
        /// Only an issue can be returned from.
        NotAnIssue = "not_an_issue",
        /// A reversal stands; make the movement anew.
        ReversalIsFinal = "reversal_is_final",
        /// The movement has been put right already.
        AlreadyReversed = "already_reversed",
        /// The reservation is issued, released or expired.
        ReservationClosed = "reservation_closed",
        /// A lot that was set to a gap does not come back sealed.
        NotSealed = "not_sealed",
        /// The lot is set to another gap than the one wanted.
        WrongGap = "wrong_gap",
        /// More would come back than went out.
        MoreThanIssued = "more_than_issued",
        /// There are not as many.
        NotEnoughStock = "not_enough_stock",
    }
}

/// A rejected command: the rule, and what there is where there is not enough.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rejected {
    /// The rule.
    pub rule: Rejection,
    /// Plugs that the command could have had; only with `not_enough_stock`.
    pub available: Option<i64>,
    /// Plugs of the part in bins; only with `not_enough_stock`.
    pub on_hand: Option<i64>,
    /// What there is, or what stands in the way, where the rule can say more of it than its numbers do.
    pub detail: Option<String>,
}

impl Rejected {
    /// The same with what there is, or what stands in the way.
    #[must_use]
    pub fn since(mut self, detail: String) -> Self {
        self.detail = Some(detail);
        self
    }
}

impl From<Rejection> for Rejected {
    fn from(rule: Rejection) -> Self {
        Self {
            rule,
            available: None,
            on_hand: None,
            detail: None,
        }
    }
}
