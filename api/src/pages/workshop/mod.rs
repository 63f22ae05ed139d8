//! Where engines are worked on: a second opinion, unmarked plugs, tuning days, readings, what is fitted
//! and what is due, and the builds and heads that all of it stands on.

mod build_form;
mod builds;
mod check;
mod checked;
mod due;
mod facts;
mod fitted;
mod form_page;
mod heads;
mod name;
mod reading_form;
mod readings;
mod tuning_day;
mod tuning_days;
pub(super) mod waiting;

use std::collections::HashMap;
use std::collections::hash_map::Entry;

use actix_web::web;
use askama::Template;
use uuid::Uuid;

use crate::pages::answer::Frame;
use crate::pages::listing::Listing;
use crate::pages::part;
use crate::pages::typed::Typed;
use crate::pages::words::say;
use crate::service::fitment::Offer;
use crate::service::{Refusal, Shop, catalogue};

/// Rows of a page of a list, and how many are asked for to know whether there are more.
const ROWS: usize = 50;
const ONE_MORE: i64 = 51;

/// Puts the pages into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config
        .configure(check::configure)
        .configure(name::configure)
        .configure(tuning_days::configure)
        .configure(readings::configure)
        .configure(fitted::configure)
        .configure(due::configure)
        .configure(waiting::configure)
        .configure(builds::configure)
        .configure(heads::configure);
}

/// The identifier that a path or a query names.
fn id(text: &str, what: &'static str) -> Result<Uuid, Refusal> {
    text.parse().map_err(|_| Refusal::NotFound(what))
}

/// The identifier in a field of a query; nothing where it is left open.
fn named(typed: &Typed, name: &str, what: &'static str) -> Result<Option<Uuid>, Refusal> {
    match typed.one(name) {
        "" => Ok(None),
        text => id(text, what).map(Some),
    }
}

/// Cuts what was found to a page; where the rest stands, empty where this is all.
fn cut<T, K: ToString>(found: &mut Vec<T>, path: &str, key: impl Fn(&T) -> K) -> String {
    if found.len() <= ROWS {
        return String::new();
    }
    found.truncate(ROWS);
    let mark = if path.contains('?') { '&' } else { '?' };
    let last = found.last().map(|last| key(last).to_string());
    last.map_or_else(String::new, |last| format!("{path}{mark}after={last}"))
}

/// A closed list's word as it is spoken.
fn spoken(word: &str) -> String {
    word.replace('_', " ")
}

/// A sentence's first letter large.
fn begun(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(char::to_uppercase);
    first.map_or_else(String::new, |first| first.chain(letters).collect())
}

/// What the shop calls a build or a head.
fn called(name: Option<String>) -> String {
    name.unwrap_or_else(|| say("workshop-without-a-name").into())
}

/// Maker and part number of parts by their ids.
fn part_names(
    shop: &Shop,
    ids: impl Iterator<Item = Uuid>,
) -> Result<HashMap<Uuid, String>, Refusal> {
    let mut names = HashMap::new();
    for id in ids {
        if let Entry::Vacant(unknown) = names.entry(id) {
            unknown.insert(part::name(&catalogue::get(shop, id)?));
        }
    }
    Ok(names)
}

/// Records of a kind.
#[derive(Template)]
#[template(path = "workshop/list.html")]
struct Records {
    frame: Frame,
    heading: &'static str,
    said: &'static str,
    /// Where a new one is made, and the words; empty where who looks may not.
    new: (&'static str, &'static str),
    listing: Listing,
}

/// A part on the shelf that helps, and where it can be had.
#[derive(Debug)]
struct OfferLine {
    /// Maker and part number.
    name: String,
    /// The part's page.
    path: String,
    available: i64,
    /// The forms that issue and reserve it; empty where who looks may not.
    issue: String,
    reserve: String,
    /// The card for whoever fits it; empty where the build is not stored.
    card: String,
}

/// Parts on the shelf, so many of each to be issued for a build.
fn offered(
    offers: &[Offer],
    build: Option<Uuid>,
    quantity: Option<u32>,
    may_work: bool,
) -> Vec<OfferLine> {
    let line = |offer: &Offer| {
        let id = offer.plug_id;
        let gap = offer
            .set_gap_mm
            .map_or(String::new(), |gap| format!("&gap_mm={gap}"));
        let plugs = quantity.map_or(String::new(), |plugs| format!("&quantity={plugs}"));
        let of_build = build.map_or(String::new(), |build| format!("&build_id={build}"));
        let filled_in = format!("plug_id={id}{plugs}{gap}{of_build}");
        let (issue, reserve) = if may_work && offer.available > 0 {
            (
                format!("/issue?{filled_in}"),
                format!("/reserve?{filled_in}"),
            )
        } else {
            (String::new(), String::new())
        };
        OfferLine {
            name: format!("{} {}", offer.maker, offer.part_number),
            path: format!("/parts/{id}"),
            available: offer.available,
            issue,
            reserve,
            card: build.map_or(String::new(), |build| {
                format!("/builds/{build}/fitting-card?plug_id={id}")
            }),
        }
    };
    offers.iter().map(line).collect()
}
