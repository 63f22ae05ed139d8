//! Tables in, as CSV.

use actix_web::{get, post, web};
use serde::Serialize;
use utoipa::{IntoParams, ToSchema};

use crate::http::answer::{Answer, ask, ok};
use crate::http::once::{booked, kept};
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::http::request::Csv;
use crate::service::exchange::declared::{Declared, declared};
use crate::service::exchange::forms::Form;
use crate::service::exchange::{self, Importing, Report, TableKind, Trial};
use crate::service::{Actor, Shop};

/// How an import is done.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct ImportQuery {
    /// `true`: say what would happen, record by record, and store nothing.
    dry_run: Option<bool>,
}

impl FromQuery for ImportQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            dry_run: members.flag("dry_run"),
        }
    }
}

type Query = CheckedQuery<ImportQuery>;

/// Reads catalogue records from CSV: checked whole, every fault by row and column, all or nothing.
///
/// Records are met by maker and part number, case-blind. A column that is not there leaves what is
/// stored; an empty cell means unknown. Headers may carry another unit: `reach_in`. Which columns
/// there are: `GET /v1/imports/columns`.
#[utoipa::path(
    operation_id = "import_plugs", tag = "exchange", params(ImportQuery),
    request_body(content = String, content_type = "text/csv"),
    responses(
        (status = 200, description = "What a dry run would do.", body = Trial),
        (status = 201, description = "What was done.", body = Report)
    )
)]
#[post("/v1/imports/plugs")]
pub async fn import_plugs(shop: web::Data<Shop>, actor: Actor, query: Query, table: Csv) -> Answer {
    import(shop, TableKind::Plugs, actor, query, table).await
}

/// Reads opening stock from CSV: each row is a receipt into a bin, or into quarantine where
/// `place_kind` says so.
///
/// Parts and places have to be there; suppliers are made on first use. The same table sent again under
/// another key is received again; `already` tells so, in a dry run and in the answer: when the same
/// content was read before and by whom, and which lots are like a row.
#[utoipa::path(
    operation_id = "import_stock", tag = "exchange", params(ImportQuery),
    request_body(content = String, content_type = "text/csv"),
    responses(
        (status = 200, description = "What a dry run would do.", body = Trial),
        (status = 201, description = "What was done.", body = Report)
    )
)]
#[post("/v1/imports/stock")]
pub async fn import_stock(shop: web::Data<Shop>, actor: Actor, query: Query, table: Csv) -> Answer {
    import(shop, TableKind::Stock, actor, query, table).await
}

/// Reads heat scales from CSV: a row for each code, in the maker's order.
///
/// Scales are met by maker and scale, case-blind; one in the table takes the place of the stored one
/// with all its codes, and the parts that carry them follow. Numbers count scales.
#[utoipa::path(
    operation_id = "import_heat_scales", tag = "exchange", params(ImportQuery),
    request_body(content = String, content_type = "text/csv"),
    responses(
        (status = 200, description = "What a dry run would do.", body = Trial),
        (status = 201, description = "What was done.", body = Report)
    )
)]
#[post("/v1/imports/heat-scales")]
pub async fn import_heat_scales(
    shop: web::Data<Shop>,
    actor: Actor,
    query: Query,
    table: Csv,
) -> Answer {
    import(shop, TableKind::HeatScales, actor, query, table).await
}

/// Reads statements from CSV that one part stands in for another; the catalogue may lack either.
///
/// Statements are met by both parts and who says so, case-blind. One that the table says otherwise is
/// withdrawn and stated anew, and counts as updated.
#[utoipa::path(
    operation_id = "import_stand_ins", tag = "exchange", params(ImportQuery),
    request_body(content = String, content_type = "text/csv"),
    responses(
        (status = 200, description = "What a dry run would do.", body = Trial),
        (status = 201, description = "What was done.", body = Report)
    )
)]
#[post("/v1/imports/stand-ins")]
pub async fn import_stand_ins(
    shop: web::Data<Shop>,
    actor: Actor,
    query: Query,
    table: Csv,
) -> Answer {
    import(shop, TableKind::StandIns, actor, query, table).await
}

async fn import(
    shop: web::Data<Shop>,
    kind: TableKind,
    actor: Actor,
    CheckedQuery(query): Query,
    mut csv: Csv,
) -> Answer {
    if query.dry_run == Some(true) {
        csv.key.given()?;
        let tried = ask(&shop, move |shop| {
            let importing = Importing {
                kind,
                actor: &actor,
                progress: &|_, _| {},
            };
            exchange::attempt(shop, &importing, &mut csv.table)
        });
        return ok(&tried.await?);
    }
    let key = csv.key.of(&actor, &csv.digest)?;
    let done = ask(&shop, move |shop| {
        let importing = Importing {
            kind,
            actor: &actor,
            progress: &|_, _| {},
        };
        exchange::import_once(shop, &key, &importing, &mut csv.table, |report| {
            kept(201, None, report)
        })
    });
    Ok(booked(&shop, done.await?))
}

/// The columns of all tables.
#[derive(Debug, Serialize, ToSchema)]
pub struct TableColumns {
    /// Of the catalogue.
    plugs: Vec<TableColumn>,
    /// Of what lies in bins.
    stock: Vec<TableColumn>,
    /// Of heat scales.
    #[serde(rename = "heat-scales")]
    heat_scales: Vec<TableColumn>,
    /// Of statements.
    #[serde(rename = "stand-ins")]
    stand_ins: Vec<TableColumn>,
}

/// A column of a table.
#[derive(Debug, Serialize, ToSchema)]
pub struct TableColumn {
    /// Its name in the header; case, spaces and hyphens do not matter.
    name: &'static str,
    /// Other names of it, each with its unit.
    other_names: Vec<String>,
    /// What it means.
    meaning: String,
    /// Whether it has to be there, with something in every row.
    needed: bool,
    /// How its cells are written: `text`, `word`, `flag`, `number`, `name`, `provenance`, `instant`.
    form: &'static str,
    /// The words that may stand there, where it is a word.
    words: Option<&'static [&'static str]>,
    /// The unit of a number.
    unit: Option<&'static str>,
    /// The least number.
    min: Option<f64>,
    /// The greatest number.
    max: Option<f64>,
    /// Decimal places that a number is kept with.
    decimals: Option<u32>,
}

impl From<&Declared> for TableColumn {
    fn from(column: &Declared) -> Self {
        let mut told = Self {
            name: column.name,
            other_names: column.other_names(),
            meaning: column.meaning.clone(),
            needed: column.needed,
            form: column.form.word(),
            words: None,
            unit: None,
            min: None,
            max: None,
            decimals: None,
        };
        match column.form {
            Form::Choice(words) => told.words = Some(words),
            Form::Number {
                decimals,
                unit,
                min,
                max,
            } => {
                told.unit = Some(unit).filter(|unit| !unit.is_empty());
                (told.min, told.max, told.decimals) = (Some(min), Some(max), Some(decimals));
            }
            _ => {}
        }
        told
    }
}

/// Lists the columns that tables have, in and out.
#[utoipa::path(
    operation_id = "list_table_columns", tag = "exchange",
    responses((status = 200, description = "The columns, table by table.", body = TableColumns))
)]
#[get("/v1/imports/columns")]
pub async fn list_table_columns() -> Answer {
    let of = |kind| declared(kind).iter().map(TableColumn::from).collect();
    ok(&TableColumns {
        plugs: of(TableKind::Plugs),
        stock: of(TableKind::Stock),
        heat_scales: of(TableKind::HeatScales),
        stand_ins: of(TableKind::StandIns),
    })
}
