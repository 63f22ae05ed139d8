//! What was wrong with an input: where, which rule, and a sentence that helps.

use serde::Serialize;

use crate::words::closed_list;

closed_list! {
    /// The rule that an input broke. A closed list: other programs branch on it.
    FaultCode, "fault code" {
        /// A member that has to be given is not.
        Missing = "missing",
        /// A member that the shape does not have.
        UnknownMember = "unknown_member",
        /// Another JSON type than the shape asks for.
        WrongType = "wrong_type",
        /// Outside the bounds.
        OutOfRange = "out_of_range",
        /// Finer than the places that are kept.
        TooFine = "too_fine",
        /// Not one of the words of a closed list.
        NotInList = "not_in_list",
        /// Not in the form that is asked for.
        WrongForm = "wrong_form",
        /// A GTIN whose last digit does not check.
        WrongCheckDigit = "wrong_check_digit",
        /// Two members that say different things.
        Contradiction = "contradiction",
        /// Points to a record that there is not.
        NotFound = "not_found",
        /// A currency other than the shop's.
        WrongCurrency = "wrong_currency",
        /// The same key stands elsewhere.
        Duplicate = "duplicate",
        /// Not allowed together with what else was given.
        NotTogether = "not_together",
    }
}

/// One fault of an input.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Fault {
    /// JSON pointer into the body, as a URI fragment: `#/head/reach_mm`; `?limit` for a query
    /// member, `/id` for a path segment, `Header-Name:` for a header.
    pub pointer: String,
    /// The rule.
    pub code: FaultCode,
    /// What is wrong, and what would be right.
    pub detail: String,
}

impl Fault {
    /// A fault of the member `path` (segments joined by `/`) of a body.
    pub fn at(path: &str, code: FaultCode, detail: impl Into<String>) -> Self {
        let pointer = if path.is_empty() {
            "#".to_owned()
        } else {
            format!("#/{path}")
        };
        Self {
            pointer,
            code,
            detail: detail.into(),
        }
    }

    /// The same fault, seen from one level further out.
    pub fn under(mut self, outer: &str) -> Self {
        let inner = self.pointer.trim_start_matches('#').to_owned();
        self.pointer = format!("#/{outer}{inner}");
        self
    }
}

/// A member's name as a segment of a JSON pointer (RFC 6901).
pub(crate) fn segment(name: &str) -> String {
    name.replace('~', "~0").replace('/', "~1")
}

/// A name of 1 to 80 characters in one line.
pub(crate) fn name_fault(field: &str, name: Option<&str>) -> Option<Fault> {
    readable(field, name?, 80, char::is_control)
}

/// Free text of 1 to 500 characters; it may have several lines.
pub(crate) fn text_fault(field: &str, text: Option<&str>) -> Option<Fault> {
    readable(field, text?, 500, |c| c.is_control() && c != '\n')
}

fn readable(
    field: &str,
    text: &str,
    max: usize,
    forbidden: impl Fn(char) -> bool,
) -> Option<Fault> {
    if text.trim().is_empty() || text.chars().count() > max {
        return Some(Fault::at(
            field,
            FaultCode::OutOfRange,
            format!("a text of 1 to {max} characters"),
        ));
    }
    text.chars()
        .any(forbidden)
        .then(|| Fault::at(field, FaultCode::WrongForm, "holds a control character"))
}

/// Rules between the members of an input, put to it after its shape was found right.
pub trait Check {
    /// Every fault, none where the input is right.
    fn faults(&self) -> Vec<Fault>;
}
