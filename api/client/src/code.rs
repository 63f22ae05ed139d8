//! The kinds of problem that a program branches on.

/// Declares the kinds with their words.
macro_rules! codes {
    ($($(#[$doc:meta])* $name:ident = $word:literal),+ $(,)?) => {
        /// A kind of problem: the closed list of the service, and [`Code::Unknown`] for what came after
        /// this client.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        #[non_exhaustive]
        pub enum Code {
            $($(#[$doc])* $name,)+
            /// A kind that this client does not know; [`Problem::word`](crate::Problem::word) has its word.
            Unknown,
        }

        impl Code {
            /// Every kind that this client knows.
            pub const ALL: &'static [Self] = &[$(Self::$name),+];

            /// The word that ends the type; empty for [`Code::Unknown`].
            pub const fn word(self) -> &'static str {
                match self {
                    $(Self::$name => $word,)+
                    Self::Unknown => "",
                }
            }

            /// The kind with a word.
            pub fn named(word: &str) -> Self {
                match word {
                    $($word => Self::$name,)+
                    _ => Self::Unknown,
                }
            }
        }
    };
}

codes! {
    /// The request cannot be understood.
    BadRequest = "bad_request",
    /// The body is not JSON.
    BadJson = "bad_json",
    /// The request has faults.
    Invalid = "invalid",
    /// Another currency than the shop's.
    WrongCurrency = "wrong_currency",
    /// The once-only key is missing.
    OnceKeyMissing = "once_key_missing",
    /// Who asks is not known.
    Unauthorized = "unauthorized",
    /// The role is too small.
    Forbidden = "forbidden",
    /// There is no such thing here.
    NotFound = "not_found",
    /// The path does not take this method.
    MethodNotAllowed = "method_not_allowed",
    /// Nothing that you accept can be sent.
    NotAcceptable = "not_acceptable",
    /// The request took too long to arrive.
    TooSlow = "too_slow",
    /// The part stands in the catalogue already.
    DuplicatePart = "duplicate_part",
    /// There is such a record already.
    DuplicateRecord = "duplicate_record",
    /// The record has stock or history.
    HasHistory = "has_history",
    /// Other records point to it.
    InUse = "in_use",
    /// The part lacks what a requirement is made of.
    RequirementIncomplete = "requirement_incomplete",
    /// The part does not fit.
    DoesNotFit = "does_not_fit",
    /// The calibration is not the one that was looked at.
    CalibrationChanged = "calibration_changed",
    /// The calibration would make all codes of a scale one.
    ScaleFlattened = "scale_flattened",
    /// The same request is still running.
    StillRunning = "still_running",
    /// A token cannot revoke itself.
    OwnToken = "own_token",
    /// It was withdrawn before.
    AlreadyWithdrawn = "already_withdrawn",
    /// The bin is being counted already.
    PlaceBeingCounted = "place_being_counted",
    /// There is no bin to choose.
    NothingToCount = "nothing_to_count",
    /// The count is closed.
    CountClosed = "count_closed",
    /// The count is not finished.
    CountIncomplete = "count_incomplete",
    /// Lines are to be counted once more.
    RecountAsked = "recount_asked",
    /// What was missing went out since.
    CountOvertaken = "count_overtaken",
    /// It was decided before.
    AlreadyDecided = "already_decided",
    /// A lot that it descends from waits for a decision.
    ForebearWaits = "forebear_waits",
    /// The order was withdrawn.
    OrderWithdrawn = "order_withdrawn",
    /// The order is closed.
    OrderClosed = "order_closed",
    /// The supplier does not have the order yet.
    OrderNotSent = "order_not_sent",
    /// The supplier has the order.
    OrderAlreadySent = "order_already_sent",
    /// Some of the order has come in.
    OrderPartlyIn = "order_partly_in",
    /// Nothing of the order has come in.
    OrderNothingIn = "order_nothing_in",
    /// The part is retired.
    PlugRetired = "plug_retired",
    /// The place is retired.
    PlaceRetired = "place_retired",
    /// Scrap is final.
    ScrapIsFinal = "scrap_is_final",
    /// Only what was issued can be returned.
    NotAnIssue = "not_an_issue",
    /// A reversal stands.
    ReversalIsFinal = "reversal_is_final",
    /// The movement is reversed already.
    AlreadyReversed = "already_reversed",
    /// The reservation is closed.
    ReservationClosed = "reservation_closed",
    /// The lot cannot come back sealed.
    NotSealed = "not_sealed",
    /// The lot is set to another gap.
    WrongGap = "wrong_gap",
    /// More would come back than went out.
    MoreThanIssued = "more_than_issued",
    /// There are not as many.
    NotEnoughStock = "not_enough_stock",
    /// What happened behind the cursor is not known any more.
    CursorGone = "cursor_gone",
    /// A webhook has one to five secrets.
    SecretsBounded = "secrets_bounded",
    /// The record was changed meanwhile.
    Stale = "stale",
    /// The body is too large.
    PayloadTooLarge = "payload_too_large",
    /// The body's type is not taken here.
    UnsupportedMediaType = "unsupported_media_type",
    /// The once-only key stands for another request.
    OnceKeyReused = "once_key_reused",
    /// Say which version the change is meant for.
    PreconditionRequired = "precondition_required",
    /// Too many requests.
    RateLimited = "rate_limited",
    /// Our own fault.
    Internal = "internal",
    /// Not just now.
    Unavailable = "unavailable",
}
