//! Reports as JSON, or as a table by `Accept: text/csv` (RFC 4180), whose cells no spreadsheet takes
//! for formulas.

use std::future::{Ready, ready};

use actix_web::dev::Payload;
use actix_web::http::header;
use actix_web::{FromRequest, HttpRequest, HttpResponse};
use serde::Serialize;

use crate::cell::safe;
use crate::http::accept::preferred;
use crate::http::answer::{Answer, by_accept, ok};
use crate::http::problem::Problem;

/// The media type of tables.
pub const CSV: &str = "text/csv";

/// The same with all that is to be said of a table as we write it (RFC 4180).
pub const TABLE: &str = "text/csv; charset=utf-8; header=present";

/// The form of a report that the caller would rather have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// The whole report.
    Json,
    /// Its lines as a table.
    Csv,
}

impl FromRequest for Form {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let form = preferred(request, &["application/json", CSV]);
        ready(form.map(|form| if form == CSV { Self::Csv } else { Self::Json }))
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
}

/// 200 with a report in the form that was asked for.
///
/// # Errors
/// `internal` where it cannot be written.
pub fn report(form: Form, report: &(impl Table + Serialize)) -> Answer {
    match form {
        Form::Json => ok(report).map(by_accept),
        Form::Csv => table(report).map(by_accept),
    }
}

fn table<T: Table>(report: &T) -> Answer {
    let failed = |e: &dyn std::fmt::Display| Problem::internal(format!("table: {e}"));
    let end = csv::Terminator::CRLF;
    let mut writer = csv::WriterBuilder::new()
        .terminator(end)
        .from_writer(Vec::new());
    writer.write_record(T::COLUMNS).map_err(|e| failed(&e))?;
    for row in report.rows() {
        let cells = row.iter().map(|cell| safe(cell).into_owned());
        writer.write_record(cells).map_err(|e| failed(&e))?;
    }
    let body = writer.into_inner().map_err(|e| failed(&e))?;
    let name = format!("attachment; filename=\"{}.csv\"", T::NAME);
    Ok(HttpResponse::Ok()
        .content_type(TABLE)
        .insert_header((header::CONTENT_DISPOSITION, name))
        .body(body))
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
    }

    #[test]
    fn a_table_is_written_as_rfc_4180_has_it() {
        let answer = report(Form::Csv, &Two).expect("an answer");
        assert_eq!(answer.headers()[header::VARY], "accept");
        let body = answer.into_body().try_into_bytes().expect("bytes");
        assert_eq!(
            body,
            "label,cost\r\n\"'=a,\"\"b\"\"\",-1.50\r\n\"née\n\",\r\n".as_bytes()
        );
    }
}
