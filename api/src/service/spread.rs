//! Work of one caller spread over several processors, without taking them away from everybody else.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use parking_lot::Mutex;

/// Threads that may help those who have much to do: one fewer than there are processors, together for
/// all callers, so that a batch among batches is not worked on by more threads than anything else.
#[derive(Debug)]
pub struct Hands(AtomicUsize);

impl Default for Hands {
    fn default() -> Self {
        let processors = thread::available_parallelism().map_or(1, |n| n.get());
        Self(AtomicUsize::new(processors - 1))
    }
}

/// Hands that help one caller; free again when dropped.
struct Helping<'a> {
    of: &'a Hands,
    hands: usize,
}

impl Hands {
    /// As many as are free, up to a number; nobody waits for one.
    fn lend(&self, most: usize) -> Helping<'_> {
        let mut hands = 0;
        let taken = |free: usize| {
            hands = free.min(most);
            Some(free - hands)
        };
        // The closure always has an answer.
        let _ = self
            .0
            .fetch_update(Ordering::AcqRel, Ordering::Acquire, taken);
        Helping { of: self, hands }
    }

    /// What `each` makes of every item, in the order of the items. The caller's own thread works, and
    /// those that are free.
    ///
    /// # Panics
    /// Where `each` does.
    pub fn spread<T: Sync, R: Send>(&self, items: &[T], each: impl Fn(&T) -> R + Sync) -> Vec<R> {
        let helping = self.lend(items.len().saturating_sub(1));
        let (next, done) = (
            AtomicUsize::new(0),
            Mutex::new(Vec::with_capacity(items.len())),
        );
        let span = tracing::Span::current();
        let work = || {
            span.in_scope(|| {
                loop {
                    let place = next.fetch_add(1, Ordering::Relaxed);
                    let Some(item) = items.get(place) else { break };
                    let made = each(item);
                    done.lock().push((place, made));
                }
            });
        };
        thread::scope(|scope| {
            for _ in 0..helping.hands {
                scope.spawn(work);
            }
            work();
        });
        let mut done = done.into_inner();
        done.sort_by_key(|(place, _)| *place);
        done.into_iter().map(|(_, made)| made).collect()
    }
}

impl Drop for Helping<'_> {
    fn drop(&mut self) {
        self.of.0.fetch_add(self.hands, Ordering::AcqRel);
    }
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;
    use std::sync::Barrier;
    use std::thread::ThreadId;

    use super::*;

    #[test]
    fn everything_is_done_once_and_stays_in_order() {
        let hands = Hands(AtomicUsize::new(3));
        let items: Vec<u64> = (0..500).collect();
        assert_eq!(
            hands.spread(&items, |n| n * n),
            items.iter().map(|n| n * n).collect::<Vec<_>>()
        );
        assert_eq!(hands.spread(&[] as &[u64], |n| *n), [0; 0]);
        assert_eq!(hands.0.into_inner(), 3, "all are free again");
    }

    #[test]
    fn as_many_threads_work_as_there_are_hands_and_no_more() {
        let hands = Hands(AtomicUsize::new(1));
        // Nobody gets past it alone: there are two.
        let (both, seen) = (Barrier::new(2), Mutex::new(HashSet::<ThreadId>::new()));
        hands.spread(&[(), ()], |()| {
            both.wait();
            seen.lock().insert(thread::current().id());
            // All hands are busy: whoever comes now works alone.
            let mine = hands.spread(&[(); 8], |()| thread::current().id());
            assert!(mine.iter().all(|id| *id == thread::current().id()));
        });
        assert_eq!(seen.lock().len(), 2);
    }

    #[test]
    fn hands_come_back_from_a_panic() {
        let hands = Hands(AtomicUsize::new(1));
        let spoilt = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
            hands.spread(&[1, 2, 3], |n| assert!(*n < 3, "on purpose"));
        }));
        assert!(spoilt.is_err());
        assert_eq!(hands.0.into_inner(), 1);
    }
}
