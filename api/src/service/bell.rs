//! Rings when something may have been told, so that whoever waits for it looks again.

use std::sync::atomic::{AtomicBool, Ordering};

use tokio::sync::watch;

/// The bell of a shop.
#[derive(Debug)]
pub struct Bell {
    rope: watch::Sender<()>,
    closing: AtomicBool,
}

/// Somebody who waits for the bell; what rang since they began to listen counts.
#[derive(Debug)]
pub struct Listener(watch::Receiver<()>);

impl Default for Bell {
    fn default() -> Self {
        Self {
            rope: watch::Sender::new(()),
            closing: AtomicBool::new(false),
        }
    }
}

impl Bell {
    /// Rings it.
    pub fn ring(&self) {
        self.rope.send_replace(());
    }

    /// Begins to listen.
    pub fn listen(&self) -> Listener {
        Listener(self.rope.subscribe())
    }

    /// Tells everybody that nobody should wait any longer.
    pub fn close(&self) {
        self.closing.store(true, Ordering::Release);
        self.ring();
    }

    /// Whether nobody should wait any longer.
    pub fn is_closing(&self) -> bool {
        self.closing.load(Ordering::Acquire)
    }
}

impl Listener {
    /// Waits until it rings.
    pub async fn heard(&mut self) {
        if self.0.changed().await.is_err() {
            // Nobody is left who could ring it.
            std::future::pending::<()>().await;
        }
    }
}
