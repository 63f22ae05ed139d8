//! Cells of tables that no spreadsheet takes for formulas, and the way back.

use std::borrow::Cow;

/// A cell that a spreadsheet does not take for a formula: an apostrophe stands before what begins like
/// one, unless it is a number. What begins with such an apostrophe itself gets another, so that
/// [`plain`] gives every text back.
pub fn safe(text: &str) -> Cow<'_, str> {
    if is_formula(text) {
        Cow::Owned(format!("'{text}"))
    } else {
        Cow::Borrowed(text)
    }
}

/// The text that [`safe`] made a cell of.
pub fn plain(cell: &str) -> &str {
    match cell.strip_prefix('\'') {
        Some(text) if is_formula(text) => text,
        _ => cell,
    }
}

/// Whether a text, apostrophes before it left out, begins like a formula and is no number.
fn is_formula(text: &str) -> bool {
    let bare = text.trim_start_matches('\'');
    bare.starts_with(['=', '+', '-', '@', '\t', '\r']) && !is_number(bare)
}

/// A plain decimal number: sign, digits, perhaps a point and more digits.
fn is_number(text: &str) -> bool {
    let plain = text.strip_prefix(['+', '-']).unwrap_or(text);
    let (whole, part) = plain.split_once('.').unwrap_or((plain, "0"));
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    digits(whole) && digits(part)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn no_cell_is_a_formula() {
        for text in [
            "=1+1", "+A1", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "-", "-1-", "+.5", "-1e5", "'=1",
        ] {
            assert_eq!(safe(text), format!("'{text}"), "{text:?}");
        }
        for text in [
            "", "-5", "-12.50", "+7", "a=b", "1-2", "'", "'a", " =1", "FW-3207",
        ] {
            assert_eq!(safe(text), text, "{text:?}");
        }
    }

    proptest! {
        #[test]
        fn every_text_comes_back(text in "['=+@0-9a. \\t\\r\\n-]{0,6}|\\PC{0,8}") {
            let cell = safe(&text);
            prop_assert_eq!(plain(&cell), &*text);
            // What a spreadsheet gets to see never begins a formula.
            let risky = cell.starts_with(['=', '+', '-', '@', '\t', '\r']) && !is_number(&cell);
            prop_assert!(!risky, "{cell:?}");
        }
    }
}
