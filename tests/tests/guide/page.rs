//! A page of the guide: its blocks of code, each with what it says to print.

use std::fs;
use std::path::Path;

/// A block of code.
#[derive(Debug)]
pub struct Step {
    /// The heading that it stands under.
    pub under: String,
    /// The code.
    pub code: String,
    /// What the page says that it prints; empty where it says nothing.
    pub prints: String,
}

/// The guide's folder.
pub fn folder() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../openapi/guide"))
}

/// The blocks of a page in a language. Every other block has to be what the one before it prints.
pub fn steps(page: &str, language: &str) -> Vec<Step> {
    let text = fs::read_to_string(folder().join(page)).expect("the page");
    let mut steps: Vec<Step> = Vec::new();
    let (mut under, mut lines) = (String::new(), text.lines());
    while let Some(line) = lines.next() {
        if let Some(heading) = line.strip_prefix("## ") {
            heading.clone_into(&mut under);
        }
        let Some(kind) = line.strip_prefix("```") else {
            continue;
        };
        let inside = lines.by_ref().take_while(|line| *line != "```");
        let block: String = inside.map(|line| format!("{line}\n")).collect();
        match kind {
            "text" => {
                let last = steps.last_mut().expect("code before what it prints");
                assert_eq!(last.prints, "", "{page}, {under}: printed twice");
                last.prints = block;
            }
            kind => {
                assert_eq!(kind, language, "{page}, {under}: every block is run");
                let under = under.clone();
                let (code, prints) = (block, String::new());
                steps.push(Step {
                    under,
                    code,
                    prints,
                });
            }
        }
    }
    steps
}

/// Whether something was printed as the page says: line by line, any number for a number, `…` for
/// anything.
pub fn as_said(said: &str, printed: &str) -> bool {
    let (said, printed): (Vec<_>, Vec<_>) = (said.lines().collect(), printed.lines().collect());
    said.len() == printed.len()
        && said
            .iter()
            .zip(&printed)
            .all(|(said, printed)| line_as_said(&numbers(said), &numbers(printed)))
}

fn line_as_said(said: &str, printed: &str) -> bool {
    let mut parts = said.split('…');
    let Some(mut rest) = parts.next().and_then(|first| printed.strip_prefix(first)) else {
        return false;
    };
    let parts: Vec<&str> = parts.collect();
    for (place, part) in parts.iter().enumerate() {
        // Something has to stand for the dots.
        let Some(one) = rest.chars().next() else {
            return false;
        };
        let behind = &rest[one.len_utf8()..];
        let found = if place + 1 == parts.len() {
            behind.ends_with(part).then(|| behind.len() - part.len())
        } else {
            behind.find(part)
        };
        let Some(at) = found else { return false };
        rest = &behind[at + part.len()..];
    }
    rest.is_empty()
}

/// The line with every run of digits as one sign.
fn numbers(line: &str) -> String {
    let mut out = String::new();
    for sign in line.chars() {
        match (sign.is_ascii_digit(), out.ends_with('#')) {
            (false, _) => out.push(sign),
            (true, false) => out.push('#'),
            (true, true) => {}
        }
    }
    out
}

#[test]
fn what_is_printed_otherwise_is_found() {
    assert!(as_said(
        "in stock: 8 parts; best: …, a set\n",
        "in stock: 17 parts; best: FW-1, a set\n"
    ));
    assert!(as_said("M…x…\n", "M14x1.25\n"));
    assert!(as_said("", ""));
    for (said, printed) in [
        ("8 parts\n", "eight parts\n"),
        ("best: …\n", "best: \n"),
        ("best: …, a set\n", "best: FW-1, no set\n"),
        ("one\n", "one\ntwo\n"),
        ("one\ntwo\n", "one\n"),
        ("", "Traceback\n"),
        ("…: end\n", "none\n"),
    ] {
        assert!(!as_said(said, printed), "{said:?} {printed:?}");
    }
}
