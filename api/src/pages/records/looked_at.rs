//! A table that was looked at: what it would do, its faults, and booking it.

use std::sync::Arc;

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::words::Role;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::pages::answer::{Frame, Reply, made};
use crate::pages::figures::{instant, label, measured};
use crate::pages::listing::{Cell, Listing, figures, words};
use crate::pages::once::{done, leading_to, once};
use crate::pages::records::importing::{kind_of, told};
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::{say, say_with};
use crate::service::exchange::{self, Already, Change, LookedAt, MemberDifference, Report, Trial};
use crate::service::once::Stored;
use crate::service::refusal::RowFault;
use crate::service::{Actor, Refusal, Shop};
use crate::shown::marked;

/// Rows of a list on a page.
const SHOWN: usize = 100;
/// Letters of a value that are shown.
const LETTERS: usize = 160;

#[derive(Template)]
#[template(path = "records/looked_at.html")]
struct Page {
    frame: Frame,
    id: Uuid,
    title: &'static str,
    /// Where the table came from, and when it was looked at.
    from: String,
    columns: Listing,
    /// Figures of a table without faults.
    figures: Vec<(&'static str, u64)>,
    /// Whether it would do anything.
    does: bool,
    /// Sentences of what tells that it was booked before.
    already: Vec<String>,
    differences: Listing,
    /// How many faults there are, and those that are listed.
    faults: u64,
    listed: Listing,
    /// Whether it was faultless when it was looked at, and is no more.
    changed: bool,
}

fn looked_at(shop: &Shop, actor: &Actor, id: &str) -> Result<(Uuid, Arc<LookedAt>), Refusal> {
    let gone = || Refusal::NotFound(say("records-table-any-more-waits-hour"));
    let id = id.parse::<Uuid>().map_err(|_| gone())?;
    let looked = exchange::looked_at(shop, actor, id).ok_or_else(gone)?;
    Ok((id, looked))
}

fn page(
    frame: Frame,
    id: Uuid,
    looked: &LookedAt,
    from: usize,
    now_wrong: Option<(Vec<RowFault>, u64)>,
) -> Page {
    let source = match looked.file.as_str() {
        "" => say("records-lines-that-were-put-in").to_owned(),
        file => say_with("records-the-file-file", &[("file", &file)]),
    };
    let changed = now_wrong.is_some();
    let outcome = match &now_wrong {
        Some(wrong) => Err(wrong),
        None => looked.outcome.as_ref(),
    };
    let mut page = Page {
        frame,
        id,
        title: told(looked.kind).0,
        from: say_with(
            "records-source-looked-at",
            &[("source", &source), ("at", &instant(looked.at))],
        ),
        columns: columns(looked),
        figures: Vec::new(),
        does: false,
        already: Vec::new(),
        differences: Listing::default(),
        faults: 0,
        listed: Listing::default(),
        changed,
    };
    match outcome {
        Ok(trial) => {
            page.figures = in_figures(&trial.report);
            page.does = trial.report.created + trial.report.updated > 0;
            page.already = trial
                .report
                .already
                .as_ref()
                .map(already)
                .unwrap_or_default();
            page.differences = differences(id, trial, from);
        }
        Err((errors, count)) => {
            page.faults = *count;
            page.listed = faults(id, errors, from);
        }
    }
    page
}

fn columns(looked: &LookedAt) -> Listing {
    let rows = looked.columns.iter().map(|column| {
        let read = match column.unit {
            Some(unit) => say_with("records-converted-from-unit", &[("unit", &unit)]),
            None => String::new(),
        };
        vec![
            Cell::of(&column.header),
            Cell::of(column.member).noted(read),
        ]
    });
    Listing {
        caption: say("records-columns-that-the-header-names").into(),
        columns: vec![
            words("records-in-the-table"),
            words("records-understood-as"),
        ],
        rows: rows.collect(),
        empty: say("records-no-column-header-understood"),
        more: String::new(),
    }
}

/// What an import does, in figures.
fn in_figures(report: &Report) -> Vec<(&'static str, u64)> {
    vec![
        (say("records-rows"), report.rows),
        (say("records-new"), report.created),
        (say("records-changed"), report.updated),
        (say("records-as-they-were"), report.unchanged),
    ]
}

fn already(already: &Already) -> Vec<String> {
    let reads = already.reads.iter();
    let mut told: Vec<String> = reads
        .map(|read| {
            let (by, at) = (&read.read_by, instant(read.read_at));
            say_with(
                "records-same-content-received-brought",
                &[("at", &at), ("by", &by)],
            )
        })
        .collect();
    let lots = already.lots.len() as u64 + already.more_lots;
    if lots > 0 {
        let some = already.lots.iter().take(5);
        let some: Vec<String> = some
            .map(|lot| {
                say_with(
                    "records-row-row-like-lot-code",
                    &[("row", &lot.row), ("code", &lot.code)],
                )
            })
            .collect();
        let which = some.join(", ");
        told.push(if lots > 5 {
            say_with(
                "records-more-lots-like-a-row",
                &[("lots", &lots), ("which", &which)],
            )
        } else {
            say_with(
                "records-lots-like-a-row",
                &[("lots", &lots), ("which", &which)],
            )
        });
    }
    told
}

/// Where the rest of a list stands.
fn more(id: Uuid, from: usize, of: usize) -> String {
    match from + SHOWN < of {
        true => format!("/import/{id}?from={}", from + SHOWN),
        false => String::new(),
    }
}

fn differences(id: Uuid, trial: &Trial, from: usize) -> Listing {
    let all = trial.differences.iter();
    let rows = all.skip(from).take(SHOWN).map(|one| {
        let change = match one.change {
            Change::Created => say("records-is-new"),
            Change::Updated => say("records-changes"),
            Change::Unchanged => say("records-stays"),
        };
        let members: Vec<String> = one.members.iter().map(member).collect();
        vec![
            Cell::of(one.row),
            Cell::of(&one.record),
            Cell::of(change),
            Cell::of(members.join("; ")),
        ]
    });
    Listing {
        caption: say("records-would-booked-record-record").into(),
        columns: vec![
            figures("records-row"),
            words("records-record"),
            words("records-becomes"),
            words("records-differs"),
        ],
        rows: rows.collect(),
        empty: say("records-nothing-would-change-all-stands"),
        more: more(id, from, trial.differences.len()),
    }
}

fn member(one: &MemberDifference) -> String {
    let value = |value: &Value| -> String {
        let text = match value {
            Value::Array(_) | Value::Object(_) => value.to_string(),
            plain => measured(&one.member, plain),
        };
        let mut short: String = text.chars().take(LETTERS).collect();
        if short.len() < text.len() {
            short.push('…');
        }
        short
    };
    format!(
        "{}: {} → {}",
        label(&one.member),
        value(&one.old),
        value(&one.new)
    )
}

fn faults(id: Uuid, errors: &[RowFault], from: usize) -> Listing {
    let rows = errors.iter().skip(from).take(SHOWN).map(|fault| {
        let column = match fault.column.as_str() {
            "" => say("records-the-whole-row"),
            column => column,
        };
        vec![
            Cell::of(fault.row),
            Cell::of(column),
            Cell::of(&fault.found),
            Cell::of(marked(fault.detail.clone())),
        ]
    });
    Listing {
        caption: say("records-faults-of-the-table").into(),
        columns: vec![
            figures("records-row"),
            words("records-column"),
            words("records-found"),
            words("records-why"),
        ],
        rows: rows.collect(),
        empty: say("records-no-more-faults-are-listed"),
        more: more(id, from, errors.len()),
    }
}

/// The page at `/import/{id}`.
pub(super) async fn show(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Clerk) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let (id, looked) = looked_at(shop, &who.actor, &path)?;
        let from = typed.one("from").parse().unwrap_or(0);
        Reply::page(StatusCode::OK, &page(frame, id, &looked, from, None))
    })
    .await
}

/// Books the table.
pub(super) async fn book(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    let (who, _) = match sender(&shop, &request, posted, Role::Clerk) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, frame| {
        booked(shop, &who.actor, frame, &path)
    })
    .await
}

fn booked(shop: &Shop, actor: &Actor, frame: Frame, id: &str) -> Result<Reply, Refusal> {
    let looked = looked_at(shop, actor, id).ok();
    let id = id.parse::<Uuid>().map_err(|_| Refusal::NotFound("table"))?;
    // The table is its own key: however many pages show it, it is booked once.
    let mut key = Typed::default();
    key.put("once", id.to_string());
    let kind = looked.as_ref().map_or("", |(_, looked)| looked.kind.word());
    let outcome = once(actor, &format!("/import/{id}"), &key, |key| {
        let booked = exchange::book(shop, key, actor, id, |report| kept(id, kind, report));
        booked.map(|done| done.stored)
    });
    match (outcome, looked) {
        (Ok(there), _) => Ok(Reply::Elsewhere(there)),
        (Err(Refusal::Rows { errors, count }), Some((id, looked))) => {
            let page = page(frame, id, &looked, 0, Some((errors, count)));
            Reply::page(StatusCode::CONFLICT, &page)
        }
        (Err(other), _) => Err(other),
    }
}

/// What is kept of an import: where to see it, and what it did.
fn kept(id: Uuid, kind: &str, report: &Report) -> Stored {
    Stored {
        body: json!({ "kind": kind, "report": report })
            .to_string()
            .into_bytes(),
        ..leading_to(format!("/imported?once={id}"))
    }
}

#[derive(Template)]
#[template(path = "records/imported.html")]
struct Imported {
    frame: Frame,
    title: &'static str,
    rows: String,
    figures: Vec<(&'static str, u64)>,
    again: bool,
}

/// The page at `/imported`: what was booked.
pub(super) async fn imported(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Clerk) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let gone = || Refusal::NotFound(say("records-import-yours-within-last-days"));
        let id = typed.one("once").parse().map_err(|_| gone())?;
        let stored = done(shop, &who.actor, id)?.ok_or_else(gone)?;
        let said: Value = serde_json::from_slice(&stored.body).map_err(|_| gone())?;
        let kind = kind_of(said["kind"].as_str().unwrap_or_default()).ok_or_else(gone)?;
        let number = |name: &str| said["report"][name].as_u64().unwrap_or_default();
        let report = Report {
            rows: number("rows"),
            created: number("created"),
            updated: number("updated"),
            unchanged: number("unchanged"),
            already: None,
        };
        let page = Imported {
            frame,
            title: told(kind).0,
            rows: say_with("records-so-many-rows", &[("rows", &report.rows)]),
            figures: in_figures(&report),
            again: !typed.one("again").is_empty(),
        };
        Reply::page(StatusCode::OK, &page)
    })
    .await
}
