//! One statement that a part stands in for another, and where statements lead from there.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::fit::StockMode;
use plugwell_domain::stand_in::StandIn;
use plugwell_domain::words::Role;
use uuid::Uuid;

use crate::pages::answer::{Frame, Reply, made};
use crate::pages::figures::instant;
use crate::pages::listing::{Cell, Listing, words};
use crate::pages::part;
use crate::pages::records::stand_ins::which_way;
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::{say, say_with};
use crate::service::equivalents::{self, Asked, Asserted, Elsewhere, Found, Named, Way};
use crate::service::{Refusal, Shop, stand_ins};
use crate::shown::marked;

/// Equivalents that are looked at for those that statements name.
const LOOKED_AT: usize = 200;

#[derive(Template)]
#[template(path = "records/stand_in.html")]
struct Page {
    frame: Frame,
    stand_in: StandIn,
    way: &'static str,
    at: String,
    /// What statements lead to from the part that is stood in for.
    listing: Listing,
    may_withdraw: bool,
    stored: bool,
}

/// The page at `/stand-ins/{id}`.
pub(super) async fn show(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    let may_withdraw = who.actor.role >= Role::Clerk;
    made(&shop, who.frame, move |shop, frame| {
        let stand_in = stand_ins::get(shop, id(&path)?)?;
        let asked = Asked {
            quantity: 1,
            stock: StockMode::Ignore,
            limit: LOOKED_AT,
        };
        let named = equivalents::of_name(shop, stand_in.data.stands_in_for.clone(), asked)?;
        let page = Page {
            frame,
            way: which_way(stand_in.data.direction),
            at: instant(stand_in.created_at),
            listing: led_to(&named),
            stand_in,
            may_withdraw,
            stored: !typed.one("stored").is_empty(),
        };
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

fn id(text: &str) -> Result<Uuid, Refusal> {
    text.parse().map_err(|_| Refusal::NotFound("statement"))
}

/// Everything that statements lead to, with what the attributes say of it.
fn led_to(named: &Named) -> Listing {
    let mut rows = Vec::new();
    match &named.known {
        Some(Found::Equivalents(found)) => {
            let confirmed = found
                .items
                .iter()
                .filter_map(|item| Some((item, item.way.as_ref()?)));
            rows.extend(confirmed.map(|(item, way)| {
                row(
                    part_cell(&item.fit.plug),
                    say("records-the-attributes-agree"),
                    way,
                )
            }));
            let disagreeing = found.disagreements.iter();
            rows.extend(disagreeing.map(|one| {
                row(
                    part_cell(&one.part.plug),
                    &marked(one.text.clone()),
                    &one.way,
                )
            }));
            rows.extend(found.elsewhere.iter().map(elsewhere));
        }
        Some(Found::Incomplete(found)) => {
            rows.extend(found.asserted.iter().map(asserted));
            rows.extend(found.elsewhere.iter().map(elsewhere));
        }
        None => {
            rows.extend(named.asserted.iter().map(asserted));
            rows.extend(named.elsewhere.iter().map(elsewhere));
        }
    }
    Listing {
        caption: say_with(
            "records-statements-say-stands-name",
            &[("name", &named.name.to_string())],
        ),
        columns: vec![
            words("records-part"),
            words("records-attributes"),
            words("records-by-way-of"),
        ],
        rows,
        empty: say("records-no-statement-leads-another-part"),
        more: String::new(),
    }
}

fn part_cell(plug: &plugwell_domain::plug::Plug) -> Cell {
    Cell::to(format!("/parts/{}", plug.id), part::name(plug))
}

fn asserted(one: &Asserted) -> Vec<Cell> {
    let text = say("records-unknown-part-asked-not-catalogue");
    row(part_cell(&one.part.plug), text, &one.way)
}

fn elsewhere(one: &Elsewhere) -> Vec<Cell> {
    let text = say("records-unknown-catalogue-lacks-part-statements");
    row(Cell::of(&one.name), text, &one.way)
}

fn row(part: Cell, says: &str, way: &Way) -> Vec<Cell> {
    let steps: Vec<String> = way
        .path
        .iter()
        .map(|step| {
            let said = step.hop.statements.iter().map(|s| s.data.who.as_str());
            let said: Vec<&str> = said.collect();
            say_with(
                "records-part-word-said",
                &[
                    ("part", &step.hop.part.to_string()),
                    ("said", &said.join(say("pages-and"))),
                ],
            )
        })
        .collect();
    vec![
        part,
        Cell::of(says),
        Cell::of(steps.join(say("records-from-there"))),
    ]
}

/// Withdraws a statement.
pub(super) async fn withdraw(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    let (who, _) = match sender(&shop, &request, posted, Role::Clerk) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, _| {
        // A statement never changes: there is no version to be stale.
        stand_ins::remove(shop, id(&path)?, |_| Ok(()))?;
        Ok(Reply::Elsewhere("/stand-ins?withdrawn=yes".into()))
    })
    .await
}
