//! Once-only keys: the same request sent twice is done once and answered alike.

use std::collections::HashSet;

use chrono::TimeDelta;
use parking_lot::Mutex;
use plugwell_store::{OnceRow, Session, Turn};
use uuid::Uuid;

use crate::service::conflict::Conflict;
use crate::service::shop::Touched;
use crate::service::{Refusal, Shop, now};

/// How long an answer is kept for a repetition.
pub const KEPT: TimeDelta = TimeDelta::days(7);

/// A once-only key as it came with a request.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct OnceKey {
    /// Whose key it is.
    pub token_id: Uuid,
    /// The key.
    pub key: String,
    /// Hash over owner, method, path and raw body: what "the same request" means.
    pub fingerprint: String,
}

/// An answer as it was given, and is given again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stored {
    /// Status of the answer.
    pub status: u16,
    /// Its own headers, such as `Location`.
    pub headers: Vec<(String, String)>,
    /// Its body, byte for byte.
    pub body: Vec<u8>,
    /// Whether it was given before.
    pub replayed: bool,
}

/// Keys of requests that are being worked on in this process.
#[derive(Debug, Default)]
pub struct Running(Mutex<HashSet<(Uuid, String)>>);

struct Claim<'a>(&'a Running, (Uuid, String));

impl Drop for Claim<'_> {
    fn drop(&mut self) {
        self.0.0.lock().remove(&self.1);
    }
}

impl Running {
    fn claim(&self, key: &OnceKey) -> Result<Claim<'_>, Refusal> {
        let name = (key.token_id, key.key.clone());
        if self.0.lock().insert(name.clone()) {
            Ok(Claim(self, name))
        } else {
            Err(Refusal::conflict(
                Conflict::StillRunning,
                "a request with this key is still being worked on; ask again",
            ))
        }
    }
}

/// A command that was done, or had been done before.
#[derive(Debug)]
pub struct Once<T> {
    /// The answer.
    pub stored: Stored,
    /// What the command returned; `None` where the answer was given before.
    pub fresh: Option<T>,
    /// How far the outbox had come with the command; `None` where it made no mark.
    pub position: Option<i64>,
    touched: Vec<Touched>,
}

impl<T> Once<T> {
    /// The same with something else made of what the command returned, if it ran just now.
    ///
    /// # Errors
    /// Those of `make`; the command stands.
    pub fn then<U>(self, make: impl FnOnce(T) -> Result<U, Refusal>) -> Result<Once<U>, Refusal> {
        Ok(Once {
            stored: self.stored,
            fresh: self.fresh.map(make).transpose()?,
            position: self.position,
            touched: self.touched,
        })
    }
}

impl Shop {
    /// The answer that is kept under somebody's key.
    ///
    /// # Errors
    /// Where the database fails.
    pub fn answered(&self, token_id: Uuid, key: &str) -> Result<Option<Stored>, Refusal> {
        let row = self.store.read(|s| s.once(token_id, key))?;
        row.map(stored).transpose()
    }

    /// Runs a command at most once: its effect and the answer under its key are one transaction.
    ///
    /// A refused command leaves the key free. `render` makes the answer that is kept.
    ///
    /// # Errors
    /// What the command refuses; `KeyReused` where the key stands for another request.
    pub fn once<T>(
        &self,
        key: &OnceKey,
        run: impl FnMut(&mut Session) -> Result<(T, Vec<Touched>), Refusal>,
        render: impl Fn(&T) -> Stored,
    ) -> Result<Once<T>, Refusal> {
        self.once_in(Turn::Shared, key, run, render)
    }

    /// The same, with its transaction got in a turn of one kind or the other.
    ///
    /// # Errors
    /// As [`Shop::once`].
    pub fn once_in<T>(
        &self,
        turn: Turn,
        key: &OnceKey,
        mut run: impl FnMut(&mut Session) -> Result<(T, Vec<Touched>), Refusal>,
        render: impl Fn(&T) -> Stored,
    ) -> Result<Once<T>, Refusal> {
        let _claim = self.running.claim(key)?;
        self.store.write_in(
            turn,
            |session| {
                if let Some(row) = session.once(key.token_id, &key.key)?
                    && row.created_at + KEPT > now()
                {
                    return replay(key, row);
                }
                let (value, touched) = run(session)?;
                let stored = render(&value);
                session.put_once(key.token_id, &key.key, &row_of(key, &stored)?)?;
                Ok(Once {
                    stored,
                    fresh: Some(value),
                    position: session.position(),
                    touched,
                })
            },
            |done| self.after(&done.touched, done.position),
        )
    }
}

fn replay<T>(key: &OnceKey, row: OnceRow) -> Result<Once<T>, Refusal> {
    if row.fingerprint != key.fingerprint {
        return Err(Refusal::KeyReused);
    }
    Ok(Once {
        stored: stored(row)?,
        fresh: None,
        position: None,
        touched: Vec::new(),
    })
}

fn stored(row: OnceRow) -> Result<Stored, Refusal> {
    let headers = serde_json::from_str(&row.headers)
        .map_err(|e| Refusal::Fault(format!("kept headers: {e}")))?;
    Ok(Stored {
        status: row.status,
        headers,
        body: row.body,
        replayed: true,
    })
}

fn row_of(key: &OnceKey, stored: &Stored) -> Result<OnceRow, Refusal> {
    Ok(OnceRow {
        fingerprint: key.fingerprint.clone(),
        status: stored.status,
        headers: serde_json::to_string(&stored.headers)
            .map_err(|e| Refusal::Fault(e.to_string()))?,
        body: stored.body.clone(),
        created_at: now(),
    })
}
