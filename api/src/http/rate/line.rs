//! How many requests of one caller are worked on at the same time: the others stand in a short line.

use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::Arc;

use parking_lot::Mutex;
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use uuid::Uuid;

/// Whose requests stand in one line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Caller {
    /// Whoever shows this token, or is signed in with it.
    Token(Uuid),
    /// Whoever asks from this address without one.
    Address(IpAddr),
}

/// The lines of all callers of whom anything is worked on.
#[derive(Debug)]
pub(super) struct Lines {
    at_once: usize,
    waiting: usize,
    open: Arc<Open>,
}

type Open = Mutex<HashMap<Caller, Line>>;

#[derive(Debug)]
struct Line {
    turns: Arc<Semaphore>,
    /// In line or worked on.
    requests: usize,
}

/// A place among those of a caller that are worked on; gives it free when dropped.
#[derive(Debug)]
pub(super) struct Place {
    _turn: Option<OwnedSemaphorePermit>,
    _entry: Entry,
}

/// Counts as one of the caller's requests.
#[derive(Debug)]
struct Entry {
    caller: Caller,
    open: Arc<Open>,
}

/// The caller's line is as long as it may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct LineFull;

impl Lines {
    pub(super) fn of(at_once: usize, waiting: usize) -> Self {
        Self {
            at_once,
            waiting,
            open: Arc::default(),
        }
    }

    /// A place, once it is the caller's turn; whoever gives up waiting leaves the line.
    pub(super) async fn place(&self, caller: Caller) -> Result<Place, LineFull> {
        let (turns, entry) = self.enter(caller)?;
        // Nobody closes it.
        let turn = turns.acquire_owned().await.ok();
        Ok(Place {
            _turn: turn,
            _entry: entry,
        })
    }

    fn enter(&self, caller: Caller) -> Result<(Arc<Semaphore>, Entry), LineFull> {
        let mut open = self.open.lock();
        let line = open.entry(caller).or_insert_with(|| Line {
            turns: Arc::new(Semaphore::new(self.at_once)),
            requests: 0,
        });
        if line.requests >= self.at_once + self.waiting {
            return Err(LineFull);
        }
        line.requests += 1;
        let entry = Entry {
            caller,
            open: Arc::clone(&self.open),
        };
        Ok((Arc::clone(&line.turns), entry))
    }
}

impl Drop for Entry {
    fn drop(&mut self) {
        let mut open = self.open.lock();
        if let Some(line) = open.get_mut(&self.caller) {
            line.requests -= 1;
            if line.requests == 0 {
                open.remove(&self.caller);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use futures_util::FutureExt;

    use super::*;

    #[actix_web::test]
    async fn a_caller_has_so_many_places_and_a_short_line_behind_them() {
        let lines = Lines::of(2, 1);
        let [a, b] = [1, 2].map(|n| Caller::Token(Uuid::from_u128(n)));
        let first = lines.place(a).await.unwrap();
        let second = lines.place(a).await.unwrap();
        let mut third = Box::pin(lines.place(a));
        assert!((&mut third).now_or_never().is_none(), "waits for its turn");
        assert_eq!(lines.place(a).await.err(), Some(LineFull));
        assert!(lines.place(b).await.is_ok(), "another's line is another");
        drop(first);
        let third = third.await.unwrap();
        let given_up = Box::pin(lines.place(a));
        drop(given_up);
        drop((second, third));
        assert!(
            lines.open.lock().is_empty(),
            "nothing is kept of who is gone"
        );
    }
}
