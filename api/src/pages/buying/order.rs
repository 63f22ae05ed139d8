//! One order: its lines, what came in of them, the next step, and the sheet that is sent.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::ledger::{Movement, MovementKind};
use plugwell_domain::order::{Order, OrderLine, OrderState};
use plugwell_domain::words::{NotInList, Role};
use serde_json::{Map, json};
use uuid::Uuid;

use super::order_written::seen;
use super::orders::{expected, state_words, total};
use super::{cost, id_of, part_name};
use crate::drawing::order_sheet::{self, OrderPaper, Ordered, order_sheet};
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::counter::booked::verb;
use crate::pages::figures::{instant, money};
use crate::pages::listing::{Cell, Listing, figures, words};
use crate::pages::once::{leading_to, once};
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::{say, say_with};
use crate::service::{Actor, Refusal, Shop, new_id, orders, stock_lists, suppliers};

#[derive(Template)]
#[template(path = "buying/order.html")]
struct Page {
    frame: Frame,
    order: Order,
    /// What was just done to it; empty where one only looks.
    done: &'static str,
    again: bool,
    /// Why nothing was done; empty where nothing was refused.
    refused: String,
    state: String,
    expected: String,
    total: String,
    lines: Listing,
    /// What can be done next: the state, the button, what it means.
    steps: Vec<(OrderState, &'static str, String)>,
    /// Makes a step that is sent twice the same.
    once: Uuid,
    may_order: bool,
    /// Whether parts and quantities can be changed.
    is_draft: bool,
    /// Whether anything can be changed.
    is_open: bool,
    deliveries: Listing,
}

/// The page at `/orders/{id}`.
pub(super) async fn show(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let (id, typed) = (path.into_inner(), Typed::of_query(request.query_string()));
    made(&shop, who.frame, move |shop, frame| {
        let page = page(shop, frame, id_of(&id, "order")?, &typed, String::new())?;
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

fn page(
    shop: &Shop,
    frame: Frame,
    id: Uuid,
    typed: &Typed,
    refused: String,
) -> Result<Page, Refusal> {
    let order = orders::get(shop, id)?;
    let may = frame.may(Role::Clerk);
    let is_open = matches!(
        order.state,
        OrderState::Drafted | OrderState::Sent | OrderState::PartlyIn
    );
    let done = match typed.one("done") {
        _ if !typed.one("made").is_empty() => say("buying-drafted"),
        "drafted" => say("buying-drafted"),
        "changed" => say("buying-changed"),
        "sent" => say("buying-sent"),
        "withdrawn" => say("buying-withdrawn"),
        "closed" => say("buying-closed"),
        _ => "",
    };
    Ok(Page {
        frame,
        done,
        again: !typed.one("again").is_empty(),
        refused,
        state: state_words(&order),
        expected: expected(&order),
        total: total(&order).unwrap_or_else(|| say("buying-not-said-of-every-line").into()),
        lines: lines(shop, &order, may && is_open)?,
        steps: if may { steps(&order) } else { Vec::new() },
        once: typed.one("once").parse().unwrap_or_else(|_| new_id()),
        may_order: may,
        is_draft: order.state == OrderState::Drafted,
        is_open,
        deliveries: deliveries(shop, &order)?,
        order,
    })
}

fn lines(shop: &Shop, order: &Order, may_change: bool) -> Result<Listing, Refusal> {
    let is_coming = matches!(order.state, OrderState::Sent | OrderState::PartlyIn);
    let mut columns = vec![words("buying-part"), figures("buying-ordered")];
    if order.state != OrderState::Drafted {
        columns.extend([
            figures("buying-in"),
            figures("buying-missing"),
            figures("buying-over"),
        ]);
    }
    columns.extend([figures("buying-cost"), figures("buying-in-a-box")]);
    if may_change {
        columns.push(words("buying-line"));
    }
    if may_change && is_coming {
        columns.push(words("buying-at-the-door"));
    }
    let row = |line: &OrderLine| {
        let mut cells = vec![
            Cell::to(
                format!("/parts/{}", line.plug_id),
                part_name(shop, line.plug_id)?,
            ),
            Cell::of(line.quantity),
        ];
        if order.state != OrderState::Drafted {
            let never = match order.state {
                OrderState::Closed | OrderState::Withdrawn if line.missing > 0 => {
                    say("buying-never-came")
                }
                _ => "",
            };
            cells.push(Cell::of(line.received));
            cells.push(Cell::of(line.missing).noted(never));
            cells.push(Cell::of(line.too_many));
        }
        cells.push(Cell::of(cost(line.total_cost.as_ref())).noted(each(line)));
        cells.push(Cell::of(
            line.pack_size.map_or_else(String::new, |n| n.to_string()),
        ));
        if may_change {
            cells.push(Cell::to(
                format!("/orders/{}/lines/{}", order.id, line.id),
                say("buying-change"),
            ));
        }
        if may_change && is_coming {
            let path = format!(
                "/receive?plug_id={}&order_line_id={}",
                line.plug_id, line.id
            );
            let words = match line.missing {
                0 => say("buying-receive-more"),
                _ => say("buying-receive"),
            };
            cells.push(Cell::to(path, words));
        }
        Ok::<_, Refusal>(cells)
    };
    Ok(Listing {
        caption: say_with("buying-lines-of-code", &[("code", &order.code)]),
        columns,
        rows: order.lines.iter().map(row).collect::<Result<_, _>>()?,
        empty: say("buying-the-order-has-no-line"),
        ..Listing::default()
    })
}

/// What a plug of a line costs, where that comes out even.
fn each(line: &OrderLine) -> String {
    let each = line
        .total_cost
        .as_ref()
        .filter(|cost| line.quantity > 0 && cost.minor % line.quantity == 0);
    each.map_or_else(String::new, |cost| {
        say_with(
            "buying-cost-each",
            &[("cost", &money(cost.minor / line.quantity, &cost.currency))],
        )
    })
}

/// What can be done by hand; that something came in is told by receipts alone.
fn steps(order: &Order) -> Vec<(OrderState, &'static str, String)> {
    let withdraw = |text: &str| {
        (
            OrderState::Withdrawn,
            say("buying-withdraw"),
            text.to_owned(),
        )
    };
    match order.state {
        OrderState::Drafted => vec![
            (
                OrderState::Sent,
                say("buying-note-as-sent"),
                say("buying-supplier-has-parts-quantities-stand").to_owned(),
            ),
            withdraw(say("buying-nobody-asked-anything-stays-list")),
        ],
        OrderState::Sent => vec![withdraw(say("buying-you-have-called-off-supplier"))],
        OrderState::PartlyIn => {
            let missing: i64 = order.lines.iter().map(|line| line.missing).sum();
            let text = say_with(
                "buying-nobody-waits-rest-any-more",
                &[("missing", &missing)],
            );
            vec![(OrderState::Closed, say("buying-close-it-short"), text)]
        }
        OrderState::Closed | OrderState::Withdrawn => Vec::new(),
    }
}

fn deliveries(shop: &Shop, order: &Order) -> Result<Listing, Refusal> {
    let row = |movement: &Movement| {
        let lot = stock_lists::lot(shop, movement.lot_id)?;
        let bin = match movement.kind {
            MovementKind::Receipt => movement.to_place_id,
            _ => movement.from_place_id,
        };
        Ok::<_, Refusal>(vec![
            Cell::of(instant(movement.created_at)),
            Cell::of(verb(movement.kind)),
            Cell::of(movement.quantity),
            Cell::of(part_name(shop, movement.plug_id)?),
            Cell::to(format!("/lots/{}", lot.id), &lot.code),
            Cell::to(
                format!("/places/{bin}"),
                stock_lists::place(shop, bin)?.name,
            ),
            Cell::of(&movement.actor),
        ])
    };
    let found = orders::deliveries(shop, order.id)?;
    Ok(Listing {
        caption: say_with("buying-deliveries-for-code", &[("code", &order.code)]),
        columns: vec![
            words("buying-when"),
            words("buying-what"),
            figures("buying-plugs"),
            words("buying-part"),
            words("buying-lot"),
            words("buying-place"),
            words("buying-by"),
        ],
        rows: found.iter().map(row).collect::<Result<_, _>>()?,
        empty: say("buying-nothing-has-come-in-yet"),
        ..Listing::default()
    })
}

/// Takes an order a step further, once.
pub(super) async fn step(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Clerk) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    let id = path.into_inner();
    made(&shop, who.frame, move |shop, frame| {
        let id = id_of(&id, "order")?;
        let refused = match stepped(shop, &who.actor, id, &typed) {
            Ok(there) => return Ok(Reply::Elsewhere(there)),
            Err(Refusal::Stale) => {
                let text = say("buying-order-changed-while-you-looked");
                text.to_owned()
            }
            Err(Refusal::Conflict { detail, .. }) => {
                say_with("buying-nothing-was-done-detail", &[("detail", &detail)])
            }
            Err(other) => return Err(other),
        };
        let page = page(shop, frame, id, &Typed::default(), refused)?;
        Reply::page(StatusCode::CONFLICT, &page)
    })
    .await
}

fn stepped(shop: &Shop, actor: &Actor, id: Uuid, typed: &Typed) -> Result<String, Refusal> {
    let state: OrderState = typed
        .one("state")
        .parse()
        .map_err(|_| Refusal::NotFound(say("buying-state-of-an-order")))?;
    let version = typed.one("version").parse::<i64>();
    let expected = |now: i64| match &version {
        Ok(seen) if *seen == now => Ok(()),
        _ => Err(Refusal::Stale),
    };
    let patch = Map::from_iter([("state".to_owned(), json!(state.word()))]);
    let policy = shop.policy();
    once(actor, &format!("/orders/{id}/state"), typed, |key| {
        let run = |session: &mut _| {
            let order = orders::change(session, &policy, id, &expected, &patch)?;
            Ok((order, Vec::new()))
        };
        let kept = |order: &Order| leading_to(seen(order.id, state.word()));
        shop.once(key, run, kept).map(|done| done.stored)
    })
}

/// The sheet at `/orders/{id}/print`, on the paper that the query names.
pub(super) async fn print(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let (id, typed) = (path.into_inner(), Typed::of_query(request.query_string()));
    made(&shop, who.frame, move |shop, _| {
        let order = orders::get(shop, id_of(&id, "order")?)?;
        let paper = match typed.one("paper") {
            "" => OrderPaper::A4,
            word => word.parse().map_err(|e: NotInList| {
                let code = plugwell_domain::fault::FaultCode::NotInList;
                Refusal::fault(plugwell_domain::fault::Fault::at(
                    "paper",
                    code,
                    e.to_string(),
                ))
            })?,
        };
        let name = |line: &OrderLine| part_name(shop, line.plug_id);
        let sheet = Ordered {
            parts: order.lines.iter().map(name).collect::<Result<_, _>>()?,
            contact: suppliers::get(shop, order.supplier_id)?.data.contact,
            total: total(&order),
            order: &order,
        };
        let html = order_sheet(&sheet, paper)
            .map_err(|e| Refusal::Fault(format!("an order cannot be written: {e}")))?;
        Ok(Reply::Sheet(html, order_sheet::STYLE))
    })
    .await
}
