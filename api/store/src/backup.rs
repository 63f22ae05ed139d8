//! Copies of a SQLite database: taken while it is in use, read back before they count.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::time::Duration;

use uuid::Uuid;

use crate::connection::{APPLICATION_ID, Opener, Role};
use crate::error::{OpenError, StoreError};
use crate::session::Session;
use crate::session::meta::LINEAGE;
use crate::statement::binds;
use crate::store::Store;
use crate::target::Target;

/// What a copy holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BackupReport {
    /// Each table with its rows.
    pub tables: Vec<(String, i64)>,
    /// Length of the file.
    pub bytes: u64,
}

/// Why there is no copy.
#[derive(Debug, thiserror::Error)]
pub enum BackupError {
    /// PostgreSQL has its own tools for this.
    #[error("only a database of SQLite is copied like this; PostgreSQL has pg_dump and pg_restore")]
    NotSqlite,
    /// There is something where the copy should go.
    #[error("{} is there already; nothing was written over", .0.display())]
    Occupied(PathBuf),
    /// The copy, read back, is not what was to be copied.
    #[error("the copy cannot be trusted and was thrown away: {0}")]
    NotTheSame(String),
    /// The file system said no.
    #[error("{}: {source}", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// One of the two files cannot be opened.
    #[error(transparent)]
    Open(#[from] OpenError),
    /// The database gave out.
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl Store {
    /// Copies the database of SQLite into a new file while it is in use, reads the copy back
    /// (integrity, rows of every table, levels against movements) and only then gives it its name.
    ///
    /// # Errors
    /// [`BackupError`]; there is no file of that name then.
    pub fn backup(&self, to: &Path) -> Result<BackupReport, BackupError> {
        let Target::Sqlite(from) = self.target() else {
            return Err(BackupError::NotSqlite);
        };
        copied(from, to, |copy| {
            let audit = copy.audit_levels()?;
            match audit.differences.first() {
                Some(first) => Err(BackupError::NotTheSame(first.to_string())),
                None => Ok(()),
            }
        })
    }
}

/// Makes a database of SQLite from a copy, where there is none yet, and reads it back.
///
/// The new database begins a lineage of its own: what was built from the old one, such as an
/// index, is built again.
///
/// # Errors
/// [`BackupError`]; there is no file of that name then.
pub fn restore(from: &Path, to: &Path) -> Result<BackupReport, BackupError> {
    for companion in ["-wal", "-shm", "-journal"] {
        free(&beside(to, companion))?;
    }
    copied(from, to, |copy| {
        Ok(copy.set_meta(LINEAGE, &Uuid::now_v7().to_string())?)
    })
}

/// Copies a file under another name, has the copy checked or finished, and gives it its name.
fn copied(
    from: &Path,
    to: &Path,
    finish: impl FnOnce(&mut Session) -> Result<(), BackupError>,
) -> Result<BackupReport, BackupError> {
    free(to)?;
    let partial = beside(to, ".partial");
    if partial.exists() {
        // Left by a copy that was cut off.
        std::fs::remove_file(&partial).map_err(at(&partial))?;
    }
    let made = copy_and_verify(from, &partial, finish).and_then(|report| {
        File::open(&partial)
            .and_then(|file| file.sync_all())
            .map_err(at(&partial))?;
        free(to)?;
        std::fs::rename(&partial, to).map_err(at(to))?;
        let folder = to
            .parent()
            .filter(|p| !p.as_os_str().is_empty())
            .unwrap_or(Path::new("."));
        File::open(folder)
            .and_then(|folder| folder.sync_all())
            .map_err(at(folder))?;
        Ok(report)
    });
    if made.is_err() {
        std::fs::remove_file(&partial).ok();
    }
    made
}

fn copy_and_verify(
    from: &Path,
    partial: &Path,
    finish: impl FnOnce(&mut Session) -> Result<(), BackupError>,
) -> Result<BackupReport, BackupError> {
    let Some(name) = partial.to_str() else {
        return Err(at(partial)(std::io::Error::other(
            "the path is no UTF-8 text",
        )));
    };
    let mut source = opened(from)?;
    if !is_own(&mut source)? {
        let reason = "it lacks the mark of one".to_owned();
        return Err(OpenError::Foreign {
            path: from.to_owned(),
            reason,
        }
        .into());
    }
    sound(&mut source)?;
    // Rows may come and go while the copy is made: its own lie between those before and after.
    let before = tables(&mut source)?;
    source.execute("VACUUM INTO ?", binds![name])?;
    let after = tables(&mut source)?;
    drop(source);

    let mut copy = opened(partial)?;
    sound(&mut copy)?;
    let found = tables(&mut copy)?;
    let names = |tables: &[(String, i64)]| {
        tables
            .iter()
            .map(|(name, _)| name.clone())
            .collect::<Vec<_>>()
    };
    if names(&found) != names(&before) {
        return Err(BackupError::NotTheSame("it has other tables".into()));
    }
    for ((name, rows), (b, a)) in found.iter().zip(before.iter().zip(&after)) {
        if !(b.1.min(a.1)..=b.1.max(a.1)).contains(rows) {
            let detail = format!(
                "{name} has {rows} rows, the original {} before and {} after",
                b.1, a.1
            );
            return Err(BackupError::NotTheSame(detail));
        }
    }
    finish(&mut copy)?;
    drop(copy);
    let bytes = std::fs::metadata(partial).map_err(at(partial))?.len();
    Ok(BackupReport {
        tables: found,
        bytes,
    })
}

/// Marks a new file as plugwell's, and refuses one that holds something else.
pub(crate) fn own_file(session: &mut Session, path: &Path) -> Result<(), OpenError> {
    let foreign = |reason: String| OpenError::Foreign {
        path: path.to_owned(),
        reason,
    };
    let read = |e: StoreError| match e {
        StoreError::Fault(said) => foreign(said),
        other => OpenError::Store(other),
    };
    // In this order: another process that makes the tables just now marks the file with them.
    let empty = tables(session).map_err(read)?.is_empty();
    if !empty && !is_own(session).map_err(read)? {
        return Err(foreign("it holds the tables of something else".into()));
    }
    Ok(())
}

/// Whether every page, row and index is in order. What was copied is asked as well: copying makes
/// the indexes anew and would hide that they did not agree.
fn sound(session: &mut Session) -> Result<(), BackupError> {
    let said: String = session.one("PRAGMA integrity_check", &[])?;
    if said == "ok" {
        Ok(())
    } else {
        Err(BackupError::NotTheSame(said))
    }
}

fn is_own(session: &mut Session) -> Result<bool, StoreError> {
    Ok(session.one::<i64>("PRAGMA application_id", &[])? == APPLICATION_ID)
}

fn tables(session: &mut Session) -> Result<Vec<(String, i64)>, StoreError> {
    let sql = r"SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite\_%' ESCAPE '\' ORDER BY name";
    let names: Vec<String> = session.load(sql, &[])?;
    names
        .into_iter()
        .map(|name| {
            Ok((
                name.clone(),
                session.one(&format!("SELECT COUNT(*) FROM \"{name}\""), &[])?,
            ))
        })
        .collect()
}

fn opened(path: &Path) -> Result<Session, OpenError> {
    Opener {
        target: Target::Sqlite(path.to_owned()),
        role: Role::Writer,
        wait: Duration::from_secs(5),
    }
    .open()
}

fn free(path: &Path) -> Result<(), BackupError> {
    if path.exists() {
        Err(BackupError::Occupied(path.to_owned()))
    } else {
        Ok(())
    }
}

/// The file of a name with something behind it.
fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

fn at(path: &Path) -> impl Fn(std::io::Error) -> BackupError {
    let path = path.to_owned();
    move |source| BackupError::File {
        path: path.clone(),
        source,
    }
}
