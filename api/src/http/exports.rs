//! Tables out, as CSV: the columns that come in. A table is first written in one state of the shop to
//! a file of the system's folder for such, and sent from there as fast as it is taken: no slow caller
//! holds the database, and what fails has its proper answer.

use std::io::{BufWriter, Read, Seek};

use actix_web::http::header;
use actix_web::web::{self, Bytes};
use actix_web::{HttpResponse, get};
use futures_util::stream;

use crate::http::answer::{Answer, ask};
use crate::http::csv_answer::TABLE;
use crate::http::problem::Problem;
use crate::service::Shop;
use crate::service::exchange::{self, TableKind};

/// Tables up to so many bytes are kept in memory.
const IN_MEMORY: usize = 1 << 20;
/// Bytes that are sent at a time.
const PART: usize = 1 << 16;

/// Writes the catalogue as CSV, retired records too; what is written can be read in again.
#[utoipa::path(
    operation_id = "export_plugs", tag = "exchange",
    responses((status = 200, description = "The table.", body = String, content_type = "text/csv"))
)]
#[get("/v1/exports/plugs")]
pub async fn export_plugs(shop: web::Data<Shop>) -> Answer {
    export(shop, TableKind::Plugs).await
}

/// Writes what lies in bins and in quarantine as CSV, a row for each lot in each place, with what it cost
/// as far as known and the reference that it was received under.
#[utoipa::path(
    operation_id = "export_stock", tag = "exchange",
    responses((status = 200, description = "The table.", body = String, content_type = "text/csv"))
)]
#[get("/v1/exports/stock")]
pub async fn export_stock(shop: web::Data<Shop>) -> Answer {
    export(shop, TableKind::Stock).await
}

/// Writes all heat scales as CSV, a row for each code.
#[utoipa::path(
    operation_id = "export_heat_scales", tag = "exchange",
    responses((status = 200, description = "The table.", body = String, content_type = "text/csv"))
)]
#[get("/v1/exports/heat-scales")]
pub async fn export_heat_scales(shop: web::Data<Shop>) -> Answer {
    export(shop, TableKind::HeatScales).await
}

/// Writes all statements that one part stands in for another as CSV.
#[utoipa::path(
    operation_id = "export_stand_ins", tag = "exchange",
    responses((status = 200, description = "The table.", body = String, content_type = "text/csv"))
)]
#[get("/v1/exports/stand-ins")]
pub async fn export_stand_ins(shop: web::Data<Shop>) -> Answer {
    export(shop, TableKind::StandIns).await
}

/// Writes a table of one kind.
///
/// # Errors
/// Where database or file fail.
pub(crate) async fn export(shop: web::Data<Shop>, kind: TableKind) -> Answer {
    let written = ask(&shop, move |shop| {
        let mut table = BufWriter::new(tempfile::SpooledTempFile::new(IN_MEMORY));
        exchange::export(shop, kind, &mut table)?;
        let mut table = table
            .into_inner()
            .map_err(|e| Problem::internal(format!("a table cannot be kept: {e}")))?;
        let length = table.stream_position();
        let length = length.and_then(|length| table.rewind().map(|()| length));
        let length =
            length.map_err(|e| Problem::internal(format!("a table cannot be kept: {e}")))?;
        Ok::<_, Problem>((table, length))
    });
    let (table, length) = written.await?;
    let parts = stream::try_unfold(table, |mut table| async {
        let part = web::block(move || {
            let mut part = vec![0; PART];
            let read = table.read(&mut part)?;
            part.truncate(read);
            Ok::<_, std::io::Error>((part, table))
        });
        let (part, table) = part
            .await
            .map_err(actix_web::error::ErrorInternalServerError)??;
        Ok::<_, actix_web::Error>((!part.is_empty()).then(|| (Bytes::from(part), table)))
    });
    let name = format!("attachment; filename=\"{}.csv\"", kind.word());
    Ok(HttpResponse::Ok()
        .content_type(TABLE)
        .insert_header((header::CONTENT_DISPOSITION, name))
        .no_chunking(length)
        .streaming(Box::pin(parts)))
}
