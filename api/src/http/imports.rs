//! Tables in, as CSV.

use actix_web::{post, web};
use plugwell_domain::fault::FaultCode;
use utoipa::IntoParams;

use crate::http::answer::{Answer, ask, ok};
use crate::http::once::{booked, kept};
use crate::http::problem::Problem;
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::http::request::Csv;
use crate::service::exchange::{self, Report};
use crate::service::{Actor, Shop};

/// How an import is done.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct ImportQuery {
    /// `true`: say what would happen, and store nothing.
    dry_run: Option<bool>,
}

impl FromQuery for ImportQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            dry_run: members.flag("dry_run"),
        }
    }
}

/// Reads catalogue records from CSV: checked whole, every fault by row and column, all or nothing.
///
/// Records are met by maker and part number, case-blind. A column that is not there leaves what is
/// stored; an empty cell means unknown. Headers may carry another unit: `reach_in`.
#[utoipa::path(
    operation_id = "import_plugs", tag = "exchange", params(ImportQuery),
    request_body(content = String, content_type = "text/csv"),
    responses(
        (status = 200, description = "What a dry run would do.", body = Report),
        (status = 201, description = "What was done.", body = Report)
    )
)]
#[post("/v1/imports/plugs")]
pub async fn import_plugs(
    shop: web::Data<Shop>,
    actor: Actor,
    CheckedQuery(query): CheckedQuery<ImportQuery>,
    table: Csv,
) -> Answer {
    let text = || {
        std::str::from_utf8(&table.raw)
            .map(str::to_owned)
            .map_err(|_| Problem::fault("#", FaultCode::WrongForm, "the table is not in UTF-8"))
    };
    if query.dry_run == Some(true) {
        let text = text()?;
        return ok(&ask(&shop, move |shop| {
            exchange::try_plugs(shop, &text, &|_, _| {})
        })
        .await?);
    }
    let key = table.key.of(&actor, &table.raw)?;
    let text = text()?;
    let done = ask(&shop, move |shop| {
        let run = |session: &mut _| {
            exchange::plugs(session, &text, &|_, _| {}).map(|done| (done, Vec::new()))
        };
        let done = shop.once(&key, run, |imported| kept(201, None, &imported.report))?;
        if let Some(imported) = &done.fresh {
            shop.written(imported.ids.iter().copied())?;
        }
        Ok::<_, Problem>(done)
    });
    Ok(booked(&shop, done.await?))
}
