//! Reports as JSON, as a table by `Accept: text/csv` (RFC 4180), whose cells no spreadsheet takes for
//! formulas, or as a page for print by `Accept: text/html`: one mechanism for all of them.

use std::future::{Ready, ready};

use actix_web::dev::Payload;
use actix_web::http::header;
use actix_web::web::Bytes;
use actix_web::{FromRequest, HttpRequest, HttpResponse, HttpResponseBuilder};
use futures_util::StreamExt;
use serde::Serialize;

use crate::cell::safe;
use crate::drawing::report_sheet::{self, ReportSheet, SheetTable, heading, report_sheet};
use crate::http::accept::preferred;
use crate::http::answer::{Answer, by_accept, illustrated, ok};
use crate::http::problem::Problem;
use crate::service::Shop;
use crate::shown::{Reader, for_programs, for_reader, marked};

/// The media type of tables.
pub const CSV: &str = "text/csv";
/// The media type of pages.
pub const PAGE: &str = "text/html";

/// The media type of tables with all that is to be said of one as we write it (RFC 4180).
pub const TABLE: &str = "text/csv; charset=utf-8; header=present";

/// The form of a report that the caller would rather have. (utoipa takes a bare `Form` for that of a page.)
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReportForm {
    /// The whole report.
    Json,
    /// Its lines as a table.
    Csv,
    /// The same table on a page for print, with its picture.
    Page,
}

impl FromRequest for ReportForm {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let form = preferred(request, &["application/json", CSV, PAGE]);
        ready(form.map(|form| match form {
            CSV => Self::Csv,
            PAGE => Self::Page,
            _ => Self::Json,
        }))
    }
}

/// A report whose lines stand in a table as well.
pub trait Table {
    /// What a saved file is called, without its ending.
    const NAME: &'static str;
    /// The header.
    const COLUMNS: &'static [&'static str];

    /// Its lines, each with a cell for every column.
    fn rows(&self) -> impl Iterator<Item = Vec<String>>;

    /// What stands above it on a page.
    fn title(&self) -> String {
        heading(Self::NAME)
    }

    /// A sentence below the title: of which time it is, and by which method.
    fn about(&self) -> String;

    /// Further sentences: how it counts, what it comes to.
    fn notes(&self) -> Vec<String> {
        Vec::new()
    }

    /// What its lines come to, a cell for every column; it stands below them on a page.
    fn total(&self) -> Option<Vec<String>> {
        None
    }

    /// Its tables on a page: that of the file with its total, where nothing else reads better.
    fn tables(&self) -> Vec<SheetTable> {
        vec![SheetTable {
            total: self.total(),
            ..SheetTable::of(Self::COLUMNS, self.rows())
        }]
    }

    /// The picture beside the table on a page, where it has one.
    fn chart(&self) -> Option<String> {
        None
    }
}

/// 200 with a report in the form that was asked for; on a page it is written in the shop's way.
///
/// # Errors
/// `internal` where it cannot be written.
pub fn report(shop: &Shop, form: ReportForm, report: &(impl Table + Serialize)) -> Answer {
    match form {
        ReportForm::Json => ok(report).map(by_accept),
        ReportForm::Csv => table(report).map(by_accept),
        ReportForm::Page => for_reader(Reader::of(&shop.policy()), || page(report)),
    }
}

fn page<T: Table>(report: &T) -> Answer {
    let html = Spoken::of(report)
        .sheet()
        .map_err(|e| Problem::internal(format!("page: {e}")))?;
    Ok(illustrated(html, report_sheet::STYLE))
}

fn table<T: Table>(report: &T) -> Answer {
    Ok(file(T::NAME, lines_of(report).map_err(Problem::internal)?))
}

/// What a report says, whichever it is: its sentences, its picture, its tables.
#[derive(Debug, Clone)]
pub struct Spoken {
    /// What a saved file is called, without its ending.
    pub name: &'static str,
    /// What stands above it.
    pub title: String,
    /// Its sentences: of which time, by which method, what it comes to.
    pub notes: Vec<String>,
    /// Its picture, where it has one.
    pub chart: Option<String>,
    /// Its tables, as people read them.
    pub tables: Vec<SheetTable>,
}

impl Spoken {
    /// What a report says.
    pub fn of<T: Table>(report: &T) -> Self {
        let mut notes = vec![report.about()];
        notes.extend(report.notes());
        let mut tables = report.tables();
        for row in tables.iter_mut().flat_map(|table| &mut table.rows) {
            let sentences = row.below.iter_mut().chain([&mut row.above]);
            sentences.for_each(|text| *text = marked(std::mem::take(text)));
        }
        Self {
            name: T::NAME,
            title: report.title(),
            notes: notes.into_iter().map(marked).collect(),
            chart: report.chart(),
            tables,
        }
    }

    /// The same as a sheet for print.
    ///
    /// # Errors
    /// Where the template cannot be filled in.
    pub fn sheet(&self) -> Result<String, askama::Error> {
        report_sheet(&ReportSheet {
            title: &self.title,
            notes: &self.notes,
            chart: self.chart.clone(),
            tables: &self.tables,
        })
    }
}

/// The lines of a report as a table, its header first.
///
/// # Errors
/// Why it cannot be written.
pub fn lines_of<T: Table>(report: &T) -> Result<Vec<u8>, String> {
    let header = T::COLUMNS.iter().map(|name| (*name).to_owned()).collect();
    for_programs(|| written(std::iter::once(header).chain(report.rows())))
}

/// A table that is saved as a file.
pub fn file(name: &str, lines: Vec<u8>) -> HttpResponse {
    begun(name).body(lines)
}

/// A table that is longer than memory should hold: some lines after the other, as they are read.
/// `next` reads those behind a place and says where the ones behind them are; `None` at the end.
///
/// # Errors
/// What `next` refuses at its first call; later the answer breaks off.
pub async fn streamed<P, N, F>(name: &str, columns: &[&str], start: P, next: N) -> Answer
where
    P: 'static,
    N: Fn(P) -> F + 'static,
    F: Future<Output = Result<Lines<P>, Problem>> + 'static,
{
    let header = columns.iter().map(|name| (*name).to_owned()).collect();
    let begins = next(start).await?;
    let first = written(std::iter::once(header).chain(begins.lines)).map_err(Problem::internal)?;
    let place = (begins.behind, next);
    let rest = futures_util::stream::try_unfold(place, |(behind, next)| async move {
        let Some(behind) = behind else {
            return Ok(None);
        };
        let more = next(behind).await?;
        let bytes = written(more.lines.into_iter()).map_err(Problem::internal)?;
        Ok::<_, Problem>(Some((Bytes::from(bytes), (more.behind, next))))
    });
    let first = futures_util::stream::once(async { Ok(Bytes::from(first)) });
    Ok(by_accept(begun(name).streaming(first.chain(rest))))
}

/// Some lines of a long table.
#[derive(Debug)]
pub struct Lines<P> {
    /// The lines, each with a cell for every column.
    pub lines: Vec<Vec<String>>,
    /// Behind which place it goes on; `None` where these are the last.
    pub behind: Option<P>,
}

/// An answer that is saved as a file.
fn begun(name: &str) -> HttpResponseBuilder {
    let name = format!("attachment; filename=\"{name}.csv\"");
    let mut answer = HttpResponse::Ok();
    answer
        .content_type(TABLE)
        .insert_header((header::CONTENT_DISPOSITION, name));
    answer
}

/// Lines as RFC 4180 has them.
fn written(lines: impl Iterator<Item = Vec<String>>) -> Result<Vec<u8>, String> {
    let failed = |e: &dyn std::fmt::Display| format!("table: {e}");
    let end = csv::Terminator::CRLF;
    let mut writer = csv::WriterBuilder::new()
        .terminator(end)
        .from_writer(Vec::new());
    for line in lines {
        let cells = line.iter().map(|cell| safe(cell).into_owned());
        writer.write_record(cells).map_err(|e| failed(&e))?;
    }
    writer.into_inner().map_err(|e| failed(&e))
}

#[cfg(test)]
mod tests {
    use actix_web::body::MessageBody;

    use super::*;

    #[derive(Serialize)]
    struct Two;

    impl Table for Two {
        const NAME: &'static str = "two";
        const COLUMNS: &'static [&'static str] = &["label", "cost"];

        fn rows(&self) -> impl Iterator<Item = Vec<String>> {
            [["=a,\"b\"", "-1.50"], ["née\n", ""]]
                .into_iter()
                .map(|row| row.map(str::to_owned).to_vec())
        }

        fn about(&self) -> String {
            "As of today.".to_owned()
        }

        fn total(&self) -> Option<Vec<String>> {
            Some(vec!["All".to_owned(), "-1.50".to_owned()])
        }
    }

    #[test]
    fn any_table_is_a_page_as_well() {
        let answer = page(&Two).expect("an answer");
        let vary = answer.headers().get(header::VARY);
        assert!(vary.is_some_and(|vary| vary == "accept"));
        let body = answer.into_body().try_into_bytes().expect("bytes");
        let page = String::from_utf8(body.to_vec()).expect("text");
        for part in [
            "<h1>Two</h1>",
            "<p>As of today.</p>",
            "<tfoot><tr><td class=\"\">All</td><td class=\"number\">-1.50</td></tr></tfoot>",
            "<th class=\"\">Label</th><th class=\"number\">Cost</th>",
            "<td class=\"\">=a,&#34;b&#34;</td><td class=\"number\">-1.50</td>",
        ] {
            assert!(page.contains(part), "{part} in {page}");
        }
    }

    #[test]
    fn a_table_is_written_as_rfc_4180_has_it() {
        let answer = by_accept(table(&Two).expect("an answer"));
        let vary = answer.headers().get(header::VARY);
        assert!(vary.is_some_and(|vary| vary == "accept"));
        let body = answer.into_body().try_into_bytes().expect("bytes");
        assert_eq!(
            body,
            "label,cost\r\n\"'=a,\"\"b\"\"\",-1.50\r\n\"née\n\",\r\n".as_bytes()
        );
    }
}
