//! What the state of stock or record can forbid: a closed list, in the order in which the rules
//! are put to a command.

use plugwell_domain::ledger::rules::Rejection;
use plugwell_domain::order::OrderRejection;

/// A rule of the state; its word ends the `type` of the problem.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Conflict {
    /// Maker and part number stand in the catalogue already.
    DuplicatePart,
    /// Another record has the same name, or is of the same thing.
    DuplicateRecord,
    /// The record has stock or history; retire it.
    HasHistory,
    /// Other records point to it.
    InUse,
    /// The part lacks what a requirement is made of.
    RequirementIncomplete,
    /// The part fails a must of the build.
    DoesNotFit,
    /// What a calibration would store is not what was looked at.
    CalibrationChanged,
    /// A calibration would make all codes of a scale one.
    ScaleFlattened,
    /// A request with the same once-only key is still running.
    StillRunning,
    /// A token cannot revoke itself.
    OwnToken,
    /// The tuning day was called off before.
    AlreadyWithdrawn,
    /// Another count that is not closed has the bin.
    PlaceBeingCounted,
    /// No bin is left to choose.
    NothingToCount,
    /// The count was approved or withdrawn.
    CountClosed,
    /// Lines of the count have no number yet.
    CountIncomplete,
    /// Lines of the count are to be counted once more.
    RecountAsked,
    /// What the count found missing went out since.
    CountOvertaken,
    /// An incoming check that has been decided.
    AlreadyDecided,
    /// A lot that this one descends from waits for a decision.
    ForebearWaits,
    /// A webhook has at least one secret and at most five.
    SecretsBounded,
    /// A rule of orders.
    Order(OrderRejection),
    /// A rule of the ledger.
    Ledger(Rejection),
}

impl Conflict {
    /// Every one, in order.
    pub fn all() -> Vec<Self> {
        let own = [
            Self::DuplicatePart,
            Self::DuplicateRecord,
            Self::HasHistory,
            Self::InUse,
            Self::RequirementIncomplete,
            Self::DoesNotFit,
            Self::CalibrationChanged,
            Self::ScaleFlattened,
            Self::StillRunning,
            Self::OwnToken,
            Self::AlreadyWithdrawn,
            Self::PlaceBeingCounted,
            Self::NothingToCount,
            Self::CountClosed,
            Self::CountIncomplete,
            Self::RecountAsked,
            Self::CountOvertaken,
            Self::AlreadyDecided,
            Self::ForebearWaits,
            Self::SecretsBounded,
        ];
        own.into_iter()
            .chain(OrderRejection::ALL.iter().copied().map(Self::Order))
            .chain(Rejection::ALL.iter().copied().map(Self::Ledger))
            .collect()
    }

    /// The word that stands for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::DuplicatePart => "duplicate_part",
            Self::DuplicateRecord => "duplicate_record",
            Self::HasHistory => "has_history",
            Self::InUse => "in_use",
            Self::RequirementIncomplete => "requirement_incomplete",
            Self::DoesNotFit => "does_not_fit",
            Self::CalibrationChanged => "calibration_changed",
            Self::ScaleFlattened => "scale_flattened",
            Self::StillRunning => "still_running",
            Self::OwnToken => "own_token",
            Self::AlreadyWithdrawn => "already_withdrawn",
            Self::PlaceBeingCounted => "place_being_counted",
            Self::NothingToCount => "nothing_to_count",
            Self::CountClosed => "count_closed",
            Self::CountIncomplete => "count_incomplete",
            Self::RecountAsked => "recount_asked",
            Self::CountOvertaken => "count_overtaken",
            Self::AlreadyDecided => "already_decided",
            Self::ForebearWaits => "forebear_waits",
            Self::SecretsBounded => "secrets_bounded",
            Self::Order(rejection) => rejection.word(),
            Self::Ledger(rejection) => rejection.word(),
        }
    }
}
