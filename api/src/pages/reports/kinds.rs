//! The reports: what each is called, what is asked for it, how it is made, and the figure that the
//! overview shows of it.

use plugwell_domain::ledger::counting::CountAccuracy;
use plugwell_domain::report::life::LotLife;
use plugwell_domain::report::turns::TurnsBy;
use plugwell_domain::report::usage::UsageBy;
use plugwell_domain::valuation::Method;
use plugwell_domain::valuation::scrap::{ScrapBy, ScrapReport};
use plugwell_store::LotFilter;

use crate::http::csv_answer::{Spoken, Table, lines_of};
use crate::http::query::{FromQuery, Members};
use crate::http::{
    count_reports, dead_stock, scrap_report, stock_outs, turns, usage, value_report,
};
use crate::pages::figures::money;
use crate::pages::form::{Declared, Form, field, needed};
use crate::pages::words::{say, say_with};
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

pub(super) const FROM: Declared = field("from", "reports-from", Form::Day, "reports-from-hint");
const TO: Declared = field("to", "reports-to", Form::Day, "reports-to-hint");

/// All of them, in the order of the overview.
pub(super) const KINDS: &[Kind] = &[
    Kind {
        name: "scrap",
        words: "reports-scrap",
        tells: "reports-thrown-away-why-had-cost",
        fields: &[
            FROM,
            TO,
            field(
                "by",
                "reports-summed-up-by",
                Form::One(ScrapBy::WORDS),
                "reports-summed-up-by-hint",
            ),
        ],
        make: |shop, query| told(query, |asked| scrap_report::made(shop, asked), scrapped),
    },
    Kind {
        name: "value",
        words: "reports-value-of-the-stock",
        tells: "reports-bins-quarantine-worth-moment-period",
        fields: &[
            field("as_of", "reports-as-of", Form::Day, "reports-as-of-hint"),
            field("from", "reports-or-from", Form::Day, "reports-or-from-hint"),
            TO,
            field(
                "method",
                "reports-valued-by",
                Form::One(Method::WORDS),
                "reports-valued-by-hint",
            ),
        ],
        make: worth,
    },
    Kind {
        name: "usage",
        words: "reports-usage",
        tells: "reports-went-out-did-not-come",
        fields: &[
            FROM,
            TO,
            field(
                "by",
                "reports-summed-up-by",
                Form::One(UsageBy::WORDS),
                "reports-summed-up-by-hint-2",
            ),
        ],
        make: |shop, query| told(query, |asked| usage::made(shop, asked), used),
    },
    Kind {
        name: "dead-stock",
        words: "reports-dead-stock",
        tells: "reports-nobody-has-taken-long-time",
        fields: &[field(
            "days",
            "reports-days-without-an-issue",
            Form::Counted("days"),
            "reports-days-without-an-issue-hint",
        )],
        make: |shop, query| told(query, |asked| dead_stock::made(shop, asked), dead),
    },
    Kind {
        name: "stock-outs",
        words: "reports-out-of-stock",
        tells: "reports-parts-shelf-had-run-out",
        fields: &[FROM, TO],
        make: |shop, query| told(query, |asked| stock_outs::made(shop, asked), out),
    },
    Kind {
        name: "turns",
        words: "reports-turns",
        tells: "reports-often-stock-turned-over",
        fields: &[
            FROM,
            TO,
            field(
                "by",
                "reports-summed-up-by",
                Form::One(TurnsBy::WORDS),
                "reports-summed-up-by-hint-2",
            ),
        ],
        make: |shop, query| told(query, |asked| turns::made(shop, asked), turned),
    },
    Kind {
        name: "count-accuracy",
        words: "reports-count-accuracy",
        tells: "reports-well-books-bins-agreed-when",
        fields: &[FROM, TO],
        make: |shop, query| told(query, |asked| count_reports::made(shop, asked), agreed),
    },
    Kind {
        name: "lot-life",
        words: "reports-the-life-of-a-lot",
        tells: "reports-where-every-plug-lot-has",
        fields: &[needed(field(
            "lot",
            "reports-lot",
            Form::Words,
            "reports-lot-hint",
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
        plugs(total.quantity),
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
                plugs(value.total.quantity),
            )
        }),
        value_report::ValueReport::Over(period) => written(&period, |period| {
            let closing = &period.total.closing.value;
            (
                money(closing.minor, &closing.currency),
                say("reports-at-the-end").into(),
            )
        }),
    }
}

fn plugs(plugs: i64) -> String {
    say_with("pages-so-many-plugs", &[("plugs", &plugs)])
}

fn parts(parts: u64) -> String {
    say_with("pages-so-many-parts", &[("parts", &parts)])
}

fn used(report: &UsageReport) -> (String, String) {
    (
        plugs(report.total.used),
        say_with("reports-plugs-issued", &[("plugs", &report.total.issued)]),
    )
}

fn dead(report: &DeadStockReport) -> (String, String) {
    let value = &report.total.value;
    (
        parts(report.items.len() as u64),
        money(value.minor, &value.currency),
    )
}

fn out(report: &StockOutReport) -> (String, String) {
    let still = match report.still_out {
        0 => say("reports-all-back-since").to_owned(),
        parts => say_with("reports-parts-still-out", &[("parts", &parts)]),
    };
    (parts(report.parts as u64), still)
}

fn turned(report: &TurnsReport) -> (String, String) {
    let days = report.total.days_of_stock;
    let days = days.map(|days| say_with("reports-days-of-stock", &[("days", &short(days.get()))]));
    match report.total.turns {
        Some(turns) => (
            say_with("reports-times", &[("times", &short(turns.get()))]),
            days.unwrap_or_default(),
        ),
        None => (say("reports-nothing-lay-there").into(), String::new()),
    }
}

fn agreed(report: &CountAccuracy) -> (String, String) {
    let total = &report.total;
    let share = total.exact_share.map(|share| short(share * 100.0));
    (
        share.map_or_else(
            || say("reports-nothing-counted").into(),
            |share| format!("{share} %"),
        ),
        say_with(
            "reports-lines-without-a-difference",
            &[("exact_lines", &total.exact_lines)],
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
        let mut fault = plugwell_domain::fault::Fault::at(
            "lot",
            code_of_fault,
            say("reports-no-lot-has-that-code"),
        );
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
