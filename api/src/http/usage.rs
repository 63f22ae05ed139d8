//! What was used: JSON, a table, a page, a picture.

use actix_web::{get, web};
use plugwell_domain::report::usage::UsageBy;
use plugwell_domain::wording::{agreeing, counted};
use utoipa::IntoParams;

use crate::drawing::bars::{Bar, Bars, bars};
use crate::drawing::report_sheet::SheetTable;
use crate::http::answer::{Answer, ask, picture};
use crate::http::between::{Between, BetweenQuery};
use crate::http::csv_answer::{ReportForm, Table, report};
use crate::http::etag::IfNoneMatch;
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::service::usage::{self, Stretch, UsageReport};
use crate::service::{Refusal, Shop};
use crate::shown::{data_end, stretch};

/// Most bars of a chart.
const BARS: usize = 60;

/// By what usage is summed up.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct UsageQuery {
    /// `month` where it is not said.
    #[param(value_type = Option<UsageBy>)]
    by: UsageBy,
}

impl FromQuery for UsageQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            by: members.word("by").unwrap_or(UsageBy::Month),
        }
    }
}

impl Table for UsageReport {
    const NAME: &'static str = "usage";
    const COLUMNS: &'static [&'static str] =
        &["key", "label", "issued", "returned", "scrapped", "used"];

    fn rows(&self) -> impl Iterator<Item = Vec<String>> {
        self.items.iter().map(|line| {
            let used = line.used;
            let plugs = [used.issued, used.returned, used.scrapped, used.used];
            let names = [line.key.clone().unwrap_or_default(), line.label.clone()];
            let cells = names
                .into_iter()
                .chain(plugs.map(|count| count.to_string()));
            cells.collect()
        })
    }

    fn tables(&self) -> Vec<SheetTable> {
        let mut table = SheetTable::of(Self::COLUMNS, self.rows());
        table.rename("label", self.by.word());
        table.total = self.total();
        vec![table]
    }

    fn title(&self) -> String {
        format!("Usage by {}", self.by)
    }

    fn about(&self) -> String {
        about(&self.stretch)
    }

    fn notes(&self) -> Vec<String> {
        vec![in_short(self), self.text.clone()]
    }

    fn total(&self) -> Option<Vec<String>> {
        let plugs = self.total;
        let plugs = [plugs.issued, plugs.returned, plugs.scrapped, plugs.used];
        let names = [String::new(), "All".to_owned()];
        let cells = names
            .into_iter()
            .chain(plugs.map(|count| count.to_string()));
        Some(cells.collect())
    }

    fn chart(&self) -> Option<String> {
        Some(chart(self))
    }
}

/// Of which time a report is, and where there are no data of all of it.
pub fn about(asked: &Stretch) -> String {
    let data = data_end(asked.to, asked.data_to);
    format!("{}{data}", stretch(Some(asked.from), Some(asked.to)))
}

fn in_short(report: &UsageReport) -> String {
    let total = report.total;
    format!(
        "{} {} used: {} issued, {} returned, {} scrapped out of bins.",
        counted(total.used, "plug"),
        agreeing(total.used, "was", "were"),
        total.issued,
        total.returned,
        total.scrapped
    )
}

fn chart(report: &UsageReport) -> String {
    let mut notes = vec![report.about(), in_short(report)];
    // Of a calendar what is latest, of anything else what is most.
    let more = report.items.len().saturating_sub(BARS);
    let shown = match report.by {
        UsageBy::Month | UsageBy::Week => &report.items[more..],
        UsageBy::Part | UsageBy::Job => &report.items[..report.items.len() - more],
    };
    if more > 0 {
        notes.push(format!(
            "{BARS} of {}.",
            counted(report.items.len(), "line")
        ));
    }
    let bar = |line: &usage::UsageLine| Bar {
        label: line.label.clone(),
        value: line.used.used as f64,
        written: line.used.used.to_string(),
    };
    let drawn: Vec<Bar> = shown.iter().map(bar).collect();
    bars(&Bars {
        title: &report.title(),
        notes: &notes,
        unit: "plugs",
        bars: &drawn,
    })
}

/// Makes the report that a query asks for.
///
/// # Errors
/// Where the database fails.
pub fn made(shop: &Shop, (between, asked): (Between, UsageQuery)) -> Result<UsageReport, Refusal> {
    usage::report(shop, between.0, asked.by)
}

/// Says what was used in a period, by month, week, part or job.
#[utoipa::path(
    operation_id = "report_usage", tag = "reports", params(BetweenQuery, UsageQuery),
    responses(
        (status = 200, description = "The report.", content(
            (UsageReport = "application/json"), (String = "text/csv"), (String = "text/html")
        )),
        (status = 406, description = "`not_acceptable`.")
    )
)]
#[get("/v1/reports/usage")]
pub async fn report_usage(
    shop: web::Data<Shop>,
    form: ReportForm,
    query: CheckedQuery<(Between, UsageQuery)>,
) -> Answer {
    let CheckedQuery(asked) = query;
    let made = ask(&shop, move |shop| made(shop, asked));
    report(&shop, form, &made.await?)
}

/// Draws what was used in a period.
#[utoipa::path(
    operation_id = "draw_usage", tag = "pictures", params(BetweenQuery, UsageQuery),
    responses((status = 200, description = "The picture.", body = String, content_type = "image/svg+xml"))
)]
#[get("/v1/reports/usage/chart.svg")]
pub async fn draw_usage(
    shop: web::Data<Shop>,
    query: CheckedQuery<(Between, UsageQuery)>,
    known: IfNoneMatch,
) -> Answer {
    let CheckedQuery(asked) = query;
    let drawn = ask(&shop, move |shop| {
        Ok::<_, Refusal>(chart(&made(shop, asked)?))
    });
    Ok(picture(drawn.await?, &known))
}
