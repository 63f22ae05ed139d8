//! Lists, page by page or as a stream.

use std::marker::PhantomData;

use futures_util::TryStreamExt;
use futures_util::stream::{self, Stream};
use reqwest::Method;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use url::form_urlencoded::Serializer;

use crate::client::Client;
use crate::error::Error;
use crate::sending::Call;

/// Some items of a list, and where it goes on.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Page<T> {
    /// The items.
    pub items: Vec<T>,
    /// What the next page is asked for with; null on the last one.
    #[serde(default = "none")]
    pub next_cursor: Option<String>,
}

fn none() -> Option<String> {
    None
}

/// A list that is about to be asked for.
#[derive(Debug, Clone)]
#[must_use]
pub struct List<T> {
    client: Client,
    path: String,
    query: Vec<(String, String)>,
    items: PhantomData<fn() -> T>,
}

impl<T: DeserializeOwned + Send + 'static> List<T> {
    pub(crate) fn new(client: &Client, path: impl Into<String>) -> Self {
        Self {
            client: client.clone(),
            path: path.into(),
            query: Vec::new(),
            items: PhantomData,
        }
    }

    /// Only what this filter of the list lets through, such as `thread` and `M14x1.25`, `reach_mm_min`
    /// and 18.7, `q` and words. The same filter given several times stands several times.
    pub fn filter(mut self, name: &str, value: impl ToString) -> Self {
        self.query.push((name.to_owned(), value.to_string()));
        self
    }

    /// Items of a page, 1 to 200; 50 if not told.
    pub fn limit(self, limit: u16) -> Self {
        self.filter("limit", limit)
    }

    /// One page: the first, or the one that a cursor leads to.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn page(&self, cursor: Option<&str>) -> Result<Page<T>, Error> {
        let path = with_query(
            &self.path,
            self.query
                .iter()
                .map(|(name, value)| (name.as_str(), value.as_str()))
                .chain(cursor.map(|cursor| ("cursor", cursor))),
        );
        self.client
            .send(&Call::new(Method::GET, path))
            .await?
            .read()
    }

    /// Every item, each page asked for when the one before it has been read. What is added meanwhile
    /// shifts nothing. An error ends the stream.
    pub fn stream(self) -> impl Stream<Item = Result<T, Error>> + Send + Unpin + use<T> {
        let pages = stream::try_unfold(Some((self, None::<String>)), |state| async move {
            let Some((list, cursor)) = state else {
                return Ok(None);
            };
            let page = list.page(cursor.as_deref()).await?;
            let items = stream::iter(page.items.into_iter().map(Ok::<T, Error>));
            let next = page.next_cursor.map(|cursor| (list, Some(cursor)));
            Ok::<_, Error>(Some((items, next)))
        });
        Box::pin(pages.try_flatten())
    }

    /// Every item at once; of a long list rather the stream.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn all(self) -> Result<Vec<T>, Error> {
        self.stream().try_collect().await
    }
}

/// A path with a query.
pub(crate) fn with_query<'a>(
    path: &str,
    members: impl Iterator<Item = (&'a str, &'a str)>,
) -> String {
    let mut members = members.peekable();
    if members.peek().is_none() {
        return path.to_owned();
    }
    let query = Serializer::new(String::new())
        .extend_pairs(members)
        .finish();
    format!("{path}?{query}")
}
