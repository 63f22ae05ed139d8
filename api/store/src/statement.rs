//! A statement of SQL with its values, the same text for both engines: `?` stands for a value.

use chrono::{DateTime, Utc};
use diesel::RunQueryDsl;
use diesel::backend::Backend;
use diesel::query_builder::{AstPass, Query, QueryFragment, QueryId};
use diesel::result::{Error, QueryResult};
use diesel::serialize::ToSql;
use diesel::sql_types::{BigInt, Binary, Nullable, Text, Untyped};
use uuid::Uuid;

/// One value of a statement.
#[derive(Debug, Clone)]
pub(crate) enum Bind {
    Int(Option<i64>),
    Text(Option<String>),
    Bytes(Option<Vec<u8>>),
}

/// Text with as many `?` as values.
pub(crate) struct Statement<'a> {
    pub sql: &'a str,
    pub binds: &'a [Bind],
    /// Kept prepared by the connection; not for texts of which there is no end.
    pub kept: bool,
}

impl<DB> QueryFragment<DB> for Statement<'_>
where
    DB: Backend,
    Option<i64>: ToSql<Nullable<BigInt>, DB>,
    Option<String>: ToSql<Nullable<Text>, DB>,
    Option<Vec<u8>>: ToSql<Nullable<Binary>, DB>,
{
    fn walk_ast<'b>(&'b self, mut out: AstPass<'_, 'b, DB>) -> QueryResult<()> {
        if !self.kept {
            out.unsafe_to_cache_prepared();
        }
        // Several times for each execution, and an import has a million of forty values.
        let mut places = memchr::memchr_iter(b'?', self.sql.as_bytes());
        let mut done = 0;
        for bind in self.binds {
            let place = places.next().ok_or_else(|| miscounted(self.sql))?;
            out.push_sql(&self.sql[done..place]);
            match bind {
                Bind::Int(value) => out.push_bind_param::<Nullable<BigInt>, _>(value)?,
                Bind::Text(value) => out.push_bind_param::<Nullable<Text>, _>(value)?,
                Bind::Bytes(value) => out.push_bind_param::<Nullable<Binary>, _>(value)?,
            }
            done = place + 1;
        }
        if places.next().is_some() {
            return Err(miscounted(self.sql));
        }
        out.push_sql(&self.sql[done..]);
        Ok(())
    }
}

fn miscounted(sql: &str) -> Error {
    Error::QueryBuilderError(format!("not as many values as places in: {sql}").into())
}

impl QueryId for Statement<'_> {
    type QueryId = ();
    // The connection then keeps it by its text.
    const HAS_STATIC_QUERY_ID: bool = false;
}

impl Query for Statement<'_> {
    type SqlType = Untyped;
}

impl<Connection> RunQueryDsl<Connection> for Statement<'_> {}

macro_rules! binds {
    ($($value:expr),* $(,)?) => { &[$($crate::statement::Bind::from($value)),*] };
}
pub(crate) use binds;

macro_rules! bind_from {
    ($($type:ty => |$value:ident| $bind:ident($kept:expr)),+ $(,)?) => { $(
        impl From<$type> for Bind {
            fn from($value: $type) -> Self { Bind::$bind(Some($kept)) }
        }
        impl From<Option<$type>> for Bind {
            fn from(value: Option<$type>) -> Self { Bind::$bind(value.map(|$value| $kept)) }
        }
    )+ };
}

bind_from! {
    i64 => |value| Int(value),
    bool => |value| Int(i64::from(value)),
    DateTime<Utc> => |value| Int(value.timestamp_micros()),
    &str => |value| Text(value.to_owned()),
    String => |value| Text(value),
    &String => |value| Text(value.clone()),
    Uuid => |value| Text(value.to_string()),
    Vec<u8> => |value| Bytes(value),
}
