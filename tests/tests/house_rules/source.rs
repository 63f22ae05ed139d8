//! Rust source as text: what is code in it, which lines are tables of data, and where functions
//! begin and end.

/// The text with comments, strings and characters blanked out, line by line as long as before, so
/// that what is left can be searched and its braces counted.
pub fn code(text: &str) -> String {
    let bytes = text.as_bytes();
    let mut out = Vec::with_capacity(bytes.len());
    let mut at = 0;
    while at < bytes.len() {
        let length = blank(&bytes[at..], at.checked_sub(1).map(|before| bytes[before]));
        if length == 0 {
            out.push(bytes[at]);
            at += 1;
        } else {
            out.extend(
                bytes[at..at + length]
                    .iter()
                    .map(|b| if *b == b'\n' { b'\n' } else { b' ' }),
            );
            at += length;
        }
    }
    String::from_utf8(out).expect("only whole strings and comments are blanked")
}

/// How many bytes from here on are a comment, a string or a character; 0 where it is code.
fn blank(rest: &[u8], before: Option<u8>) -> usize {
    let in_word = before.is_some_and(|b| b.is_ascii_alphanumeric() || b == b'_');
    match rest {
        [b'/', b'/', ..] => rest.iter().position(|b| *b == b'\n').unwrap_or(rest.len()),
        [b'/', b'*', ..] => block_comment(rest),
        [b'"', ..] => quoted(rest, 1),
        [b'b' | b'c', b'"', ..] if !in_word => quoted(rest, 2),
        [b'r', b'"' | b'#', ..] if !in_word => raw(rest, 1),
        [b'b' | b'c', b'r', b'"' | b'#', ..] if !in_word => raw(rest, 2),
        [b'\'', b'\\', ..] => {
            3 + rest[3..]
                .iter()
                .position(|b| *b == b'\'')
                .map_or(0, |end| end + 1)
        }
        [b'\'', ..] => character(rest),
        _ => 0,
    }
}

fn block_comment(rest: &[u8]) -> usize {
    let (mut depth, mut at) = (0, 0);
    while at < rest.len() {
        match &rest[at..] {
            [b'/', b'*', ..] => (depth, at) = (depth + 1, at + 2),
            [b'*', b'/', ..] => (depth, at) = (depth - 1, at + 2),
            _ => at += 1,
        }
        if depth == 0 {
            break;
        }
    }
    at
}

fn quoted(rest: &[u8], start: usize) -> usize {
    let mut at = start;
    while at < rest.len() && rest[at] != b'"' {
        at += if rest[at] == b'\\' { 2 } else { 1 };
    }
    (at + 1).min(rest.len())
}

fn raw(rest: &[u8], start: usize) -> usize {
    let hashes = rest[start..].iter().take_while(|b| **b == b'#').count();
    let Some(b'"') = rest.get(start + hashes) else {
        return 0;
    };
    let close: Vec<u8> = std::iter::once(b'"')
        .chain(std::iter::repeat_n(b'#', hashes))
        .collect();
    let inner = start + hashes + 1;
    let end = rest[inner..]
        .windows(close.len())
        .position(|window| window == close);
    end.map_or(rest.len(), |end| inner + end + close.len())
}

/// A character; a lifetime has no quote behind it.
fn character(rest: &[u8]) -> usize {
    let text = std::str::from_utf8(&rest[1..rest.len().min(6)]);
    let valid = match &text {
        Ok(text) => text,
        Err(e) => std::str::from_utf8(&rest[1..1 + e.valid_up_to()]).unwrap_or_default(),
    };
    let Some(first) = valid.chars().next() else {
        return 0;
    };
    if rest.get(1 + first.len_utf8()) == Some(&b'\'') {
        first.len_utf8() + 2
    } else {
        0
    }
}

/// A function with the number of its lines, from the signature to the closing brace.
#[derive(Debug, PartialEq, Eq)]
pub struct Function {
    /// Its name.
    pub name: String,
    /// Where it begins, from 1.
    pub line: usize,
    /// How many lines it has.
    pub lines: usize,
}

/// Every function with a body in blanked text.
pub fn functions(code: &str) -> Vec<Function> {
    let mut found = Vec::new();
    for (at, _) in code.match_indices("fn ") {
        let starts = code[..at]
            .chars()
            .next_back()
            .is_none_or(|c| !c.is_alphanumeric() && c != '_');
        let after = code[at + 3..].trim_start();
        let name: String = after
            .chars()
            .take_while(|c| c.is_alphanumeric() || *c == '_')
            .collect();
        if !starts || name.is_empty() {
            continue;
        }
        let Some(body) = body(code, at) else { continue };
        let line = code[..at].matches('\n').count() + 1;
        found.push(Function {
            name,
            line,
            lines: code[at..body].lines().count(),
        });
    }
    found
}

/// The end of the first braces behind a signature; none where it ends with a semicolon.
fn body(code: &str, signature: usize) -> Option<usize> {
    let (mut round, mut braces) = (0i32, 0i32);
    for (offset, sign) in code[signature..].char_indices() {
        match sign {
            '(' | '[' => round += 1,
            ')' | ']' => round -= 1,
            ';' if round == 0 && braces == 0 => return None,
            '{' => braces += 1,
            '}' => {
                braces -= 1;
                if braces == 0 {
                    return Some(signature + offset + 1);
                }
            }
            _ => {}
        }
    }
    None
}

/// Lines of blanked text that are no table of data: constants and statics of more than one line at
/// the outermost level are left out.
pub fn lines_without_tables(code: &str) -> usize {
    let (mut depth, mut count, mut in_table) = (0i32, 0, false);
    for line in code.lines() {
        let outermost = depth == 0;
        let begins = [
            "const ",
            "pub const ",
            "pub(super) const ",
            "pub(crate) const ",
            "static ",
            "pub static ",
        ]
        .iter()
        .any(|start| line.starts_with(start))
            && !line.contains(" fn ");
        for sign in line.chars() {
            match sign {
                '(' | '[' | '{' => depth += 1,
                ')' | ']' | '}' => depth -= 1,
                _ => {}
            }
        }
        in_table |= outermost && begins && depth > 0;
        count += usize::from(!in_table);
        in_table &= depth > 0;
    }
    count
}

/// Whether a path of modules or a word stands in blanked text as a whole.
pub fn names(code: &str, word: &str) -> bool {
    let joined = |c: char| c.is_alphanumeric() || c == '_';
    code.match_indices(word).any(|(at, _)| {
        let before = code[..at].chars().next_back().is_some_and(joined) && word.starts_with(joined);
        let after =
            code[at + word.len()..].chars().next().is_some_and(joined) && word.ends_with(joined);
        !before && !after
    })
}
