//! How wide words run, without knowing the font: a cautious estimate for a plain sans serif.

/// Bold letters are wider by so much: an own figure, on the safe side.
pub const BOLD: f64 = 1.18;

/// Width of words in a letter of this size; a little more than most fonts take.
pub fn width(words: &str, size: f64) -> f64 {
    words.chars().map(share).sum::<f64>() * size
}

/// Width of a sign as a share of the letter's size: own figures, on the safe side.
fn share(sign: char) -> f64 {
    match sign {
        'i' | 'l' | 'j' | 'I' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | ' ' => 0.3,
        'f' | 't' | 'r' | '(' | ')' | '-' | '/' => 0.4,
        'm' | 'w' | 'M' | 'W' | '%' | '@' => 0.92,
        'A'..='Z' => 0.7,
        '\u{0}'..='\u{24f}' => 0.58,
        // Scripts whose letters are as wide as high.
        '\u{1100}'..='\u{115f}'
        | '\u{2e80}'..='\u{d7ff}'
        | '\u{f900}'..='\u{ffef}'
        | '\u{10000}'.. => 1.05,
        _ => 0.7,
    }
}

/// The words, or as many of their signs as have room, with an ellipsis behind.
pub fn cut(words: &str, size: f64, room: f64) -> String {
    if width(words, size) <= room {
        return words.to_owned();
    }
    let mut kept = String::new();
    let mut left = room - width("…", size);
    for sign in words.chars() {
        left -= share(sign) * size;
        if left < 0.0 {
            break;
        }
        kept.push(sign);
    }
    format!("{}…", kept.trim_end())
}

/// The words folded into lines, each within the room; a word that alone has none is cut.
pub fn folded(words: &str, size: f64, room: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words.split_whitespace() {
        let word = cut(word, size, room);
        match lines.last_mut() {
            Some(line) if width(&format!("{line} {word}"), size) <= room => {
                line.push(' ');
                line.push_str(&word);
            }
            _ => lines.push(word),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_cut_and_folded_to_their_room() {
        assert_eq!(cut("short", 12.0, 100.0), "short");
        let long = cut("Ferrowick Extraordinary", 12.0, 80.0);
        assert!(long.ends_with('…') && width(&long, 12.0) <= 80.0, "{long}");
        let lines = folded("what is the compression ratio of this engine", 12.0, 110.0);
        assert!(
            lines.len() > 1 && lines.iter().all(|l| width(l, 12.0) <= 110.0),
            "{lines:?}"
        );
        assert_eq!(
            lines.join(" "),
            "what is the compression ratio of this engine"
        );
        assert_eq!(folded("  ", 12.0, 50.0), Vec::<String>::new());
    }
}
