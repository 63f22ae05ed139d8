//! The form of an act as somebody at the counter has it before them: what stands in it, a scan into
//! it, its button.

use plugwell_tests::Who;
use plugwell_tests::shop::Shop;

use crate::forms_seen::forms;
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
        let html = &self.seen.html;
        let found = forms(html).into_iter().find(|form| form.id == "act");
        let form = found.unwrap_or_else(|| panic!("no form in {html}"));
        let fields = form.fields.into_iter();
        let pairs = fields.map(|field| (field.name, field.value));
        (form.path, pairs.collect())
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
