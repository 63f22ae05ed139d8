//! Opening connections: what each engine has to be told first, and how its refusals read.

use std::fs::OpenOptions;
use std::path::{Path, PathBuf};
use std::time::Duration;

use diesel::connection::SimpleConnection;
use diesel::{Connection, PgConnection, SqliteConnection};

use crate::error::OpenError;
use crate::session::{Link, Session, USUAL_CACHE};
use crate::target::Target;

/// Marks a SQLite file as plugwell's, in its header ("plug").
pub(crate) const APPLICATION_ID: i64 = 0x706C_7567;
/// How long a PostgreSQL statement waits for a row that another transaction holds.
pub(crate) const LOCK_WAIT: Duration = Duration::from_secs(5);
/// Longest statement on PostgreSQL; an audit sets it aside.
const STATEMENT_LIMIT: Duration = Duration::from_secs(60);

/// What a connection is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Role {
    Reader,
    Writer,
}

/// Opens connections to one database, again and again.
#[derive(Debug, Clone)]
pub(crate) struct Opener {
    pub target: Target,
    pub role: Role,
    /// How long SQLite waits for another process.
    pub wait: Duration,
}

impl Opener {
    pub(crate) fn open(&self) -> Result<Session, OpenError> {
        match &self.target {
            Target::Sqlite(path) => self.sqlite(path),
            Target::Postgres(url) => postgres(url),
        }
    }

    fn sqlite(&self, path: &Path) -> Result<Session, OpenError> {
        let mut connection = sqlite_file(path)?;
        let tell = |connection: &mut SqliteConnection, words: &str| {
            connection
                .batch_execute(words)
                .map_err(|e| OpenError::Foreign {
                    path: path.to_owned(),
                    reason: e.to_string(),
                })
        };
        // First of all: the statements after it may find the file locked.
        tell(
            &mut connection,
            &format!("PRAGMA busy_timeout = {}", self.wait.as_millis()),
        )?;
        tell(
            &mut connection,
            &format!(
                "PRAGMA foreign_keys = ON; PRAGMA synchronous = FULL; PRAGMA temp_store = MEMORY; \
                 PRAGMA wal_autocheckpoint = 10000; PRAGMA cache_size = -{USUAL_CACHE}"
            ),
        )?;
        if self.role == Role::Reader {
            tell(&mut connection, "PRAGMA query_only = ON")?;
        }
        Ok(Session::over(Link::Sqlite(connection)))
    }
}

/// A connection to a file that is there; SQLite itself would make a missing one.
pub(crate) fn sqlite_file(path: &Path) -> Result<SqliteConnection, OpenError> {
    let file = |source| OpenError::File {
        path: path.to_owned(),
        source,
    };
    let absolute = std::path::absolute(path).map_err(file)?;
    OpenOptions::new()
        .read(true)
        .write(true)
        .open(&absolute)
        .map_err(file)?;
    let Some(text) = absolute.to_str() else {
        return Err(file(std::io::Error::other("the path is no UTF-8 text")));
    };
    SqliteConnection::establish(&format!("file:{}?mode=rw", escaped(text))).map_err(|e| {
        OpenError::Foreign {
            path: path.to_owned(),
            reason: e.to_string(),
        }
    })
}

/// The characters that mean something in a URI of SQLite, written so that they do not.
fn escaped(path: &str) -> String {
    path.replace('%', "%25")
        .replace('?', "%3f")
        .replace('#', "%23")
}

/// Makes the file of a new database, where that is meant.
///
/// Gives back whether it made it.
pub(crate) fn make_file(path: &Path, make_folder: bool) -> Result<bool, OpenError> {
    if path.exists() {
        return Ok(false);
    }
    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent.to_owned(),
        _ => PathBuf::from("."),
    };
    let file = |path: &Path| {
        let path = path.to_owned();
        move |source| OpenError::File { path, source }
    };
    if !folder.is_dir() {
        if !make_folder {
            return Err(OpenError::NoFolder(folder));
        }
        std::fs::create_dir_all(&folder).map_err(file(&folder))?;
    }
    match OpenOptions::new().write(true).create_new(true).open(path) {
        Ok(_) => Ok(true),
        Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => Ok(false),
        Err(e) => Err(file(path)(e)),
    }
}

fn postgres(url: &str) -> Result<Session, OpenError> {
    let refused = |said: String| OpenError::Refused(without_password(url, said.trim_end()));
    let mut connection = PgConnection::establish(url).map_err(|e| refused(e.to_string()))?;
    let settings = format!(
        "SET lock_timeout = {}; SET statement_timeout = {}; SET idle_in_transaction_session_timeout = {}; \
         SET client_min_messages = warning",
        LOCK_WAIT.as_millis(),
        STATEMENT_LIMIT.as_millis(),
        STATEMENT_LIMIT.as_millis()
    );
    connection
        .batch_execute(&settings)
        .map_err(|e| refused(e.to_string()))?;
    Ok(Session::over(Link::Postgres(connection)))
}

/// The server's words, should they repeat the password of the URL.
fn without_password(url: &str, said: &str) -> String {
    let after = url.split_once("://").map_or(url, |(_, rest)| rest);
    let authority = after.split(['/', '?']).next().unwrap_or_default();
    let in_front = authority
        .rsplit_once('@')
        .and_then(|(user, _)| user.split_once(':'))
        .map(|(_, word)| word);
    let in_query = url
        .split(['?', '&'])
        .find_map(|part| part.strip_prefix("password="));
    let mut said = said.to_owned();
    for word in [in_front, in_query]
        .into_iter()
        .flatten()
        .filter(|word| !word.is_empty())
    {
        said = said.replace(word, "***");
    }
    said
}

impl diesel::r2d2::ManageConnection for Opener {
    type Connection = Session;
    type Error = OpenError;

    fn connect(&self) -> Result<Session, OpenError> {
        self.open()
    }

    fn is_valid(&self, session: &mut Session) -> Result<(), OpenError> {
        Ok(session.ping()?)
    }

    fn has_broken(&self, session: &mut Session) -> bool {
        // A command that panicked leaves its transaction open.
        std::thread::panicking() || session.is_broken()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_password_is_never_repeated() {
        let said = without_password(
            "postgres://u:hush@h/d?password=hush2",
            "no host \"hush@h\", hush2",
        );
        assert_eq!(said, "no host \"***@h\", ***2");
    }
}
