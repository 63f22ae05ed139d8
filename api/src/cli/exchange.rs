//! Tables in and out: straight from and to the data folder, or through the service that has it open.

use std::fs::File;
use std::io::{BufWriter, Read, Write};
use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};
use plugwell_domain::wording::counted;
use plugwell_domain::words::Role;
use serde_json::Value;
use tempfile::SpooledTempFile;
use uuid::Uuid;

use crate::cli::ask::{Reached, reach, wait};
use crate::cli::opened::Bar;
use crate::cli::said;
use crate::cli::{Ended, Service, Where};
use crate::service::Actor;
use crate::service::exchange::declared::declared;
use crate::service::exchange::forms::Form;
use crate::service::exchange::{self, Importing, Table, TableKind};

/// A table on standard input up to so many bytes is kept in memory.
const IN_MEMORY: usize = 1 << 20;

/// Options of `plugwell import`.
#[derive(Debug, Args)]
pub struct Import {
    #[command(subcommand)]
    table: In,
}

/// Options of `plugwell export`.
#[derive(Debug, Args)]
pub struct Export {
    #[command(subcommand)]
    table: Out,
}

#[derive(Debug, Subcommand)]
enum In {
    /// Catalogue records, met by maker and part number
    #[command(after_help = columns(TableKind::Plugs))]
    Plugs(TableIn),
    /// Opening stock: each row is a receipt into a bin or quarantine
    #[command(after_help = columns(TableKind::Stock))]
    Stock(TableIn),
    /// Makers' heat codes, a row for each code in the maker's order
    #[command(after_help = columns(TableKind::HeatScales))]
    HeatScales(TableIn),
    /// Statements that one part stands in for another
    #[command(after_help = columns(TableKind::StandIns))]
    StandIns(TableIn),
}

#[derive(Debug, Subcommand)]
enum Out {
    /// Catalogue records, retired ones too
    Plugs(TableOut),
    /// What lies in bins and in quarantine, a row for each lot in each place
    Stock(TableOut),
    /// Makers' heat codes, a row for each code
    HeatScales(TableOut),
    /// Statements that one part stands in for another
    StandIns(TableOut),
}

#[derive(Debug, Args)]
struct TableIn {
    /// CSV in UTF-8 with a header, parted by comma, semicolon or tab; - reads standard input
    file: PathBuf,
    /// Say what would happen, record by record, and store nothing
    #[arg(long)]
    dry_run: bool,
    #[command(flatten)]
    place: Where,
    #[command(flatten)]
    service: Service,
}

#[derive(Debug, Args)]
struct TableOut {
    /// The file to write; - writes to standard output
    #[arg(default_value = "-")]
    file: PathBuf,
    #[command(flatten)]
    place: Where,
    #[command(flatten)]
    service: Service,
}

/// The columns of a table, for its help.
fn columns(kind: TableKind) -> String {
    let mut text = String::from(
        "Columns, in any order; those with * have to be there. A column that is not there leaves what is \
         stored, an empty cell means unknown:\n",
    );
    for column in declared(kind) {
        let mark = if column.needed { "*" } else { " " };
        let mut told = vec![column.meaning.clone()];
        match column.form {
            Form::Choice(words) => told.push(format!("one of {}", words.join(", "))),
            Form::Flag => told.push("true or false".into()),
            Form::Number { unit, min, max, .. } => {
                told.push(format!("{min} to {max} {unit}").trim_end().to_owned());
            }
            _ => {}
        }
        let others = column.other_names();
        if !others.is_empty() {
            told.push(format!("or as {}", others.join(", ")));
        }
        text += &format!("  {mark} {:<18} {}\n", column.name, told.join("; "));
    }
    text
}

/// Reads a table into the shop.
///
/// # Errors
/// Every fault by row and column.
pub fn import(import: &Import) -> Result<(), Ended> {
    let (kind, given) = match &import.table {
        In::Plugs(given) => (TableKind::Plugs, given),
        In::Stock(given) => (TableKind::Stock, given),
        In::HeatScales(given) => (TableKind::HeatScales, given),
        In::StandIns(given) => (TableKind::StandIns, given),
    };
    let mut table = opened(&given.file)?;
    let report = match reach(&given.place, &given.service)? {
        // What comes on standard input can be read once; it may have to be sent twice.
        Reached::Over(client) if given.file == Path::new("-") => {
            let mut csv = Vec::new();
            table
                .read_to_end(&mut csv)
                .map_err(|e| unreadable(&given.file, &e))?;
            wait(client.import(kind.word(), csv, given.dry_run))?
        }
        Reached::Over(client) => {
            let file = given.file.clone();
            let open = move || File::open(&file);
            wait(client.import_from(kind.word(), open, given.dry_run))?
        }
        Reached::Own(opened) => {
            let actor = Actor {
                token_id: Uuid::nil(),
                name: "command line".into(),
                role: Role::Manager,
            };
            let bar = Bar::of_bytes("reading");
            let importing = Importing {
                kind,
                actor: &actor,
                progress: &|done, total| bar.at(done, total),
            };
            let report = if given.dry_run {
                let tried = exchange::attempt(&opened.shop, &importing, &mut table)?;
                serde_json::to_value(tried)
            } else {
                let done = exchange::import(&opened.shop, &importing, &mut table)?;
                serde_json::to_value(done)
            };
            bar.end();
            report.unwrap_or_default()
        }
    };
    said::print(told(&report, given.dry_run))
}

/// A table that can be read again from its beginning.
fn opened(file: &Path) -> Result<Box<dyn Table>, Ended> {
    if file == Path::new("-") {
        let mut kept = SpooledTempFile::new(IN_MEMORY);
        std::io::copy(&mut std::io::stdin().lock(), &mut kept)
            .and_then(|_| std::io::Seek::rewind(&mut kept))
            .map_err(|e| unreadable(file, &e))?;
        return Ok(Box::new(kept));
    }
    Ok(Box::new(
        File::open(file).map_err(|e| unreadable(file, &e))?,
    ))
}

fn unreadable(file: &Path, e: &std::io::Error) -> Ended {
    Ended::Wrong(format!("{} cannot be read: {e}", file.display()))
}

/// What was done, or would be, in numbers and record by record.
fn told(report: &Value, dry_run: bool) -> String {
    let would = if dry_run { "would be " } else { "" };
    let mut text = format!(
        "{}: {} {would}created, {} {would}updated, {} unchanged\n",
        counted(&report["rows"], "row"),
        report["created"],
        report["updated"],
        report["unchanged"]
    );
    text += &received_before(&report["already"]);
    let cell = |value: &Value| match exchange::forms::written(value) {
        empty if empty.is_empty() => "unknown".to_owned(),
        cell => cell,
    };
    for record in report["differences"].as_array().into_iter().flatten() {
        let members = record["members"].as_array().into_iter().flatten();
        let members: Vec<String> = members
            .map(|m| {
                let name = m["member"].as_str().unwrap_or_default();
                format!("{name} {} → {}", cell(&m["old"]), cell(&m["new"]))
            })
            .collect();
        let what = match members.as_slice() {
            [] => "new".to_owned(),
            some => some.join(", "),
        };
        let name = record["record"].as_str().unwrap_or_default();
        text += &format!("row {}, {name}: {what}\n", record["row"]);
    }
    match report["more_differences"].as_u64() {
        Some(more) if more > 0 => text + &format!("and {more} more\n"),
        _ => text,
    }
}

/// What tells that a table of stock was received before.
fn received_before(already: &Value) -> String {
    let listed = |member: &str| already[member].as_array().into_iter().flatten();
    let word = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let reads = listed("reads").map(|read| {
        let (at, by) = (word(&read["read_at"]), word(&read["read_by"]));
        format!("a table with the same content was read at {at} by {by}\n")
    });
    let lots = listed("lots").map(|lot| {
        let (code, at) = (word(&lot["code"]), word(&lot["received_at"]));
        format!("row {} is like lot {code}, received at {at}\n", lot["row"])
    });
    let mut text: String = reads.chain(lots).collect();
    if let Some(more) = already["more_lots"].as_u64().filter(|more| *more > 0) {
        text += &format!("and {} more like a row\n", counted(more, "lot"));
    }
    text
}

/// Writes a table of the shop.
///
/// # Errors
/// A sentence.
pub fn export(export: &Export) -> Result<(), Ended> {
    let (kind, given) = match &export.table {
        Out::Plugs(given) => (TableKind::Plugs, given),
        Out::Stock(given) => (TableKind::Stock, given),
        Out::HeatScales(given) => (TableKind::HeatScales, given),
        Out::StandIns(given) => (TableKind::StandIns, given),
    };
    let reached = reach(&given.place, &given.service)?;
    let mut to: Box<dyn Write> = if given.file == Path::new("-") {
        Box::new(said::out())
    } else {
        let file = File::create(&given.file).map_err(|e| {
            Ended::Wrong(format!("{} cannot be written: {e}", given.file.display()))
        })?;
        Box::new(BufWriter::new(file))
    };
    match reached {
        Reached::Over(client) => wait(client.export(kind.word(), &mut to))?,
        Reached::Own(opened) => {
            exchange::export(&opened.shop, kind, &mut to)?;
        }
    }
    Ok(to.flush()?)
}
