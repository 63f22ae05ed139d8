//! The migrations: up, down and up again leaves what up alone left; both engines get the same.

mod cluster;

use std::collections::{BTreeMap, BTreeSet};

use diesel::backend::Backend;
use diesel::migration::MigrationSource;
use diesel::prelude::*;
use diesel::sql_types::Text;
use diesel_migrations::{FileBasedMigrations, MigrationHarness};
use plugwell_domain::attribute::{ATTRIBUTES, Kind};

const FOLDERS: [&str; 2] = ["../../migrations/sqlite", "../../migrations/postgres"];

#[derive(QueryableByName)]
struct Line {
    #[diesel(sql_type = Text)]
    line: String,
}

fn migrations(folder: &str) -> FileBasedMigrations {
    FileBasedMigrations::from_path(folder).unwrap()
}

/// Runs each migration up, down and up again, and compares what stands after each step.
fn each_way<DB: Backend>(
    harness: &mut impl MigrationHarness<DB>,
    folder: &str,
    mut schema: impl FnMut() -> Vec<String>,
) where
    FileBasedMigrations: MigrationSource<DB>,
{
    let mut all = MigrationSource::<DB>::migrations(&migrations(folder)).unwrap();
    all.sort_by_key(|migration| migration.name().to_string());
    assert!(all.len() >= 4);
    for migration in &all {
        let before = schema();
        harness.run_migration(migration).unwrap();
        let up = schema();
        assert_ne!(before, up, "{} does nothing", migration.name());
        harness.revert_migration(migration).unwrap();
        assert_eq!(
            schema(),
            before,
            "{} leaves something behind",
            migration.name()
        );
        harness.run_migration(migration).unwrap();
        assert_eq!(schema(), up, "{}", migration.name());
    }
}

#[test]
fn the_names_are_the_same() {
    let names = FOLDERS.map(|folder| -> BTreeSet<String> {
        std::fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect()
    });
    assert_eq!(names[0], names[1]);
    assert!(!names[0].is_empty());
}

fn sqlite() -> (tempfile::TempDir, SqliteConnection) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("shop.db");
    let mut connection = SqliteConnection::establish(file.to_str().unwrap()).unwrap();
    diesel::sql_query("PRAGMA foreign_keys = ON")
        .execute(&mut connection)
        .unwrap();
    (folder, connection)
}

const SQLITE_SCHEMA: &str = "SELECT type || ' ' || name || ' on ' || tbl_name || ': ' || coalesce(sql, '') AS line \
     FROM sqlite_schema WHERE name <> 'sqlite_sequence' AND tbl_name NOT LIKE '%diesel%' ORDER BY line";

/// Every column, constraint and index as PostgreSQL describes it.
const POSTGRES_SCHEMA: &str = "SELECT line FROM ( \
     SELECT table_name || '.' || column_name || ' ' || data_type || ' ' || is_nullable || ' ' || \
         coalesce(column_default, '') || ' ' || coalesce(collation_name, '') AS line FROM information_schema.columns \
         WHERE table_schema = 'public' \
     UNION ALL SELECT conrelid::regclass || ' ' || conname || ' ' || pg_get_constraintdef(oid) FROM pg_constraint \
         WHERE connamespace = 'public'::regnamespace \
     UNION ALL SELECT indexdef FROM pg_indexes WHERE schemaname = 'public' \
     UNION ALL SELECT sequencename FROM pg_sequences WHERE schemaname = 'public') AS all_lines \
     WHERE line NOT LIKE '%diesel%' ORDER BY line";

fn lines<C>(connection: &mut C, sql: &str) -> Vec<String>
where
    C: diesel::connection::LoadConnection,
    diesel::query_builder::SqlQuery: diesel::query_dsl::LoadQuery<'static, C, Line>,
{
    let lines: Vec<Line> = diesel::sql_query(sql).load(connection).unwrap();
    lines.into_iter().map(|line| line.line).collect()
}

#[test]
fn each_way_on_sqlite() {
    let (folder, mut connection) = sqlite();
    let mut other =
        SqliteConnection::establish(folder.path().join("shop.db").to_str().unwrap()).unwrap();
    MigrationHarness::<diesel::sqlite::Sqlite>::applied_migrations(&mut connection).unwrap();
    each_way(&mut connection, FOLDERS[0], || {
        lines(&mut other, SQLITE_SCHEMA)
    });
}

#[test]
fn each_way_on_postgres() {
    let Some(url) = cluster::new_database() else {
        return;
    };
    let mut connection = PgConnection::establish(&url).unwrap();
    let mut other = PgConnection::establish(&url).unwrap();
    MigrationHarness::<diesel::pg::Pg>::applied_migrations(&mut connection).unwrap();
    each_way(&mut connection, FOLDERS[1], || {
        lines(&mut other, POSTGRES_SCHEMA)
    });
}

/// Column by column: table.column, whether text, number or bytes, whether it may be null.
const SQLITE_COLUMNS: &str = "SELECT t.name || '.' || c.name || ' ' || lower(c.type) || ' ' || \
     CASE WHEN c.\"notnull\" THEN 'NO' ELSE 'YES' END AS line \
     FROM sqlite_schema t JOIN pragma_table_info(t.name) c \
     WHERE t.type = 'table' AND t.name NOT LIKE '%diesel%' AND t.name NOT LIKE 'sqlite%'";
const POSTGRES_COLUMNS: &str = "SELECT table_name || '.' || column_name || ' ' || data_type || ' ' || is_nullable AS line \
     FROM information_schema.columns WHERE table_schema = 'public' AND table_name NOT LIKE '%diesel%'";

fn sqlite_columns() -> BTreeSet<String> {
    let (_folder, mut connection) = sqlite();
    connection
        .run_pending_migrations(migrations(FOLDERS[0]))
        .unwrap();
    lines(&mut connection, SQLITE_COLUMNS)
        .into_iter()
        .map(|line| {
            line.replace(" integer ", " bigint ")
                .replace(" blob ", " bytea ")
        })
        .collect()
}

#[test]
fn both_engines_have_the_same_columns() {
    let Some(url) = cluster::new_database() else {
        return;
    };
    let mut connection = PgConnection::establish(&url).unwrap();
    connection
        .run_pending_migrations(migrations(FOLDERS[1]))
        .unwrap();
    let postgres: BTreeSet<String> = lines(&mut connection, POSTGRES_COLUMNS)
        .into_iter()
        .collect();
    let sqlite = sqlite_columns();
    // Where the position is the number of the transaction, the order within it needs one more; and
    // where rows are committed in another order than they are numbered, their place in the feed.
    let only_postgres: Vec<&String> = postgres.difference(&sqlite).collect();
    assert_eq!(
        only_postgres,
        ["events.number bigint NO", "outbox.number bigint NO"]
    );
    assert_eq!(sqlite.difference(&postgres).collect::<Vec<_>>(), [""; 0]);
}

#[test]
fn every_attribute_has_its_column() {
    let columns: BTreeMap<String, String> = sqlite_columns()
        .into_iter()
        .filter_map(|line| {
            let (name, kind) = line.strip_prefix("plugs.")?.split_once(' ')?;
            Some((name.to_owned(), kind.to_owned()))
        })
        .collect();
    for attribute in ATTRIBUTES {
        let kind = match attribute.kind {
            Kind::Choice(_) => "text YES",
            Kind::Number { .. } | Kind::Flag => "bigint YES",
        };
        assert_eq!(
            columns.get(attribute.attr.word()).map(String::as_str),
            Some(kind),
            "{}",
            attribute.attr
        );
    }
}
