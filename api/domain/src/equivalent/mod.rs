//! How near one part comes to another: what the attributes say of it, graded, in words.
//!
//! Whether a part is an equivalent is settled by [`fit`](crate::fit), with the part's own
//! requirement ([`of_part`](crate::requirement::of_part)); what is said here never lets one in
//! that does not fit.

mod grade;
mod objection;
mod steps;

pub use grade::{Difference, Grade, Graded};
pub use objection::Objection;

use crate::fit::{Verdict, fits};
use crate::plug::Shows;
use crate::policy::Values;
use crate::requirement::Requirement;
use crate::words::closed_list;

closed_list! {
    /// What the attributes of a part say of its being an equivalent of another.
    Finding, "finding of the attributes" {
        /// It passes every must of the other part.
        Equivalent = "equivalent",
        /// Nothing rules it out, but what nobody has established does not let it in.
        Unconfirmed = "unconfirmed",
        /// It fails a must.
        Contradicted = "contradicted",
    }
}

/// What the attributes of a part say of its being an equivalent of another, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Opinion {
    /// It passes every must of the other part, and comes so near to it.
    Equivalent(Graded),
    /// No must is failed, but some stand open: what they are.
    Unconfirmed(Vec<Objection>),
    /// Musts are failed: what they are, and those that stand open.
    Contradicted(Vec<Objection>),
}

impl Opinion {
    /// What `other` is to `part`, whose own requirement is `need`.
    pub fn of(part: &impl Shows, other: &impl Shows, need: &Requirement, values: &Values) -> Self {
        if fits(need, other) {
            return Self::Equivalent(Graded::of(part, other, values));
        }
        let objections = objection::all(part, other, need);
        if objections.iter().any(|o| o.verdict == Verdict::Fails) {
            Self::Contradicted(objections)
        } else {
            Self::Unconfirmed(objections)
        }
    }

    /// The word for it.
    pub fn finding(&self) -> Finding {
        match self {
            Self::Equivalent(_) => Finding::Equivalent,
            Self::Unconfirmed(_) => Finding::Unconfirmed,
            Self::Contradicted(_) => Finding::Contradicted,
        }
    }

    /// The grade, or the objections one after the other.
    pub fn words(&self) -> String {
        match self {
            Self::Equivalent(graded) => graded.words(),
            Self::Unconfirmed(objections) | Self::Contradicted(objections) => {
                let texts: Vec<&str> = objections.iter().map(|o| o.text.as_str()).collect();
                texts.join(" ")
            }
        }
    }
}
