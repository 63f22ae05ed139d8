//! Tables in and out, part by part.

use std::io::{self, Read};
use std::sync::Arc;

use bytes::Bytes;
use futures_util::stream::{self, Stream};
use reqwest::Method;
use serde_json::Value;

use crate::client::Client;
use crate::error::Error;
use crate::sending::{Call, Content, refused};

impl Client {
    /// Sends a table of a kind, such as `plugs`, that lies in memory: all of it is taken or nothing.
    ///
    /// # Errors
    /// [`Error`]; a table with faults names them all in [`Problem::errors`](crate::Problem::errors).
    pub async fn import(
        &self,
        kind: &str,
        csv: impl Into<Bytes>,
        dry_run: bool,
    ) -> Result<Value, Error> {
        self.table(kind, Content::Bytes("text/csv", csv.into()), dry_run)
            .await
    }

    /// Sends a table that is read as it is sent; it is opened anew where it has to be sent again.
    ///
    /// # Errors
    /// Like [`Client::import`].
    pub async fn import_from<R: Read + Send + 'static>(
        &self,
        kind: &str,
        open: impl Fn() -> io::Result<R> + Send + Sync + 'static,
        dry_run: bool,
    ) -> Result<Value, Error> {
        let open = move || open().map(|table| Box::new(table) as Box<dyn Read + Send>);
        self.table(kind, Content::Table(Arc::new(open)), dry_run)
            .await
    }

    async fn table(&self, kind: &str, content: Content, dry_run: bool) -> Result<Value, Error> {
        let path = format!("/v1/imports/{kind}");
        let call = if dry_run {
            Call::new(Method::POST, format!("{path}?dry_run=true"))
        } else {
            Call::new(Method::POST, path).under(&self.once())
        };
        let call = call.carrying(content).within(self.tables);
        self.send(&call).await?.read()
    }

    /// A table of a kind, such as `plugs`, part by part as it comes. Where it breaks off, the stream ends
    /// with an error: what came before is no whole table.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn table_of(
        &self,
        kind: &str,
    ) -> Result<impl Stream<Item = Result<Bytes, Error>> + Send + Unpin + use<>, Error> {
        let call = Call::new(Method::GET, format!("/v1/exports/{kind}")).within(self.tables);
        let answer = self.request(&call)?.send().await?;
        let (status, headers) = (answer.status(), answer.headers().clone());
        if !status.is_success() {
            return Err(refused(status, &headers, &answer.bytes().await?, 1));
        }
        let parts = stream::try_unfold(answer, |mut answer| async move {
            let part = answer.chunk().await?;
            Ok::<_, Error>(part.map(|part| (part, answer)))
        });
        Ok(Box::pin(parts))
    }

    /// Writes a table of a kind, such as `plugs`, part by part.
    ///
    /// # Errors
    /// [`Error`]; what `to` cannot take is one too.
    pub async fn export(&self, kind: &str, to: &mut dyn io::Write) -> Result<(), Error> {
        use futures_util::TryStreamExt;
        let mut parts = self.table_of(kind).await?;
        while let Some(part) = parts.try_next().await? {
            to.write_all(&part)
                .map_err(|e| Error::NotKept(format!("the table cannot be written: {e}")))?;
        }
        Ok(())
    }
}
