//! A supplier: how long it takes, what came from it, what is ordered.

use std::collections::HashSet;

use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::ledger::MovementKind;
use plugwell_domain::order::{LeadTime, Supplier, SupplierData};
use plugwell_domain::words::Role;
use plugwell_store::{MovementFilter, OrderFilter};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::http::body::{Body, Patch};
use crate::pages::answer::Frame;
use crate::pages::changing::{Changing, meant_for};
use crate::pages::figures::{cost, day};
use crate::pages::form::{Declared, Form, field, needed};
use crate::pages::listing::{Cell, Listing, figures, words};
use crate::pages::parts::{fine, id, look, take};
use crate::pages::typed::Posted;
use crate::pages::words::{say, say_with};
use crate::service::{Refusal, Shop, orders, stock_lists, suppliers};
use crate::shown::short;

/// Receipts that are looked through for parts, and orders that are shown.
const RECEIPTS: i64 = 500;
const ORDERS: i64 = 20;

const FORM: &[Declared] = &[
    needed(field("name", "parts-name", Form::Words, "")),
    field(
        "lead_time_days",
        "parts-lead-time-that-it-promises",
        Form::Counted("days"),
        "parts-lead-time-that-it-promises-hint",
    ),
    field(
        "least_order",
        "parts-least-order",
        Form::Money,
        "parts-least-order-hint",
    ),
    field(
        "contact",
        "parts-contact",
        Form::Lines,
        "parts-contact-hint",
    ),
    field("note", "parts-note", Form::Lines, ""),
    field(
        "retired",
        "parts-retired",
        Form::Flag,
        "parts-retired-hint-3",
    ),
];

#[derive(Template)]
#[template(path = "parts/supplier.html")]
struct Page {
    frame: Frame,
    supplier: Supplier,
    may_change: bool,
    /// What is known of it: what, how much.
    facts: Vec<(&'static str, String)>,
    orders: Listing,
    parts: Listing,
}

/// The page at `/suppliers/{id}`.
pub(super) async fn show(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    look(shop, request, Role::Reader, move |shop, frame, _| {
        let supplier = suppliers::get(shop, id(&path, "supplier")?)?;
        let took = suppliers::lead_times(shop, supplier.id)?;
        fine(&Page {
            may_change: frame.may(Role::Clerk),
            frame,
            facts: facts(&supplier, &took),
            orders: ordered(shop, supplier.id)?,
            parts: delivered(shop, supplier.id)?,
            supplier,
        })
    })
    .await
}

fn facts(supplier: &Supplier, took: &[LeadTime]) -> Vec<(&'static str, String)> {
    let data = &supplier.data;
    let days: Vec<f64> = took.iter().map(LeadTime::days).collect();
    let longest = days.iter().copied().fold(0.0, f64::max);
    let mean = days.iter().sum::<f64>() / days.len().max(1) as f64;
    let took = match days.len() {
        0 => say("parts-no-order-tells-yet").to_owned(),
        1 => say_with("parts-days-of-one-delivery", &[("days", &short(mean))]),
        some => say_with(
            "parts-days-on-average",
            &[
                ("days", &short(mean)),
                ("deliveries", &some),
                ("longest", &short(longest)),
            ],
        ),
    };
    let told = [
        (say("parts-took"), Some(took)),
        (
            say("parts-promises"),
            data.lead_time_days
                .map(|days| say_with("parts-days-days", &[("days", &days)])),
        ),
        (
            say("parts-least-order"),
            data.least_order.as_ref().map(cost),
        ),
        (say("parts-contact"), data.contact.clone()),
        (say("parts-note"), data.note.clone()),
    ];
    told.into_iter()
        .filter_map(|(what, told)| Some((what, told?)))
        .collect()
}

fn ordered(shop: &Shop, supplier_id: Uuid) -> Result<Listing, Refusal> {
    let filter = OrderFilter {
        supplier_id: Some(supplier_id),
        ..OrderFilter::default()
    };
    let rows = orders::list(shop, &filter, None, ORDERS)?
        .into_iter()
        .map(|order| {
            let expected = order
                .expected_on
                .map(|day| day.format("%-d %b %Y").to_string());
            vec![
                Cell::to(format!("/orders/{}", order.id), &order.code),
                Cell::of(order.state.word().replace('_', " ")),
                Cell::of(order.lines.iter().map(|line| line.quantity).sum::<i64>()),
                Cell::of(expected.unwrap_or_default()),
            ]
        });
    Ok(Listing {
        caption: say("parts-its-latest-orders").into(),
        columns: vec![
            words("parts-order"),
            words("parts-stands"),
            figures("parts-plugs"),
            words("parts-expected"),
        ],
        rows: rows.collect(),
        empty: say("parts-nothing-was-ordered-from-it"),
        more: String::new(),
    })
}

fn delivered(shop: &Shop, supplier_id: Uuid) -> Result<Listing, Refusal> {
    let filter = MovementFilter {
        place_id: Some(supplier_id),
        kind: Some(MovementKind::Receipt),
        newest: true,
        ..MovementFilter::default()
    };
    let mut seen = HashSet::new();
    let mut found = stock_lists::traced(shop, &filter, None, RECEIPTS)?;
    found.retain(|traced| seen.insert(traced.movement.plug_id));
    let rows = found.iter().map(|traced| {
        let name = traced.part.as_ref().map(ToString::to_string);
        vec![
            Cell::to(
                format!("/parts/{}", traced.movement.plug_id),
                name.unwrap_or_default(),
            ),
            Cell::of(day(traced.movement.created_at)),
            Cell::of(traced.movement.quantity),
        ]
    });
    Ok(Listing {
        caption: say("parts-parts-came-latest-first").into(),
        columns: vec![
            words("parts-part"),
            words("parts-came-last"),
            figures("parts-plugs-then"),
        ],
        rows: rows.collect(),
        empty: say("parts-nothing-came-from-it"),
        more: String::new(),
    })
}

fn changing(supplier: &Supplier) -> Result<Changing, Refusal> {
    let mut record =
        serde_json::to_value(&supplier.data).map_err(|e| Refusal::Fault(e.to_string()))?;
    record["retired"] = json!(supplier.retired);
    Ok(Changing {
        heading: say_with("parts-change-name", &[("name", &supplier.data.name)]),
        note: say("parts-lots-keep-name-they-came"),
        back: format!("/suppliers/{}", supplier.id),
        action: format!("/suppliers/{}/change", supplier.id),
        declared: FORM,
        record,
        version: supplier.version,
    })
}

/// The form of what is known of it.
pub(super) async fn old(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    look(shop, request, Role::Clerk, move |shop, frame, _| {
        let supplier = suppliers::get(shop, id(&path, "supplier")?)?;
        changing(&supplier)?.begin(shop, frame)
    })
    .await
}

/// Changes what is known of it.
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
            let supplier = suppliers::get(shop, id(&path, "supplier")?)?;
            changing(&supplier)?.send(shop, frame, typed, |patch, version| {
                let mut patch = patch.clone();
                // Neither yes nor no: as it was.
                if patch.get("retired").is_some_and(Value::is_null) {
                    patch.remove("retired");
                }
                let patch =
                    Patch::<SupplierData>::check(Value::Object(patch)).map_err(Refusal::Faults)?;
                suppliers::patch(shop, supplier.id, meant_for(version), &patch.members).map(drop)
            })
        },
    )
    .await
}
