//! What was thrown away: as JSON, as a table, as a picture.

use actix_web::{get, web};
use plugwell_domain::money::decimal;
use plugwell_domain::valuation::scrap::{ScrapBy, ScrapReport};
use utoipa::IntoParams;

use crate::drawing::scrap;
use crate::http::answer::{Answer, ask, picture};
use crate::http::between::{Between, BetweenQuery};
use crate::http::csv_answer::{ReportForm, Table, report};
use crate::http::etag::IfNoneMatch;
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::service::Shop;
use crate::service::scrap as use_case;

/// By what scrap is summed up.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct ScrapQuery {
    /// By what the lines sum up; by reason where it is not said.
    #[param(value_type = Option<ScrapBy>)]
    by: Option<ScrapBy>,
}

impl FromQuery for ScrapQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            by: members.word("by"),
        }
    }
}

impl ScrapQuery {
    fn by(&self) -> ScrapBy {
        self.by.unwrap_or(ScrapBy::Reason)
    }
}

impl Table for ScrapReport {
    const NAME: &'static str = "scrap";
    const COLUMNS: &'static [&'static str] = &[
        "by",
        "key",
        "label",
        "quantity",
        "cost",
        "currency",
        "quantity_without_cost",
    ];

    fn rows(&self) -> impl Iterator<Item = Vec<String>> {
        self.items.iter().map(|line| {
            let cost = &line.sum.cost;
            vec![
                self.by.to_string(),
                line.key.clone().unwrap_or_default(),
                line.label.clone(),
                line.sum.quantity.to_string(),
                decimal(cost.minor, &cost.currency),
                cost.currency.clone(),
                line.sum.quantity_without_cost.to_string(),
            ]
        })
    }

    fn title(&self) -> String {
        format!("Scrap by {}", self.by)
    }

    fn notes(&self) -> Vec<String> {
        vec![self.drops.text.clone()]
    }

    fn chart(&self) -> Option<String> {
        Some(scrap::scrap(self))
    }
}

/// Sums up what was scrapped in a period, less what was put right in it; what drops cost stands on top.
#[utoipa::path(
    operation_id = "report_scrap", tag = "reports", params(BetweenQuery, ScrapQuery),
    responses(
        (status = 200, description = "The report; its lines as a table, or on a page for print.", content(
            (ScrapReport = "application/json"), (String = "text/csv"), (String = "text/html")
        )),
        (status = 406, description = "`not_acceptable`.")
    )
)]
#[get("/v1/reports/scrap")]
pub async fn report_scrap(
    shop: web::Data<Shop>,
    form: ReportForm,
    asked: CheckedQuery<(Between, ScrapQuery)>,
) -> Answer {
    let CheckedQuery((Between(period), query)) = asked;
    let by = query.by();
    report(
        form,
        &ask(&shop, move |shop| use_case::report(shop, period, by)).await?,
    )
}

/// Draws the same as bars.
#[utoipa::path(
    operation_id = "draw_scrap", tag = "pictures", params(BetweenQuery, ScrapQuery),
    responses((status = 200, description = "The picture.", body = String, content_type = "image/svg+xml"))
)]
#[get("/v1/reports/scrap/chart.svg")]
pub async fn draw_scrap(
    shop: web::Data<Shop>,
    asked: CheckedQuery<(Between, ScrapQuery)>,
    known: IfNoneMatch,
) -> Answer {
    let CheckedQuery((Between(period), query)) = asked;
    let by = query.by();
    let summed = ask(&shop, move |shop| use_case::report(shop, period, by)).await?;
    Ok(picture(scrap::scrap(&summed), &known))
}
