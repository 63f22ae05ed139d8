//! Bringing a table in: choosing it, its columns, its template.

use std::io::Write;

use actix_web::http::StatusCode;
use actix_web::http::header::CONTENT_DISPOSITION;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::words::Role;
use tempfile::SpooledTempFile;

use crate::http::csv_answer::TABLE;
use crate::pages::answer::{Frame, Reply, made, refused};
use crate::pages::field::{Choice, Field, Line, Wrong, put};
use crate::pages::figures::marked;
use crate::pages::form::{self, Declared, Form, field, needed};
use crate::pages::listing::{Cell, Listing, words};
use crate::pages::typed::{Typed, not_whole};
use crate::pages::uploaded::uploaded;
use crate::pages::visitor::{visitor, with_own_form};
use crate::pages::words::{say, say_with};
use crate::service::exchange::declared::{self, declared};
use crate::service::exchange::forms::Form as Cells;
use crate::service::exchange::{self, Importing, TableKind};
use crate::service::{Actor, Refusal, Shop};

const FORM: &[Declared] = &[
    needed(field(
        "kind",
        "records-what-the-table-holds",
        Form::Offered,
        "",
    )),
    field("file", "records-file", Form::File, "records-file-hint"),
    field(
        "lines",
        "records-or-its-lines",
        Form::Lines,
        "records-or-its-lines-hint",
    ),
];

/// What a page says of a kind of table.
pub(super) fn told(kind: TableKind) -> (&'static str, &'static str) {
    match kind {
        TableKind::Plugs => (
            say("records-plugs"),
            say("records-catalogue-records-met-maker-part"),
        ),
        TableKind::Stock => (
            say("records-stock"),
            say("records-lies-bins-quarantine-each-row"),
        ),
        TableKind::HeatScales => (
            say("records-heat-scales"),
            say("records-makers-heat-codes-row-maker"),
        ),
        TableKind::StandIns => (
            "Stand-in statements",
            say("records-who-says-part-stands-met"),
        ),
    }
}

/// The kind of a word in a path or a form.
pub(super) fn kind_of(word: &str) -> Option<TableKind> {
    TableKind::ALL.iter().copied().find(|k| k.word() == word)
}

/// The columns of a kind of table.
struct Columns {
    title: &'static str,
    meaning: &'static str,
    word: &'static str,
    listing: Listing,
}

#[derive(Template)]
#[template(path = "records/import.html")]
struct Page {
    frame: Frame,
    fields: Vec<Field>,
    faults: Vec<Line>,
    focus: &'static str,
    columns: Vec<Columns>,
}

fn page(shop: &Shop, frame: Frame, typed: &Typed, wrong: &[Wrong]) -> Result<Page, Refusal> {
    let mut fields = form::all_shown(shop, FORM, typed)?;
    for field in &mut fields {
        if field.name == "kind" {
            let choice = |kind: &TableKind| Choice {
                value: kind.word().into(),
                words: told(*kind).0.into(),
                note: "",
                chosen: typed.one("kind") == kind.word(),
            };
            field.choices = TableKind::ALL.iter().map(choice).collect();
        }
    }
    let faults = put(wrong, &mut fields.iter_mut().collect::<Vec<_>>());
    let wrong = faults.iter().map(|line| line.at).find(|at| !at.is_empty());
    Ok(Page {
        frame,
        fields,
        focus: wrong.unwrap_or_default(),
        faults,
        columns: TableKind::ALL.iter().map(|kind| columns(*kind)).collect(),
    })
}

fn columns(kind: TableKind) -> Columns {
    let (title, meaning) = told(kind);
    let row = |column: &declared::Declared| {
        let needed = if column.needed {
            say("records-needed")
        } else {
            ""
        };
        vec![
            Cell::of(column.name).noted(needed),
            Cell::of(written(column)),
            Cell::of(&column.meaning),
        ]
    };
    Columns {
        title,
        meaning,
        word: kind.word(),
        listing: Listing {
            caption: say_with("records-columns-title", &[("title", &title)]),
            columns: vec![
                words("records-column"),
                words("records-cells"),
                words("records-meaning"),
            ],
            rows: declared(kind).iter().map(row).collect(),
            ..Listing::default()
        },
    }
}

/// How the cells of a column are written.
fn written(column: &declared::Declared) -> String {
    match column.form {
        Cells::Choice(words) => words.join(", "),
        Cells::Flag => say("records-true-or-false").into(),
        Cells::Number { unit, min, max, .. } => {
            let unit = if unit.is_empty() {
                String::new()
            } else {
                format!(" {unit}")
            };
            let others = match column.other_names().as_slice() {
                [] => String::new(),
                some => say_with("records-also-as-some", &[("some", &some.join(", "))]),
            };
            format!(
                "{}{others}",
                marked(say_with(
                    "records-min-to-max-unit",
                    &[("min", &min), ("max", &max), ("unit", &unit)]
                ))
            )
        }
        other => other.word().into(),
    }
}

/// The page at `/import`.
pub(super) async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Clerk) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        Reply::page(StatusCode::OK, &page(shop, frame, &typed, &[])?)
    })
    .await
}

/// Takes a table and looks it over; nothing is booked.
pub(super) async fn look(
    shop: web::Data<Shop>,
    request: HttpRequest,
    payload: web::Payload,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Clerk) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let came = match uploaded(&request, payload).await {
        Ok(came) => came,
        Err(status) => return *not_whole(&who.frame, status),
    };
    let who = match with_own_form(who, &request, &came.typed) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, frame| {
        looked_over(shop, &who.actor, frame, &came.typed, came.file)
    })
    .await
}

fn looked_over(
    shop: &Shop,
    actor: &Actor,
    frame: Frame,
    typed: &Typed,
    file: Option<(String, SpooledTempFile)>,
) -> Result<Reply, Refusal> {
    let mut wrong = Vec::new();
    let kind = kind_of(typed.one("kind"));
    if kind.is_none() {
        wrong.push(Wrong::with("kind", Wrong::missing()));
    }
    let table = match (file, typed.one("lines")) {
        (Some(_), lines) if !lines.is_empty() => {
            wrong.push(Wrong::with(
                "lines",
                say("records-either-file-lines-not-both"),
            ));
            None
        }
        (Some(file), _) => Some(file),
        (None, "") => {
            wrong.push(Wrong::with(
                "file",
                say("records-choose-file-put-lines-below"),
            ));
            None
        }
        (None, lines) => {
            let mut table = SpooledTempFile::new(lines.len() + 1);
            table
                .write_all(lines.as_bytes())
                .map_err(|e| Refusal::Fault(format!("lines cannot be kept: {e}")))?;
            Some((String::new(), table))
        }
    };
    let (Some(kind), Some((name, table)), true) = (kind, table, wrong.is_empty()) else {
        return Reply::page(StatusCode::BAD_REQUEST, &page(shop, frame, typed, &wrong)?);
    };
    let importing = Importing {
        kind,
        actor,
        progress: &|_, _| {},
    };
    let id = exchange::look(shop, &importing, name, table)?;
    Ok(Reply::Elsewhere(format!("/import/{id}")))
}

/// An empty table of a kind: its header.
pub(super) async fn template(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Clerk) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let Some(kind) = kind_of(&path) else {
        return refused(who.frame, Refusal::NotFound("table"));
    };
    let names: Vec<&str> = declared(kind).iter().map(|column| column.name).collect();
    let name = format!("attachment; filename=\"{}-template.csv\"", kind.word());
    HttpResponse::Ok()
        .content_type(TABLE)
        .insert_header((CONTENT_DISPOSITION, name))
        .body(format!("{}\r\n", names.join(",")))
}
