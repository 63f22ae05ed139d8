//! Every kind of problem that the service answers with: a closed list that other programs branch
//! on, each with what brings it about and what to do.

/// A kind of problem.
#[derive(Debug, PartialEq, Eq)]
pub struct Code {
    /// Ends the `type` of the problem: `urn:plugwell:problem:<word>`.
    pub word: &'static str,
    /// Status of the answer.
    pub status: u16,
    /// The same for every occurrence.
    pub title: &'static str,
    /// What brings it about.
    pub cause: &'static str,
    /// What to do.
    pub cure: &'static str,
}

impl Code {
    /// The `type` member.
    pub fn urn(&self) -> String {
        format!("urn:plugwell:problem:{}", self.word)
    }

    /// The kind with a word.
    pub fn named(word: &str) -> Option<&'static Self> {
        CODES.iter().copied().find(|code| code.word == word)
    }
}

/// Declares the kinds, and [`CODES`] with all of them in order.
macro_rules! codes {
    ($($name:ident = $status:literal $word:literal: $title:literal, because $cause:literal, so $cure:literal;)+) => {
        $(
            #[doc = concat!("`", $word, "`: ", $cause)]
            pub const $name: Code =
                Code { word: $word, status: $status, title: $title, cause: $cause, cure: $cure };
        )+
        /// Every kind, by status.
        pub const CODES: &[&Code] = &[$(&$name),+];
    };
}

codes! {
    BAD_REQUEST = 400 "bad_request": "The request cannot be understood",
        because "The path or a header is malformed, or the body did not arrive whole.",
        so "Send a well-formed HTTP request.";
    BAD_JSON = 400 "bad_json": "The body is not JSON",
        because "The body ends too early, has a syntax error, a number such as NaN, or a member twice.",
        so "Send one JSON value in UTF-8; unknown is null.";
    INVALID = 400 "invalid": "The request has faults",
        because "Members of the body, the path, the query or a header break a rule.",
        so "Put every fault in `errors` right; each has a pointer, a code and a sentence.";
    WRONG_CURRENCY = 400 "wrong_currency": "Another currency than the shop's",
        because "Money came in a currency other than the one that the shop keeps its books in.",
        so "Convert it; the policy names the currency.";
    ONCE_KEY_MISSING = 400 "once_key_missing": "The once-only key is missing",
        because "A request that moves or reserves stock came without Idempotency-Key, or with one that is not 1 to 128 visible ASCII characters.",
        so "Send a new key with each new request, and the same key when you repeat it.";
    UNAUTHORIZED = 401 "unauthorized": "Who asks is not known",
        because "There is no token, or it is malformed, unknown or revoked.",
        so "Send Authorization: Bearer and a token of this shop.";
    FORBIDDEN = 403 "forbidden": "The role is too small",
        because "The token's role may not do this.",
        so "Use a token of the role that the detail names.";
    NOT_FOUND = 404 "not_found": "There is no such thing here",
        because "The path leads nowhere, or the record that it names does not exist.",
        so "Look the path up in /openapi.json and the identifier in the list.";
    METHOD_NOT_ALLOWED = 405 "method_not_allowed": "The path does not take this method",
        because "The path exists, but not with this method.",
        so "Use one of the methods in Allow.";
    NOT_ACCEPTABLE = 406 "not_acceptable": "Nothing that you accept can be sent",
        because "The Accept or Accept-Encoding header rules out every form that there is.",
        so "Accept application/json, without ruling out identity.";
    TOO_SLOW = 408 "too_slow": "The request took too long to arrive",
        because "No more of the body came for half a minute.",
        so "Send it again.";
    DUPLICATE_PART = 409 "duplicate_part": "The part stands in the catalogue already",
        because "Another record has the same maker and part number, compared case-blind.",
        so "Change that record, or correct the name.";
    DUPLICATE_RECORD = 409 "duplicate_record": "There is such a record already",
        because "A name that has to be unique is taken, compared case-blind; or that plug was read after that run.",
        so "Use that record, or take another name; count runs on.";
    HAS_HISTORY = 409 "has_history": "The record has stock or history",
        because "Lots, reservations, builds or other records point to the part.",
        so "Retire it: PATCH {\"retired\": true}.";
    IN_USE = 409 "in_use": "Other records point to it",
        because "Something still stands on the record.",
        so "Change or remove what points to it first.";
    REQUIREMENT_INCOMPLETE = 409 "requirement_incomplete": "The part lacks what a requirement is made of",
        because "Thread, seat, reach or heat of the part is unknown.",
        so "Establish them and enter them with their provenance.";
    DOES_NOT_FIT = 409 "does_not_fit": "The part does not fit",
        because "The part fails a must of the build, `fails` says which; or no part of the catalogue meets them all.",
        so "Take one of the fits that a match of the build gives.";
    CALIBRATION_CHANGED = 409 "calibration_changed": "The calibration is not the one that was looked at",
        because "Scales, statements or policy have changed since the answer that the fingerprint comes from.",
        so "Calibrate without apply again, look at it, and apply it with its fingerprint.";
    SCALE_FLATTENED = 409 "scale_flattened": "The calibration would make all codes of a scale one",
        because "The statements run against the maker's order, so that nothing but a tie agrees with both.",
        so "Look at the contradictory statements, and at the order of the scale's codes.";
    STILL_RUNNING = 409 "still_running": "The same request is still running",
        because "A request with the same once-only key has not been answered yet.",
        so "Wait a moment and repeat it with the same key.";
    OWN_TOKEN = 409 "own_token": "A token cannot revoke itself",
        because "The token that asks is the one to be revoked.",
        so "Use another manager's token.";
    ALREADY_WITHDRAWN = 409 "already_withdrawn": "It was withdrawn before",
        because "What is to be called off has been called off already.",
        so "Nothing is left to do.";
    PLACE_BEING_COUNTED = 409 "place_being_counted": "The bin is being counted already",
        because "Another count that is neither approved nor withdrawn has a bin of this one; `places` says which count has which bin.",
        so "Go on with that count, or withdraw it.";
    NOTHING_TO_COUNT = 409 "nothing_to_count": "There is no bin to choose",
        because "Every bin that holds something is being counted.",
        so "Finish the counts that are open, or name a bin.";
    COUNT_CLOSED = 409 "count_closed": "The count is closed",
        because "The count was approved or withdrawn.",
        so "Begin a new count.";
    COUNT_INCOMPLETE = 409 "count_incomplete": "The count is not finished",
        because "Lines have no number yet, `lines` says which; or the count was kept open.",
        so "Count them, 0 where nothing lies there, and close the sheet: PATCH {\"state\": \"counted\"}.";
    RECOUNT_ASKED = 409 "recount_asked": "Lines are to be counted once more",
        because "A difference is larger than the policy lets pass after one counting; `lines` says which.",
        so "Count those lines again, or approve with a reason.";
    COUNT_OVERTAKEN = 409 "count_overtaken": "What was missing went out since",
        because "The books no longer have as many as the count found missing; `lines` says where.",
        so "Count those lines again, then approve.";
    ALREADY_DECIDED = 409 "already_decided": "It was decided before",
        because "The incoming check did not put anything aside, or a manager has decided what becomes of it.",
        so "Look at the check; what lies in quarantine can still be transferred or scrapped by itself.";
    FOREBEAR_WAITS = 409 "forebear_waits": "A lot that it descends from waits for a decision",
        because "What descends from a lot in quarantine is not let out while an incoming check of that lot waits.",
        so "Decide on the check that the detail names first.";
    SECRETS_BOUNDED = 409 "secrets_bounded": "A webhook has one to five secrets",
        because "The only secret was to be removed, or a sixth to be added.",
        so "Add the new one, let the receiver know it, then remove the old one.";
    ORDER_WITHDRAWN = 409 "order_withdrawn": "The order was withdrawn",
        because "Nothing about a withdrawn order changes any more, and nothing comes in for it.",
        so "Draft another order, or receive without one.";
    ORDER_CLOSED = 409 "order_closed": "The order is closed",
        because "A closed order is not changed by hand; only a receipt or its reversal still counts for it.",
        so "Draft another order.";
    ORDER_NOT_SENT = 409 "order_not_sent": "The supplier does not have the order yet",
        because "Only what was sent comes in or is called off.",
        so "Send the order first: PATCH {\"state\": \"sent\"}.";
    ORDER_ALREADY_SENT = 409 "order_already_sent": "The supplier has the order",
        because "Supplier, parts and quantities of an order that was sent stay, and it is no draft again.",
        so "Withdraw it, or close it once something is in, and draft another.";
    ORDER_PARTLY_IN = 409 "order_partly_in": "Some of the order has come in",
        because "An order of which something has come in cannot be withdrawn.",
        so "Close it: PATCH {\"state\": \"closed\"}; its lines name what never came.";
    ORDER_NOTHING_IN = 409 "order_nothing_in": "Nothing of the order has come in",
        because "An order is closed, or partly in, by what came in.",
        so "Withdraw it, or book the receipt that names its line.";
    PLUG_RETIRED = 409 "plug_retired": "The part is retired",
        because "Nothing more is received of a retired part, and none is offered to be fitted.",
        so "Bring the record back: PATCH {\"retired\": false}.";
    PLACE_RETIRED = 409 "place_retired": "The place is retired",
        because "Nothing more is put into a retired place.",
        so "Name another place.";
    SCRAP_IS_FINAL = 409 "scrap_is_final": "Scrap is final",
        because "Nothing comes out of the scrap drum, but by a manager's reversal of a slip in time.",
        so "Leave it there; within the policy's time a manager may reverse the scrapping.";
    NOT_AN_ISSUE = 409 "not_an_issue": "Only what was issued can be returned",
        because "The movement that was named is no issue.",
        so "Name the issue that the plugs went out with.";
    REVERSAL_IS_FINAL = 409 "reversal_is_final": "A reversal stands",
        because "The movement that was named is itself a reversal.",
        so "Make the movement anew.";
    ALREADY_REVERSED = 409 "already_reversed": "The movement is reversed already",
        because "Another movement has put this one right.",
        so "Nothing is left to do.";
    RESERVATION_CLOSED = 409 "reservation_closed": "The reservation is closed",
        because "It is issued in full, released or expired.",
        so "Make a new reservation, or issue without one.";
    NOT_SEALED = 409 "not_sealed": "The lot cannot come back sealed",
        because "The lot was set to a gap before it went out.",
        so "Return the plugs as gapped.";
    WRONG_GAP = 409 "wrong_gap": "The lot is set to another gap",
        because "The lot that was named is gapped, and not to the wanted gap.",
        so "Name another lot, or leave the lot out.";
    MORE_THAN_ISSUED = 409 "more_than_issued": "More would come back than went out",
        because "Together with earlier returns the quantity is larger than the issue.",
        so "Count again, and look at the returns of that issue.";
    NOT_ENOUGH_STOCK = 409 "not_enough_stock": "There are not as many",
        because "The quantity is larger than what the command may take; `available` and `on_hand` say what there is.",
        so "Take less, receive more, or release what is reserved.";
    CURSOR_GONE = 410 "cursor_gone": "What happened behind the cursor is not known any more",
        because "Events behind the cursor are older than the shop keeps them, or it is a cursor of another database, or of this one before it was restored from a copy.",
        so "Read again what you keep a copy of, then go on with after= the `oldest` of this answer, or without a cursor.";
    STALE = 412 "stale": "The record was changed meanwhile",
        because "If-Match names another version than the present one.",
        so "Read the record again and repeat the change on what it is now.";
    PAYLOAD_TOO_LARGE = 413 "payload_too_large": "The body is too large",
        because "The body is larger than the path takes.",
        so "Send less at a time.";
    UNSUPPORTED_MEDIA_TYPE = 415 "unsupported_media_type": "The body's type is not taken here",
        because "Content-Type or Content-Encoding is missing or is none that the path takes.",
        so "Send the type that the detail names, not compressed.";
    ONCE_KEY_REUSED = 422 "once_key_reused": "The once-only key stands for another request",
        because "The key came before with another method, path or body.",
        so "Take a new key for a new request.";
    PRECONDITION_REQUIRED = 428 "precondition_required": "Say which version the change is meant for",
        because "A change came without If-Match.",
        so "Send the ETag that you read as If-Match.";
    RATE_LIMITED = 429 "rate_limited": "Too many requests",
        because "More requests, or more wrong tokens, came from a token or an address than the shop allows in the time, or too many of one token at once; `policy` says which.",
        so "Nothing was done: wait for as long as Retry-After says, then send it again.";
    INTERNAL = 500 "internal": "Our own fault",
        because "Something went wrong inside; the log has the cause under the `instance` of the answer.",
        so "Repeat the request; if it persists, give the instance to whoever runs the service.";
    UNAVAILABLE = 503 "unavailable": "Not just now",
        because "The database cannot be reached or is busy, or has not come to the position that the request brings along.",
        so "Repeat the request in a moment.";
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::service::conflict::Conflict;

    #[test]
    fn every_conflict_has_its_problem_and_every_409_its_conflict() {
        let conflicts: Vec<_> = Conflict::all().into_iter().map(Conflict::word).collect();
        for word in &conflicts {
            let code = Code::named(word);
            assert_eq!(code.map(|c| c.status), Some(409), "{word}");
        }
        let listed = CODES.iter().filter(|c| c.status == 409).map(|c| c.word);
        assert_eq!(
            listed.collect::<Vec<_>>(),
            conflicts,
            "the same list in the same order"
        );
    }

    #[test]
    fn words_are_unique_and_in_the_order_of_status() {
        for pair in CODES.windows(2) {
            assert!(
                pair[0].status <= pair[1].status,
                "{} before {}",
                pair[0].word,
                pair[1].word
            );
        }
        for (place, code) in CODES.iter().enumerate() {
            assert!(
                CODES[..place].iter().all(|c| c.word != code.word),
                "{}",
                code.word
            );
        }
    }
}
