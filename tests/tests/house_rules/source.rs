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

/// A string in the code of a source.
#[derive(Debug, PartialEq, Eq)]
pub struct Literal {
    /// What it says.
    pub text: String,
    /// In which line it begins, from 1.
    pub line: usize,
    /// Where it begins, in bytes.
    pub start: usize,
}

/// Every string of a source, tests left out.
pub fn literals(text: &str) -> Vec<Literal> {
    let bytes = text.as_bytes();
    let end = tests_begin(text);
    let (mut found, mut at, mut line) = (Vec::new(), 0, 1);
    while at < end {
        let before = at.checked_sub(1).map(|before| bytes[before]);
        let length = blank(&bytes[at..], before);
        let whole = &text[at..at + length.max(1).min(text.len() - at)];
        if length > 0 && !whole.starts_with(['/', '\'']) {
            let inner = whole.trim_start_matches(['b', 'c', 'r', '#']);
            let inner = inner.trim_end_matches('#');
            found.push(Literal {
                text: unescaped(&inner[1..inner.len() - 1]),
                line,
                start: at,
            });
        }
        let step = match length {
            0 => text[at..].chars().next().map_or(1, char::len_utf8),
            length => length,
        };
        line += text[at..at + step].matches('\n').count();
        at += step;
    }
    found
}

/// Where what is only there for tests begins.
fn tests_begin(text: &str) -> usize {
    let marks = text.match_indices("\n#[cfg(test)]\n");
    let mut of_items = marks.filter(|(at, mark)| {
        let line = text[at + mark.len()..].lines().next();
        !line.is_some_and(|line| line.contains("use "))
    });
    of_items.next().map_or(text.len(), |(at, _)| at)
}

/// A string without its escapes; a line that goes on begins behind the blanks of the next.
fn unescaped(text: &str) -> String {
    let (mut out, mut signs) = (String::new(), text.chars().peekable());
    while let Some(sign) = signs.next() {
        if sign != '\\' {
            out.push(sign);
            continue;
        }
        match signs.next() {
            Some('\n') => while signs.next_if(|sign| sign.is_whitespace()).is_some() {},
            Some('n') => out.push('\n'),
            Some(other) => out.push(other),
            None => {}
        }
    }
    out
}

/// What a place in blanked code stands within.
#[derive(Debug, PartialEq, Eq)]
pub struct Call {
    /// What is called; empty for brackets alone.
    pub name: String,
    /// Where its name begins.
    pub start: usize,
    /// At which argument, from 0.
    pub place: usize,
}

/// The innermost round brackets around a place; square ones and braces are passed by within an
/// expression.
pub fn call_around(code: &str, at: usize) -> Option<Call> {
    let bytes = code.as_bytes();
    let (mut depth, mut place) = (0, 0);
    for open in (0..at).rev() {
        match bytes[open] {
            b')' | b']' | b'}' => depth += 1,
            b'[' | b'{' if depth == 0 => place = 0,
            b'(' if depth == 0 => {
                let before = code[..open].trim_end();
                let joined = |c: char| c.is_alphanumeric() || c == '_' || c == ':' || c == '!';
                let name = before.len() - before.trim_end_matches(joined).len();
                let start = before.len() - name;
                return Some(Call {
                    name: before[start..].to_owned(),
                    start: if name == 0 { open } else { start },
                    place,
                });
            }
            b'(' | b'[' | b'{' => depth -= 1,
            b',' if depth == 0 => place += 1,
            b';' if depth == 0 => return None,
            _ => {}
        }
    }
    None
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
