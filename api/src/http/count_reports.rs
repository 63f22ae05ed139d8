//! How well books and bins agree: count accuracy over time.

use actix_web::{get, web};
use plugwell_domain::ledger::counting::{AccuracyFigures, AccuracyMonth, CountAccuracy};
use plugwell_domain::money::decimal;

use crate::drawing::count_accuracy::{count_accuracy, told};
use crate::http::answer::{Answer, ask, picture};
use crate::http::between::{Between, BetweenQuery};
use crate::http::csv_answer::{ReportForm, Table, report};
use crate::http::etag::IfNoneMatch;
use crate::http::query::CheckedQuery;
use crate::service::{Refusal, Shop, counts};
use crate::shown::stretch;

impl Table for CountAccuracy {
    const NAME: &'static str = "count-accuracy";
    const COLUMNS: &'static [&'static str] = &[
        "month",
        "counts",
        "lines",
        "exact_lines",
        "exact_share",
        "expected",
        "missing",
        "found",
        "absolute_difference",
        "absolute_cost",
        "net_cost",
        "currency",
        "quantity_without_cost",
        "reversed_lines",
    ];

    fn rows(&self) -> impl Iterator<Item = Vec<String>> {
        let row = |of: &AccuracyMonth| row(of.month.clone(), &of.figures);
        self.months.iter().map(row)
    }

    fn about(&self) -> String {
        let time = stretch(self.from, self.to);
        format!("{time} Counts stand in the month of their approval; costs are those of the lots.")
    }

    fn notes(&self) -> Vec<String> {
        told(&self.total)
    }

    fn total(&self) -> Option<Vec<String>> {
        Some(row("All".to_owned(), &self.total))
    }

    fn chart(&self) -> Option<String> {
        Some(count_accuracy(self))
    }
}

fn row(name: String, figures: &AccuracyFigures) -> Vec<String> {
    let currency = &figures.net_cost.currency;
    let share = figures.exact_share.map(|share| format!("{share:.4}"));
    vec![
        name,
        figures.counts.to_string(),
        figures.lines.to_string(),
        figures.exact_lines.to_string(),
        share.unwrap_or_default(),
        figures.expected.to_string(),
        figures.missing.to_string(),
        figures.found.to_string(),
        figures.absolute_difference.to_string(),
        decimal(figures.absolute_cost.minor, currency),
        decimal(figures.net_cost.minor, currency),
        currency.clone(),
        figures.quantity_without_cost.to_string(),
        figures.reversed_lines.to_string(),
    ]
}

/// Makes the report that a query asks for.
///
/// # Errors
/// Where the database fails.
pub fn made(shop: &Shop, Between(period): Between) -> Result<CountAccuracy, Refusal> {
    counts::accuracy_of(shop, period)
}

/// Reports by months (UTC) how many counted lines had no difference, and what the others differed by.
#[utoipa::path(
    operation_id = "report_count_accuracy", tag = "reports", params(BetweenQuery),
    responses(
        (status = 200, description = "The report; as a table its months.", content(
            (CountAccuracy = "application/json"), (String = "text/csv"), (String = "text/html")
        )),
        (status = 406, description = "`not_acceptable`.")
    )
)]
#[get("/v1/reports/count-accuracy")]
pub async fn report_count_accuracy(
    shop: web::Data<Shop>,
    CheckedQuery(asked): CheckedQuery<Between>,
    form: ReportForm,
) -> Answer {
    let found = ask(&shop, move |shop| made(shop, asked)).await?;
    report(&shop, form, &found)
}

/// Draws the same.
#[utoipa::path(
    operation_id = "draw_count_accuracy", tag = "reports", params(BetweenQuery),
    responses((status = 200, description = "The picture.", body = String, content_type = "image/svg+xml"))
)]
#[get("/v1/reports/count-accuracy/chart.svg")]
pub async fn draw_count_accuracy(
    shop: web::Data<Shop>,
    CheckedQuery(asked): CheckedQuery<Between>,
    known: IfNoneMatch,
) -> Answer {
    let found = ask(&shop, move |shop| made(shop, asked)).await?;
    Ok(picture(count_accuracy(&found), &known))
}
