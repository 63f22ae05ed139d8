//! Reports as JSON, or as a table by `Accept: text/csv` (RFC 4180), whose cells no spreadsheet takes
//! for formulas.

use std::borrow::Cow;
use std::future::{Ready, ready};

use actix_web::dev::Payload;
use actix_web::http::header;
use actix_web::{FromRequest, HttpRequest, HttpResponse};
use serde::Serialize;

use crate::http::accept::preferred;
use crate::http::answer::{Answer, by_accept, ok};
use crate::http::problem::Problem;

/// The media type of tables.
pub const CSV: &str = "text/csv";

/// The form of a report that the caller would rather have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReportForm {
    /// The whole report.
    Json,
    /// Its lines as a table.
    Csv,
}

impl FromRequest for ReportForm {
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
pub fn report(form: ReportForm, report: &(impl Table + Serialize)) -> Answer {
    match form {
        ReportForm::Json => ok(report).map(by_accept),
        ReportForm::Csv => table(report).map(by_accept),
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
        .content_type("text/csv; charset=utf-8; header=present")
        .insert_header((header::CONTENT_DISPOSITION, name))
        .body(body))
}

/// A cell that a spreadsheet does not take for a formula: an apostrophe stands before what begins like
/// one, unless it is a number.
pub fn safe(cell: &str) -> Cow<'_, str> {
    let begins = cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
    if begins && !is_number(cell) {
        Cow::Owned(format!("'{cell}"))
    } else {
        Cow::Borrowed(cell)
    }
}

/// A plain decimal number: sign, digits, perhaps a point and more digits.
fn is_number(cell: &str) -> bool {
    let plain = cell.strip_prefix(['+', '-']).unwrap_or(cell);
    let (whole, part) = plain.split_once('.').unwrap_or((plain, "0"));
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    digits(whole) && digits(part)
}

#[cfg(test)]
mod tests {
    use actix_web::body::MessageBody;

    use super::*;

    #[test]
    fn no_cell_is_a_formula() {
        for cell in [
            "=1+1", "+A1", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "-", "-1-", "+.5", "-1e5",
        ] {
            assert_eq!(safe(cell), format!("'{cell}"), "{cell:?}");
        }
        for cell in [
            "", "-5", "-12.50", "+7", "a=b", "1-2", "'=1", " =1", "FW-3207",
        ] {
            assert_eq!(safe(cell), cell, "{cell:?}");
        }
    }

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
        let answer = report(ReportForm::Csv, &Two).expect("an answer");
        assert_eq!(answer.headers()[header::VARY], "accept");
        let body = answer.into_body().try_into_bytes().expect("bytes");
        assert_eq!(
            body,
            "label,cost\r\n\"'=a,\"\"b\"\"\",-1.50\r\n\"née\n\",\r\n".as_bytes()
        );
    }
}
