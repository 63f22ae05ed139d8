//! Looking after the data: audit, reindex, backup, restore.

use std::path::Path;

use plugwell_domain::ledger::shelf::OnShelf;
use plugwell_domain::wording::counted;
use plugwell_store::{BackupReport, Options, Store, Target};

use crate::cli::Ended;
use crate::cli::folder::{self, Folder};
use crate::cli::opened::{self, Bar};
use crate::cli::said;
use crate::service::{Refusal, Shop};

/// Recomputes every level from the movements, and compares index and shelves with the database.
///
/// # Errors
/// A sentence for each difference.
pub fn audit(data: &Path, database: Option<&str>) -> Result<(), Ended> {
    let opened = opened::open(data, database)?;
    let report = opened.shop.store.read(|s| s.audit_levels())?;
    said::line(format_args!(
        "{} of {} taken together to {}",
        counted(report.movements, "movement"),
        counted(report.lots, "lot"),
        counted(report.levels, "level")
    ))?;
    let mut differences: Vec<String> = report.differences.iter().map(ToString::to_string).collect();
    differences.extend(shelves_differ(&opened.shop)?);
    differences.extend(index_differs(&opened.shop)?);
    if differences.is_empty() {
        return said::line("no difference");
    }
    for difference in &differences {
        said::line(difference)?;
    }
    Err(Ended::Wrong(counted(differences.len(), "difference")))
}

/// What the shelves in memory show otherwise than the ledger.
fn shelves_differ(shop: &Shop) -> Result<Vec<String>, Ended> {
    let all = shop.store.read(|s| s.all_on_shelf())?;
    let shelves = shop.shelves.read();
    let mut differences = Vec::new();
    for (ordinal, _, on_shelf) in &all {
        let shown: OnShelf = shelves.get(*ordinal);
        if shown != *on_shelf {
            differences.push(format!(
                "part {ordinal}: the shelf shows {shown:?}, the ledger says {on_shelf:?}"
            ));
        }
    }
    said::line(format_args!(
        "{} shelves compared with the ledger",
        all.len()
    ))?;
    Ok(differences)
}

/// What the index holds otherwise than the catalogue.
fn index_differs(shop: &Shop) -> Result<Vec<String>, Ended> {
    let mut differences = Vec::new();
    let mut last = -1;
    let mut living = 0u64;
    loop {
        let records = shop.store.read(|s| s.all_plugs(last, 5_000))?;
        let Some((ordinal, _)) = records.last() else {
            break;
        };
        last = i64::from(*ordinal);
        for (ordinal, plug) in records.iter().filter(|(_, plug)| !plug.retired) {
            living += 1;
            if !shop.index.holds(*ordinal, plug).map_err(Refusal::from)? {
                differences.push(format!(
                    "{} {}: the index lacks it or holds an older state",
                    plug.data.maker, plug.data.part_number
                ));
            }
        }
    }
    if shop.index.count() != living {
        differences.push(format!(
            "the index holds {}, the catalogue {living}",
            counted(shop.index.count(), "record")
        ));
    }
    said::line(format_args!(
        "{} of the catalogue looked up in the index",
        counted(living, "record")
    ))?;
    Ok(differences)
}

/// Throws the index away and makes it anew.
///
/// # Errors
/// A sentence.
pub fn reindex(data: &Path, database: Option<&str>) -> Result<(), Ended> {
    let opened = opened::open(data, database)?;
    let bar = Bar::new("building the index");
    opened.shop.reindex(&|done, total| bar.at(done, total))?;
    bar.end();
    said::line(format_args!(
        "{} in the index",
        counted(opened.shop.index.count(), "record")
    ))?;
    Ok(())
}

/// Copies a SQLite database while it may be in use, and reads the copy back.
///
/// # Errors
/// A sentence; on PostgreSQL, where its own tools do it.
pub fn backup(data: &Path, database: Option<&str>, to: &Path) -> Result<(), Ended> {
    let target = folder::target(data, database).map_err(Ended::Wrong)?;
    let Target::Sqlite(file) = &target else {
        return Err(Ended::Wrong(
            "PostgreSQL is backed up with pg_dump; see the README".into(),
        ));
    };
    if !file.exists() {
        return Err(Ended::Wrong(format!(
            "there is no database {}",
            file.display()
        )));
    }
    let store =
        Store::open(&target, &Options::default()).map_err(|e| Ended::Wrong(e.to_string()))?;
    let report = store.backup(to).map_err(|e| Ended::Wrong(e.to_string()))?;
    said::line(format_args!(
        "{} copied to {} and read back",
        counted(rows(&report), "row"),
        to.display()
    ))?;
    Ok(())
}

/// Puts a copy into a folder in which there is no database yet.
///
/// # Errors
/// A sentence.
pub fn restore(data: &Path, database: Option<&str>, from: &Path) -> Result<(), Ended> {
    let Target::Sqlite(file) = folder::target(data, database).map_err(Ended::Wrong)? else {
        return Err(Ended::Wrong(
            "PostgreSQL is restored with pg_restore; see the README".into(),
        ));
    };
    let folder = Folder::take(data)?;
    let report = plugwell_store::restore(from, &file).map_err(|e| Ended::Wrong(e.to_string()))?;
    // The index of whatever lay here before belongs to another database.
    match std::fs::remove_dir_all(folder.index()) {
        Err(e) if e.kind() != std::io::ErrorKind::NotFound => {
            return Err(Ended::Wrong(e.to_string()));
        }
        _ => {}
    }
    said::line(format_args!(
        "{} restored to {} and read back",
        counted(rows(&report), "row"),
        file.display()
    ))?;
    Ok(())
}

fn rows(report: &BackupReport) -> i64 {
    report.tables.iter().map(|(_, rows)| rows).sum()
}
