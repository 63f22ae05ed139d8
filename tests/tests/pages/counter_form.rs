//! The form of an act as somebody at the counter has it before them: what stands in it, a scan into
//! it, its button.

use plugwell_tests::Who;
use plugwell_tests::shop::Shop;

use crate::visitor::{Seen, Visitor};

/// Somebody at the counter, with the page before them.
pub struct Counter<'a> {
    pub who: Visitor<'a>,
    pub seen: Seen,
}

impl<'a> Counter<'a> {
    /// Signs in and opens a page.
    pub fn at(shop: &'a Shop, who: Who, path: &str) -> Self {
        let who = Visitor::signed_in(shop, who);
        let seen = who.get(path).expect(200);
        Self { who, seen }
    }

    /// Opens another page.
    #[track_caller]
    pub fn open(&mut self, path: &str) -> &Seen {
        self.seen = self.who.get(path).expect(200);
        &self.seen
    }

    /// Where the form is sent to, and what stands in it.
    #[track_caller]
    pub fn form(&self) -> (String, Vec<(String, String)>) {
        form(&self.seen.html)
    }

    /// What stands in a field.
    #[track_caller]
    pub fn value(&self, name: &str) -> String {
        let (_, fields) = self.form();
        let found = fields.into_iter().find(|(own, _)| own == name);
        found
            .unwrap_or_else(|| panic!("no {name} in {}", self.seen.html))
            .1
    }

    /// Sends the form with some fields filled in; a redirection is followed.
    #[track_caller]
    pub fn send(&mut self, over: &[(&str, &str)]) -> &Seen {
        let (path, fields) = self.form();
        let mut all: Vec<(&str, &str)> = fields
            .iter()
            .filter(|(name, _)| over.iter().all(|(own, _)| own != name))
            .map(|(name, value)| (name.as_str(), value.as_str()))
            .collect();
        all.extend(over);
        self.seen = self.who.post(&path, &all);
        while self.seen.status == 303 {
            let there = self.seen.header("location").to_owned();
            self.seen = self.who.get(&there);
        }
        &self.seen
    }

    /// A text in the line at the top, and Enter.
    #[track_caller]
    pub fn scan(&mut self, text: &str) -> &Seen {
        self.send(&[("scan", text), ("look", "yes")])
    }

    /// Several, one after the other, each understood.
    #[track_caller]
    pub fn scan_all(&mut self, texts: &[&str]) -> &Seen {
        for text in texts {
            self.scan(text);
            assert_eq!(self.seen.status, 200, "{text}: {}", self.seen.html);
        }
        &self.seen
    }
}

/// The value of an attribute in a tag.
fn attribute(tag: &str, name: &str) -> Option<String> {
    let (_, rest) = tag.split_once(&format!(" {name}=\""))?;
    let value = rest.split('"').next()?;
    Some(plain(value))
}

/// A text as it was before it was escaped.
fn plain(text: &str) -> String {
    let signs = [
        ("&#34;", "\""),
        ("&#39;", "'"),
        ("&#60;", "<"),
        ("&#62;", ">"),
        ("&#38;", "&"),
    ];
    signs.iter().fold(text.to_owned(), |text, (code, sign)| {
        text.replace(code, sign)
    })
}

fn form(html: &str) -> (String, Vec<(String, String)>) {
    let (before, rest) = html
        .split_once(" id=\"act\"")
        .unwrap_or_else(|| panic!("no form in {html}"));
    let tag = before.rsplit_once("<form").expect("its tag").1;
    let path = attribute(tag, "action").expect("where it goes");
    let body = rest.split("</form>").next().expect("an end");
    let mut fields = Vec::new();
    for piece in body.split('<').skip(1) {
        let (tag, text) = piece.split_once('>').unwrap_or((piece, ""));
        let name = attribute(tag, "name");
        match (tag.split_whitespace().next(), name) {
            (Some("input"), Some(name)) if !tag.contains("type=\"radio\"") => {
                fields.push((name, attribute(tag, "value").unwrap_or_default()));
            }
            (Some("textarea"), Some(name)) => fields.push((name, plain(text))),
            (Some("select"), Some(name)) => fields.push((name, String::new())),
            (Some("option"), _) if tag.ends_with(" selected") => {
                let field = fields.last_mut().expect("the list it is of");
                field.1 = attribute(tag, "value").unwrap_or_default();
            }
            _ => {}
        }
    }
    (path, fields)
}
