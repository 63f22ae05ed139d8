//! The line at the top of every page: what is scanned or typed into it leads to the thing.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::ledger::PlaceKind;
use plugwell_domain::scan::ScanStep;
use plugwell_domain::words::Role;

use crate::pages::answer::{Frame, Reply, made};
use crate::pages::figures::in_short;
use crate::pages::part;
use crate::pages::typed::{Typed, encoded};
use crate::pages::visitor::visitor;
use crate::pages::ways::{self, Way};
use crate::pages::words::say;
use crate::service::scanning::{self, Scan};
use crate::service::{Refusal, Shop, builds, catalogue, heads};
use crate::shown::marked;

/// Most parts, builds and heads that words lead to.
const FOUND: usize = 25;
/// Most stored builds, and heads, that are looked through.
const STORED: i64 = 1_000;

#[derive(Template)]
#[template(path = "line.html")]
struct Page {
    frame: Frame,
    /// What was scanned or typed.
    text: String,
    /// What it was understood as.
    said: String,
    /// What it can mean: kind, path, name, a few words.
    found: Vec<(&'static str, String, String, String)>,
    /// What can be done with a number that nobody knows: path and words.
    next: Vec<(String, String)>,
}

/// The page at `/go`.
pub(super) async fn go(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        answer(shop, frame, typed.one("scan"), who.actor.role)
    })
    .await
}

fn answer(shop: &Shop, frame: Frame, text: &str, role: Role) -> Result<Reply, Refusal> {
    if text.is_empty() {
        return Ok(Reply::Elsewhere("/".into()));
    }
    if let Some(there) = commanded(text, role) {
        return Ok(Reply::Elsewhere(there));
    }
    let scan = match scanning::read(shop, text) {
        Ok(scan) => scan,
        // A text that says itself to be a bar code and is none: the sentence is the answer.
        Err(Refusal::Faults(faults)) => {
            let said = faults.into_iter().map(|fault| marked(fault.detail));
            let page = Page {
                frame,
                text: text.to_owned(),
                said: said.collect::<Vec<_>>().join("; "),
                found: Vec::new(),
                next: Vec::new(),
            };
            return Reply::page(StatusCode::BAD_REQUEST, &page);
        }
        Err(other) => return Err(other),
    };
    match address(&scan) {
        Some(there) => Ok(Reply::Elsewhere(there)),
        None => Reply::page(StatusCode::OK, &searched(shop, frame, &scan, role)?),
    }
}

/// Where words of command lead: a page's name, perhaps with what it is to be about.
pub(super) fn commanded(text: &str, role: Role) -> Option<String> {
    let may = |way: &&Way| role >= way.least;
    if let Some(way) = ways::called(text).filter(may) {
        return Some(way.path.to_owned());
    }
    let (verb, rest) = text.split_once(char::is_whitespace)?;
    let way = ways::called(verb).filter(may)?;
    way.takes_part
        .then(|| format!("{}?part={}", way.path, encoded(rest.trim())))
}

/// Where what is meant for certain stands.
pub(super) fn address(scan: &Scan) -> Option<String> {
    if let Some(lot) = &scan.lot {
        return Some(format!("/lots/{}", lot.id));
    }
    if let Some(plug) = &scan.plug {
        return Some(format!("/parts/{}", plug.id));
    }
    if let Some(place) = &scan.place {
        return Some(match place.kind {
            PlaceKind::Job => format!("/jobs/{}", place.id),
            PlaceKind::Supplier => format!("/suppliers/{}", place.id),
            _ => format!("/places/{}", place.id),
        });
    }
    scan.order_id.map(|id| format!("/orders/{id}"))
}

/// What words can mean: parts that come near, parts that they describe, builds and heads called so.
fn searched(shop: &Shop, frame: Frame, scan: &Scan, role: Role) -> Result<Page, Refusal> {
    let text = scan.text.as_str();
    let mut plugs = Vec::new();
    for near in &scan.near {
        plugs.push(catalogue::get(shop, near.plug_id)?);
    }
    if scan.gtin.is_none() {
        for plug in catalogue::find(shop, text, FOUND)? {
            if plugs.iter().all(|known| known.id != plug.id) {
                plugs.push(plug);
            }
        }
    }
    let mut found: Vec<_> = plugs
        .iter()
        .take(FOUND)
        .map(|plug| {
            let there = format!("/parts/{}", plug.id);
            (
                say("pages-part"),
                there,
                part::name(plug),
                in_short(&plug.data),
            )
        })
        .collect();
    let said = text.to_lowercase();
    let is_called = |name: &Option<String>| {
        let name = name.as_deref().unwrap_or_default();
        name.to_lowercase().contains(&said).then(|| name.to_owned())
    };
    for build in builds::list(shop, None, STORED)? {
        if let Some(name) = is_called(&build.data.name) {
            found.push((
                say("pages-build"),
                format!("/?build={}", build.id),
                name,
                String::new(),
            ));
        }
    }
    for head in heads::list(shop, None, STORED)? {
        if let Some(name) = is_called(&head.data.name) {
            found.push((
                say("pages-head"),
                format!("/heads/{}", head.id),
                name,
                String::new(),
            ));
        }
    }
    found.truncate(2 * FOUND);
    Ok(Page {
        frame,
        text: text.to_owned(),
        said: if found.is_empty() || scan.gtin.is_some() || !scan.near.is_empty() {
            scan.said.clone()
        } else {
            say("pages-no-number-code-place-called").into()
        },
        next: next(scan, found.is_empty(), role),
        found,
    })
}

/// What a clerk can do with a number that nobody knows.
fn next(scan: &Scan, is_nothing: bool, role: Role) -> Vec<(String, String)> {
    let mut next = Vec::new();
    let steps = |step: ScanStep| scan.next.iter().any(|next| next.step == step);
    if role < Role::Clerk || !(is_nothing || scan.gtin.is_some()) {
        return next;
    }
    let code = encoded(&scan.text);
    if steps(ScanStep::AttachBarcode) {
        next.push((
            format!("/barcodes/new?code={code}"),
            say("pages-attach-part-catalogue").to_owned(),
        ));
    }
    if steps(ScanStep::CreatePart) {
        let member = if scan.gtin.is_some() {
            "gtin"
        } else {
            "part_number"
        };
        next.push((
            format!("/parts/new?{member}={code}"),
            say("pages-make-record-new-part").to_owned(),
        ));
    }
    next
}
