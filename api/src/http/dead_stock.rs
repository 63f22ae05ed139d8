//! What lies dead: JSON, a table, a page.

use actix_web::{get, web};
use plugwell_domain::instant::text;
use plugwell_domain::money::decimal;
use plugwell_domain::wording::{agreeing, counted};
use utoipa::IntoParams;

use crate::drawing::report_sheet::{CURRENCY, SheetTable};
use crate::http::answer::{Answer, ask};
use crate::http::csv_answer::{ReportForm, Table, report};
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::service::dead_stock::{self, DeadStockLine, DeadStockReport};
use crate::service::{Refusal, Shop};
use crate::shown::instant;

/// After how many days stock is called dead.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct DeadStockQuery {
    /// Days without an issue; as the policy has it where it is not said.
    #[param(minimum = 1, maximum = 3650)]
    days: Option<u32>,
}

impl FromQuery for DeadStockQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            days: members.within("days", "a whole number", 1..=3650),
        }
    }
}

impl Table for DeadStockReport {
    const NAME: &'static str = "dead-stock";
    const COLUMNS: &'static [&'static str] = &[
        "plug_id",
        "maker",
        "part_number",
        "on_hand",
        "last_issue_at",
        "received_at",
        "idle_days",
        "quantity_tied_up",
        "value_tied_up",
        "currency",
        "quantity_without_cost",
        "selling_equivalents",
        "selling_equivalent_id",
        "selling_equivalent",
        "selling_equivalent_used",
    ];

    fn rows(&self) -> impl Iterator<Item = Vec<String>> {
        self.items.iter().map(row)
    }

    fn about(&self) -> String {
        format!("As of {}. Valued by FIFO.", instant(self.as_of))
    }

    fn total(&self) -> Option<Vec<String>> {
        let (on_hand, sum) = (self.items.iter().map(|line| line.on_hand), &self.total);
        let mut cells = vec![String::new(); Self::COLUMNS.len()];
        cells[1] = "All".to_owned();
        cells[3] = on_hand.sum::<i64>().to_string();
        cells[7] = sum.quantity.to_string();
        cells[8] = decimal(sum.value.minor, &sum.value.currency);
        cells[10] = sum.quantity_without_cost.to_string();
        Some(cells)
    }

    fn tables(&self) -> Vec<SheetTable> {
        let columns = [
            "plug_id",
            "part",
            "on_hand",
            "last_issue_at",
            "received_at",
            "idle_days",
            "plugs_tied_up",
            "value_tied_up",
            CURRENCY,
            "quantity_without_cost",
            "selling_equivalents",
            "selling_equivalent",
        ];
        let total = |cells: Vec<String>| folded(&cells);
        vec![SheetTable {
            total: self.total().map(total),
            ..SheetTable::of(&columns, self.rows().map(|cells| folded(&cells)))
        }]
    }

    fn notes(&self) -> Vec<String> {
        let total = &self.total;
        let value = decimal(total.value.minor, &total.value.currency);
        let mut short = format!(
            "{} {} dead: {} for {value} {}.",
            counted(self.items.len(), "part"),
            agreeing(self.items.len(), "lies", "lie"),
            counted(total.quantity, "plug"),
            total.value.currency
        );
        if total.quantity_without_cost > 0 {
            short += &format!(
                " Nobody knows what {} of them cost.",
                total.quantity_without_cost
            );
        }
        vec![short, self.text.clone()]
    }
}

/// A line of the file as one of paper: maker and number in one cell, and below the equivalent how many
/// of it were used.
fn folded(cells: &[String]) -> Vec<String> {
    let joined = |one: &str, other: &str, between: &str| match (one, other) {
        (one, "") => one.to_owned(),
        ("", other) => other.to_owned(),
        (one, other) => format!("{one}{between}{other}"),
    };
    let used = match cells[14].as_str() {
        "" => String::new(),
        used => format!("{used} used"),
    };
    let mut folded = vec![cells[0].clone(), joined(&cells[1], &cells[2], " ")];
    folded.extend_from_slice(&cells[3..12]);
    folded.push(joined(&cells[13], &used, "\n"));
    folded
}

fn row(line: &DeadStockLine) -> Vec<String> {
    let tied_up = &line.tied_up;
    let best = line.selling_equivalent.as_ref();
    vec![
        line.plug_id.to_string(),
        line.maker.clone(),
        line.part_number.clone(),
        line.on_hand.to_string(),
        line.last_issue_at.as_ref().map(text).unwrap_or_default(),
        text(&line.received_at),
        line.idle_days.to_string(),
        tied_up.quantity.to_string(),
        decimal(tied_up.value.minor, &tied_up.value.currency),
        tied_up.value.currency.clone(),
        tied_up.quantity_without_cost.to_string(),
        line.selling_equivalents.to_string(),
        best.map(|part| part.plug_id.to_string())
            .unwrap_or_default(),
        best.map(|part| format!("{} {}", part.maker, part.part_number))
            .unwrap_or_default(),
        best.map(|part| part.used.to_string()).unwrap_or_default(),
    ]
}

/// Makes the report that a query asks for.
///
/// # Errors
/// Where database or index fail.
pub fn made(shop: &Shop, asked: DeadStockQuery) -> Result<DeadStockReport, Refusal> {
    dead_stock::report(shop, asked.days)
}

/// Says what lies dead: in stock, and not issued for many days; each with whether a part that does the
/// same is wanted.
#[utoipa::path(
    operation_id = "report_dead_stock", tag = "reports", params(DeadStockQuery),
    responses(
        (status = 200, description = "The report.", content(
            (DeadStockReport = "application/json"), (String = "text/csv"), (String = "text/html")
        )),
        (status = 406, description = "`not_acceptable`.")
    )
)]
#[get("/v1/reports/dead-stock")]
pub async fn report_dead_stock(
    shop: web::Data<Shop>,
    form: ReportForm,
    query: CheckedQuery<DeadStockQuery>,
) -> Answer {
    let CheckedQuery(asked) = query;
    let made = ask(&shop, move |shop| made(shop, asked));
    report(&shop, form, &made.await?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_of_paper_has_the_part_in_one_cell_and_what_sells_in_another() {
        let cells = |best: [&str; 3]| {
            let told = [
                "id",
                "Ferrowick",
                "FW-1",
                "8",
                "",
                "in",
                "200",
                "8",
                "72.00",
                "USD",
                "0",
                "1",
            ];
            let all: Vec<String> = told.iter().chain(&best).map(ToString::to_string).collect();
            assert_eq!(all.len(), DeadStockReport::COLUMNS.len());
            folded(&all)
        };
        let line = cells(["other", "Tarnholt 3", "47"]);
        assert_eq!((line.len(), line[1].as_str()), (12, "Ferrowick FW-1"));
        assert_eq!(line[2..4], ["8", ""], "what is unknown stays in its place");
        assert_eq!(line[11], "Tarnholt 3\n47 used");
        assert_eq!(cells(["", "", ""])[11], "");
    }
}
