//! A place: what lies there, its name, and retiring it.

use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::ledger::commands::PlaceName;
use plugwell_domain::ledger::{Place, PlaceKind};
use plugwell_domain::words::Role;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::http::body::{Body, Patch};
use crate::pages::answer::{Frame, Reply};
use crate::pages::changing::{Changing, meant_for};
use crate::pages::figures::{condition, cost};
use crate::pages::form::{Declared, Form, field, needed};
use crate::pages::listing::{Cell, Listing, figures, words};
use crate::pages::parts::lot::path_of;
use crate::pages::parts::{fine, id, look, take};
use crate::pages::typed::{Posted, Typed};
use crate::pages::words::{say, say_with};
use crate::service::lying::{self, Lying};
use crate::service::{Refusal, Shop, stock, stock_lists};

/// Rows of a page of what lies there.
const ROWS: usize = 50;

const FORM: &[Declared] = &[
    needed(field("name", "parts-name", Form::Words, "parts-name-hint")),
    field("retired", "parts-retired", Form::Flag, "parts-retired-hint"),
];

#[derive(Template)]
#[template(path = "parts/place.html")]
struct Page {
    frame: Frame,
    place: Place,
    /// Whether it can be renamed and retired, and by who looks.
    may_change: bool,
    lies: Listing,
    /// What all of it comes to, where all of it is shown.
    sum: String,
}

/// The page at `/places/{id}`; jobs and suppliers have pages of their own.
pub(super) async fn show(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    look(shop, request, Role::Reader, move |shop, frame, typed| {
        let place = stock_lists::place(shop, id(&path, "place")?)?;
        match place.kind {
            PlaceKind::Job | PlaceKind::Supplier => {
                Ok(Reply::Elsewhere(path_of(place.kind, place.id)))
            }
            _ => fine(&page(shop, frame, typed, place)?),
        }
    })
    .await
}

fn page(shop: &Shop, frame: Frame, typed: &Typed, place: Place) -> Result<Page, Refusal> {
    let mut parts = typed.one("after").split('.').map(str::parse::<Uuid>);
    let after = match (parts.next(), parts.next()) {
        (Some(Ok(lot)), Some(Ok(place))) => Some((lot, place)),
        _ => None,
    };
    let mut found = lying::in_place(shop, place.id, after, ROWS as i64 + 1)?;
    let is_more = found.len() > ROWS;
    found.truncate(ROWS);
    let more = found.last().filter(|_| is_more).map(|last| {
        let (lot, at) = (last.level.lot_id, last.level.place_id);
        format!("/places/{}?after={lot}.{at}", place.id)
    });
    let is_whole = after.is_none() && !is_more;
    let kind = matches!(place.kind, PlaceKind::Bin | PlaceKind::Quarantine);
    Ok(Page {
        may_change: kind && frame.may(Role::Clerk),
        frame,
        sum: if is_whole { sum(&found) } else { String::new() },
        lies: Listing {
            caption: say_with("parts-what-lies-in-name", &[("name", &place.name)]),
            columns: vec![
                words("parts-part"),
                words("parts-lot"),
                figures("parts-plugs"),
                figures("parts-cost"),
                words("parts-condition"),
            ],
            rows: found.iter().map(row).collect(),
            empty: say("parts-nothing-lies-here"),
            more: more.unwrap_or_default(),
        },
        place,
    })
}

fn row(lying: &Lying) -> Vec<Cell> {
    let cost = lying
        .cost
        .as_ref()
        .map_or_else(|| say("pages-unknown").to_owned(), cost);
    vec![
        Cell::to(format!("/parts/{}", lying.level.plug_id), &lying.part),
        Cell::to(format!("/lots/{}", lying.lot.id), &lying.lot.code),
        Cell::of(lying.level.quantity),
        Cell::of(cost),
        Cell::of(condition(&lying.lot)),
    ]
}

/// All plugs, and what those cost of which that is known.
fn sum(all: &[Lying]) -> String {
    let plugs: i64 = all.iter().map(|one| one.level.quantity).sum();
    let unknown: i64 = all
        .iter()
        .filter(|one| one.cost.is_none())
        .map(|one| one.level.quantity)
        .sum();
    let mut known = all.iter().filter_map(|one| one.cost.clone());
    let total = known.next().map(|first| {
        known.fold(first, |mut sum, more| {
            sum.minor += more.minor;
            sum
        })
    });
    match (plugs, total, unknown) {
        (0, ..) => String::new(),
        (_, None, _) => say_with("parts-plugs-plugs-nobody-knows-they", &[("plugs", &plugs)]),
        (_, Some(total), 0) => say_with(
            "parts-plugs-plugs-which-cost-cost",
            &[("plugs", &plugs), ("cost", &cost(&total))],
        ),
        (_, Some(total), _) => say_with(
            "parts-plugs-plugs-cost-cost-without",
            &[
                ("plugs", &plugs),
                ("known", &(plugs - unknown)),
                ("cost", &cost(&total)),
                ("unknown", &unknown),
            ],
        ),
    }
}

fn changing(place: &Place) -> Changing {
    Changing {
        heading: say_with("parts-rename-or-retire-name", &[("name", &place.name)]),
        note: "",
        back: format!("/places/{}", place.id),
        action: format!("/places/{}/change", place.id),
        declared: FORM,
        record: json!({ "name": place.name, "retired": place.retired }),
        version: place.version,
    }
}

/// The form that renames and retires it.
pub(super) async fn old(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    look(shop, request, Role::Clerk, move |shop, frame, _| {
        let place = stock_lists::place(shop, id(&path, "place")?)?;
        changing(&place).begin(shop, frame)
    })
    .await
}

/// Renames or retires it.
pub(super) async fn change(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    take(
        shop,
        request,
        posted,
        Role::Clerk,
        move |shop, frame, typed, _| {
            let place = stock_lists::place(shop, id(&path, "place")?)?;
            changing(&place).send(shop, frame, typed, |patch, version| {
                let mut patch = patch.clone();
                // Neither yes nor no: as it was.
                if patch.get("retired").is_some_and(Value::is_null) {
                    patch.remove("retired");
                }
                let patch =
                    Patch::<PlaceName>::check(Value::Object(patch)).map_err(Refusal::Faults)?;
                stock::patch_place(shop, place.id, meant_for(version), &patch.members).map(drop)
            })
        },
    )
    .await
}
