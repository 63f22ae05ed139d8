//! What to order, and the draft orders that are made of it.

use std::sync::Arc;

use actix_web::{get, post, web};
use chrono::{DateTime, Utc};
use plugwell_domain::instant;
use plugwell_domain::money::decimal;
use plugwell_domain::reorder::{LeftOut, OrderChoice, ReorderLine};
use serde::Serialize;
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::drawing::reorder;
use crate::drawing::report_sheet::{CURRENCY, SheetRow, SheetTable};
use crate::http::answer::{Answer, ask, by_accept, page, picture};
use crate::http::body::bodies;
use crate::http::csv_answer::{ReportForm, Table, report};
use crate::http::etag::IfNoneMatch;
use crate::http::once::{booked, kept};
use crate::http::paging::{PageQuery, Paging};
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::http::request::{Id, OnceOnly};
use crate::service::reordering::{self, Asked, LineKey, OrderedProposal, SupplierSum};
use crate::service::stock::By;
use crate::service::{Actor, Shop};
use crate::shown;

bodies!(OrderChoice);

/// Which lines are asked for.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct ReorderQuery {
    /// Only this supplier's, by name, compared case-blind.
    supplier: Option<String>,
    /// Only this part's, whether or not there is anything to order.
    plug_id: Option<Uuid>,
    /// Also lines with nothing to order.
    #[param(default = false)]
    all: Option<bool>,
}

impl FromQuery for ReorderQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            supplier: members.text("supplier"),
            plug_id: members.parsed("plug_id", "a UUID"),
            all: members.flag("all"),
        }
    }
}

/// One page of what to order, with what all pages come to.
#[derive(Debug, Serialize, ToSchema)]
pub struct ReorderPage {
    /// The lines by supplier, maker and part number; those of nobody known last.
    items: Vec<ReorderLine>,
    /// Where the next page starts; null at the end.
    next_cursor: Option<String>,
    /// The instant that the lines were made at: they are kept until something changes that they rest on.
    #[serde(serialize_with = "instant::serialize")]
    as_of: DateTime<Utc>,
    /// What the lines of all pages come to, by supplier, in the order of the lines.
    suppliers: Vec<SupplierSum>,
    /// Parts that are due and cannot be ordered.
    left_out: Vec<LeftOut>,
}

impl Table for ReorderPage {
    const NAME: &'static str = "reorder";
    const COLUMNS: &'static [&'static str] = &[
        "supplier",
        "maker",
        "part_number",
        "order_quantity",
        "packs",
        "pack_size",
        "cost_minor",
        "currency",
        "on_hand",
        "reserved",
        "on_order",
        "position",
        "reorder_point",
        "safety_stock",
        "economic_quantity",
        "class",
        "method",
        "forecast_per_period",
        "demand_sd",
        "lead_time_periods_mean",
        "lead_time_periods_sd",
        "service_level",
        "period",
        "plug_id",
        "text",
        "notes",
    ];

    fn rows(&self) -> impl Iterator<Item = Vec<String>> {
        self.items.iter().map(|line| {
            let notes: Vec<&str> = line.notes.iter().map(|note| note.text.as_str()).collect();
            vec![
                line.supplier.clone().unwrap_or_default(),
                line.maker.clone(),
                line.part_number.clone(),
                line.order_quantity.to_string(),
                line.packs.to_string(),
                line.pack_size.to_string(),
                line.cost.minor.to_string(),
                line.cost.currency.clone(),
                line.on_hand.to_string(),
                line.reserved.to_string(),
                line.on_order.to_string(),
                line.position.to_string(),
                line.reorder_point.to_string(),
                line.safety_stock.to_string(),
                line.economic_quantity.to_string(),
                line.class
                    .map(|class| class.to_string())
                    .unwrap_or_default(),
                line.method.to_string(),
                line.forecast_per_period.to_string(),
                line.demand_sd.to_string(),
                line.lead_time_periods.mean.to_string(),
                line.lead_time_periods.sd.to_string(),
                line.service_level.to_string(),
                line.demand.period.to_string(),
                line.plug_id.to_string(),
                line.text.clone(),
                notes.join(" "),
            ]
        })
    }

    fn title(&self) -> String {
        "What to order".to_owned()
    }

    fn about(&self) -> String {
        format!("As of {}.", shown::instant(self.as_of))
    }

    fn notes(&self) -> Vec<String> {
        // Those for the same reason together, in the order in which reasons first come.
        let mut reasons: Vec<(&str, Vec<String>)> = Vec::new();
        for part in &self.left_out {
            let name = format!("{} {}", part.maker, part.part_number);
            match reasons.iter_mut().find(|(text, _)| *text == part.text) {
                Some((_, parts)) => parts.push(name),
                None => reasons.push((&part.text, vec![name])),
            }
        }
        let told = reasons
            .into_iter()
            .map(|(text, parts)| format!("Left out: {}. {text}", parts.join(", ")));
        told.collect()
    }

    fn tables(&self) -> Vec<SheetTable> {
        let columns = [
            "part",
            "on_hand",
            "reserved",
            "on_order",
            "reorder_point",
            "order_quantity",
            "cost",
            CURRENCY,
        ];
        let mut rows: Vec<SheetRow> = Vec::with_capacity(self.items.len());
        let mut before: Option<&Option<String>> = None;
        for line in &self.items {
            let begins = before.is_none_or(|supplier| !same(supplier, &line.supplier));
            rows.push(SheetRow {
                above: if begins {
                    self.sum_of(line)
                } else {
                    String::new()
                },
                cells: on_paper(line),
                below: sentences(line),
            });
            before = Some(&line.supplier);
        }
        vec![SheetTable {
            rows,
            total: self.in_all(columns.len()),
            ..SheetTable::of(&columns, std::iter::empty())
        }]
    }
}

/// Whether two lines have one supplier: case-blind, as names of suppliers are compared.
fn same(one: &Option<String>, other: &Option<String>) -> bool {
    let key = |name: &Option<String>| name.as_ref().map(|name| name.to_lowercase());
    key(one) == key(other)
}

impl ReorderPage {
    /// What all lines of the line's supplier come to, in words.
    fn sum_of(&self, line: &ReorderLine) -> String {
        let mut sums = self.suppliers.iter();
        let sum = sums.find(|sum| same(&sum.supplier, &line.supplier));
        sum.map(|sum| sum.text.clone()).unwrap_or_default()
    }

    /// What all lines come to, where there are lines.
    fn in_all(&self, columns: usize) -> Option<Vec<String>> {
        let first = self.items.first()?;
        let lines = self.items.iter();
        let (plugs, minor) = lines.fold((0, 0), |(plugs, minor), line| {
            (plugs + line.order_quantity, minor + line.cost.minor)
        });
        let mut cells = vec![String::new(); columns];
        cells[0] = "All".to_owned();
        cells[5] = plugs.to_string();
        cells[6] = decimal(minor, &first.cost.currency);
        Some(cells)
    }
}

fn on_paper(line: &ReorderLine) -> Vec<String> {
    let figures = [
        line.on_hand,
        line.reserved,
        line.on_order,
        line.reorder_point,
        line.order_quantity,
    ];
    let mut cells = vec![format!("{} {}", line.maker, line.part_number)];
    cells.extend(figures.map(|figure| figure.to_string()));
    cells.push(decimal(line.cost.minor, &line.cost.currency));
    cells.push(line.cost.currency.clone());
    cells
}

/// The arithmetic of a line, and what should be known besides.
fn sentences(line: &ReorderLine) -> Vec<String> {
    let notes = line.notes.iter().map(|note| note.text.clone());
    std::iter::once(line.text.clone()).chain(notes).collect()
}

/// Lists what to order, by supplier, every line with all figures that it is made of and with its
/// arithmetic in words; a table of all lines by `Accept: text/csv`
/// or, for print, `text/html`.
///
/// Demand is counted by whole weeks (from Monday) or months (UTC), from the period of a part's first
/// receipt, as far back as the policy looks: issues, and what was scrapped out of bins and quarantine;
/// what comes back to bins is taken off the period in which it went out. Orders count from the draft on,
/// so that nothing is proposed twice.
#[utoipa::path(
    operation_id = "list_reorder", tag = "orders", params(PageQuery, ReorderQuery),
    responses(
        (status = 200, description = "A page of lines.", content(
            (ReorderPage = "application/json"), (String = "text/csv"), (String = "text/html")
        )),
        (status = 406, description = "`not_acceptable`.")
    )
)]
#[get("/v1/reorder")]
pub async fn list_reorder(
    shop: web::Data<Shop>,
    form: ReportForm,
    query: CheckedQuery<(Paging<LineKey>, ReorderQuery)>,
) -> Answer {
    let CheckedQuery((paging, given)) = query;
    let asked = Asked {
        supplier: given.supplier,
        plug_id: given.plug_id,
        all: given.all.unwrap_or(false),
    };
    let mut found = ask(&shop, move |shop| reordering::propose(shop, &asked)).await?;
    if form != ReportForm::Json {
        let all = ReorderPage {
            items: found.lines.into_iter().map(Arc::unwrap_or_clone).collect(),
            next_cursor: None,
            as_of: found.at,
            suppliers: found.suppliers,
            left_out: found.left_out,
        };
        return report(&shop, form, &all);
    }
    if let Some(after) = &paging.after {
        found.lines.retain(|line| reordering::key(line) > *after);
    }
    found
        .lines
        .truncate(usize::try_from(paging.one_more()).unwrap_or_default());
    let (lines, next) = paging.page(found.lines, |line| reordering::key(line));
    let answer = ReorderPage {
        items: (lines.items.into_iter())
            .map(Arc::unwrap_or_clone)
            .collect(),
        next_cursor: lines.next_cursor,
        as_of: found.at,
        suppliers: found.suppliers,
        left_out: found.left_out,
    };
    page(&answer, next).map(by_accept)
}

/// Draws the demand of a part, what is expected of it, and where its stock stands to its reorder point.
#[utoipa::path(
    operation_id = "draw_reorder", tag = "pictures", params(Id),
    responses((status = 200, description = "The picture.", body = String, content_type = "image/svg+xml"))
)]
#[get("/v1/reorder/{id}/chart.svg")]
pub async fn draw_reorder(shop: web::Data<Shop>, id: Id, known: IfNoneMatch) -> Answer {
    let line = ask(&shop, move |shop| reordering::line_of(shop, id.0)).await?;
    Ok(picture(reorder::reorder(&line), &known))
}

/// Makes draft orders of what there is to order, one for each supplier, or of the lines that are
/// chosen; says which parts were left out, and why. Equivalents that lie unsold and do without question
/// hold an order back in the order of the lines, and no plug more than one. 200 where nothing was left to order.
#[utoipa::path(
    operation_id = "order_proposed", tag = "orders", request_body = OrderChoice,
    responses(
        (status = 201, description = "The draft orders.", body = OrderedProposal),
        (status = 200, description = "Nothing was to be ordered.", body = OrderedProposal)
    )
)]
#[post("/v1/reorder/orders")]
pub async fn order_proposed(
    shop: web::Data<Shop>,
    actor: Actor,
    asked: OnceOnly<OrderChoice>,
) -> Answer {
    let OnceOnly { key, body } = asked;
    let done = ask(&shop, move |shop| {
        let policy = shop.policy();
        let run =
            |session: &mut _| reordering::order(shop, session, &By::now(&actor), &policy, &body);
        shop.once(&key, run, |ordered| {
            let first = ordered
                .orders
                .first()
                .map(|order| format!("/v1/orders/{}", order.id));
            kept(if first.is_some() { 201 } else { 200 }, first, ordered)
        })
    });
    Ok(booked(&shop, done.await?))
}
