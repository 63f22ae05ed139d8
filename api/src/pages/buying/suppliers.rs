//! Who delivers.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::order::Supplier;
use plugwell_domain::words::Role;

use super::{cost, id_of};
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::listing::{Cell, Listing, figures, words};
use crate::pages::typed::Typed;
use crate::pages::visitor::visitor;
use crate::pages::words::{say, say_with};
use crate::service::{Refusal, Shop, suppliers};

/// Suppliers of one page.
const SUPPLIERS: usize = 50;

#[derive(Template)]
#[template(path = "buying/suppliers.html")]
struct Page {
    frame: Frame,
    listing: Listing,
}

/// The page at `/suppliers`.
pub(super) async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let listing = listing(shop, &typed)?;
        Reply::page(StatusCode::OK, &Page { frame, listing })
    })
    .await
}

fn listing(shop: &Shop, typed: &Typed) -> Result<Listing, Refusal> {
    let after = match typed.one("after") {
        "" => None,
        text => Some(id_of(text, "supplier")?),
    };
    let mut found = suppliers::list(shop, None, after, SUPPLIERS as i64 + 1)?;
    let rest = found.len() > SUPPLIERS;
    found.truncate(SUPPLIERS);
    let last = found.last().filter(|_| rest);
    Ok(Listing {
        caption: say("buying-suppliers").into(),
        columns: vec![
            words("buying-supplier"),
            figures("buying-promises-in"),
            figures("buying-delivers-from"),
            words("buying-contact"),
            words("buying-orders"),
        ],
        rows: found.iter().map(row).collect(),
        empty: say("buying-no-supplier-known-yet-first"),
        more: last.map_or_else(String::new, |s| format!("/suppliers?after={}", s.id)),
    })
}

fn row(supplier: &Supplier) -> Vec<Cell> {
    let days = supplier.data.lead_time_days;
    let note = match supplier.retired {
        true => say("buying-retired-nothing-more-ordered"),
        false => "",
    };
    vec![
        Cell::to(format!("/suppliers/{}", supplier.id), &supplier.data.name).noted(note),
        Cell::of(days.map_or_else(
            || say("buying-not-said").into(),
            |days| say_with("pages-so-many-days", &[("days", &days)]),
        )),
        Cell::of(cost(supplier.data.least_order.as_ref())),
        Cell::of(supplier.data.contact.as_deref().unwrap_or_default()),
        Cell::to(
            format!("/orders?supplier_id={}", supplier.id),
            say("buying-orders-to-it"),
        ),
    ]
}
