//! Waiting for what happens by itself.

use std::time::{Duration, Instant};

/// How long a test waits for what it expects.
const PATIENCE: Duration = Duration::from_secs(30);

/// Waits until something is there.
///
/// # Panics
/// Where it does not come.
#[track_caller]
pub fn until<T>(what: &str, mut look: impl FnMut() -> Option<T>) -> T {
    let end = Instant::now() + PATIENCE;
    loop {
        if let Some(found) = look() {
            return found;
        }
        assert!(Instant::now() < end, "{what} does not come");
        std::thread::sleep(Duration::from_millis(20));
    }
}
