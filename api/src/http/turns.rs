//! How often the stock turned over: JSON, a table, a page, a picture.

use actix_web::{get, web};
use plugwell_domain::decimal::Decimal;
use plugwell_domain::money::decimal;
use plugwell_domain::report::turns::TurnsBy;
use plugwell_domain::wording::counted;
use utoipa::IntoParams;

use crate::drawing::bars::{Bar, Bars, bars};
use crate::drawing::report_sheet::SheetTable;
use crate::http::answer::{Answer, ask, picture};
use crate::http::between::{Between, BetweenQuery};
use crate::http::csv_answer::{ReportForm, Table, report};
use crate::http::etag::IfNoneMatch;
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::http::usage::about;
use crate::service::turns::{self, TurnsLine, TurnsReport, TurnsSum};
use crate::service::{Refusal, Shop};

/// Most bars of a chart.
const BARS: usize = 60;

/// By what turns are summed up.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct TurnsQuery {
    /// `month` where it is not said, or `part`.
    #[param(value_type = Option<TurnsBy>)]
    by: TurnsBy,
}

impl FromQuery for TurnsQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            by: members.word("by").unwrap_or(TurnsBy::Month),
        }
    }
}

impl Table for TurnsReport {
    const NAME: &'static str = "turns";
    const COLUMNS: &'static [&'static str] = &[
        "key",
        "label",
        "cost_out",
        "average_value",
        "currency",
        "turns",
        "days_of_stock",
    ];

    fn rows(&self) -> impl Iterator<Item = Vec<String>> {
        let line = |line: &TurnsLine| row(line.key.clone(), line.label.clone(), &line.sum);
        self.items.iter().map(line)
    }

    fn tables(&self) -> Vec<SheetTable> {
        let mut table = SheetTable::of(Self::COLUMNS, self.rows());
        table.rename("label", self.by.word());
        table.total = self.total();
        vec![table]
    }

    fn title(&self) -> String {
        format!("Turns by {}", self.by)
    }

    fn about(&self) -> String {
        format!("{} Valued by FIFO.", about(&self.stretch))
    }

    fn notes(&self) -> Vec<String> {
        vec![in_short(self), self.text.clone()]
    }

    fn total(&self) -> Option<Vec<String>> {
        Some(row(String::new(), "All".to_owned(), &self.total))
    }

    fn chart(&self) -> Option<String> {
        Some(chart(self))
    }
}

fn row(key: String, label: String, sum: &TurnsSum) -> Vec<String> {
    let (out, average) = (&sum.cost_out, &sum.average_value);
    vec![
        key,
        label,
        decimal(out.minor, &out.currency),
        decimal(average.minor, &average.currency),
        average.currency.clone(),
        sum.turns.map(Decimal::in_full).unwrap_or_default(),
        sum.days_of_stock.map(Decimal::in_full).unwrap_or_default(),
    ]
}

fn in_short(report: &TurnsReport) -> String {
    let sum = &report.total;
    let out = decimal(sum.cost_out.minor, &sum.cost_out.currency);
    let average = &sum.average_value;
    let value = decimal(average.minor, &average.currency);
    let turned = match sum.turns {
        Some(turns) => format!("The stock turned over {} times", turns.in_full()),
        None => "Nothing lay there".to_owned(),
    };
    format!(
        "{turned}: {out} {currency} went out, {value} {currency} lay there on average.",
        currency = average.currency
    )
}

fn chart(report: &TurnsReport) -> String {
    let mut notes = vec![report.about(), in_short(report)];
    // Of a calendar what is latest, of parts what lasts longest.
    let more = report.items.len().saturating_sub(BARS);
    let shown = match report.by {
        TurnsBy::Month => &report.items[more..],
        TurnsBy::Part => &report.items[..report.items.len() - more],
    };
    if more > 0 {
        notes.push(format!(
            "{BARS} of {}.",
            counted(report.items.len(), "line")
        ));
    }
    let bar = |line: &TurnsLine| {
        let turns = line.sum.turns;
        Bar {
            label: line.label.clone(),
            value: turns.map_or(0.0, |turns| turns.get()),
            written: turns.map_or_else(|| "no stock".to_owned(), Decimal::in_full),
        }
    };
    let drawn: Vec<Bar> = shown.iter().map(bar).collect();
    bars(&Bars {
        title: &report.title(),
        notes: &notes,
        unit: "turns",
        bars: &drawn,
    })
}

/// Makes the report that a query asks for.
///
/// # Errors
/// Where the database fails.
pub fn made(shop: &Shop, (between, asked): (Between, TurnsQuery)) -> Result<TurnsReport, Refusal> {
    turns::report(shop, between.0, asked.by)
}

/// Says how often the stock turned over in a period, by month or part, and for how many days it lasts.
#[utoipa::path(
    operation_id = "report_turns", tag = "reports", params(BetweenQuery, TurnsQuery),
    responses(
        (status = 200, description = "The report.", content(
            (TurnsReport = "application/json"), (String = "text/csv"), (String = "text/html")
        )),
        (status = 406, description = "`not_acceptable`.")
    )
)]
#[get("/v1/reports/turns")]
pub async fn report_turns(
    shop: web::Data<Shop>,
    form: ReportForm,
    query: CheckedQuery<(Between, TurnsQuery)>,
) -> Answer {
    let CheckedQuery(asked) = query;
    let made = ask(&shop, move |shop| made(shop, asked));
    report(&shop, form, &made.await?)
}

/// Draws how often the stock turned over in a period.
#[utoipa::path(
    operation_id = "draw_turns", tag = "pictures", params(BetweenQuery, TurnsQuery),
    responses((status = 200, description = "The picture.", body = String, content_type = "image/svg+xml"))
)]
#[get("/v1/reports/turns/chart.svg")]
pub async fn draw_turns(
    shop: web::Data<Shop>,
    query: CheckedQuery<(Between, TurnsQuery)>,
    known: IfNoneMatch,
) -> Answer {
    let CheckedQuery(asked) = query;
    let drawn = ask(&shop, move |shop| {
        Ok::<_, Refusal>(chart(&made(shop, asked)?))
    });
    Ok(picture(drawn.await?, &known))
}
