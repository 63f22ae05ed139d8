//! What the stock is worth, at a moment or over a period.

use actix_web::{get, web};
use plugwell_domain::fault::FaultCode;
use plugwell_domain::instant::Period;
use plugwell_domain::money::decimal;
use plugwell_domain::valuation::Method;
use serde::Serialize;
use utoipa::openapi::schema::{AnyOfBuilder, Schema};
use utoipa::openapi::{Ref, RefOr};
use utoipa::{IntoParams, PartialSchema, ToSchema};

use crate::drawing::report_sheet::{CURRENCY, SheetTable};
use crate::http::answer::{Answer, ask};
use crate::http::between::{Between, BetweenQuery, Moment, moment};
use crate::http::csv_answer::{ReportForm, Table, report};
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::service::value::{
    StockValue, ValueChange, ValueFlows, ValueFlowsLine, ValuePeriod, as_of, over,
};
use crate::service::{Refusal, Shop, now};
use crate::shown::{data_end, instant, stretch};

/// At which moment, and how plugs that left are valued.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
#[expect(dead_code, reason = "describes the query; read by `Asked`")]
pub struct ValueQuery {
    /// The moment: a day in UTC, at its end, or an instant (RFC 3339); now where it is not said. Not
    /// together with `from` and `to`, which ask for what a period did.
    #[param(
        pattern = "^[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])(T([01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9]([.][0-9]{1,9})?(Z|[+-]([01][0-9]|2[0-3]):[0-5][0-9]))?$"
    )]
    as_of: Option<String>,
    /// `fifo` where it is not said, or `moving_average`.
    #[param(value_type = Option<Method>)]
    method: Option<Method>,
}

/// What is asked for.
#[derive(Debug)]
pub struct Asked {
    when: When,
    method: Method,
}

#[derive(Debug, Clone, Copy)]
enum When {
    At(Option<Moment>),
    Over(Period),
}

impl FromQuery for Asked {
    fn take(members: &mut Members) -> Self {
        let Between(period) = Between::take(members);
        let at = moment(members, "as_of");
        let named = |name: &str| members.given().iter().any(|(given, _)| given == name);
        let over = named("from") || named("to");
        if over && named("as_of") {
            let detail = "ask for a moment or for a period, from and to, not both";
            members.fault("as_of", FaultCode::NotTogether, detail);
        }
        Self {
            when: if over {
                When::Over(period)
            } else {
                When::At(at)
            },
            method: members.word("method").unwrap_or(Method::Fifo),
        }
    }
}

/// What the stock is worth, or what a period did to its worth.
#[derive(Debug, Serialize)]
#[serde(untagged)]
#[expect(
    clippy::large_enum_variant,
    reason = "one is made for each request, and never kept"
)]
pub enum ValueReport {
    /// At a moment.
    At(StockValue),
    /// Over a period.
    Over(ValuePeriod),
}

// Not one of them exactly: what tells them apart is what their lines hold.
impl PartialSchema for ValueReport {
    fn schema() -> RefOr<Schema> {
        AnyOfBuilder::new()
            .item(Ref::from_schema_name(StockValue::name()))
            .item(Ref::from_schema_name(ValuePeriod::name()))
            .description(Some(
                "What the stock is worth, or what a period did to its worth.",
            ))
            .into()
    }
}

impl ToSchema for ValueReport {
    fn schemas(schemas: &mut Vec<(String, RefOr<Schema>)>) {
        schemas.push((StockValue::name().into_owned(), StockValue::schema()));
        StockValue::schemas(schemas);
        schemas.push((ValuePeriod::name().into_owned(), ValuePeriod::schema()));
        ValuePeriod::schemas(schemas);
    }
}

impl Table for StockValue {
    const NAME: &'static str = "value";
    const COLUMNS: &'static [&'static str] = &[
        "plug_id",
        "maker",
        "part_number",
        "quantity",
        "value",
        "currency",
        "quantity_without_cost",
    ];

    fn rows(&self) -> impl Iterator<Item = Vec<String>> {
        self.items.iter().map(|line| {
            vec![
                line.plug_id.to_string(),
                line.maker.clone(),
                line.part_number.clone(),
                line.sum.quantity.to_string(),
                decimal(line.sum.value.minor, &line.sum.value.currency),
                line.sum.value.currency.clone(),
                line.sum.quantity_without_cost.to_string(),
            ]
        })
    }

    fn title(&self) -> String {
        "Value of the stock".to_owned()
    }

    fn about(&self) -> String {
        // Of a day the moment is its last microsecond.
        let behind = self.as_of + chrono::TimeDelta::microseconds(1);
        format!(
            "As of {}. {}.{}",
            instant(behind),
            by(self.method),
            data_end(self.as_of, self.data_to)
        )
    }

    fn total(&self) -> Option<Vec<String>> {
        Some(vec![
            String::new(),
            "All".to_owned(),
            String::new(),
            self.total.quantity.to_string(),
            decimal(self.total.value.minor, &self.total.value.currency),
            String::new(),
            self.total.quantity_without_cost.to_string(),
        ])
    }

    fn notes(&self) -> Vec<String> {
        vec![self.text.clone()]
    }
}

impl Table for ValuePeriod {
    const NAME: &'static str = "value-of-period";
    const COLUMNS: &'static [&'static str] = &[
        "plug_id",
        "maker",
        "part_number",
        "currency",
        "opening_quantity",
        "opening_value",
        "receipts_quantity",
        "receipts_value",
        "issues_quantity",
        "issues_value",
        "returns_quantity",
        "returns_value",
        "scrapped_quantity",
        "scrapped_value",
        "differences_quantity",
        "differences_value",
        "reversals_quantity",
        "reversals_value",
        "closing_quantity",
        "closing_value",
        "closing_quantity_without_cost",
    ];

    fn rows(&self) -> impl Iterator<Item = Vec<String>> {
        self.items.iter().map(|line| {
            let flows = &line.flows;
            let mut row = vec![
                line.plug_id.to_string(),
                line.maker.clone(),
                line.part_number.clone(),
                flows.closing.value.currency.clone(),
            ];
            for change in changes(flows) {
                row.push(change.quantity.to_string());
                row.push(decimal(change.value.minor, &change.value.currency));
            }
            row.push(flows.closing.quantity_without_cost.to_string());
            row
        })
    }

    fn title(&self) -> String {
        "What a period did to the value of the stock".to_owned()
    }

    fn about(&self) -> String {
        let asked = self.to.unwrap_or(self.data_to);
        format!(
            "{} {}.{}",
            stretch(self.from, self.to),
            by(self.method),
            data_end(asked, self.data_to)
        )
    }

    fn notes(&self) -> Vec<String> {
        let how = "Of each flow the value stands above, its plugs below.";
        vec![self.text.clone(), how.to_owned()]
    }

    fn tables(&self) -> Vec<SheetTable> {
        let columns = [
            "plug_id",
            "part",
            CURRENCY,
            "opening",
            "receipts",
            "issues",
            "returns",
            "scrapped",
            "differences",
            "reversals",
            "closing",
            "without_cost",
        ];
        let line = |line: &ValueFlowsLine| {
            let part = format!("{} {}", line.maker, line.part_number);
            folded([line.plug_id.to_string(), part], &line.flows)
        };
        vec![SheetTable {
            total: Some(folded([String::new(), "All".to_owned()], &self.total)),
            ..SheetTable::of(&columns, self.items.iter().map(line))
        }]
    }
}

fn changes(flows: &ValueFlows) -> [&ValueChange; 8] {
    [
        &flows.opening,
        &flows.receipts,
        &flows.issues,
        &flows.returns,
        &flows.scrapped,
        &flows.differences,
        &flows.reversals,
        &flows.closing,
    ]
}

/// Flows as a line of paper: of each the value above its plugs, nothing where nothing flowed.
fn folded([id, name]: [String; 2], flows: &ValueFlows) -> Vec<String> {
    let cell = |change: &ValueChange| match (change.quantity, change.value.minor) {
        (0, 0) => String::new(),
        (plugs, minor) => format!("{}\n{plugs}", decimal(minor, &change.value.currency)),
    };
    let mut cells = vec![id, name, flows.closing.value.currency.clone()];
    cells.extend(changes(flows).map(cell));
    cells.push(flows.closing.quantity_without_cost.to_string());
    cells
}

/// How plugs that left were valued.
fn by(method: Method) -> &'static str {
    match method {
        Method::Fifo => "Valued by FIFO",
        Method::MovingAverage => "Valued by the moving average",
    }
}

/// Makes the report that a query asks for.
///
/// # Errors
/// Where the database fails.
pub fn made(shop: &Shop, Asked { when, method }: Asked) -> Result<ValueReport, Refusal> {
    match when {
        When::At(at) => {
            let at = at.unwrap_or(Moment::Instant(now()));
            let last = at.ends() - chrono::TimeDelta::microseconds(1);
            as_of(shop, last, at.ends(), method).map(ValueReport::At)
        }
        When::Over(period) => over(shop, period, method).map(ValueReport::Over),
    }
}

/// Says what bins and quarantine are worth, as at any moment; with `from` or `to` what a period did.
#[utoipa::path(
    operation_id = "report_value", tag = "reports", params(BetweenQuery, ValueQuery),
    responses(
        (status = 200, description = "The report; its lines as a table, or on a page for print.", content(
            (ValueReport = "application/json"), (String = "text/csv"), (String = "text/html")
        )),
        (status = 406, description = "`not_acceptable`.")
    )
)]
#[get("/v1/reports/value")]
pub async fn report_value(
    shop: web::Data<Shop>,
    form: ReportForm,
    asked: CheckedQuery<Asked>,
) -> Answer {
    let CheckedQuery(asked) = asked;
    match ask(&shop, move |shop| made(shop, asked)).await? {
        ValueReport::At(value) => report(&shop, form, &value),
        ValueReport::Over(period) => report(&shop, form, &period),
    }
}
