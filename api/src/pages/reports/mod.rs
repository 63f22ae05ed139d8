//! What the books tell: an overview with a figure of each report, the reports, and each as a file and on
//! paper. Whoever is signed in may look.

mod kinds;
mod tables;

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use chrono::Months;
use plugwell_domain::words::Role;

use crate::drawing::report_sheet;
use crate::http::etag::IfNoneMatch;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::at;
use crate::pages::field::{Field, Line, Wrong, add, put};
use crate::pages::form;
use crate::pages::listing::Listing;
use crate::pages::typed::{Typed, encoded};
use crate::pages::visitor::visitor;
use crate::pages::words::{say, say_with};
use crate::service::{Refusal, Shop, now};
use kinds::{KINDS, Kind, Told, kind};

/// The member of a query that says from which line on a page shows a table.
const LINE: &str = "line";

#[derive(Template)]
#[template(path = "reports/overview.html")]
struct Overview {
    frame: Frame,
    /// Each report: path, words, figure, a word more, what it tells.
    reports: Vec<(String, &'static str, String, String, &'static str)>,
    /// From when on, where a report is of a period.
    since: String,
}

#[derive(Template)]
#[template(path = "reports/report.html")]
struct Page {
    frame: Frame,
    path: String,
    heading: String,
    tells: &'static str,
    fields: Vec<Field>,
    /// The field to begin with: none, since the answer is to be read first.
    focus: &'static str,
    faults: Vec<Line>,
    shown: Option<Shown>,
}

/// A report as its page shows it.
struct Shown {
    notes: Vec<String>,
    /// Address of its picture; empty where it has none.
    picture: String,
    /// What is to be known of the picture without seeing it.
    in_words: String,
    /// Its tables, each with what stands above it, and whether its last line is what all come to.
    tables: Vec<(String, Listing, bool)>,
    /// Its lines as a file: the address, and what it is saved as.
    file: (String, String),
    print: String,
}

/// Puts the pages into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config
        .service(at("/reports", overview))
        .service(at("/reports/{name}.csv", file))
        .service(at("/reports/{name}/chart.svg", chart))
        .service(at("/reports/{name}/print", print))
        .service(at("/reports/{name}", show));
}

/// The page at `/reports`.
async fn overview(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, frame| {
        let today = now().date_naive();
        let since = today.checked_sub_months(Months::new(12)).unwrap_or(today);
        let mut reports = Vec::new();
        for kind in KINDS {
            let of_period = kind
                .fields
                .iter()
                .any(|f| f.name == "from" && f.label == kinds::FROM.label);
            let query = if of_period {
                format!("from={since}")
            } else {
                String::new()
            };
            let (figure, more) = if asks_first(kind) {
                Default::default()
            } else {
                (kind.make)(shop, &query)?.figure
            };
            let path = with("/reports/", kind.name, "", &query);
            reports.push((path, say(kind.words), figure, more, say(kind.tells)));
        }
        let since = since.format("%-d %b %Y").to_string();
        let page = Overview {
            frame,
            reports,
            since,
        };
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

/// Whether a report is about something that has to be named first.
fn asks_first(kind: &Kind) -> bool {
    kind.fields.iter().any(|field| field.needed)
}

/// An address with its query.
fn with(before: &str, name: &str, behind: &str, query: &str) -> String {
    match query {
        "" => format!("{before}{name}{behind}"),
        query => format!("{before}{name}{behind}?{query}"),
    }
}

/// What a report is asked with: what was typed into its fields, as the query of the API.
fn query(shop: &Shop, kind: &Kind, typed: &Typed) -> Result<(String, Vec<Wrong>), Refusal> {
    let (map, wrong) = form::object(shop, kind.fields, typed)?;
    let own = kind.fields.iter().filter_map(|field| {
        let value = map.get(field.name)?;
        Some(format!("{}={}", field.name, encoded(&form::text(value))))
    });
    Ok((own.collect::<Vec<_>>().join("&"), wrong))
}

/// The page of a report.
async fn show(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let (name, typed) = (path.into_inner(), Typed::of_query(request.query_string()));
    made(&shop, who.frame, move |shop, frame| {
        page(shop, frame, kind(&name)?, &typed)
    })
    .await
}

fn page(shop: &Shop, frame: Frame, kind: &'static Kind, typed: &Typed) -> Result<Reply, Refusal> {
    let (query, mut wrong) = query(shop, kind, typed)?;
    let begins = asks_first(kind) && kind.fields.iter().all(|f| typed.one(f.name).is_empty());
    let told = match (begins, wrong.is_empty()) {
        (true, _) => {
            wrong.clear();
            None
        }
        (false, false) => None,
        (false, true) => match (kind.make)(shop, &query) {
            Ok(told) => Some(told),
            Err(Refusal::Faults(faults)) => {
                add(&mut wrong, &faults);
                None
            }
            Err(other) => return Err(other),
        },
    };
    let mut fields = form::all_shown(shop, kind.fields, typed)?;
    let faults = put(&wrong, &mut fields.iter_mut().collect::<Vec<_>>());
    let status = if faults.is_empty() {
        StatusCode::OK
    } else {
        StatusCode::BAD_REQUEST
    };
    let heading = told.as_ref().map(|told| told.spoken.title.clone());
    let page = Page {
        frame,
        path: format!("/reports/{}", kind.name),
        heading: heading.unwrap_or_else(|| say(kind.words).to_owned()),
        tells: say(kind.tells),
        fields,
        focus: "",
        faults,
        shown: told.map(|told| shown(kind, &query, typed, &told)),
    };
    Reply::page(status, &page)
}

fn shown(kind: &Kind, query: &str, typed: &Typed, told: &Told) -> Shown {
    let of_parts = typed.one("by") == "part";
    let from = typed.one(LINE).parse().unwrap_or(0);
    let more = |line: usize| {
        let own = [query, &format!("{LINE}={line}")]
            .into_iter()
            .filter(|part| !part.is_empty())
            .collect::<Vec<_>>()
            .join("&");
        with("/reports/", kind.name, "", &own)
    };
    let spoken = &told.spoken;
    let currency = spoken.tables.iter().find_map(|table| table.currency());
    let mut notes = spoken.notes.clone();
    notes.extend(currency.map(|currency| {
        say_with(
            "reports-all-sums-are-in-currency",
            &[("currency", &currency)],
        )
    }));
    // Further tables are left out where they have no lines.
    let tables = spoken.tables.iter().enumerate();
    let tables = tables.filter(|(place, table)| *place == 0 || !table.rows.is_empty());
    let tables = tables.map(|(place, table)| {
        let from = if place == 0 { from } else { 0 };
        let list = tables::listing(table, &spoken.title, from, of_parts, more);
        (table.heading.clone(), list, table.total.is_some())
    });
    Shown {
        picture: match spoken.chart {
            Some(_) => with("/reports/", kind.name, "/chart.svg", query),
            None => String::new(),
        },
        in_words: format!("{}. {}", spoken.title, spoken.notes.join(" ")),
        tables: tables.collect(),
        file: (
            with("/reports/", kind.name, ".csv", query),
            format!("{}.csv", spoken.name),
        ),
        print: with("/reports/", kind.name, "/print", query),
        notes,
    }
}

/// Answers with a report in another form than its page.
async fn in_form(
    shop: web::Data<Shop>,
    request: HttpRequest,
    name: String,
    form: impl FnOnce(Told) -> Result<Reply, Refusal> + Send + 'static,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, _| {
        let kind = kind(&name)?;
        let (query, wrong) = query(shop, kind, &typed)?;
        if let Some(wrong) = wrong.first() {
            let code = plugwell_domain::fault::FaultCode::WrongForm;
            let fault = plugwell_domain::fault::Fault::at(&wrong.field, code, &*wrong.text);
            return Err(Refusal::fault(fault));
        }
        form((kind.make)(shop, &query)?)
    })
    .await
}

/// The lines of a report as a file.
async fn file(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    in_form(shop, request, path.into_inner(), |told| {
        Ok(Reply::File(told.spoken.name, told.lines))
    })
    .await
}

/// A report as a sheet for print.
async fn print(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    in_form(shop, request, path.into_inner(), |told| {
        let html = told.spoken.sheet();
        let html = html.map_err(|e| Refusal::Fault(format!("a report cannot be written: {e}")))?;
        Ok(Reply::Illustrated(html, report_sheet::STYLE))
    })
    .await
}

/// The picture of a report.
async fn chart(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    known: IfNoneMatch,
) -> HttpResponse {
    in_form(shop, request, path.into_inner(), |told| {
        let picture = told
            .spoken
            .chart
            .ok_or(Refusal::NotFound(say("reports-picture-of-this-report")))?;
        Ok(Reply::Picture(picture, known))
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_report_has_a_page_in_the_menu() {
        for kind in KINDS {
            let path = format!("/reports/{}", kind.name);
            let ways = crate::pages::ways::WAYS;
            assert!(ways.iter().any(|way| way.path == path), "{path}");
        }
    }
}
