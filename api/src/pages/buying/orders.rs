//! All orders, the newest first, narrowed by where they stand.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::order::{Order, OrderState};
use plugwell_domain::words::Role;
use plugwell_store::OrderFilter;
use uuid::Uuid;

use super::id_of;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::figures::{day, money};
use crate::pages::listing::{Cell, Listing, figures, words};
use crate::pages::typed::Typed;
use crate::pages::visitor::visitor;
use crate::pages::words::{say, say_with};
use crate::service::{Refusal, Shop, orders};

/// Orders of one page.
const ORDERS: i64 = 50;

#[derive(Template)]
#[template(path = "buying/orders.html")]
struct Page {
    frame: Frame,
    may_order: bool,
    /// States to narrow by: address, words, whether it is the one.
    states: Vec<(String, String, bool)>,
    listing: Listing,
}

/// The page at `/orders`.
pub(super) async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let page = Page {
            may_order: frame.may(Role::Clerk),
            frame,
            states: states(typed.one("state")),
            listing: listing(shop, &typed)?,
        };
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

fn states(chosen: &str) -> Vec<(String, String, bool)> {
    let all = (
        "/orders".to_owned(),
        say("buying-all").to_owned(),
        chosen.is_empty(),
    );
    let one = |state: &&str| {
        let words = state.replace('_', " ");
        (format!("/orders?state={state}"), words, *state == chosen)
    };
    std::iter::once(all)
        .chain(OrderState::WORDS.iter().map(one))
        .collect()
}

fn listing(shop: &Shop, typed: &Typed) -> Result<Listing, Refusal> {
    let named = |name, what| match typed.one(name) {
        "" => Ok::<_, Refusal>(None),
        text => id_of(text, what).map(Some),
    };
    let state: Option<OrderState> = match typed.one("state") {
        "" => None,
        word => Some(
            word.parse()
                .map_err(|_| Refusal::NotFound(say("buying-state-of-an-order")))?,
        ),
    };
    let filter = OrderFilter {
        state,
        supplier_id: named("supplier_id", "supplier")?,
        plug_id: named("plug_id", "part")?,
        code: None,
    };
    let mut found = orders::list(shop, &filter, named("before", "order")?, ORDERS + 1)?;
    let rest = found.len() > usize::try_from(ORDERS).unwrap_or_default();
    found.truncate(usize::try_from(ORDERS).unwrap_or_default());
    let more = match found.last().filter(|_| rest) {
        Some(last) => address(typed, last.id),
        None => String::new(),
    };
    Ok(Listing {
        caption: say("buying-orders-the-newest-first").into(),
        columns: vec![
            words("buying-order"),
            words("buying-supplier"),
            words("buying-state"),
            words("buying-expected"),
            figures("buying-plugs"),
            figures("buying-still-missing"),
            figures("buying-cost"),
        ],
        rows: found.iter().map(row).collect(),
        empty: say("buying-there-is-no-such-order"),
        more,
    })
}

/// The address of the orders behind one of them.
fn address(typed: &Typed, last: Uuid) -> String {
    let kept = ["state", "supplier_id", "plug_id"].into_iter();
    let kept = kept.filter(|name| !typed.one(name).is_empty());
    let query: String = kept
        .map(|name| format!("{name}={}&", typed.one(name)))
        .collect();
    format!("/orders?{query}before={last}")
}

fn row(order: &Order) -> Vec<Cell> {
    let plugs: i64 = order.lines.iter().map(|line| line.quantity).sum();
    let missing: i64 = order.lines.iter().map(|line| line.missing).sum();
    let still = match order.state {
        OrderState::Sent | OrderState::PartlyIn => missing.to_string(),
        OrderState::Closed if missing > 0 => {
            say_with("buying-missing-never-came", &[("missing", &missing)])
        }
        _ => String::new(),
    };
    vec![
        Cell::to(format!("/orders/{}", order.id), &order.code),
        Cell::to(format!("/suppliers/{}", order.supplier_id), &order.supplier),
        Cell::of(state_words(order)),
        Cell::of(expected(order)),
        Cell::of(plugs),
        Cell::of(still),
        Cell::of(total(order).unwrap_or_default()),
    ]
}

/// Where an order stands, and since when.
pub(super) fn state_words(order: &Order) -> String {
    match order.state {
        OrderState::Drafted => say("buying-drafted-sent-to-nobody").to_owned(),
        OrderState::Sent | OrderState::PartlyIn | OrderState::Closed | OrderState::Withdrawn => {
            let words = order.state.word().replace('_', " ");
            let since = match order.state {
                OrderState::Sent => order.sent_at,
                OrderState::PartlyIn => None,
                _ => order.closed_at,
            };
            since.map_or(words.clone(), |at| format!("{words} {}", day(at)))
        }
    }
}

/// When it is expected.
pub(super) fn expected(order: &Order) -> String {
    order.expected_on.map_or_else(
        || say("buying-not-said").into(),
        |day| day.format("%-d %b %Y").to_string(),
    )
}

/// What all lines cost, where that is said of each.
pub(super) fn total(order: &Order) -> Option<String> {
    let costs: Option<Vec<_>> = order
        .lines
        .iter()
        .map(|line| line.total_cost.as_ref())
        .collect();
    let costs = costs?;
    let currency = &costs.first()?.currency;
    Some(money(costs.iter().map(|cost| cost.minor).sum(), currency))
}
