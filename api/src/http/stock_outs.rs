//! When parts were out of stock: JSON, a table, a page.

use actix_web::{get, web};
use plugwell_domain::instant::text;
use plugwell_domain::wording::{agreeing, counted};

use crate::http::answer::{Answer, ask};
use crate::http::between::{Between, BetweenQuery};
use crate::http::csv_answer::{ReportForm, Table, report};
use crate::http::query::CheckedQuery;
use crate::http::usage::about;
use crate::service::stock_outs::{self, StockOutReport};
use crate::service::{Refusal, Shop};

impl Table for StockOutReport {
    const NAME: &'static str = "stock-outs";
    const COLUMNS: &'static [&'static str] =
        &["plug_id", "maker", "part_number", "since", "until", "days"];

    fn rows(&self) -> impl Iterator<Item = Vec<String>> {
        self.items.iter().map(|line| {
            vec![
                line.plug_id.to_string(),
                line.maker.clone(),
                line.part_number.clone(),
                text(&line.since),
                line.until.as_ref().map(text).unwrap_or_default(),
                line.days.in_full(),
            ]
        })
    }

    fn title(&self) -> String {
        "Out of stock".to_owned()
    }

    fn about(&self) -> String {
        about(&self.stretch)
    }

    fn notes(&self) -> Vec<String> {
        let short = format!(
            "{} {} out of stock in this time, {}; {} of them had not come back at its end.",
            counted(self.parts, "part"),
            agreeing(self.parts, "was", "were"),
            counted(self.items.len(), "time"),
            self.still_out
        );
        vec![short, self.text.clone()]
    }
}

/// Makes the report that a query asks for.
///
/// # Errors
/// Where the database fails.
pub fn made(shop: &Shop, Between(period): Between) -> Result<StockOutReport, Refusal> {
    stock_outs::report(shop, period)
}

/// Says when parts were out of stock, and for how long.
#[utoipa::path(
    operation_id = "report_stock_outs", tag = "reports", params(BetweenQuery),
    responses(
        (status = 200, description = "The report.", content(
            (StockOutReport = "application/json"), (String = "text/csv"), (String = "text/html")
        )),
        (status = 406, description = "`not_acceptable`.")
    )
)]
#[get("/v1/reports/stock-outs")]
pub async fn report_stock_outs(
    shop: web::Data<Shop>,
    form: ReportForm,
    query: CheckedQuery<Between>,
) -> Answer {
    let CheckedQuery(between) = query;
    let made = ask(&shop, move |shop| made(shop, between));
    report(&shop, form, &made.await?)
}
