//! Lots, and what each has in every place.

use actix_web::{get, web};
use plugwell_domain::ledger::{Condition, Level, Lot, PlaceKind};
use plugwell_store::{LevelFilter, LotFilter};
use utoipa::IntoParams;
use uuid::Uuid;

use crate::http::answer::{Answer, ask, page, record};
use crate::http::etag::IfNoneMatch;
use crate::http::paging::{Page, PageQuery, Paging};
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::http::request::Id;
use crate::service::{Shop, stock_lists};

/// One page of lots.
type LotPage = Page<Lot>;
/// One page of levels.
type LevelPage = Page<Level>;

/// What a list of lots is narrowed by.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct LotQuery {
    /// The part.
    plug_id: Option<Uuid>,
    /// The code on the label: `L` and a running number.
    code: Option<String>,
    /// The condition.
    condition: Option<Condition>,
}

impl FromQuery for LotQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            plug_id: members.parsed("plug_id", "a UUID"),
            code: members.text("code"),
            condition: members.word("condition"),
        }
    }
}

/// Lists lots in the order they came.
#[utoipa::path(
    operation_id = "list_lots", tag = "stock", params(PageQuery, LotQuery),
    responses((status = 200, description = "A page of lots.", body = LotPage))
)]
#[get("/v1/stock/lots")]
pub async fn list_lots(
    shop: web::Data<Shop>,
    query: CheckedQuery<(Paging<Uuid>, LotQuery)>,
) -> Answer {
    let CheckedQuery((
        paging,
        LotQuery {
            plug_id,
            code,
            condition,
        },
    )) = query;
    let filter = LotFilter {
        plug_id,
        code,
        condition,
    };
    let (after, limit) = (paging.after, paging.one_more());
    let found = ask(&shop, move |shop| {
        stock_lists::lots(shop, &filter, after, limit)
    })
    .await?;
    let (found, next) = paging.page(found, |lot| lot.id);
    page(&found, next)
}

/// Shows a lot; it never changes, only its levels do.
#[utoipa::path(
    operation_id = "get_lot", tag = "stock", params(Id),
    responses((status = 200, description = "The lot.", body = Lot))
)]
#[get("/v1/stock/lots/{id}")]
pub async fn get_lot(shop: web::Data<Shop>, id: Id, known: IfNoneMatch) -> Answer {
    record(
        1,
        &known,
        &ask(&shop, move |shop| stock_lists::lot(shop, id.0)).await?,
    )
}

/// What a list of levels is narrowed by.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct LevelQuery {
    /// The part.
    plug_id: Option<Uuid>,
    /// The lot.
    lot_id: Option<Uuid>,
    /// The place.
    place_id: Option<Uuid>,
    /// The kind of place.
    kind: Option<PlaceKind>,
}

impl FromQuery for LevelQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            plug_id: members.parsed("plug_id", "a UUID"),
            lot_id: members.parsed("lot_id", "a UUID"),
            place_id: members.parsed("place_id", "a UUID"),
            kind: members.word("kind"),
        }
    }
}

/// Lists what lots have in places; what is empty is left out.
#[utoipa::path(
    operation_id = "list_levels", tag = "stock", params(PageQuery, LevelQuery),
    responses((status = 200, description = "A page of levels.", body = LevelPage))
)]
#[get("/v1/stock/levels")]
pub async fn list_levels(
    shop: web::Data<Shop>,
    query: CheckedQuery<(Paging<(Uuid, Uuid)>, LevelQuery)>,
) -> Answer {
    let CheckedQuery((
        paging,
        LevelQuery {
            plug_id,
            lot_id,
            place_id,
            kind,
        },
    )) = query;
    let filter = LevelFilter {
        plug_id,
        lot_id,
        place_id,
        kind,
    };
    let (after, limit) = (paging.after, paging.one_more());
    let found = ask(&shop, move |shop| {
        stock_lists::levels(shop, &filter, after, limit)
    })
    .await?;
    let (found, next) = paging.page(found, |level| (level.lot_id, level.place_id));
    page(&found, next)
}
