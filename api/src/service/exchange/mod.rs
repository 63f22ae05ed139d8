//! Tables in and out, as CSV: one way for all kinds. What comes in is checked whole, every fault told
//! by row and column, all or nothing; what goes out can come in again.

mod already;
mod columns;
mod costs;
pub mod declared;
pub mod forms;
mod found;
mod heading;
mod heat_scales;
mod names;
mod out;
mod plugs;
mod rows;
mod stand_ins;
mod stock;
mod waiting;

use std::io::{Read, Seek, SeekFrom};
use std::sync::Arc;

use plugwell_domain::event::{Event, EventKind};
use plugwell_domain::policy::Policy;
use plugwell_store::{Session, StoreError, Turn};
use serde_json::json;
use uuid::Uuid;

pub use already::{Already, EarlierRead, LikeLot};
pub use found::{Change, MemberDifference, RecordDifference, Report, Trial};
pub use out::export;
pub use waiting::{LookedAt, Waiting, book, look, looked_at};

use crate::service::ahead::ahead;
use crate::service::once::{Once, OnceKey, Stored};
use crate::service::shop::{Along, Touched};
use crate::service::stock::By;
use crate::service::{Actor, Refusal, Shop, new_id};
use found::{Faults, Found};
use heading::Heading;
use rows::{Batch, Row, Rows};

/// A kind of table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TableKind {
    /// Catalogue records, met by maker and part number.
    Plugs,
    /// What lies in bins and in quarantine; each row that comes in is a receipt.
    Stock,
    /// Makers' heat codes, met by maker and scale.
    HeatScales,
    /// Statements that one part stands in for another, met by both parts and who says so.
    StandIns,
}

impl TableKind {
    /// Every kind.
    pub const ALL: &'static [Self] = &[Self::Plugs, Self::Stock, Self::HeatScales, Self::StandIns];

    /// The word that stands for it in a path and on the command line.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Plugs => "plugs",
            Self::Stock => "stock",
            Self::HeatScales => "heat-scales",
            Self::StandIns => "stand-ins",
        }
    }
}

/// A table that lies somewhere and can be read again from its beginning.
pub trait Table: Read + Seek + Send {}

impl<T: Read + Seek + Send> Table for T {}

/// Whose import it is, and how far it has come.
pub struct Importing<'a> {
    /// What the table holds.
    pub kind: TableKind,
    /// Who brings it.
    pub actor: &'a Actor,
    /// Is told how many bytes are read, of how many.
    pub progress: &'a (dyn Fn(u64, u64) + Sync),
}

/// An import and what the index has to hear of it.
#[derive(Debug)]
struct Imported<'s> {
    /// What it did, record by record.
    trial: Trial,
    /// New and changed catalogue records.
    plugs: Vec<Uuid>,
    /// New ones of which it knows by now.
    along: Option<Along<'s>>,
}

impl Imported<'_> {
    /// Lets every later match know of it, once it is committed.
    fn told(self, shop: &Shop) -> Result<Trial, Refusal> {
        if let Some(index) = self.along {
            index.finish()?;
        }
        shop.written(self.plugs)?;
        Ok(self.trial)
    }
}

/// What the rows of a table become.
trait Taking {
    /// Takes some rows, in their order.
    fn take(
        &mut self,
        session: &mut Session,
        rows: Vec<Row>,
        heading: &Heading,
        found: &mut Found<'_>,
    ) -> Result<(), Refusal>;

    /// Ends, after the last row.
    fn end(
        &mut self,
        _session: &mut Session,
        _heading: &Heading,
        _found: &mut Found<'_>,
    ) -> Result<(), Refusal> {
        Ok(())
    }
}

/// A column of a table's header that was understood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Understood {
    /// As the header has it.
    pub header: String,
    /// The member that it fills.
    pub member: &'static str,
    /// The unit that its numbers are converted from, where it is not the column's own.
    pub unit: Option<&'static str>,
}

/// The columns that a table's header names, as far as they are understood.
///
/// # Errors
/// Where the table cannot be read at all.
pub fn header(kind: TableKind, table: &mut dyn Table) -> Result<Vec<Understood>, Refusal> {
    let rows = Rows::begin(kind, table, &mut Faults::default())?;
    Ok(rows.heading().told())
}

/// Reads a table inside a transaction. `index_of` is the shop whose index may be made along with it,
/// none where nothing will be kept.
///
/// A column that is not there leaves what is stored; an empty cell means unknown.
///
/// # Errors
/// `Rows` with every fault; nothing is to be kept then.
fn take<'s>(
    session: &mut Session,
    policy: &Policy,
    importing: &Importing<'_>,
    table: &mut dyn Table,
    index_of: Option<&'s Shop>,
) -> Result<(Imported<'s>, Vec<Touched>), Refusal> {
    let length = table
        .seek(SeekFrom::End(0))
        .map_err(|e| Refusal::Fault(format!("the table cannot be read: {e}")))?;
    let mut found = Found::default();
    let by = By::now(importing.actor);
    let mut taking: Box<dyn Taking + '_> = match importing.kind {
        TableKind::Plugs => {
            let plugs = plugs::Plugs::of(session)?;
            if plugs.are_first() {
                found.along = index_of.and_then(Shop::index_along);
            }
            Box::new(plugs)
        }
        TableKind::Stock => Box::new(stock::Stock::of(by, policy)),
        TableKind::HeatScales => Box::<heat_scales::HeatScales>::default(),
        TableKind::StandIns => Box::new(stand_ins::StandIns::of(by)),
    };
    let mut rows = Rows::begin(importing.kind, table, &mut found.faults)?;
    let heading = rows.heading();
    ahead(
        |pass| rows.each_batch(pass),
        |batch: Batch| {
            found.trial.report.rows += batch.rows.len() as u64;
            found.faults.append(batch.faults);
            taking.take(session, batch.rows, &heading, &mut found)?;
            (importing.progress)(batch.bytes, length);
            Ok(())
        },
    )?;
    taking.end(session, &heading, &mut found)?;
    found.faults.ended()?;
    let report = &found.trial.report;
    let told = json!({
        "table": importing.kind.word(), "rows": report.rows,
        "created": report.created, "updated": report.updated, "unchanged": report.unchanged,
    });
    session.tell(&Event::of(EventKind::TableImported, new_id(), 1, &told))?;
    let imported = Imported {
        trial: found.trial,
        plugs: found.plugs,
        along: found.along,
    };
    Ok((imported, found.touched.into_values().collect()))
}

/// Reads a table into the shop; every later match knows of it.
///
/// # Errors
/// `Rows` with every fault; nothing is kept then.
pub fn import(
    shop: &Shop,
    importing: &Importing<'_>,
    table: &mut dyn Table,
) -> Result<Report, Refusal> {
    let policy = shop.policy();
    let (imported, _) = shop.store.write_in(
        Turn::Alone,
        |session| {
            let (imported, touched) = take(session, &policy, importing, table, Some(shop))?;
            Ok::<_, Refusal>((imported, (touched, session.position())))
        },
        |(_, (touched, position))| shop.after(touched, *position),
    )?;
    Ok(imported.told(shop)?.report)
}

/// The same at most once: the answer is kept under the key, in the same transaction.
///
/// # Errors
/// As [`import`]; `KeyReused` where the key stands for another request.
pub fn import_once(
    shop: &Shop,
    key: &OnceKey,
    importing: &Importing<'_>,
    table: &mut dyn Table,
    render: impl Fn(&Report) -> Stored,
) -> Result<Once<Trial>, Refusal> {
    let policy: Arc<Policy> = shop.policy();
    taken_once(
        shop,
        key,
        |session| take(session, &policy, importing, table, Some(shop)),
        render,
    )
}

/// Takes a table at most once, whatever gives it; every later match knows of it.
fn taken_once<'s>(
    shop: &'s Shop,
    key: &OnceKey,
    taken: impl FnMut(&mut Session) -> Result<(Imported<'s>, Vec<Touched>), Refusal>,
    render: impl Fn(&Report) -> Stored,
) -> Result<Once<Trial>, Refusal> {
    let done = shop.once_in(Turn::Alone, key, taken, |imported| {
        render(&imported.trial.report)
    })?;
    done.then(|imported| imported.told(shop))
}

/// How a trial ends: always by rolling back.
enum Ended {
    Tried(Trial),
    Refused(Refusal),
}

impl From<StoreError> for Ended {
    fn from(error: StoreError) -> Self {
        Self::Refused(error.into())
    }
}

/// Says what an import would do, and does nothing.
///
/// # Errors
/// As [`import`].
pub fn attempt(
    shop: &Shop,
    importing: &Importing<'_>,
    table: &mut dyn Table,
) -> Result<Trial, Refusal> {
    let policy = shop.policy();
    let run = |session: &mut Session| match take(session, &policy, importing, table, None) {
        Ok((imported, _)) => Err::<(), Ended>(Ended::Tried(imported.trial)),
        Err(refusal) => Err(Ended::Refused(refusal)),
    };
    match shop.store.write_in(Turn::Alone, run, |()| {}) {
        Err(Ended::Tried(trial)) => Ok(trial),
        Err(Ended::Refused(refusal)) => Err(refusal),
        Ok(()) => Err(Refusal::Fault("a trial was kept".into())),
    }
}
