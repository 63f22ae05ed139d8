//! Numbers in sentences.

use std::fmt::Display;

/// A number with what it counts: `1 plug`, `2 plugs`, `0 deliveries`, `3 boxes`.
pub fn counted(number: impl Display, one: &str) -> String {
    let number = number.to_string();
    match number.as_str() {
        "1" => format!("1 {one}"),
        _ => format!("{number} {}", several(one)),
    }
}

/// The form of a verb that goes with a number: `is` with 1, `are` with any other.
pub fn agreeing<'a>(number: impl Display, one: &'a str, several: &'a str) -> &'a str {
    match number.to_string().as_str() {
        "1" => one,
        _ => several,
    }
}

/// The plural of a noun, or of a few words that end with one.
fn several(one: &str) -> String {
    let hisses = ["s", "x", "ch", "sh"].iter().any(|end| one.ends_with(end));
    match one.strip_suffix('y') {
        Some(stem) if !stem.ends_with(['a', 'e', 'o', 'u']) => format!("{stem}ies"),
        _ if hisses => format!("{one}es"),
        _ => format!("{one}s"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_and_its_noun_agree() {
        let told = [
            (1, "fault", "1 fault"),
            (0, "plug", "0 plugs"),
            (2, "delivery", "2 deliveries"),
            (2, "day", "2 days"),
            (12, "box", "12 boxes"),
            (2, "match", "2 matches"),
            (-1, "plug", "-1 plugs"),
        ];
        for (number, one, wanted) in told {
            assert_eq!(counted(number, one), wanted);
        }
        assert_eq!(
            (agreeing(1, "is", "are"), agreeing(0, "is", "are")),
            ("is", "are")
        );
        assert_eq!(counted(1.5, "period"), "1.5 periods");
        assert_eq!(counted("1.0", "week"), "1.0 weeks");
    }
}
