//! The reports: what each is called, what is asked for it, how it is made, and the figure that the
//! overview shows of it.

use plugwell_domain::ledger::counting::CountAccuracy;
use plugwell_domain::report::life::LotLife;
use plugwell_domain::report::turns::TurnsBy;
use plugwell_domain::report::usage::UsageBy;
use plugwell_domain::valuation::Method;
use plugwell_domain::valuation::scrap::{ScrapBy, ScrapReport};
use plugwell_domain::wording::counted;
use plugwell_store::LotFilter;

use crate::http::csv_answer::{Spoken, Table, lines_of};
use crate::http::query::{FromQuery, Members};
use crate::http::{
    count_reports, dead_stock, scrap_report, stock_outs, turns, usage, value_report,
};
use crate::pages::figures::money;
use crate::pages::form::{Declared, Form, field, needed};
use crate::service::dead_stock::DeadStockReport;
use crate::service::stock_outs::StockOutReport;
use crate::service::turns::TurnsReport;
use crate::service::usage::UsageReport;
use crate::service::{Refusal, Shop, lot_life, stock_lists};
use crate::shown::short;

/// A report.
pub(super) struct Kind {
    /// Its place below `/reports/`.
    pub name: &'static str,
    /// What it is called in the overview.
    pub words: &'static str,
    /// What it tells.
    pub tells: &'static str,
    /// What is asked for it.
    pub fields: &'static [Declared],
    /// Makes it from a query.
    pub make: fn(&Shop, &str) -> Result<Told, Refusal>,
}

/// A report that was made.
pub(super) struct Told {
    /// What it says.
    pub spoken: Spoken,
    /// Its lines as a file.
    pub lines: Vec<u8>,
    /// The one figure that stands for it, and a word more.
    pub figure: (String, String),
}

const FROM: Declared = field("from", "From", Form::Day, "the beginning, where left open");
const TO: Declared = field("to", "To", Form::Day, "that day is still within it");

/// All of them, in the order of the overview.
pub(super) const KINDS: &[Kind] = &[
    Kind {
        name: "scrap",
        words: "Scrap",
        tells: "What was thrown away, why, and what it had cost.",
        fields: &[
            FROM,
            TO,
            field(
                "by",
                "Summed up by",
                Form::One(ScrapBy::WORDS),
                "the reason, where left open",
            ),
        ],
        make: |shop, query| told(query, |asked| scrap_report::made(shop, asked), scrapped),
    },
    Kind {
        name: "value",
        words: "Value of the stock",
        tells: "What bins and quarantine are worth, at a moment, or what a period did to it.",
        fields: &[
            field("as_of", "As of", Form::Day, "at the end of that day"),
            field("from", "Or from", Form::Day, "what a period did"),
            TO,
            field(
                "method",
                "Valued by",
                Form::One(Method::WORDS),
                "FIFO, where left open",
            ),
        ],
        make: worth,
    },
    Kind {
        name: "usage",
        words: "Usage",
        tells: "What went out and did not come back.",
        fields: &[
            FROM,
            TO,
            field(
                "by",
                "Summed up by",
                Form::One(UsageBy::WORDS),
                "the month, where left open",
            ),
        ],
        make: |shop, query| told(query, |asked| usage::made(shop, asked), used),
    },
    Kind {
        name: "dead-stock",
        words: "Dead stock",
        tells: "What nobody has taken for a long time, and what does the same and sells.",
        fields: &[field(
            "days",
            "Days without an issue",
            Form::Counted("days"),
            "as the policy has it, where left open",
        )],
        make: |shop, query| told(query, |asked| dead_stock::made(shop, asked), dead),
    },
    Kind {
        name: "stock-outs",
        words: "Out of stock",
        tells: "Which parts the shelf had run out of, and for how long.",
        fields: &[FROM, TO],
        make: |shop, query| told(query, |asked| stock_outs::made(shop, asked), out),
    },
    Kind {
        name: "turns",
        words: "Turns",
        tells: "How often the stock turned over.",
        fields: &[
            FROM,
            TO,
            field(
                "by",
                "Summed up by",
                Form::One(TurnsBy::WORDS),
                "the month, where left open",
            ),
        ],
        make: |shop, query| told(query, |asked| turns::made(shop, asked), turned),
    },
    Kind {
        name: "count-accuracy",
        words: "Count accuracy",
        tells: "How well books and bins agreed when somebody counted.",
        fields: &[FROM, TO],
        make: |shop, query| told(query, |asked| count_reports::made(shop, asked), agreed),
    },
    Kind {
        name: "lot-life",
        words: "The life of a lot",
        tells: "Where every plug of a lot has been, from the supplier to an engine or the drum.",
        fields: &[needed(field(
            "lot",
            "Lot",
            Form::Words,
            "the code on its label: L and a number",
        ))],
        make: |shop, query| told(query, |asked| life(shop, &asked), |_| Default::default()),
    },
];

/// The report at a place below `/reports/`.
///
/// # Errors
/// `NotFound`.
pub(super) fn kind(name: &str) -> Result<&'static Kind, Refusal> {
    let found = KINDS.iter().find(|kind| kind.name == name);
    found.ok_or(Refusal::NotFound("report"))
}

/// Makes a report from a query that is checked as over HTTP.
fn told<Q: FromQuery, T: Table>(
    query: &str,
    make: impl FnOnce(Q) -> Result<T, Refusal>,
    figure: impl FnOnce(&T) -> (String, String),
) -> Result<Told, Refusal> {
    let mut members = Members::of("", query);
    let asked = Q::take(&mut members);
    let faults = members.faults();
    if !faults.is_empty() {
        return Err(Refusal::Faults(faults));
    }
    written(&make(asked)?, figure)
}

fn written<T: Table>(
    report: &T,
    figure: impl FnOnce(&T) -> (String, String),
) -> Result<Told, Refusal> {
    Ok(Told {
        spoken: Spoken::of(report),
        lines: lines_of(report).map_err(Refusal::Fault)?,
        figure: figure(report),
    })
}

fn scrapped(report: &ScrapReport) -> (String, String) {
    let total = &report.total;
    (
        counted(total.quantity, "plug"),
        money(total.cost.minor, &total.cost.currency),
    )
}

fn worth(shop: &Shop, query: &str) -> Result<Told, Refusal> {
    let mut members = Members::of("", query);
    let asked = value_report::Asked::take(&mut members);
    let faults = members.faults();
    if !faults.is_empty() {
        return Err(Refusal::Faults(faults));
    }
    match value_report::made(shop, asked)? {
        value_report::ValueReport::At(value) => written(&value, |value| {
            let worth = &value.total.value;
            (
                money(worth.minor, &worth.currency),
                counted(value.total.quantity, "plug"),
            )
        }),
        value_report::ValueReport::Over(period) => written(&period, |period| {
            let closing = &period.total.closing.value;
            (money(closing.minor, &closing.currency), "at the end".into())
        }),
    }
}

fn used(report: &UsageReport) -> (String, String) {
    (
        counted(report.total.used, "plug"),
        counted(report.total.issued, "plug") + " issued",
    )
}

fn dead(report: &DeadStockReport) -> (String, String) {
    let value = &report.total.value;
    (
        counted(report.items.len(), "part"),
        money(value.minor, &value.currency),
    )
}

fn out(report: &StockOutReport) -> (String, String) {
    let still = match report.still_out {
        0 => "all back since".to_owned(),
        parts => format!("{} still out", counted(parts, "part")),
    };
    (counted(report.parts, "part"), still)
}

fn turned(report: &TurnsReport) -> (String, String) {
    let days = report.total.days_of_stock;
    let days = days.map(|days| format!("{} days of stock", short(days.get())));
    match report.total.turns {
        Some(turns) => (
            format!("{} times", short(turns.get())),
            days.unwrap_or_default(),
        ),
        None => ("nothing lay there".into(), String::new()),
    }
}

fn agreed(report: &CountAccuracy) -> (String, String) {
    let total = &report.total;
    let share = total.exact_share.map(|share| short(share * 100.0));
    (
        share.map_or_else(|| "nothing counted".into(), |share| format!("{share} %")),
        format!(
            "{} without a difference",
            counted(total.exact_lines, "line")
        ),
    )
}

/// Which lot.
struct Labelled(Option<String>);

impl FromQuery for Labelled {
    fn take(members: &mut Members) -> Self {
        Self(members.text("lot"))
    }
}

fn life(shop: &Shop, Labelled(code): &Labelled) -> Result<LotLife, Refusal> {
    let unknown = || {
        let code_of_fault = plugwell_domain::fault::FaultCode::NotFound;
        let mut fault =
            plugwell_domain::fault::Fault::at("lot", code_of_fault, "no lot has that code");
        fault.pointer = "?lot".to_owned();
        Refusal::fault(fault)
    };
    let code = code.as_deref().map(|code| code.trim().to_uppercase());
    let filter = LotFilter {
        code: Some(code.ok_or_else(unknown)?),
        ..LotFilter::default()
    };
    let lots = stock_lists::lots(shop, &filter, None, 1)?;
    lot_life::of(shop, lots.first().ok_or_else(unknown)?.id)
}
