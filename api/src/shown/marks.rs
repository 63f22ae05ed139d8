//! Which points of a sentence part a number: only those of a number that stands by itself. Designations
//! of threads, numbers of parts, versions, dates, addresses and what stands in quotes keep theirs.

/// The places of such points, in bytes.
pub(super) fn decimal_points(text: &str) -> impl Iterator<Item = usize> {
    let points = text.match_indices('.').map(|(at, _)| at);
    points.filter(|at| {
        let is_digit = |sign: char| sign.is_ascii_digit();
        let (before, behind) = (&text[..*at], &text[at + 1..]);
        let (outside, rest) = (
            before.trim_end_matches(is_digit),
            behind.trim_start_matches(is_digit),
        );
        outside.len() < before.len() && rest.len() < behind.len() && begins(outside) && ends(rest)
    })
}

/// Whether a number can begin behind this: its sign, brackets and a root stand behind a blank.
fn begins(before: &str) -> bool {
    let unsigned = before.strip_suffix(['-', '−', '+', '±']).unwrap_or(before);
    let bare = unsigned.trim_end_matches(['(', '[', '√', '<', '>', '≤', '≥', '≈', '~']);
    bare.chars().next_back().is_none_or(char::is_whitespace)
}

/// Whether a number can end before this: a square, brackets and one mark of punctuation stand before a
/// blank.
fn ends(behind: &str) -> bool {
    let rest = closed(behind.strip_prefix(['%', '°', '²']).unwrap_or(behind));
    let rest = closed(
        rest.strip_prefix(['.', ',', ';', ':', '!', '?'])
            .unwrap_or(rest),
    );
    rest.chars().next().is_none_or(char::is_whitespace)
}

/// A text without brackets that close at its beginning.
fn closed(text: &str) -> &str {
    text.trim_start_matches([')', ']'])
}

#[cfg(test)]
mod tests {
    use chrono_tz::Tz;
    use plugwell_domain::words::DecimalMark;
    use proptest::prelude::*;

    use crate::shown::{Reader, for_reader, marked};

    fn by(mark: DecimalMark, text: &str) -> String {
        let reader = Reader {
            zone: Tz::UTC,
            mark,
        };
        for_reader(reader, || marked(text))
    }

    #[test]
    fn numbers_have_the_mark_and_other_points_stay() {
        for (text, read) in [
            ("the gap is 0.8 mm.", "the gap is 0,8 mm."),
            ("0.032 in (0.81 mm)", "0,032 in (0,81 mm)"),
            ("from -0.5 to +1.25, ±0.3", "from -0,5 to +1,25, ±0,3"),
            (
                "it is 7.5. And 8.25; 9.0: so",
                "it is 7,5. And 8,25; 9,0: so",
            ),
            ("4.2% of 1.5 × 2.5", "4,2% of 1,5 × 2,5"),
            ("12.95\n3.5", "12,95\n3,5"),
            (
                "√(1.79 × 2.83² + 0.5²) = 6.46",
                "√(1,79 × 2,83² + 0,5²) = 6,46",
            ),
        ] {
            assert_eq!(by(DecimalMark::Comma, text), read);
        }
        for text in [
            "thread M14x1.25, M14×1.25 or M14x1.25-6g",
            "0.7–0.8, 2.5×1.5, f(1.5) and 1.5mm",
            "part FW-3.2, FW3.2, 3.2-A and 7.5/8",
            "version 1.2.3 of 28.11.2026",
            "http://10.0.0.1/v1.5/x.y?gap_mm=0.8",
            "\"0.8\" is no number; 'a0.8'",
            "1,234.5 and 12:30.5 and 1.5e3",
            "part 5. of seven",
            ".5 or 5.",
        ] {
            assert_eq!(by(DecimalMark::Comma, text), text);
        }
    }

    /// Whether a word is a number by itself, with what may stand around it.
    fn is_number(word: &str) -> bool {
        let around = |sign: char| "()[]√<>≤≥≈~%°².,;:!?+-−±".contains(sign);
        let (whole, part) = word
            .trim_matches(around)
            .split_once('.')
            .unwrap_or_default();
        let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
        digits(whole) && digits(part)
    }

    proptest! {
        #[test]
        fn a_shop_with_a_point_reads_what_was_written(text in "\\PC{0,60}") {
            prop_assert_eq!(by(DecimalMark::Point, &text), text);
        }

        #[test]
        fn only_plain_numbers_change(text in "[0-9a-z.,/:\"()x ×±-]{0,40}") {
            let read = by(DecimalMark::Comma, &text);
            prop_assert_eq!(read.chars().count(), text.chars().count());
            for (own, other) in text.split(' ').zip(read.split(' ')) {
                prop_assert!(own == other || is_number(own), "{} became {}", own, other);
                let differ = own.chars().zip(other.chars()).filter(|(a, b)| a != b);
                for (before, behind) in differ {
                    prop_assert_eq!((before, behind), ('.', ','));
                }
            }
        }

        #[test]
        fn every_number_of_a_sentence_changes(whole in 0u32..10_000, part in 0u32..1000) {
            let text = format!("it has {whole}.{part} mm, not {whole}.{part}.");
            let read = format!("it has {whole},{part} mm, not {whole},{part}.");
            prop_assert_eq!(by(DecimalMark::Comma, &text), read);
        }
    }
}
