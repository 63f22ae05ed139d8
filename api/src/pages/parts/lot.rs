//! A lot: where it lies, and its whole life.

use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::ledger::PlaceKind;
use plugwell_domain::report::life::LotLife;
use plugwell_domain::words::Role;
use plugwell_store::LevelFilter;
use uuid::Uuid;

use crate::drawing;
use crate::http::csv_answer::Table;
use crate::http::etag::IfNoneMatch;
use crate::pages::answer::{Frame, Reply};
use crate::pages::figures::{gap, instant};
use crate::pages::listing::{Cell, Listing, figures, words};
use crate::pages::parts::{fine, id, look};
use crate::pages::words::{say, say_with};
use crate::service::{Refusal, Shop, lot_life, stock_lists};
use crate::shown::marked;

/// Most places that hold some of a lot.
const PLACES: i64 = 1_000;

#[derive(Template)]
#[template(path = "parts/lot.html")]
struct Page {
    frame: Frame,
    id: Uuid,
    code: String,
    part: String,
    part_path: String,
    /// What it is: condition, gap, box.
    said: String,
    /// What became of it, sentence by sentence.
    notes: Vec<String>,
    lies: Listing,
    /// Lots that it descends from, or that descend from it.
    family: Vec<(String, String)>,
    steps: Listing,
    /// Whether who looks may measure a sample.
    may_measure: bool,
}

/// The page at `/lots/{id}`.
pub(super) async fn show(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    look(shop, request, Role::Reader, move |shop, frame, _| {
        let life = lot_life::of(shop, id(&path, "lot")?)?;
        fine(&page(shop, frame, &life)?)
    })
    .await
}

/// The picture at `/lots/{id}/life.svg`.
pub(super) async fn picture(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    known: IfNoneMatch,
) -> HttpResponse {
    look(shop, request, Role::Reader, move |shop, _, _| {
        let life = lot_life::of(shop, id(&path, "lot")?)?;
        Ok(Reply::Picture(drawing::lot_life::lot_life(&life), known))
    })
    .await
}

fn page(shop: &Shop, frame: Frame, life: &LotLife) -> Result<Page, Refusal> {
    let lot = &life.lot;
    let mut said = vec![lot.condition.word().to_owned()];
    said.extend(
        lot.gap_mm
            .map(|mm| say_with("parts-set-to-gap", &[("gap", &gap(mm))])),
    );
    said.extend(
        lot.pack_size
            .map(|size| say_with("parts-size-in-a-box", &[("size", &size)])),
    );
    said.push(say_with(
        "parts-from-supplier",
        &[("supplier", &lot.supplier)],
    ));
    let filter = LevelFilter {
        lot_id: Some(lot.id),
        ..LevelFilter::default()
    };
    let mut rows = Vec::new();
    for level in stock_lists::levels(shop, &filter, None, PLACES)? {
        let place = stock_lists::place(shop, level.place_id)?;
        let held = !matches!(place.kind, PlaceKind::Supplier | PlaceKind::Difference);
        if held && level.quantity > 0 {
            rows.push(vec![
                Cell::to(path_of(place.kind, place.id), &place.name).noted(place.kind.word()),
                Cell::of(level.quantity),
            ]);
        }
    }
    let others = life.family.iter().filter(|one| one.id != lot.id);
    Ok(Page {
        may_measure: frame.may(Role::Clerk),
        frame,
        id: lot.id,
        code: lot.code.clone(),
        part: format!("{} {}", life.maker, life.part_number),
        part_path: format!("/parts/{}", life.plug_id),
        said: said.join(" · "),
        notes: life.notes().into_iter().map(marked).collect(),
        lies: Listing {
            caption: say("parts-where-the-lot-lies").into(),
            columns: vec![words("parts-place"), figures("parts-plugs")],
            rows,
            empty: say("parts-nothing-is-left-of-it"),
            more: String::new(),
        },
        family: others
            .map(|one| (format!("/lots/{}", one.id), one.code.clone()))
            .collect(),
        steps: steps(life),
    })
}

/// Where a place stands.
pub(super) fn path_of(kind: PlaceKind, id: Uuid) -> String {
    match kind {
        PlaceKind::Job => format!("/jobs/{id}"),
        PlaceKind::Supplier => format!("/suppliers/{id}"),
        _ => format!("/places/{id}"),
    }
}

fn steps(life: &LotLife) -> Listing {
    let row = |step: &plugwell_domain::report::life::LifeStep| {
        vec![
            Cell::of(instant(step.at)).noted(&step.actor),
            Cell::of(marked(step.text.clone())).noted(step.note.clone().unwrap_or_default()),
            Cell::of(step.quantity),
        ]
    };
    Listing {
        caption: say("parts-happened-lot-family").into(),
        columns: vec![
            words("parts-when"),
            words("parts-what"),
            figures("parts-plugs"),
        ],
        rows: life.steps.iter().map(row).collect(),
        empty: say("parts-nothing-has-happened-to-it"),
        more: String::new(),
    }
}
