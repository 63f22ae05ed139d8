//! Working ahead: while some of a long work is stored, the next of it is read and understood on a
//! thread of its own. A few pieces wait in between, so that memory stays bounded however long it is.

use std::panic;
use std::sync::mpsc::sync_channel;
use std::thread;

/// Pieces that wait to be worked on.
const WAITING: usize = 4;

/// Gives every piece that `made` makes on its own thread to `taken`, which stays on the caller's.
/// `made` is handed what passes a piece on; once that answers `false`, nobody wants more.
///
/// # Errors
/// The first of `taken`; else that of `made`.
pub(super) fn ahead<T: Send, E: Send>(
    made: impl FnOnce(&dyn Fn(T) -> bool) -> Result<(), E> + Send,
    taken: impl FnMut(T) -> Result<(), E>,
) -> Result<(), E> {
    thread::scope(|scope| {
        let (sender, pieces) = sync_channel(WAITING);
        let making = scope.spawn(move || made(&|piece| sender.send(piece).is_ok()));
        let outcome = pieces.into_iter().try_for_each(taken);
        let ended = making.join().unwrap_or_else(|e| panic::resume_unwind(e));
        outcome.and(ended)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_pieces_come_in_their_order() {
        let mut got = Vec::new();
        let done = ahead(
            |pass| {
                assert!((0..1_000).all(pass));
                Ok::<_, ()>(())
            },
            |piece| {
                got.push(piece);
                Ok(())
            },
        );
        assert_eq!((done, got), (Ok(()), (0..1_000).collect()));
    }

    #[test]
    fn whoever_takes_no_more_ends_the_making() {
        let made = std::sync::atomic::AtomicU32::new(0);
        let done = ahead(
            |pass| {
                while pass(()) {
                    made.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
                }
                Err("nobody wants more")
            },
            |()| Err("full"),
        );
        assert_eq!(done, Err("full"));
        // What waited, what was taken, and what was about to be passed on.
        assert!(made.into_inner() <= 2 + u32::try_from(WAITING).unwrap());
    }

    #[test]
    fn what_goes_wrong_in_the_making_is_told_after_all_that_was_made() {
        let mut got = 0;
        let done = ahead(
            |pass| {
                pass(());
                Err("torn")
            },
            |()| {
                got += 1;
                Ok(())
            },
        );
        assert_eq!((done, got), (Err("torn"), 1));
    }
}
