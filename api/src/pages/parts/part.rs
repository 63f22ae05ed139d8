//! A part: what is known of it and how that is found out, where it lies, what is equal to it.

use std::collections::HashMap;

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::attribute::Attr;
use plugwell_domain::ledger::PlaceKind;
use plugwell_domain::plug::Plug;
use plugwell_domain::words::{Role, Status};
use plugwell_store::{LevelFilter, LotFilter, MovementFilter};
use uuid::Uuid;

use crate::pages::answer::{Frame, Reply};
use crate::pages::counter::booked::verb;
use crate::pages::field::{Field, Line, Wrong, put};
use crate::pages::figures::{day, gap, instant};
use crate::pages::form::{self, Declared, Form, Known, field};
use crate::pages::listing::{Cell, Listing, figures, words};
use crate::pages::part::{Card, card, name, open_reservations};
use crate::pages::parts::equal::{self, Equals};
use crate::pages::parts::record::{GROUPS, source};
use crate::pages::parts::{barcodes, id, look, reordering, value};
use crate::pages::typed::Typed;
use crate::pages::words::{say, say_with};
use crate::service::{Refusal, Shop, barcodes as codes, catalogue, stock_lists};

/// Most lots, and most barcodes, that are looked at.
const LOOKED_AT: i64 = 1_000;
/// Movements that are shown.
const MOVEMENTS: i64 = 20;

const OVER: Declared = field(
    "over",
    "parts-lay-another-part-over-it",
    Form::Part,
    "parts-lay-another-part-over-it-hint",
);

#[derive(Template)]
#[template(path = "parts/part.html")]
struct Page {
    frame: Frame,
    card: Card,
    /// What has to be known before all else: discontinued, superseded, retired.
    standing: Vec<(String, String)>,
    may_change: bool,
    may_issue: bool,
    /// What is known, group by group.
    known: Vec<(&'static str, Listing)>,
    /// Where the drawing is, and what it says to whoever does not see it.
    drawing: String,
    drawn: String,
    over: Field,
    lots: Listing,
    /// Where labels of all its lots are printed.
    labels: String,
    reserved: Listing,
    equals: Equals,
    /// Its own barcode, and those that were attached: code, plugs, id, version.
    gtin: String,
    barcodes: Vec<(String, String, Uuid, i64)>,
    new_barcode: Vec<Field>,
    /// What is given by hand for reordering: what, how much.
    given: Vec<(&'static str, String)>,
    moved: Listing,
    focus: &'static str,
    faults: Vec<Line>,
}

/// The page at `/parts/{id}`.
pub(super) async fn show(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    look(shop, request, Role::Reader, move |shop, frame, typed| {
        let plug = catalogue::get(shop, id(&path, "part")?)?;
        page(shop, frame, &plug, typed, &[], StatusCode::OK)
    })
    .await
}

/// The page of a part, with what was wrong with a form that was sent from it.
pub(super) fn page(
    shop: &Shop,
    frame: Frame,
    plug: &Plug,
    typed: &Typed,
    wrong: &[Wrong],
    status: StatusCode,
) -> Result<Reply, Refusal> {
    let may_change = frame.may(Role::Clerk);
    let mut over = form::shown(shop, &OVER, typed)?;
    let mut wrong = wrong.to_vec();
    let other = other(shop, typed, &mut wrong)?;
    let mut new_barcode = form::all_shown(shop, barcodes::FORM, typed)?;
    let mut all: Vec<&mut Field> = new_barcode.iter_mut().chain([&mut over]).collect();
    let faults = put(&wrong, &mut all);
    let lots = lots(shop, plug.id)?;
    let drawing = drawing(plug, other.as_ref());
    let page = Page {
        card: card(shop, plug)?,
        standing: standing(shop, plug)?,
        may_change,
        may_issue: frame.may(Role::Tuner),
        known: GROUPS
            .iter()
            .map(|(legend, attrs)| (say(legend), known(plug, attrs)))
            .collect(),
        drawing: drawing.0,
        drawn: drawing.1,
        over,
        labels: lots.1,
        lots: lots.0,
        reserved: reserved(shop, plug.id)?,
        equals: equal::of(shop, plug)?,
        gtin: plug
            .data
            .gtin
            .as_ref()
            .map(ToString::to_string)
            .unwrap_or_default(),
        barcodes: attached(shop, plug.id)?,
        new_barcode,
        given: reordering::by_hand(shop, plug.id)?,
        moved: moved(shop, plug.id)?,
        focus: faults
            .iter()
            .map(|line| line.at)
            .find(|at| !at.is_empty())
            .unwrap_or(""),
        faults,
        frame,
    };
    let status = if page.faults.is_empty() || status != StatusCode::OK {
        status
    } else {
        StatusCode::BAD_REQUEST
    };
    Reply::page(status, &page)
}

/// Where the drawing is, and what it shows.
fn drawing(plug: &Plug, over: Option<&Plug>) -> (String, String) {
    let (id, own) = (plug.id, name(plug));
    match over {
        Some(over) => (
            format!("/plugs/{id}/outline.svg?over={}&dimensions=true", over.id),
            say_with(
                "parts-own-scale-name-laid-over",
                &[("own", &own), ("name", &name(over))],
            ),
        ),
        None => (
            format!("/plugs/{id}/outline.svg?dimensions=true"),
            say_with("parts-own-scale-dimensions", &[("own", &own)]),
        ),
    }
}

/// Barcodes that the shop attached: code, plugs, id, version.
fn attached(shop: &Shop, plug_id: Uuid) -> Result<Vec<(String, String, Uuid, i64)>, Refusal> {
    let told = codes::list(shop, plug_id, None, LOOKED_AT)?
        .into_iter()
        .map(|code| {
            let plugs = code
                .data
                .plugs
                .map(|plugs| say_with("parts-plugs-plugs", &[("plugs", &plugs)]));
            (
                code.data.code,
                plugs.unwrap_or_default(),
                code.id,
                code.version,
            )
        });
    Ok(told.collect())
}

/// The part that is laid over the drawing; by number as typed, or by id.
fn other(shop: &Shop, typed: &Typed, wrong: &mut Vec<Wrong>) -> Result<Option<Plug>, Refusal> {
    let text = typed.one(OVER.name);
    let id: Uuid = match (text.is_empty(), text.parse()) {
        (true, _) => return Ok(None),
        (false, Ok(id)) => id,
        (false, Err(_)) => match shop.part(text)? {
            Ok(id) => id.parse().map_err(|_| Refusal::NotFound("part"))?,
            Err(why) => {
                wrong.push(Wrong::with(OVER.name, why));
                return Ok(None);
            }
        },
    };
    catalogue::get(shop, id).map(Some)
}

fn standing(shop: &Shop, plug: &Plug) -> Result<Vec<(String, String)>, Refusal> {
    let mut told = Vec::new();
    if plug.retired {
        told.push((
            say("parts-retired-stands-no-list-no").to_owned(),
            String::new(),
        ));
    }
    if plug.data.status == Status::Discontinued {
        told.push((
            say("parts-maker-no-longer-supplies-lies").to_owned(),
            String::new(),
        ));
    }
    if let Some(next) = plug.data.superseded_by {
        let next = catalogue::get(shop, next)?;
        told.push((
            say_with("parts-place-taken-name", &[("name", &name(&next))]),
            format!("/parts/{}", next.id),
        ));
    }
    Ok(told)
}

fn known(plug: &Plug, attrs: &[Attr]) -> Listing {
    let data = &plug.data;
    let row = |attr: &Attr| {
        let declared = attr.declared();
        let of_scale = match (&data.heat_code, attr) {
            (Some(code), Attr::Heat) => say_with("parts-the-maker-code-code", &[("code", &code)]),
            _ => String::new(),
        };
        vec![
            Cell::of(declared.label),
            Cell::of(value(data, *attr)).noted(of_scale),
            Cell::of(source(data, *attr)),
            Cell::default().noted(format!("{}; {}", declared.meaning, declared.measure)),
        ]
    };
    Listing {
        caption: say("parts-known-where-found-out").into(),
        columns: vec![
            words("parts-what"),
            words("parts-value"),
            words("parts-from"),
            words("parts-how-it-is-found-out"),
        ],
        rows: attrs.iter().map(row).collect(),
        ..Listing::default()
    }
}

fn lots(shop: &Shop, plug_id: Uuid) -> Result<(Listing, String), Refusal> {
    let filter = LevelFilter {
        plug_id: Some(plug_id),
        ..LevelFilter::default()
    };
    let mut levels = stock_lists::levels(shop, &filter, None, LOOKED_AT)?;
    levels.retain(|level| level.quantity > 0);
    let of_part = LotFilter {
        plug_id: Some(plug_id),
        ..LotFilter::default()
    };
    let lots = stock_lists::lots(shop, &of_part, None, LOOKED_AT)?;
    let lots: HashMap<Uuid, _> = lots.into_iter().map(|lot| (lot.id, lot)).collect();
    let (mut rows, mut printed) = (Vec::new(), Vec::new());
    for level in &levels {
        let place = stock_lists::place(shop, level.place_id)?;
        if !matches!(place.kind, PlaceKind::Bin | PlaceKind::Quarantine) {
            continue;
        }
        let Some(lot) = lots.get(&level.lot_id) else {
            continue;
        };
        let set = lot
            .gap_mm
            .map(|mm| say_with("parts-set-to-gap", &[("gap", &gap(mm))]));
        let aside = if place.kind == PlaceKind::Quarantine {
            "quarantine"
        } else {
            ""
        };
        rows.push(vec![
            Cell::to(format!("/lots/{}", lot.id), &lot.code),
            Cell::to(format!("/places/{}", place.id), &place.name).noted(aside),
            Cell::of(level.quantity),
            Cell::of(lot.condition.word()).noted(set.unwrap_or_default()),
            Cell::of(day(lot.received_at)).noted(say_with(
                "parts-from-supplier",
                &[("supplier", &lot.supplier)],
            )),
        ]);
        printed.push(format!("lots={}", lot.id));
    }
    printed.dedup();
    let listing = Listing {
        caption: say("parts-lots-part-bins-quarantine").into(),
        columns: vec![
            words("parts-lot"),
            words("parts-place"),
            figures("parts-plugs"),
            words("parts-condition"),
            words("parts-came"),
        ],
        rows,
        empty: say("parts-none-lies-in-a-bin"),
        more: String::new(),
    };
    let labels = match printed.len() {
        0 => String::new(),
        _ => format!("/labels/sheet?{}", printed.join("&")),
    };
    Ok((listing, labels))
}

fn reserved(shop: &Shop, plug_id: Uuid) -> Result<Listing, Refusal> {
    let row = |one: plugwell_domain::ledger::Reservation| {
        let until = one
            .expires_at
            .map_or_else(|| say("parts-until-issued-or-released").to_owned(), instant);
        vec![
            Cell::of(&one.job),
            Cell::of(one.open_quantity).noted(say_with(
                "parts-of-quantity",
                &[("quantity", &one.quantity)],
            )),
            Cell::of(one.state.word()),
            Cell::of(until),
        ]
    };
    Ok(Listing {
        caption: say("parts-plugs-kept-jobs").into(),
        columns: vec![
            words("parts-job"),
            figures("parts-kept"),
            words("parts-state"),
            words("parts-until"),
        ],
        rows: open_reservations(shop, plug_id)?
            .into_iter()
            .map(row)
            .collect(),
        empty: say("parts-none-kept-job"),
        more: String::new(),
    })
}

fn moved(shop: &Shop, plug_id: Uuid) -> Result<Listing, Refusal> {
    let filter = MovementFilter {
        plug_id: Some(plug_id),
        newest: true,
        ..MovementFilter::default()
    };
    let moved = stock_lists::traced(shop, &filter, None, MOVEMENTS)?;
    let more = if moved.len() as i64 == MOVEMENTS {
        format!("/movements?plug_id={plug_id}")
    } else {
        String::new()
    };
    let rows = moved.into_iter().map(|traced| {
        let movement = &traced.movement;
        let name = |place: &Option<plugwell_domain::ledger::Place>| {
            place.as_ref().map_or("?", |place| &place.name).to_owned()
        };
        let lot = traced.lot.clone().unwrap_or_default();
        vec![
            Cell::of(instant(movement.created_at)).noted(&movement.actor),
            Cell::of(verb(movement.kind)).noted(movement.note.clone().unwrap_or_default()),
            Cell::of(movement.quantity),
            Cell::of(format!("{} → {}", name(&traced.from), name(&traced.to))),
            Cell::to(format!("/lots/{}", movement.lot_id), lot),
        ]
    });
    Ok(Listing {
        caption: say("parts-done-last-part").into(),
        columns: vec![
            words("parts-when"),
            words("parts-what"),
            figures("parts-plugs"),
            words("parts-from-where-to-where"),
            words("parts-lot"),
        ],
        rows: rows.collect(),
        empty: say("parts-nothing-has-been-done-yet"),
        more,
    })
}
