//! What happened in the shop, as it happens.

use std::collections::VecDeque;
use std::time::Duration;

use chrono::{DateTime, Utc};
use futures_util::stream::{self, Stream};
use reqwest::Method;
use reqwest::header::HeaderName;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use uuid::Uuid;

use crate::client::Client;
use crate::error::Error;
use crate::paging::with_query;
use crate::sending::Call;

/// Something that happened: a CloudEvent (CloudEvents 1.0).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Change {
    /// The same in every delivery of the same event.
    pub id: Uuid,
    /// What happened, such as `plugwell.movement.booked.v1`.
    #[serde(rename = "type")]
    pub kind: String,
    /// What it happened to: its path under `/v1/`.
    #[serde(default)]
    pub subject: Option<String>,
    /// When.
    pub time: DateTime<Utc>,
    /// Place in the feed: sorts as text.
    #[serde(default)]
    pub sequence: Option<String>,
    /// Which version the subject has since: whatever came with a higher one of the same subject is newer.
    #[serde(default)]
    pub entityversion: Option<i64>,
    /// Enough to act on; members are added, never renamed or taken away.
    #[serde(default)]
    pub data: Value,
}

/// Some of what happened, and where to go on.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct ChangePage {
    /// The events in order; perhaps none.
    pub items: Vec<Change>,
    /// What to ask for next: keep it, and nothing is missed after a restart.
    pub next_cursor: String,
}

/// The feed, about to be asked for.
#[derive(Debug, Clone)]
#[must_use]
pub struct Changes {
    client: Client,
    after: Option<String>,
    types: Vec<String>,
    wait: Duration,
    limit: Option<u16>,
}

impl Client {
    /// What happened after a cursor; `now` for what happens from now on, and without one everything
    /// that is still known.
    pub fn changes(&self, after: Option<&str>) -> Changes {
        Changes {
            client: self.clone(),
            after: after.map(str::to_owned),
            types: Vec::new(),
            wait: Duration::from_secs(30),
            limit: None,
        }
    }
}

impl Changes {
    /// Only events of a type, such as `plugwell.movement.booked.v1`; given several times, of each.
    pub fn of_type(mut self, kind: &str) -> Self {
        self.types.push(kind.to_owned());
        self
    }

    /// How long the service waits with an empty answer, in whole seconds: 30 if not told, its longest.
    pub fn wait(mut self, wait: Duration) -> Self {
        self.wait = wait;
        self
    }

    /// Events of an answer at the most, 1 to 200.
    pub fn limit(mut self, limit: u16) -> Self {
        self.limit = Some(limit);
        self
    }

    /// The next answer, at once where something happened, else after the wait; from then on the feed
    /// goes on behind it.
    ///
    /// # Errors
    /// [`Error`]; [`Code::CursorGone`](crate::Code::CursorGone) where too long ago was asked for.
    pub async fn next_page(&mut self) -> Result<ChangePage, Error> {
        let (types, limit) = (self.types.join(","), self.limit.map(|l| l.to_string()));
        let members = [
            ("after", self.after.as_deref()),
            (
                "types",
                Some(types.as_str()).filter(|types| !types.is_empty()),
            ),
            ("limit", limit.as_deref()),
        ];
        let given = members
            .into_iter()
            .filter_map(|(name, value)| Some((name, value?)));
        let call = Call::new(Method::GET, with_query("/v1/changes", given))
            .with(
                HeaderName::from_static("prefer"),
                format!("wait={}", self.wait.as_secs()),
            )
            .within(self.client.timeout + self.wait);
        let page: ChangePage = self.client.send(&call).await?.read()?;
        self.after = Some(page.next_cursor.clone());
        Ok(page)
    }

    /// Where the feed goes on.
    pub fn cursor(&self) -> Option<&str> {
        self.after.as_deref()
    }

    /// Every event as it happens, each with the cursor to go on with once it has been dealt with: that of
    /// the events before its answer, until the last of the answer. So after a restart an event may come
    /// twice, by its id, and none is missed. The stream never ends but with an error.
    pub fn stream(
        self,
    ) -> impl Stream<Item = Result<(Change, Option<String>), Error>> + Send + Unpin + use<> {
        let start = (self, VecDeque::new(), None::<String>);
        let events = stream::try_unfold(start, |(mut feed, mut waiting, mut before)| async move {
            while waiting.is_empty() {
                before = feed.after.clone();
                waiting.extend(feed.next_page().await?.items);
            }
            let Some(event) = waiting.pop_front() else {
                return Ok(None);
            };
            let cursor = if waiting.is_empty() {
                feed.after.clone()
            } else {
                before.clone()
            };
            Ok::<_, Error>(Some(((event, cursor), (feed, waiting, before))))
        });
        Box::pin(events)
    }
}
