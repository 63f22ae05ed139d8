//! Purchase orders.

use actix_web::{get, patch, post, web};
use plugwell_domain::order::{Order, OrderData, OrderState};
use plugwell_store::OrderFilter;
use utoipa::IntoParams;
use uuid::Uuid;

use crate::http::answer::{Answer, ask, changed, created, page, patched, record};
use crate::http::body::{Patch, bodies};
use crate::http::etag::{IfMatch, IfNoneMatch};
use crate::http::paging::{Page, PageQuery, Paging};
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::http::request::{Checked, Id, Unread};
use crate::service::{Shop, orders};

bodies!(OrderData);

/// One page of orders.
type OrderPage = Page<Order>;
/// What a PATCH changes of an order.
type OrderPatch = Patch<OrderData>;

/// What a list of orders is narrowed by.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct OrderQuery {
    /// Where they stand.
    state: Option<OrderState>,
    /// Who they go to.
    supplier_id: Option<Uuid>,
    /// A part that one of their lines asks for.
    plug_id: Option<Uuid>,
    /// The code on the printed order: `O` and a running number.
    code: Option<String>,
}

impl FromQuery for OrderQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            state: members.word("state"),
            supplier_id: members.parsed("supplier_id", "a UUID"),
            plug_id: members.parsed("plug_id", "a UUID"),
            code: members.text("code"),
        }
    }
}

/// Lists orders, the newest first.
#[utoipa::path(
    operation_id = "list_orders", tag = "stock", params(PageQuery, OrderQuery),
    responses((status = 200, description = "A page of orders.", body = OrderPage))
)]
#[get("/v1/orders")]
pub async fn list_orders(
    shop: web::Data<Shop>,
    query: CheckedQuery<(Paging<Uuid>, OrderQuery)>,
) -> Answer {
    let CheckedQuery((paging, asked)) = query;
    let filter = OrderFilter {
        state: asked.state,
        supplier_id: asked.supplier_id,
        plug_id: asked.plug_id,
        code: asked.code,
    };
    let (before, limit) = (paging.after, paging.one_more());
    let found = ask(&shop, move |shop| {
        orders::list(shop, &filter, before, limit)
    })
    .await?;
    let (found, next) = paging.page(found, |order| order.id);
    page(&found, next)
}

/// Writes an order: a draft, or sent at once.
#[utoipa::path(
    operation_id = "create_order", tag = "stock", request_body = OrderData,
    responses(
        (status = 201, description = "The order.", body = Order),
        (status = 409, description = "`plug_retired`, `place_retired`, `order_not_sent`, `order_nothing_in`.")
    )
)]
#[post("/v1/orders")]
pub async fn create_order(shop: web::Data<Shop>, body: Checked<OrderData>) -> Answer {
    let made = ask(&shop, move |shop| orders::create(shop, &body.0)).await?;
    let at = format!("/v1/orders/{}", made.id);
    created(&shop, &at, made.version, &made)
}

/// Shows an order with what has come in of each line.
#[utoipa::path(
    operation_id = "get_order", tag = "stock", params(Id),
    responses((status = 200, description = "The order.", body = Order))
)]
#[get("/v1/orders/{id}")]
pub async fn get_order(shop: web::Data<Shop>, id: Id, known: IfNoneMatch) -> Answer {
    let found = ask(&shop, move |shop| orders::get(shop, id.0)).await?;
    record(found.version, &known, &found)
}

/// Changes an order by a JSON merge patch: a draft freely; of what the supplier has, only costs, boxes,
/// dates and notes, and its state: closed short, or withdrawn while nothing has come in.
#[utoipa::path(
    operation_id = "patch_order", tag = "stock", params(Id),
    request_body(content((OrderPatch = "application/json"), (OrderPatch = "application/merge-patch+json"))),
    responses(
        (status = 200, description = "The order as it is now; its lines name what never came.", body = Order),
        (status = 409, description = "`order_withdrawn`, `order_closed`, `order_already_sent`, `order_partly_in`, `order_nothing_in`, `plug_retired`.")
    )
)]
#[patch("/v1/orders/{id}")]
pub async fn patch_order(
    shop: web::Data<Shop>,
    id: Id,
    expected: IfMatch,
    body: Unread<OrderPatch>,
) -> Answer {
    let now = patched(&shop, id, expected, body, orders::get, orders::patch).await?;
    changed(&shop, now.version, &now)
}
