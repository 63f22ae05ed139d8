//! Brings the tables up to date at start, one process at a time.

use diesel::backend::Backend;
use diesel::connection::SimpleConnection;
use diesel::{PgConnection, RunQueryDsl, SqliteConnection};
use diesel_migrations::{EmbeddedMigrations, MigrationHarness, embed_migrations};

use crate::connection::APPLICATION_ID;
use crate::error::OpenError;
use crate::session::{Link, Session};

const SQLITE: EmbeddedMigrations = embed_migrations!("../../migrations/sqlite");
const POSTGRES: EmbeddedMigrations = embed_migrations!("../../migrations/postgres");

/// Key of the advisory lock that one migrating process holds on PostgreSQL ("plugwell").
const LOCK: i64 = 0x706C_7567_7765_6C6C;

type Failure = Box<dyn std::error::Error + Send + Sync>;

/// Runs what is pending; refuses a database that knows more than this program.
pub(crate) fn bring_up(session: &mut Session) -> Result<(), OpenError> {
    match &mut session.link {
        Link::Sqlite(connection) => sqlite(connection),
        Link::Postgres(connection) => postgres(connection),
    }
    .map_err(|e| match e.downcast::<Later>() {
        Ok(later) => OpenError::Later(later.0),
        Err(other) => OpenError::Migration(other.to_string()),
    })
}

/// Undoes every migration, the latest first: nothing is left.
pub(crate) fn take_down(session: &mut Session) -> Result<(), OpenError> {
    match &mut session.link {
        Link::Sqlite(connection) => connection.revert_all_migrations(SQLITE).map(drop),
        Link::Postgres(connection) => connection.revert_all_migrations(POSTGRES).map(drop),
    }
    .map_err(|e| OpenError::Migration(e.to_string()))
}

fn sqlite(connection: &mut SqliteConnection) -> Result<(), Failure> {
    // Cannot be changed within a transaction; stays with the file.
    connection.batch_execute("PRAGMA journal_mode = WAL")?;
    connection.immediate_transaction(|connection| {
        run(connection, SQLITE)?;
        Ok(connection.batch_execute(&format!("PRAGMA application_id = {APPLICATION_ID}"))?)
    })
}

fn postgres(connection: &mut PgConnection) -> Result<(), Failure> {
    connection.batch_execute("SET lock_timeout = 0; SET statement_timeout = 0")?;
    diesel::sql_query(format!("SELECT pg_advisory_lock({LOCK})")).execute(connection)?;
    let outcome = run(connection, POSTGRES);
    diesel::sql_query(format!("SELECT pg_advisory_unlock({LOCK})")).execute(connection)?;
    outcome
}

/// The database has a migration that this program does not know.
#[derive(Debug, thiserror::Error)]
#[error("the database has the migration {0}")]
struct Later(String);

fn run<DB: Backend>(
    harness: &mut impl MigrationHarness<DB>,
    embedded: EmbeddedMigrations,
) -> Result<(), Failure>
where
    EmbeddedMigrations: diesel::migration::MigrationSource<DB>,
{
    let known = diesel::migration::MigrationSource::<DB>::migrations(&embedded)?;
    let known: Vec<String> = known
        .iter()
        .map(|m| m.name().version().to_string())
        .collect();
    let applied = harness.applied_migrations()?;
    if let Some(later) = applied
        .iter()
        .map(ToString::to_string)
        .find(|version| !known.contains(version))
    {
        return Err(Box::new(Later(later)));
    }
    harness.run_pending_migrations(embedded)?;
    Ok(())
}
