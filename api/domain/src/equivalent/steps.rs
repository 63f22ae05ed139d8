//! Distances along the heat index as a tuner says them.

use crate::requirement::STEP;

/// `one step`, `half a step`, `about one and a half steps`, from tenths of the index; to the next
/// half, with `about` where it is not exact. None where it is less than a quarter.
pub(super) fn steps(tenths: i64) -> Option<String> {
    let (half, tenths) = (STEP / 2, tenths.abs());
    let halves = (tenths + half / 2) / half;
    let about = if tenths % half == 0 { "" } else { "about " };
    let whole = halves / 2;
    let said = match (whole, halves % 2) {
        (0, 0) => return None,
        (0, _) => "half a step".to_owned(),
        (1, 0) => "one step".to_owned(),
        (n, 0) => format!("{} steps", number(n)),
        (n, _) => format!("{} and a half steps", number(n)),
    };
    Some(format!("{about}{said}"))
}

/// Small numbers in words.
fn number(n: i64) -> String {
    const WORDS: [&str; 7] = ["none", "one", "two", "three", "four", "five", "six"];
    match usize::try_from(n).ok().and_then(|place| WORDS.get(place)) {
        Some(word) => (*word).to_owned(),
        None => n.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_distance_is_said_to_the_half_step() {
        for (tenths, said) in [
            (0, None),
            (24, None),
            (25, Some("about half a step")),
            (50, Some("half a step")),
            (-50, Some("half a step")),
            (74, Some("about half a step")),
            (75, Some("about one step")),
            (100, Some("one step")),
            (125, Some("about one and a half steps")),
            (150, Some("one and a half steps")),
            (200, Some("two steps")),
            (600, Some("six steps")),
            (950, Some("9 and a half steps")),
        ] {
            assert_eq!(steps(tenths).as_deref(), said, "{tenths}");
        }
    }
}
