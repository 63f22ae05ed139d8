//! A count: blind entry, bin by bin and lot by lot, then what differs and a manager's approval.

mod ending;
mod entry;
mod outcome;

use std::collections::HashMap;
use std::collections::hash_map;

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::ledger::counting::{Count, CountState, ShownCount, ShownCountLine};
use plugwell_domain::ledger::{Condition, Lot};
use plugwell_domain::words::Role;
use uuid::Uuid;

use crate::drawing::count_sheet::{CountPaper, STYLE, count_sheet};
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::counter::LINE_OF;
use crate::pages::counter::counting::outcome::{differences, sums};
use crate::pages::figures::{condition, instant};
use crate::pages::listing::Listing;
use crate::pages::part;
use crate::pages::typed::Typed;
use crate::pages::visitor::visitor;
use crate::pages::words::{say, say_with};
use crate::pages::{at, form, posted};
use crate::service::{Refusal, Shop, catalogue, counts, new_id, stock_lists};

/// Puts the pages into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config
        .service(form("/counts/{id}", show, entry::scan))
        .service(posted("/counts/{id}/lines", entry::save))
        .service(posted("/counts/{id}/state", ending::change))
        .service(posted("/counts/{id}/approval", ending::approve))
        .service(at("/counts/{id}/sheet", sheet));
}

/// A lot in a bin that is to be counted.
struct Entry {
    place_id: Uuid,
    lot_id: Uuid,
    lot: String,
    part: String,
    counted: String,
    /// Whether it is the one that is counted next.
    is_next: bool,
    /// What tells it from other lots of its part; empty of sealed plugs.
    gapped: String,
    /// What is to be said of it.
    note: &'static str,
}

/// What the lines of a count are about.
struct Known {
    /// What each part is called.
    parts: HashMap<Uuid, String>,
    lots: HashMap<Uuid, Lot>,
}

/// A bin with what is to be counted in it.
struct Bin {
    id: Uuid,
    code: String,
    name: String,
    left: usize,
    is_here: bool,
    entries: Vec<Entry>,
}

#[derive(Template)]
#[template(path = "counter/count.html")]
struct Page {
    frame: Frame,
    id: Uuid,
    version: i64,
    once: Uuid,
    state: &'static str,
    begun: String,
    /// What was saved last, or understood.
    heard: String,
    wrong: Vec<String>,
    /// The bin and the lot that the next scan is about, by id.
    here: (String, String),
    /// The same in words; empty where none is chosen.
    at: String,
    left: usize,
    lines: usize,
    bins: Vec<Bin>,
    /// Whether a field is next, rather than the line at the top.
    types: bool,
    is_open: bool,
    is_counted: bool,
    is_closed: bool,
    /// How many lines are to be counted once more; empty where none is.
    recounts: String,
    /// What does not agree, for a manager.
    differences: Option<Listing>,
    /// Missing and found, summed up.
    sums: Vec<(&'static str, String)>,
    may_approve: bool,
    reason: String,
}

async fn show(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Clerk) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let (typed, id) = (Typed::of_query(request.query_string()), path.into_inner());
    made(&shop, who.frame, move |shop, frame| {
        let count = found(shop, &id)?;
        let said = Said {
            heard: heard(shop, &typed)?,
            wrong: Vec::new(),
            status: StatusCode::OK,
        };
        page(shop, frame, who.actor.role, &count, &typed, said)
    })
    .await
}

fn found(shop: &Shop, id: &str) -> Result<Count, Refusal> {
    counts::get(shop, id.parse().map_err(|_| Refusal::NotFound("count"))?)
}

/// What the page was led to with: a number that was saved, a bin or a lot.
fn heard(shop: &Shop, typed: &Typed) -> Result<String, Refusal> {
    let id = |name: &str| typed.one(name).parse::<Uuid>().ok();
    if !typed.one("again").is_empty() {
        return Ok(say("counter-had-been-booked-already-nothing").into());
    }
    if let Some(lot) = id("saved") {
        let plugs = typed.one("plugs");
        let code = stock_lists::lot(shop, lot)?.code;
        return Ok(match plugs {
            "" => say_with("counter-code-number-taken-back", &[("code", &code)]),
            plugs => say_with(
                "counter-code-plugs-counted",
                &[("code", &code), ("plugs", &plugs)],
            ),
        });
    }
    Ok(String::new())
}

/// What the page of a count says of what was done or not.
struct Said {
    heard: String,
    wrong: Vec<String>,
    status: StatusCode,
}

impl Said {
    /// Something was not done.
    fn wrong(text: impl Into<String>, status: StatusCode) -> Self {
        Self {
            heard: String::new(),
            wrong: vec![text.into()],
            status,
        }
    }
}

fn page(
    shop: &Shop,
    frame: Frame,
    role: Role,
    count: &Count,
    typed: &Typed,
    said: Said,
) -> Result<Reply, Refusal> {
    let shown = ShownCount::of(count, &shop.policy().values.currency.value, role);
    let known = known(shop, &shown)?;
    let here = (typed.one("place").to_owned(), typed.one("lot").to_owned());
    let bins = bins(shop, count, &shown, &known, &here)?;
    let is_manager = role >= Role::Manager && count.state != CountState::Open;
    let is_counted = count.state == CountState::Counted;
    let page = Page {
        id: count.id,
        version: count.version,
        once: typed.one("once").parse().unwrap_or_else(|_| new_id()),
        state: count.state.word(),
        begun: format!("{}, {}", instant(count.created_at), count.made_by),
        heard: said.heard,
        wrong: said.wrong,
        at: spoken(shop, &bins, &here)?,
        left: count.uncounted().count(),
        lines: count.lines.len(),
        types: !typed.one("typing").is_empty() && bins.iter().any(|bin| bin.left > 0),
        bins,
        is_open: count.state == CountState::Open,
        is_counted,
        is_closed: count.state.is_closed(),
        recounts: match count.to_recount().count() {
            0 => String::new(),
            lines => say_with("counter-lines-differ-so-much", &[("lines", &lines)]),
        },
        differences: match is_manager {
            true => Some(differences(shop, &shown, &known)?),
            false => None,
        },
        sums: match is_manager {
            true => sums(&shown),
            false => Vec::new(),
        },
        may_approve: is_counted && role >= Role::Manager,
        reason: typed.one("reason").to_owned(),
        frame: Frame {
            line_of: if count.state.is_closed() { "" } else { LINE_OF },
            ..frame
        },
        here,
    };
    Reply::page(said.status, &page)
}

/// Looks up parts and lots of a count.
fn known(shop: &Shop, count: &ShownCount) -> Result<Known, Refusal> {
    let mut parts = HashMap::new();
    for line in &count.lines {
        if let hash_map::Entry::Vacant(unknown) = parts.entry(line.plug_id) {
            unknown.insert(part::name(&catalogue::get(shop, line.plug_id)?));
        }
    }
    let ids: Vec<Uuid> = count.lines.iter().map(|line| line.lot_id).collect();
    let lots = stock_lists::lots_by_id(shop, &ids)?;
    Ok(Known { parts, lots })
}

/// The bins with what is to be counted: every line, and once all have a number those that are to be
/// counted again.
fn bins(
    shop: &Shop,
    count: &Count,
    shown: &ShownCount,
    known: &Known,
    here: &(String, String),
) -> Result<Vec<Bin>, Refusal> {
    let is_over = count.state.is_closed();
    let recount = count.state == CountState::Counted;
    let is_asked = |line: &&ShownCountLine| !is_over && (!recount || line.recount);
    let mut is_first = true;
    let mut bins = Vec::new();
    for place_id in &shown.places {
        let place = stock_lists::place(shop, *place_id)?;
        let lines = shown
            .lines
            .iter()
            .filter(|line| line.place_id == *place_id)
            .filter(is_asked);
        let mut entries = Vec::new();
        for line in lines {
            let waits = recount || (line.counted.is_none() && line.on_sheet);
            let is_next = waits && is_first;
            is_first &= !waits;
            entries.push(Entry {
                place_id: line.place_id,
                lot_id: line.lot_id,
                lot: line.lot_code.clone(),
                part: known.parts.get(&line.plug_id).cloned().unwrap_or_default(),
                gapped: match known.lots.get(&line.lot_id) {
                    Some(lot) if lot.condition == Condition::Gapped => condition(lot),
                    _ => String::new(),
                },
                // Counted again means counted without looking at the number before.
                counted: line
                    .counted
                    .filter(|_| !recount)
                    .map_or(String::new(), |plugs| plugs.to_string()),
                is_next,
                note: match (recount, line.on_sheet) {
                    (true, _) => say("counter-count-it-once-more"),
                    (false, false) => say("counter-not-on-the-sheet"),
                    (false, true) => "",
                },
            });
        }
        bins.push(Bin {
            id: place.id,
            code: place.code,
            name: place.name,
            left: count
                .uncounted()
                .filter(|line| line.place_id == *place_id)
                .count(),
            is_here: here.0 == place_id.to_string(),
            entries,
        });
    }
    Ok(bins)
}

/// The bin and the lot that the next scan is about, in words: also a lot that the sheet lacks.
fn spoken(shop: &Shop, bins: &[Bin], (place, lot): &(String, String)) -> Result<String, Refusal> {
    let Some(bin) = bins.iter().find(|bin| bin.id.to_string() == *place) else {
        return Ok(String::new());
    };
    let Ok(lot) = lot.parse::<Uuid>() else {
        return Ok(bin.name.clone());
    };
    if let Some(entry) = bin.entries.iter().find(|entry| entry.lot_id == lot) {
        return Ok(say_with(
            "counter-name-lot-of-part",
            &[
                ("name", &bin.name),
                ("lot", &entry.lot),
                ("part", &entry.part),
            ],
        ));
    }
    let lot = stock_lists::lot(shop, lot)?;
    let part = part::name(&catalogue::get(shop, lot.plug_id)?);
    Ok(say_with(
        "counter-name-lot-of-part-off-sheet",
        &[("name", &bin.name), ("lot", &lot.code), ("part", &part)],
    ))
}

/// The sheet of a count, for print.
async fn sheet(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Clerk) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let paper = Typed::of_query(request.query_string())
        .one("paper")
        .parse::<CountPaper>()
        .unwrap_or_default();
    let id = path.into_inner();
    made(&shop, who.frame, move |shop, _| {
        let id = id.parse().map_err(|_| Refusal::NotFound("count"))?;
        let html = count_sheet(&counts::sheet(shop, id)?, paper);
        html.map(|html| Reply::Sheet(html, STYLE))
            .map_err(|e| Refusal::Fault(format!("a count sheet cannot be written: {e}")))
    })
    .await
}
