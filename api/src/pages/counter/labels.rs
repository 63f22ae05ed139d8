//! Labels for lots and bins, and a sheet of the words that a scanner can say.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::ledger::{Condition, PlaceKind, Returned, ScrapReason};
use plugwell_domain::words::Role;
use uuid::Uuid;

use crate::drawing::label::{self, Dpi, Medium, STYLE};
use crate::http::labels::LABELS;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::at;
use crate::pages::counter::LINE_OF;
use crate::pages::counter::acts::Act;
use crate::pages::counter::taking::BOOK;
use crate::pages::field::{Field, Line, Wrong, put};
use crate::pages::form::{self, Declared, Form, Known, field, needed};
use crate::pages::line::commanded;
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::{say, say_with};
use crate::service::labels::{Label, of_all};
use crate::service::{Refusal, Shop, stock_lists};

/// Places that have labels.
const SHELVES: &[PlaceKind] = &[PlaceKind::Bin, PlaceKind::Quarantine];

const CHOICE: &[Declared] = &[
    needed(field(
        "of",
        "counter-lots-and-bins",
        Form::Lines,
        "counter-lots-and-bins-hint",
    )),
    field(
        "size",
        "counter-paper",
        Form::One(Medium::WORDS),
        "counter-paper-hint",
    ),
    field(
        "dpi",
        "counter-dots-inch-printer",
        Form::One(Dpi::WORDS),
        "counter-dots-inch-printer-hint",
    ),
];

/// Puts the pages into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config
        .service(super::super::form("/labels", show, choose))
        .service(at("/labels/sheet", sheet))
        .service(at("/labels/words", words));
}

#[derive(Template)]
#[template(path = "counter/labels.html")]
struct Page {
    frame: Frame,
    heard: String,
    fields: Vec<Field>,
    focus: &'static str,
    is_last_look: bool,
    faults: Vec<Line>,
}

async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let typed = chosen_before(shop, typed)?;
        let page = page(shop, frame, &typed, String::new(), &[])?;
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

/// What a link asks for besides: every bin, or the lots that came last.
fn chosen_before(shop: &Shop, mut typed: Typed) -> Result<Typed, Refusal> {
    let codes: Vec<String> = match typed.one("all") {
        "bins" => {
            let bins = shop.places(&[PlaceKind::Bin])?;
            bins.into_iter().map(|bin| bin.code).take(LABELS).collect()
        }
        "lots" => stock_lists::lots_lately(shop, 20)?
            .into_iter()
            .map(|lot| lot.code)
            .collect(),
        _ => return Ok(typed),
    };
    typed.set("of", codes.join("\n"));
    Ok(typed)
}

fn page(
    shop: &Shop,
    frame: Frame,
    typed: &Typed,
    heard: String,
    wrong: &[Wrong],
) -> Result<Page, Refusal> {
    let mut fields = form::all_shown(shop, CHOICE, typed)?;
    let faults = put(wrong, &mut fields.iter_mut().collect::<Vec<_>>());
    let first_wrong = faults.iter().map(|line| line.at).find(|at| !at.is_empty());
    Ok(Page {
        frame: Frame {
            line_of: LINE_OF,
            ..frame
        },
        heard,
        fields,
        focus: first_wrong.unwrap_or_default(),
        is_last_look: false,
        faults,
    })
}

/// Takes a scan in, or leads to the sheet.
async fn choose(shop: web::Data<Shop>, request: HttpRequest, posted: Posted) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Reader) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, frame| {
        let (scan, looks) = (typed.one("scan").to_owned(), !typed.one("look").is_empty());
        let mut typed = typed.without(&["scan", "look"]);
        if !looks || scan.eq_ignore_ascii_case(BOOK) {
            return led(shop, frame, &typed);
        }
        if let Some(there) = commanded(&scan, who.actor.role) {
            return Ok(Reply::Elsewhere(there));
        }
        let (mut said, mut wrong) = (String::new(), Vec::new());
        match meant(shop, &scan)? {
            _ if scan.is_empty() => {}
            Some(_) => {
                let of = format!("{}\n{scan}", typed.one("of"));
                typed.set("of", of.trim().to_owned());
                said = format!("{scan}.");
            }
            None => wrong.push(Wrong::all(say_with(
                "counter-scan-no-lot-no-bin",
                &[("scan", &format!("{scan:?}"))],
            ))),
        }
        let status = match wrong.is_empty() {
            true => StatusCode::OK,
            false => StatusCode::BAD_REQUEST,
        };
        let mut page = page(shop, frame, &typed, said, &wrong)?;
        page.is_last_look = scan.is_empty();
        Reply::page(status, &page)
    })
    .await
}

/// What a line means, as it stands in the address of the sheet.
fn meant(shop: &Shop, text: &str) -> Result<Option<String>, Refusal> {
    if let Some(lot) = stock_lists::lot_coded(shop, text)? {
        return Ok(Some(format!("lots={}", lot.id)));
    }
    let place = form::place(&shop.places(SHELVES)?, text);
    Ok(place.ok().map(|id| format!("places={id}")))
}

fn led(shop: &Shop, frame: Frame, typed: &Typed) -> Result<Reply, Refusal> {
    let (mut parts, mut wrong) = (Vec::new(), Vec::new());
    let lines = typed.one("of").lines().map(str::trim);
    for line in lines.filter(|line| !line.is_empty()) {
        match meant(shop, line)? {
            Some(part) => parts.push(part),
            None => wrong.push(Wrong::with(
                "of",
                say_with(
                    "counter-line-no-lot-no-bin",
                    &[("line", &format!("{line:?}"))],
                ),
            )),
        }
    }
    if parts.is_empty() && wrong.is_empty() {
        wrong.push(Wrong::with("of", Wrong::missing()));
    }
    if parts.len() > LABELS {
        let text = say_with(
            "counter-most-labels-labels-once-not",
            &[("labels", &LABELS), ("parts", &parts.len())],
        );
        wrong.push(Wrong::with("of", text));
    }
    if !wrong.is_empty() {
        let page = page(shop, frame, typed, String::new(), &wrong)?;
        return Reply::page(StatusCode::BAD_REQUEST, &page);
    }
    for name in ["size", "dpi"] {
        let value = typed.one(name);
        if !value.is_empty() {
            parts.push(format!("{name}={value}"));
        }
    }
    Ok(Reply::Elsewhere(format!(
        "/labels/sheet?{}",
        parts.join("&")
    )))
}

/// Paper and printer that a query names.
fn paper(typed: &Typed) -> (Medium, Dpi) {
    let medium = typed.one("size").parse().unwrap_or(Medium::L62x29);
    let dpi = typed.one("dpi").parse().unwrap_or(medium.usual_dpi());
    (medium, dpi)
}

fn printed(labels: &[Label], typed: &Typed) -> Result<Reply, Refusal> {
    let (medium, dpi) = paper(typed);
    label::sheet(labels, medium, dpi)
        .map(|html| Reply::Sheet(html, STYLE))
        .map_err(|e| Refusal::Fault(format!("labels cannot be written: {e}")))
}

/// The sheet of labels, for print.
async fn sheet(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, _| {
        let ids = |name: &'static str, what| {
            let all = typed.all(name).take(LABELS);
            all.map(|id| id.parse::<Uuid>().map_err(|_| Refusal::NotFound(what)))
                .collect::<Result<Vec<_>, _>>()
        };
        let (lots, places) = (ids("lots", "lot")?, ids("places", "place")?);
        if lots.is_empty() && places.is_empty() {
            return Ok(Reply::Elsewhere("/labels".into()));
        }
        printed(&of_all(shop, &lots, &places)?, &typed)
    })
    .await
}

/// The sheet of words, for print: with it a scanner alone does all that the counter does.
async fn words(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let mut typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |_, _| {
        if typed.one("size").is_empty() {
            typed.set("size", Medium::A4.word());
        }
        printed(&spoken(), &typed)
    })
    .await
}

/// Every word that the line understands at the counter, once each.
fn spoken() -> Vec<Label> {
    let mut labels = vec![Label {
        code: BOOK.to_owned(),
        name: say("counter-do-it").to_owned(),
        lines: vec![say("counter-presses-the-form-button").to_owned()],
    }];
    let mut add = |word: &str, what: &str| {
        if labels.iter().all(|label| label.code != word) {
            labels.push(Label {
                code: word.to_owned(),
                name: word.replace('_', " "),
                lines: vec![what.to_owned()],
            });
        }
    };
    for act in Act::ALL {
        add(act.path().trim_start_matches('/'), act.heading());
    }
    add("count", say("counter-count-bins"));
    for word in Condition::WORDS.iter().chain(Returned::WORDS) {
        add(word, say("counter-how-plugs-look"));
    }
    for word in ScrapReason::WORDS {
        add(word, say("counter-why-they-are-scrapped"));
    }
    for plugs in ["1", "2", "4", "6", "8"] {
        add(plugs, say("counter-so-many-plugs"));
    }
    labels
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::ways;

    #[test]
    fn every_word_of_the_sheet_is_understood_and_has_room_on_a_label() {
        let labels = spoken();
        for label in &labels {
            let word = label.code.as_str();
            let is_word = Act::ALL.iter().any(|act| act.word(word).is_some());
            let is_number = word.parse::<u8>().is_ok();
            assert!(
                word == BOOK || is_word || is_number || ways::called(word).is_some(),
                "{word}"
            );
        }
        for (medium, dpi) in [(Medium::A4, Dpi::D300), (Medium::L50x25, Dpi::D203)] {
            let html = label::sheet(&labels, medium, dpi).unwrap();
            assert_eq!(html.matches("<svg").count(), labels.len());
        }
    }
}
