//! Reads what a query gives straight into the types of the domain, cell by cell in the order of
//! the query's columns; the same reader for both engines.

use std::fmt::Display;
use std::marker::PhantomData;
use std::str::FromStr;

use chrono::{DateTime, Utc};
use diesel::QueryableByName;
use diesel::backend::Backend;
use diesel::deserialize::{FromSql, Result};
use diesel::row::{Field, NamedRow, Row};
use diesel::sql_types::{BigInt, Binary, Text};
use plugwell_domain::ledger::PlaceKind;
use plugwell_domain::order::OrderState;
use uuid::Uuid;

/// The cells of one row, from left to right.
pub(crate) trait Cells {
    fn int_or_null(&mut self) -> Result<Option<i64>>;
    fn text_or_null(&mut self) -> Result<Option<String>>;
    fn bytes_or_null(&mut self) -> Result<Option<Vec<u8>>>;

    fn int(&mut self) -> Result<i64> {
        some(self.int_or_null()?)
    }
    fn text(&mut self) -> Result<String> {
        some(self.text_or_null()?)
    }
    fn bytes(&mut self) -> Result<Vec<u8>> {
        some(self.bytes_or_null()?)
    }
    fn flag(&mut self) -> Result<bool> {
        Ok(self.int()? != 0)
    }
    fn id(&mut self) -> Result<Uuid> {
        some(self.id_or_null()?)
    }
    fn id_or_null(&mut self) -> Result<Option<Uuid>> {
        Ok(self
            .text_or_null()?
            .map(|text| Uuid::parse_str(&text))
            .transpose()?)
    }
    fn time(&mut self) -> Result<DateTime<Utc>> {
        some(self.time_or_null()?)
    }
    fn time_or_null(&mut self) -> Result<Option<DateTime<Utc>>> {
        let instant =
            |micros| DateTime::from_timestamp_micros(micros).ok_or("no instant of the calendar");
        Ok(self.int_or_null()?.map(instant).transpose()?)
    }
    /// A word of a closed list.
    fn word<W: FromStr<Err: Display>>(&mut self) -> Result<W> {
        some(self.word_or_null()?)
    }
    fn word_or_null<W: FromStr<Err: Display>>(&mut self) -> Result<Option<W>> {
        let word = self
            .text_or_null()?
            .map(|text| text.parse().map_err(|e: W::Err| e.to_string()));
        Ok(word.transpose()?)
    }
    fn json<T: serde::de::DeserializeOwned>(&mut self) -> Result<T> {
        Ok(serde_json::from_str(&self.text()?)?)
    }
}

fn some<T>(value: Option<T>) -> Result<T> {
    value.ok_or_else(|| "null where a value has to be".into())
}

/// Something that is read from the columns of a row.
pub(crate) trait Record: Sized + 'static {
    fn read(cells: &mut impl Cells) -> Result<Self>;
}

macro_rules! one_cell {
    ($($type:ty: $read:ident),+ $(,)?) => { $(
        impl Record for $type {
            fn read(cells: &mut impl Cells) -> Result<Self> { cells.$read() }
        }
    )+ };
}

one_cell! {
    OrderState: word,
    PlaceKind: word,
    i64: int,
    DateTime<Utc>: time,
    Option<i64>: int_or_null,
    String: text,
    Option<String>: text_or_null,
    Uuid: id,
    Option<Uuid>: id_or_null,
}

macro_rules! several_cells {
    ($($name:ident)+) => {
        impl<$($name: Record),+> Record for ($($name,)+) {
            fn read(cells: &mut impl Cells) -> Result<Self> { Ok(($($name::read(cells)?,)+)) }
        }
    };
}

several_cells!(A B);
several_cells!(A B C);
several_cells!(A B C D);

/// What diesel loads: a record.
pub(crate) struct Loaded<T>(pub T);

impl<T, DB> QueryableByName<DB> for Loaded<T>
where
    T: Record,
    DB: Backend,
    i64: FromSql<BigInt, DB>,
    String: FromSql<Text, DB>,
    Vec<u8>: FromSql<Binary, DB>,
{
    fn build<'a>(row: &impl NamedRow<'a, DB>) -> Result<Self> {
        T::read(&mut Cursor {
            row,
            next: 0,
            database: PhantomData::<(&'a (), DB)>,
        })
        .map(Self)
    }
}

struct Cursor<'r, 'a, R, DB> {
    row: &'r R,
    next: usize,
    database: PhantomData<(&'a (), DB)>,
}

impl<'a, R: Row<'a, DB>, DB: Backend> Cursor<'_, 'a, R, DB> {
    fn cell<T, ST>(&mut self) -> Result<Option<T>>
    where
        T: FromSql<ST, DB>,
    {
        let place = self.next;
        self.next += 1;
        let field =
            Row::get(self.row, place).ok_or_else(|| format!("the query has no column {place}"))?;
        let value = field.value().map(T::from_sql).transpose();
        value.map_err(|e| format!("column {place}: {e}").into())
    }
}

impl<'a, R, DB> Cells for Cursor<'_, 'a, R, DB>
where
    R: Row<'a, DB>,
    DB: Backend,
    i64: FromSql<BigInt, DB>,
    String: FromSql<Text, DB>,
    Vec<u8>: FromSql<Binary, DB>,
{
    fn int_or_null(&mut self) -> Result<Option<i64>> {
        self.cell::<i64, BigInt>()
    }
    fn text_or_null(&mut self) -> Result<Option<String>> {
        self.cell::<String, Text>()
    }
    fn bytes_or_null(&mut self) -> Result<Option<Vec<u8>>> {
        self.cell::<Vec<u8>, Binary>()
    }
}
