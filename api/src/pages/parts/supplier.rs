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
use crate::pages::figures::cost;
use crate::pages::form::{Declared, Form, field, needed};
use crate::pages::listing::{Cell, Listing, figures, words};
use crate::pages::parts::{fine, id, look, take};
use crate::pages::typed::Posted;
use crate::service::{Refusal, Shop, orders, stock_lists, suppliers};
use crate::shown::short;

/// Receipts that are looked through for parts, and orders that are shown.
const RECEIPTS: i64 = 500;
const ORDERS: i64 = 20;

const FORM: &[Declared] = &[
    needed(field("name", "Name", Form::Words, "")),
    field(
        "lead_time_days",
        "Lead time that it promises",
        Form::Counted("days"),
        "counts as long as no order tells",
    ),
    field(
        "least_order",
        "Least order",
        Form::Money,
        "what an order has to come to before it delivers",
    ),
    field(
        "contact",
        "Contact",
        Form::Lines,
        "whom to call or write to",
    ),
    field("note", "Note", Form::Lines, ""),
    field(
        "retired",
        "Retired",
        Form::Flag,
        "nothing more is ordered from it",
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
        0 => "no order tells yet".to_owned(),
        1 => format!("{} days, of 1 delivery", short(mean)),
        some => format!(
            "{} days on average of {some} deliveries, {} at the longest",
            short(mean),
            short(longest)
        ),
    };
    let told = [
        ("Took", Some(took)),
        (
            "Promises",
            data.lead_time_days.map(|days| format!("{days} days")),
        ),
        ("Least order", data.least_order.as_ref().map(cost)),
        ("Contact", data.contact.clone()),
        ("Note", data.note.clone()),
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
        caption: "Its latest orders".into(),
        columns: vec![
            words("Order"),
            words("Stands"),
            figures("Plugs"),
            words("Expected"),
        ],
        rows: rows.collect(),
        empty: "Nothing was ordered from it.",
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
            Cell::of(traced.movement.created_at.format("%-d %b %Y")),
            Cell::of(traced.movement.quantity),
        ]
    });
    Ok(Listing {
        caption: "Parts that came from it, the latest first".into(),
        columns: vec![words("Part"), words("Came last"), figures("Plugs then")],
        rows: rows.collect(),
        empty: "Nothing came from it.",
        more: String::new(),
    })
}

fn changing(supplier: &Supplier) -> Result<Changing, Refusal> {
    let mut record =
        serde_json::to_value(&supplier.data).map_err(|e| Refusal::Fault(e.to_string()))?;
    record["retired"] = json!(supplier.retired);
    Ok(Changing {
        heading: format!("Change {}", supplier.data.name),
        note: "Lots keep the name that they came with.",
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
