//! Whether everybody can use a page: in light and dark, on a telephone and on a wide screen; its weight,
//! its console, its heading.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::browser::Page;

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
        status: sent[0].responseStatus,
        headings: document.querySelectorAll('h1').length,
        title: document.title,
        wider: document.documentElement.scrollWidth - window.innerWidth,
        html: document.contentType === 'text/html',
        framed: document.querySelector('header a.name') !== null,
    }";

/// What was found of many pages.
#[derive(Debug, Default)]
pub struct Judge {
    wrong: BTreeSet<String>,
}

impl Judge {
    fn note(&mut self, page: &str, what: &str) {
        self.wrong.insert(format!("{page}: {what}"));
    }

    /// Judges the page that is open, which goes by a name; where it leads.
    pub async fn judge(&mut self, page: &Page, name: &str) -> Vec<String> {
        let seen: Value = page.run(SEEN).await;
        let links: Vec<String> = serde_json::from_value(seen["links"].clone()).expect("a list");
        if seen["html"] != true {
            return links;
        }
        let weight = seen["weight"].as_u64().unwrap_or_default();
        if weight > WEIGHT {
            self.note(name, &format!("weighs {weight} bytes of at most {WEIGHT}"));
        }
        if seen["headings"] != 1 {
            let headings = &seen["headings"];
            self.note(name, &format!("{headings} headings of the first order"));
        }
        if seen["title"].as_str().unwrap_or_default().len() < 4 {
            self.note(name, &format!("its title is {}", seen["title"]));
        }
        self.judge_as_shown(page, name, seen["framed"] == true)
            .await;
        // The browser itself says of a page that refuses something that it does.
        let refused = format!("status of {} ", seen["status"]);
        let is_refusal = |line: &String| seen["status"] != 200 && line.contains(&refused);
        for line in page.console().await.iter().filter(|line| !is_refusal(line)) {
            self.note(name, &format!("the console says {line}"));
        }
        links
    }

    /// In light and dark, on a wide screen and a telephone.
    async fn judge_as_shown(&mut self, page: &Page, name: &str, framed: bool) {
        for dark in [false, true] {
            for width in [1280, 360] {
                page.show_as(width, dark).await;
                let wider = page.run(SEEN).await["wider"].as_i64().unwrap_or_default();
                // A sheet for print is as wide as its paper.
                if wider > 0 && framed {
                    self.note(name, &format!("{wider} px too wide at {width}"));
                }
                let scheme = if dark { ", dark" } else { "" };
                // In the dark nothing but colours differs.
                for barrier in page.barriers(dark).await {
                    self.note(name, &format!("at {width}{scheme}: {barrier}"));
                }
            }
        }
    }

    /// # Panics
    /// Where something keeps somebody from using a page.
    pub fn asks_nothing(&self) {
        assert!(self.wrong.is_empty(), "{:#?}", self.wrong);
    }
}
