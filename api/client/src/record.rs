//! Records that are kept under an id and a version: read, listed, stored, changed, removed.

use reqwest::{Method, header};
use serde::Serialize;
use serde::de::DeserializeOwned;
use uuid::Uuid;

use crate::client::Client;
use crate::error::Error;
use crate::paging::List;
use crate::sending::{Answered, Call, Content};

/// What the service lists.
pub trait Listed: DeserializeOwned + Send + 'static {
    /// Where the list is.
    const PATH: &'static str;
}

/// What the service keeps under an id, at the path of its list and the id.
pub trait Record: Listed {
    /// UUID v7 made by the service.
    fn id(&self) -> Uuid;
}

/// A body that makes a record.
pub trait Stores: Serialize {
    /// What it makes.
    type Made: Record;
}

/// A record as it was read: a change is meant for this version of it and no other.
#[derive(Debug, Clone, PartialEq)]
pub struct Versioned<T> {
    /// The record.
    pub record: T,
    /// Which version it is.
    pub etag: String,
}

impl<T: DeserializeOwned> Versioned<T> {
    pub(crate) fn read(answer: &Answered) -> Result<Self, Error> {
        let etag = answer
            .headers
            .get(header::ETAG)
            .and_then(|tag| tag.to_str().ok());
        Ok(Self {
            record: answer.read()?,
            etag: etag
                .ok_or_else(|| Error::NotUnderstood("a record without ETag".to_owned()))?
                .to_owned(),
        })
    }
}

fn at<T: Record>(id: Uuid) -> String {
    format!("{}/{id}", T::PATH)
}

impl Client {
    /// A list, such as `client.list::<Plug>().filter("q", "iridium").stream()`.
    pub fn list<T: Listed>(&self) -> List<T> {
        List::new(self, T::PATH)
    }

    /// A record by its id.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn read<T: Record>(&self, id: Uuid) -> Result<Versioned<T>, Error> {
        let call = Call::new(Method::GET, at::<T>(id));
        Versioned::read(&self.send(&call).await?)
    }

    /// Stores a record; sent once, whatever happens.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn store<B: Stores>(&self, body: &B) -> Result<Versioned<B::Made>, Error> {
        let call = Call::new(Method::POST, B::Made::PATH).carrying(Content::json(body)?);
        Versioned::read(&self.send(&call.only_once()).await?)
    }

    /// Changes a record by a JSON merge patch: what is absent stays, what is null is cleared. Refused as
    /// [`Code::Stale`](crate::Code::Stale) where somebody else was quicker.
    ///
    /// It may be sent again, since the version that it names is the present one only once. If the
    /// answer to the first attempt was lost, the second is `Stale` though the change was made:
    /// [`Problem::sent`](crate::Problem::sent) is then above 1, and the record has to be read again.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn change<T: Record>(
        &self,
        known: &Versioned<T>,
        patch: &impl Serialize,
    ) -> Result<Versioned<T>, Error> {
        let call = Call::new(Method::PATCH, at::<T>(known.record.id()))
            .carrying(Content::json(patch)?)
            .with(header::IF_MATCH, &known.etag);
        Versioned::read(&self.send(&call).await?)
    }

    /// Removes a record that nothing stands on. Sent again like a change; the second attempt after a lost
    /// answer is [`Code::NotFound`](crate::Code::NotFound).
    ///
    /// # Errors
    /// [`Error`].
    pub async fn remove<T: Record>(&self, known: &Versioned<T>) -> Result<(), Error> {
        let call = Call::new(Method::DELETE, at::<T>(known.record.id()))
            .with(header::IF_MATCH, &known.etag);
        self.send(&call).await?.read()
    }
}

/// Says where records of a kind are, and what makes them.
macro_rules! records {
    ($($record:ty, $path:literal $(, from $body:ty)?;)+) => {$(
        impl $crate::record::Listed for $record {
            const PATH: &'static str = $path;
        }
        impl $crate::record::Record for $record {
            fn id(&self) -> uuid::Uuid {
                self.id
            }
        }
        $(impl $crate::record::Stores for $body {
            type Made = $record;
        })?
    )+};
}
pub(crate) use records;
