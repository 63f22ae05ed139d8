//! What pages say stands in `api/templates`: prose in the templates, what code says in the messages of
//! `api/templates/words`. So all of it can be translated.

use std::collections::{BTreeMap, BTreeSet};

use fluent_syntax::ast::{Entry, Expression, InlineExpression, Pattern, PatternElement};
use fluent_syntax::parser;

use crate::source::{self, Literal};
use crate::{files, none, read, root};

/// Where the messages stand, a file for each room.
const WORDS: &str = "api/templates/words";
/// Which code has to take its words from there.
const PAGES: &str = "api/src/pages/";
/// Calls whose texts nobody reads on a page: for the log, for programs, or to compare with.
const UNREAD: &[&str] = &[
    "expect",
    "ends_with",
    "replace",
    "Problem::new",
    "Refusal::Fault",
    "tracing::error!",
];
/// Signs of measure, which are the same in every language.
const SIGNS: &[&str] = &[
    "kV", "kW", "hp", "mm", "in", "cu", "cc", "km", "ft", "lbf", "xx",
];
/// Texts that are no words: what HTTP is told, and the key of a form.
const NO_WORDS: &[&str] = &["GET, HEAD", "GET, HEAD, POST", "Location", "form {once}"];

/// Every message with the names of its variables.
fn messages() -> BTreeMap<String, BTreeSet<String>> {
    let mut all = BTreeMap::new();
    let rooms = files(WORDS, ".ftl");
    assert!(rooms.len() >= 10, "rooms have their words: {rooms:?}");
    for (own, path) in rooms {
        let text = read(&path);
        let room = path.file_stem().and_then(|stem| stem.to_str());
        let begins = format!("{}-", room.unwrap_or_default());
        let parsed = parser::parse(text.as_str())
            .unwrap_or_else(|(_, errors)| panic!("{own} cannot be read: {errors:?}"));
        for entry in parsed.body {
            let Entry::Message(message) = entry else {
                continue;
            };
            let id = message.id.name.to_owned();
            assert!(id.starts_with(&begins), "{own}: {id} begins with {begins}");
            let mut variables = BTreeSet::new();
            let value = message.value.unwrap_or_else(|| panic!("{id} says nothing"));
            of_pattern(&value, &mut variables);
            let before = all.insert(id, variables);
            assert!(before.is_none(), "{own}: a message stands twice");
        }
    }
    all
}

fn of_pattern(pattern: &Pattern<&str>, variables: &mut BTreeSet<String>) {
    for element in &pattern.elements {
        let PatternElement::Placeable { expression } = element else {
            continue;
        };
        match expression {
            Expression::Inline(inline) => of_inline(inline, variables),
            Expression::Select { selector, variants } => {
                of_inline(selector, variables);
                for variant in variants {
                    of_pattern(&variant.value, variables);
                }
            }
        }
    }
}

fn of_inline(inline: &InlineExpression<&str>, variables: &mut BTreeSet<String>) {
    match inline {
        InlineExpression::VariableReference { id } => {
            variables.insert(id.name.to_owned());
        }
        InlineExpression::StringLiteral { .. } | InlineExpression::NumberLiteral { .. } => {}
        other => panic!("messages have variables and texts only, not {other:?}"),
    }
}

/// A message as code uses it.
struct Used {
    at: String,
    id: String,
    /// The variables that it is given.
    given: BTreeSet<String>,
}

/// Every use of a message in a source: a text that begins with the name of a room.
fn used(file: &str, text: &str, rooms: &BTreeSet<String>) -> Vec<Used> {
    let code = source::code(text);
    let literals = source::literals(text);
    let is_id = |literal: &&Literal| {
        let (room, rest) = literal.text.split_once('-').unwrap_or_default();
        let plain = |sign: u8| sign.is_ascii_lowercase() || sign.is_ascii_digit() || sign == b'-';
        rooms.contains(room) && !rest.is_empty() && rest.bytes().all(plain)
    };
    let ids = literals.iter().filter(is_id).map(|id| {
        let call = source::call_around(&code, id.start);
        let with = call.as_ref().filter(|call| call.name == "say_with");
        // Names stand first in the brackets of a pair; those of a call within belong to that.
        let names = literals.iter().filter(|name| {
            let Some(call) = with else { return false };
            let pair = source::call_around(&code, name.start);
            let outer = pair.filter(|pair| pair.name.is_empty() && pair.place == 0);
            let outer = outer.and_then(|pair| source::call_around(&code, pair.start));
            outer.is_some_and(|outer| outer.start == call.start && outer.name == "say_with")
        });
        Used {
            at: format!("{file}:{}", id.line),
            id: id.text.clone(),
            given: names.map(|name| name.text.clone()).collect(),
        }
    });
    ids.collect()
}

/// Every use of a message by pages.
fn all_used(rooms: &BTreeSet<String>) -> Vec<Used> {
    let sources = files(PAGES, ".rs");
    assert!(sources.len() > 50, "pages are found: {}", sources.len());
    let read = sources
        .iter()
        .flat_map(|(own, path)| used(own, &read(path), rooms));
    read.collect()
}

fn rooms() -> BTreeSet<String> {
    let stem = |own: &String| {
        let name = own.rsplit('/').next().unwrap_or_default();
        name.trim_end_matches(".ftl").to_owned()
    };
    files(WORDS, ".ftl")
        .iter()
        .map(|(own, _)| stem(own))
        .collect()
}

#[test]
fn messages_that_are_used_and_messages_that_are_there_are_the_same() {
    let there = messages();
    let used = all_used(&rooms());
    assert!(used.len() > 900, "messages are used: {}", used.len());
    let missing = used.iter().filter(|used| !there.contains_key(&used.id));
    let mut breaches: Vec<String> = missing
        .map(|used| format!("{}: there is no message {}", used.at, used.id))
        .collect();
    let ids: BTreeSet<&str> = used.iter().map(|used| used.id.as_str()).collect();
    let unused = there.keys().filter(|id| !ids.contains(id.as_str()));
    breaches.extend(unused.map(|id| format!("{WORDS}: nobody says {id}")));
    none("messages are those that pages use", &breaches);
}

#[test]
fn messages_are_given_their_variables() {
    let there = messages();
    let used = all_used(&rooms());
    let wrong = used.iter().filter(|used| {
        let wanted = there.get(&used.id);
        wanted.is_some_and(|wanted| *wanted != used.given)
    });
    let breaches: Vec<String> = wrong
        .map(|used| {
            let wanted = &there[&used.id];
            format!(
                "{}: {} takes {wanted:?}, not {:?}",
                used.at, used.id, used.given
            )
        })
        .collect();
    none("a message is given what it takes", &breaches);
}

/// Whether a text is English: two words side by side, one of them perhaps put in later, or one that
/// begins with a capital letter.
fn is_english(text: &str) -> bool {
    let mut plain = String::new();
    let mut rest = text;
    while let Some((before, behind)) = rest.split_once('{') {
        let (_, after) = behind.split_once('}').unwrap_or_default();
        plain.extend([before, " xx "]);
        rest = after;
    }
    plain.push_str(rest);
    let is_word = |word: &&str| {
        let mut signs = word.chars();
        signs.next().is_some_and(char::is_alphabetic)
            && signs.all(|sign| sign.is_alphabetic() || sign == '\'')
    };
    let bare = |word| str::trim_matches(word, |sign: char| ".,;:?!\"()".contains(sign));
    let words: Vec<&str> = plain
        .split_whitespace()
        .map(bare)
        .filter(|w| !w.is_empty())
        .collect();
    let speaks = |word: &&str| word.chars().count() > 1 && !SIGNS.contains(word);
    let together = words
        .windows(2)
        .any(|pair| pair.iter().all(is_word) && pair.iter().any(speaks));
    let capital = text.starts_with(|sign: char| sign.is_ascii_uppercase());
    let small = text.trim_end_matches('.').chars().skip(1);
    let alone = capital && text.len() > 1 && small.clone().all(|sign| sign.is_ascii_lowercase());
    (together && text.contains(' ')) || alone
}

#[test]
fn no_page_speaks_english_by_itself() {
    let mut breaches = Vec::new();
    for (own, path) in files(PAGES, ".rs") {
        let text = read(&path);
        let code = source::code(&text);
        for literal in source::literals(&text) {
            let mut around = source::call_around(&code, literal.start);
            // Of a text that is put together, where it goes.
            if let Some(call) = around.as_ref().filter(|call| call.name == "format!") {
                around = source::call_around(&code, call.start);
            }
            let is_unread = around.is_some_and(|call| UNREAD.contains(&call.name.as_str()));
            let is_known = NO_WORDS.contains(&literal.text.as_str());
            if is_english(&literal.text) && !is_unread && !is_known {
                breaches.push(format!("{own}:{}: {:?}", literal.line, literal.text));
            }
        }
    }
    none("what a page says is a message", &breaches);
}

#[test]
fn the_script_of_pages_says_nothing_by_itself() {
    let script = read(&root().join("api/templates/script/plugwell.js"));
    let code: String = script
        .lines()
        .filter(|line| !line.trim_start().starts_with("//"))
        .flat_map(|line| [line, "\n"])
        .collect();
    let texts = code.split(['"', '`']).skip(1).step_by(2);
    // Selectors; a word of the language, another selector, keys.
    let known = ["use strict", "nav details", "Enter", "Escape"];
    let read = texts.filter(|text| !text.contains(['[', '>']) && !known.contains(text));
    let spoken: Vec<String> = read
        .filter(|text| is_english(text))
        .map(str::to_owned)
        .collect();
    assert!(code.matches('"').count() > 40, "texts are seen");
    none("what the script says stands in a template", &spoken);
}

#[test]
fn english_is_told_from_other_texts() {
    for text in [
        "not said",
        "{plugs} plugs",
        "Part",
        "the record says {words} now",
        "{} each",
        "Undone.",
    ] {
        assert!(is_english(text), "{text:?}");
    }
    for text in [
        "part",
        "/parts/{}",
        "{maker} {number}",
        "{} kV",
        "{} cc ({} cu in)",
        "{} m ({:.0} ft)",
        "{own} {unit} · {of_it} {other}",
        "text/html; charset=utf-8",
        "style-src 'self'; script-src 'self'",
        "&from={since}",
        "%-d %b %Y %H:%M",
        "N·m",
        "",
    ] {
        assert!(!is_english(text), "{text:?}");
    }
}

#[test]
fn uses_are_seen_with_what_they_are_given() {
    let text = "const A: X = field(\"part\", \"counter-part\", Y, \"\");\n\
        fn f() { say_with(\"counter-sum\", &[(\"plugs\", &plugs), (\"cost\", &say_with(\"find-x\", &[(\"y\", &z(\"no\", 1))]))]) }\n\
        // say(\"counter-not\")\n\
        fn g() { (\"data-x\", say(\"counter-alone\")) }\n\
        #[cfg(test)]\nmod tests { fn h() { say(\"counter-tested\") } }\n";
    let rooms = ["counter", "find"].map(str::to_owned).into();
    let seen: Vec<(String, String)> = used("f.rs", text, &rooms)
        .into_iter()
        .map(|used| {
            (
                used.id,
                used.given.into_iter().collect::<Vec<_>>().join(" "),
            )
        })
        .collect();
    let pair = |id: &str, given: &str| (id.to_owned(), given.to_owned());
    let wanted = [
        pair("counter-part", ""),
        pair("counter-sum", "cost plugs"),
        pair("find-x", "y"),
        pair("counter-alone", ""),
    ];
    assert_eq!(seen, wanted);
}
