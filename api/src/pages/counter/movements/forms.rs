//! The history as a file, and on a sheet for print.

use actix_web::{HttpRequest, HttpResponse, web};
use plugwell_domain::words::Role;
use plugwell_store::MovementFilter;

use super::{FILTER, named, narrowed, narrowing, told, way};
use crate::drawing::report_sheet::{self, ReportSheet, SheetTable, report_sheet};
use crate::http::answer::ask;
use crate::http::movement_table;
use crate::pages::answer::{Reply, made, refused};
use crate::pages::figures::instant;
use crate::pages::typed::Typed;
use crate::pages::visitor::visitor;
use crate::pages::words::{say, say_with};
use crate::service::stock_lists::{self, Aftermath, Traced};
use crate::service::{Refusal, Shop};

/// Most movements on a sheet.
const ON_PAPER: i64 = 500;

/// Where the same movements stand as a file, and for print.
pub(super) fn paths(typed: &Typed) -> (String, String) {
    let narrowing = narrowing(typed);
    let query = match narrowing.trim_end_matches('&') {
        "" => String::new(),
        query => format!("?{query}"),
    };
    (
        format!("/movements.csv{query}"),
        format!("/movements/print{query}"),
    )
}

/// The filter of a query; nothing where a field was not understood, which its page says.
fn asked(shop: &Shop, typed: &Typed) -> Result<(Typed, Option<MovementFilter>), Refusal> {
    let typed = named(shop, typed)?;
    let (filter, _) = narrowed(shop, &typed)?;
    Ok((typed, filter))
}

/// The page that says what was not understood.
fn page_of(typed: &Typed) -> String {
    format!("/movements?{}", narrowing(typed).trim_end_matches('&'))
}

/// Every movement that the query leaves, as a file.
pub(super) async fn file(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    let unavailable = |problem| Refusal::Unavailable(format!("{problem:?}"));
    let filter = match ask(&shop, move |shop| asked(shop, &typed)).await {
        Ok((_, Some(filter))) => filter,
        Ok((typed, None)) => return Reply::Elsewhere(page_of(&typed)).into(),
        Err(problem) => return refused(who.frame, unavailable(problem)),
    };
    match movement_table::traced(shop, filter).await {
        Ok(table) => table,
        Err(problem) => refused(who.frame, unavailable(problem)),
    }
}

/// The latest of them, for print.
pub(super) async fn print(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, _| {
        let (typed, filter) = asked(shop, &typed)?;
        let Some(filter) = filter else {
            return Ok(Reply::Elsewhere(page_of(&typed)));
        };
        let html = sheet(shop, &filter, &typed)?;
        Ok(Reply::Sheet(html, report_sheet::STYLE))
    })
    .await
}

fn sheet(shop: &Shop, filter: &MovementFilter, typed: &Typed) -> Result<String, Refusal> {
    let mut traced = stock_lists::traced(shop, filter, None, ON_PAPER + 1)?;
    let is_more = traced.len() > ON_PAPER as usize;
    traced.truncate(ON_PAPER as usize);
    let after = stock_lists::aftermath(shop, &traced)?;
    let only = FILTER
        .iter()
        .map(|one| (one.label.say(), typed.one(one.name)))
        .filter(|(_, value)| !value.is_empty())
        .map(|(label, value)| format!("{label}: {value}."));
    let mut notes: Vec<String> = only.collect();
    notes.extend(is_more.then(|| {
        say_with(
            "counter-latest-on-paper",
            &[("movements", &(ON_PAPER as usize))],
        )
    }));
    let columns = ["what", "plugs", "part", "lot", "from_to", "when", "done_by"];
    let rows = traced.iter().map(|traced| line(traced, &after));
    let sheet = ReportSheet {
        title: say("counter-movements-the-newest-first"),
        notes: &notes,
        chart: None,
        tables: &[SheetTable::of(&columns, rows)],
    };
    report_sheet(&sheet).map_err(|e| Refusal::Fault(format!("movements cannot be written: {e}")))
}

fn line(traced: &Traced, after: &Aftermath) -> Vec<String> {
    let movement = &traced.movement;
    let (done, note) = told(movement, after);
    let done = match note.as_str() {
        "" => done.to_owned(),
        note => format!("{done} ({note})"),
    };
    let part = traced.part.as_ref();
    vec![
        done,
        movement.quantity.to_string(),
        part.map_or_else(String::new, ToString::to_string),
        traced.lot.clone().unwrap_or_default(),
        way(traced, after),
        instant(movement.created_at),
        movement.actor.clone(),
    ]
}
