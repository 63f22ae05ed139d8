//! What was thrown away: as JSON, as a table, as a picture.

use actix_web::{get, web};
use plugwell_domain::instant::text;
use plugwell_domain::money::decimal;
use plugwell_domain::valuation::scrap::{ScrapBy, ScrapLine, ScrapReport, ScrapReversal, ScrapSum};
use utoipa::IntoParams;

use crate::drawing::report_sheet::SheetTable;
use crate::drawing::scrap;
use crate::http::answer::{Answer, ask, picture};
use crate::http::between::{Between, BetweenQuery};
use crate::http::csv_answer::{ReportForm, Table, report};
use crate::http::etag::IfNoneMatch;
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::service::scrap as use_case;
use crate::service::{Refusal, Shop};
use crate::shown::stretch;

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
        "from",
        "to",
        "at",
        "who",
        "why",
    ];

    fn rows(&self) -> impl Iterator<Item = Vec<String>> {
        let line = |line: &ScrapLine| {
            let by = self.by.to_string();
            let key = line.key.clone().unwrap_or_default();
            row(
                self,
                [by, key, line.label.clone()],
                &line.sum,
                Default::default(),
            )
        };
        let back = |back: &ScrapReversal| {
            let what = format!("{}, {}", back.part, back.reason.replace('_', " "));
            let names = ["reversal".to_owned(), back.movement_id.to_string(), what];
            let told = [text(&back.at), back.who.clone(), back.why.clone()];
            row(self, names, &back.sum, told)
        };
        let total = ["total".to_owned(), String::new(), "total".to_owned()];
        let total = row(self, total, &self.total, Default::default());
        let lines = self.items.iter().map(line);
        let lines = lines.chain(self.reversals.iter().map(back));
        lines.chain(std::iter::once(total))
    }

    fn title(&self) -> String {
        format!("Scrap by {}", self.by)
    }

    fn about(&self) -> String {
        format!("{} Costs are by FIFO.", stretch(self.from, self.to))
    }

    fn notes(&self) -> Vec<String> {
        let mut notes = vec![self.drops.text.clone()];
        if !self.reversals.is_empty() {
            notes.push("The lines are less by what was put right in this time.".to_owned());
        }
        notes
    }

    fn tables(&self) -> Vec<SheetTable> {
        let names = [
            "key",
            self.by.word(),
            "quantity",
            "cost",
            "currency",
            "without_cost",
        ];
        let line = |line: &ScrapLine| {
            let key = line.key.clone().unwrap_or_default();
            on_paper([key, line.label.clone()], &line.sum)
        };
        let lines = SheetTable {
            total: Some(on_paper([String::new(), "All".to_owned()], &self.total)),
            ..SheetTable::of(&names, self.items.iter().map(line))
        };
        let names = [
            "at", "part", "reason", "quantity", "cost", "currency", "who", "why",
        ];
        let back = |back: &ScrapReversal| {
            let [quantity, cost, currency, _] = figures(&back.sum);
            let (part, reason) = (back.part.clone(), back.reason.replace('_', " "));
            let (who, why) = (back.who.clone(), back.why.clone());
            vec![
                text(&back.at),
                part,
                reason,
                quantity,
                cost,
                currency,
                who,
                why,
            ]
        };
        let reversals = SheetTable {
            heading: "Put right in this time".to_owned(),
            ..SheetTable::of(&names, self.reversals.iter().map(back))
        };
        vec![lines, reversals]
    }

    fn chart(&self) -> Option<String> {
        Some(scrap::scrap(self))
    }
}

/// A row of the file: its names, its figures, the period, and of what was put right when, who and why.
fn row(
    report: &ScrapReport,
    names: [String; 3],
    sum: &ScrapSum,
    put_right: [String; 3],
) -> Vec<String> {
    let period = [report.from, report.to].map(|at| at.as_ref().map(text).unwrap_or_default());
    let cells = names.into_iter().chain(figures(sum));
    cells.chain(period).chain(put_right).collect()
}

/// Plugs, what they had cost, in which currency, and of how many nobody knows it.
fn figures(sum: &ScrapSum) -> [String; 4] {
    let cost = &sum.cost;
    [
        sum.quantity.to_string(),
        decimal(cost.minor, &cost.currency),
        cost.currency.clone(),
        sum.quantity_without_cost.to_string(),
    ]
}

fn on_paper(names: [String; 2], sum: &ScrapSum) -> Vec<String> {
    names.into_iter().chain(figures(sum)).collect()
}

/// Makes the report that a query asks for.
///
/// # Errors
/// Where the database fails.
pub fn made(
    shop: &Shop,
    (Between(period), query): (Between, ScrapQuery),
) -> Result<ScrapReport, Refusal> {
    use_case::report(shop, period, query.by())
}

/// Sums up what was scrapped in a period, less what was put right in it; what drops cost stands on top.
///
/// In a table `by` says what a row is: besides the lines each scrapping that was put right (`reversal`),
/// as it was scrapped, and what the lines come to (`total`).
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
    let CheckedQuery(asked) = asked;
    report(
        &shop,
        form,
        &ask(&shop, move |shop| made(shop, asked)).await?,
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
    let CheckedQuery(asked) = asked;
    let summed = ask(&shop, move |shop| made(shop, asked)).await?;
    Ok(picture(scrap::scrap(&summed), &known))
}
