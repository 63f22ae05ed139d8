//! Part numbers as people write them: with other separators, with a nought for an O, with a slip.

use crate::words::closed_list;

closed_list! {
    /// How near a spelling comes to another; nearest first.
    Nearness, "nearness of a spelling" {
        /// The same but for case, spaces and separators.
        Same = "same",
        /// The same where O and 0, and I, l and 1, are taken for each other.
        Lookalike = "lookalike",
        /// One character is wrong, missing or too many, or two are exchanged.
        OneCharacter = "one_character",
    }
}

/// From this length on, separators not counted, a name may have a slip; shorter ones turn into
/// anything.
pub const SLIP_FROM: usize = 3;

/// The most spellings that are looked up for a number full of characters that look like others.
pub const SPELLINGS: usize = 512;

/// Characters that are taken for each other.
const LOOKALIKES: [&[char]; 2] = [&['0', 'o'], &['1', 'i', 'l']];

/// A name without case and separators.
pub fn bare(text: &str) -> String {
    text.chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect()
}

/// How near two spellings come to each other; `None` where they are two names.
pub fn nearness(one: &str, other: &str) -> Option<Nearness> {
    let [one, other] = [one, other].map(|text| bare(text).chars().collect::<Vec<char>>());
    if one == other {
        return Some(Nearness::Same);
    }
    let [one_form, other_form] = [&one, &other].map(|text| text.iter().map(|c| form(*c)));
    if one_form.eq(other_form) {
        return Some(Nearness::Lookalike);
    }
    let long_enough = one.len().min(other.len()) >= SLIP_FROM;
    (long_enough && one_slip(&one, &other)).then_some(Nearness::OneCharacter)
}

/// The one character that stands for all that look like it.
fn form(c: char) -> char {
    alike(c).map_or(c, |all| all[0])
}

fn alike(c: char) -> Option<&'static [char]> {
    LOOKALIKES.into_iter().find(|all| all.contains(&c))
}

/// Every spelling of a bare name that looks like it, itself among them; at most so many: of a name
/// with more, the last characters that could be others are left as they are.
pub fn lookalikes(bare: &str, most: usize) -> Vec<String> {
    let mut spellings = vec![String::new()];
    for c in bare.chars() {
        match alike(c).filter(|all| spellings.len() * all.len() <= most) {
            None => spellings.iter_mut().for_each(|text| text.push(c)),
            Some(all) => {
                let shorter = std::mem::take(&mut spellings);
                for text in &shorter {
                    spellings.extend(all.iter().map(|c| format!("{text}{c}")));
                }
            }
        }
    }
    spellings
}

/// Whether of two that differ one character was added, left out or replaced, or two neighbours exchanged.
fn one_slip(one: &[char], other: &[char]) -> bool {
    let (short, long) = if one.len() <= other.len() {
        (one, other)
    } else {
        (other, one)
    };
    let same = short.iter().zip(long).take_while(|(a, b)| a == b).count();
    let (short, long) = (&short[same..], &long[same..]);
    match long.len() - short.len() {
        0 if short[1..] == long[1..] => true,
        0 => {
            matches!((short, long), ([a, b, rest @ ..], [c, d, more @ ..]) if (a, b, rest) == (d, c, more))
        }
        1 => *short == long[1..],
        _ => false,
    }
}
