//! Every page that can be reached: whether everybody can use it, in light and dark, on a telephone and
//! on a wide screen; its weight, its console, its heading.

use std::collections::{BTreeSet, VecDeque};

use plugwell::pages::ways::WAYS;
use plugwell_tests::Who;
use serde_json::Value;

use crate::browser::{Page, visit};
use crate::demo::Demo;
use crate::devtools::axe;
use crate::steps::sign_in;

/// The most that a page may weigh as it is sent, stylesheet, script and pictures included, in bytes.
const WEIGHT: u64 = 60 << 10;

/// What is in the page: paths that it leads to, its weight, its headings, how far it is wider than the
/// window, and whether it is one of ours or a sheet for print.
const SEEN: &str = "
    const sent = [performance.getEntriesByType('navigation')[0], ...performance.getEntriesByType('resource')];
    return {
        links: [...document.querySelectorAll('a[href]')].filter((a) => a.origin === location.origin && !a.download)
            .map((a) => a.pathname + a.search),
        weight: sent.reduce((sum, one) => sum + one.encodedBodySize, 0),
        headings: document.querySelectorAll('h1').length,
        title: document.title,
        wider: document.documentElement.scrollWidth - window.innerWidth,
        html: document.contentType === 'text/html',
        framed: document.querySelector('header a.name') !== null,
    }";

/// A path with every identifier as a placeholder, without its query; but the first page is another
/// one with an answer.
fn form_of(path: &str) -> String {
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

/// Judges the page that is open; what is wrong with it, and where it leads.
async fn judged(page: &Page, path: &str, wrong: &mut BTreeSet<String>) -> Vec<String> {
    let form = form_of(path);
    let mut note = |what: String| _ = wrong.insert(format!("{form}: {what}"));
    let seen: Value = page.run(SEEN).await;
    let links: Vec<String> = serde_json::from_value(seen["links"].clone()).expect("a list");
    if seen["html"] != true {
        return links;
    }
    let weight = seen["weight"].as_u64().unwrap_or_default();
    if weight > WEIGHT {
        note(format!("weighs {weight} bytes of at most {WEIGHT}"));
    }
    if seen["headings"] != 1 {
        note(format!("{} headings of the first order", seen["headings"]));
    }
    if seen["title"].as_str().unwrap_or_default().len() < 4 {
        note(format!("its title is {}", seen["title"]));
    }
    for dark in [false, true] {
        for width in [1280, 360] {
            page.show_as(width, dark).await;
            let wider = page.run(SEEN).await["wider"].as_i64().unwrap_or_default();
            // A sheet for print is as wide as its paper.
            if wider > 0 && seen["framed"] == true {
                note(format!("{wider} px too wide at {width}"));
            }
            // In the dark nothing but colours differs.
            for barrier in page.barriers(dark).await {
                note(format!(
                    "at {width}{}: {barrier}",
                    if dark { ", dark" } else { "" }
                ));
            }
        }
    }
    for line in page.console().await {
        note(format!("the console says {line}"));
    }
    links
}

#[test]
fn everybody_can_use_every_page() {
    let Some(axe) = axe() else { return };
    let demo = Demo::start();
    let build = demo.items("/v1/builds?limit=1")[0]["id"].clone();
    let answered = format!("/?build={}", build.as_str().expect("an id"));
    visit(async |page| {
        page.bring(&axe).await;
        let (mut wrong, mut followed) = (BTreeSet::new(), BTreeSet::new());
        page.open(&format!("{}/sign-in", demo.url())).await;
        judged(&page, "/sign-in", &mut wrong).await;
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
            ahead.extend(judged(&page, &path, &mut wrong).await);
        }
        assert!(
            WAYS.iter().all(|way| followed.contains(way.path)),
            "{followed:?}"
        );
        assert!(wrong.is_empty(), "{wrong:#?}");
    });
}
