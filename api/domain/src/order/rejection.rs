//! Why an order's state forbids a change.

use crate::words::closed_list;

closed_list! {
    /// Why the state of an order forbids what was asked: a closed list, in the order in which the
    /// rules are put.
    OrderRejection, "rejection of an order" {
        /// Called off: nothing about it changes any more.
        Withdrawn = "order_withdrawn",
        /// Closed: nothing about it changes by hand any more.
        Closed = "order_closed",
        /// The supplier does not have it yet.
        NotSent = "order_not_sent",
        /// The supplier has it: whom it goes to, parts and quantities stay, and it is no draft again.
        AlreadySent = "order_already_sent",
        /// Something has come in: it can be closed, not withdrawn.
        PartlyIn = "order_partly_in",
        /// Nothing has come in: it can be withdrawn, not closed; and only receipts say that it is
        /// partly in.
        NothingIn = "order_nothing_in",
    }
}
