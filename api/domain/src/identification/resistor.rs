//! Whether a resistor is fitted, by ohmmeter (common practice, no source).

use super::means::Means;
use super::readings::Readings;
use crate::decimal::Decimal;
use crate::policy::Policy;

/// Whether one is fitted, where the reading tells, and why.
pub(super) fn told(read: i64, means: &Means) -> (Option<bool>, String) {
    let can_be = can_be(read, means);
    let fitted = only(can_be);
    let ohm = |raw: i64| Decimal::<1>(raw).get();
    let (value, none, from, to) = (
        ohm(read),
        ohm(means.no_resistor_to),
        ohm(means.resistor_from),
        ohm(means.resistor_to),
    );
    let text = match fitted {
        Some(false) => format!(
            "{value} Ω, not more than about {none} Ω{}: no resistor is fitted.",
            within(read <= means.no_resistor_to)
        ),
        Some(true) => format!(
            "{value} Ω, between {from} and {to} Ω{}: a resistor is fitted.",
            within((means.resistor_from..=means.resistor_to).contains(&read))
        ),
        None if can_be == (true, true) => {
            format!("{value} Ω by a meter that may be so wrong tells nothing.")
        }
        None if read > means.resistor_to => format!(
            "{value} Ω, more than {to} Ω: an open resistor or a broken connection inside; whether one was fitted \
             cannot be told, and the plug is scrap."
        ),
        None => format!(
            "{value} Ω, between {none} and {from} Ω: a damaged insulator or resistor; clean the plug and measure again."
        ),
    };
    (fitted, text)
}

/// What a reading beyond a limit is named by.
const fn within(limit_is_kept: bool) -> &'static str {
    if limit_is_kept {
        ""
    } else {
        " within what the meter may be wrong by"
    }
}

/// Whether one is fitted; a reading counts for what it can be within the meter's uncertainty, and
/// tells nothing where it can be either.
pub(super) fn fitted(read: i64, means: &Means) -> Option<bool> {
    only(can_be(read, means))
}

fn only((none, fitted): (bool, bool)) -> Option<bool> {
    (none != fitted).then_some(fitted)
}

/// Whether a reading can be that of no resistor, and that of one.
fn can_be(read: i64, means: &Means) -> (bool, bool) {
    let wrong_by = means.ohmmeter(read);
    let (least, most) = (read - wrong_by, read + wrong_by);
    let can_be_none = least <= means.no_resistor_to;
    let can_be_fitted = most >= means.resistor_from && least <= means.resistor_to;
    (can_be_none, can_be_fitted)
}

/// What an ohmmeter tells of a plug.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ByOhmmeter {
    /// No resistor is fitted.
    NotFitted,
    /// One is fitted.
    Fitted,
    /// Whatever was fitted is open: the plug is scrap.
    Broken,
    /// It can be one or the other.
    Unclear,
}

/// What a resistance tells, read by a meter as good as the policy takes one to be, and why.
pub fn by_ohmmeter(read: Decimal<1>, policy: &Policy) -> (ByOhmmeter, String) {
    let means = Means::of(&Readings::default(), policy);
    let (fitted, text) = told(read.0, &means);
    let judged = match fitted {
        Some(true) => ByOhmmeter::Fitted,
        Some(false) => ByOhmmeter::NotFitted,
        None if read.0 - means.ohmmeter(read.0) > means.resistor_to => ByOhmmeter::Broken,
        None => ByOhmmeter::Unclear,
    };
    (judged, text)
}
