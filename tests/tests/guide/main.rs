//! The guide for other programs: every block of every language is run, and prints what it says.

mod page;
mod running;
mod rust;

use std::collections::BTreeSet;
use std::sync::{Mutex, MutexGuard, OnceLock, PoisonError};

use plugwell_tests::{Engine, Shop};

use crate::running::Language;

/// The invented shop, for one page at a time: each issues from the same shelf.
fn shop() -> MutexGuard<'static, Shop> {
    static SHOP: OnceLock<Mutex<Shop>> = OnceLock::new();
    let shop = SHOP.get_or_init(|| Mutex::new(Shop::start_demo(Engine::Sqlite)));
    shop.lock().unwrap_or_else(PoisonError::into_inner)
}

fn runs(language: &Language) {
    let steps = page::steps(language.page, language.mark);
    running::run(language, &steps, &shop());
}

#[test]
fn the_blocks_of_curl_run() {
    runs(&Language::curl());
}

#[test]
fn the_blocks_of_python_run() {
    runs(&Language::python());
}

#[test]
fn the_blocks_of_typescript_run() {
    runs(&Language::typescript());
}

/// What each page has to show.
const SECTIONS: [&str; 11] = [
    "Sign in",
    "Match",
    "Reserve",
    "Issue",
    "Once-only keys",
    "Scrap",
    "Listen to changes",
    "Errors",
    "Paging",
    "Limits",
    "Check a webhook",
];

#[test]
fn every_language_shows_everything() {
    let pages = [
        ("curl.md", "bash"),
        ("python.md", "python"),
        ("typescript.md", "typescript"),
        ("rust.md", "rust"),
    ];
    for (name, mark) in pages {
        let steps = page::steps(name, mark);
        let shown: BTreeSet<&str> = steps.iter().map(|step| step.under.as_str()).collect();
        assert_eq!(shown, BTreeSet::from(SECTIONS), "{name}");
    }
}
