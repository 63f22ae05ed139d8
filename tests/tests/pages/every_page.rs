//! Every page that can be reached by links, judged for everybody's use.

use std::collections::{BTreeSet, VecDeque};

use plugwell::pages::ways::WAYS;
use plugwell_tests::Who;

use crate::browser::visit;
use crate::demo::Demo;
use crate::devtools::axe;
use crate::judging::Judge;
use crate::steps::sign_in;

/// A path with every identifier as a placeholder, without its query; but the first page is another
/// one with an answer.
pub fn form_of(path: &str) -> String {
    if path.starts_with("/?build=") {
        return "/?build".into();
    }
    let bare = path.split(['?', '#']).next().unwrap_or_default();
    let segments = bare.split('/').map(|segment| {
        let is_id = segment.len() == 36 && segment.bytes().filter(|b| *b == b'-').count() == 4;
        if is_id { "{id}" } else { segment }
    });
    segments.collect::<Vec<_>>().join("/")
}

#[test]
fn everybody_can_use_every_page() {
    let Some(axe) = axe() else { return };
    let demo = Demo::start();
    let build = demo.items("/v1/builds?limit=1")[0]["id"].clone();
    let answered = format!("/?build={}", build.as_str().expect("an id"));
    visit(async |page| {
        page.bring(&axe).await;
        let (mut judge, mut followed) = (Judge::default(), BTreeSet::new());
        page.open(&format!("{}/sign-in", demo.url())).await;
        judge.judge(&page, "/sign-in").await;
        sign_in(&page, &demo, Who::Manager).await;
        let ways = WAYS.iter().map(|way| way.path.to_owned());
        let mut ahead: VecDeque<String> = ways.chain([answered]).collect();
        while let Some(path) = ahead.pop_front() {
            // A file is no page; two parts may differ, but not in theirs.
            if path
                .split('?')
                .next()
                .is_some_and(|bare| bare.ends_with(".csv"))
                || !followed.insert(form_of(&path))
            {
                continue;
            }
            page.show_as(1280, false).await;
            page.open(&format!("{}{path}", demo.url())).await;
            ahead.extend(judge.judge(&page, &form_of(&path)).await);
        }
        assert!(
            WAYS.iter().all(|way| followed.contains(way.path)),
            "{followed:?}"
        );
        judge.asks_nothing();
    });
}
