//! How many commands share a commit, counted since the process began.

use std::sync::atomic::{AtomicU64, Ordering};

/// Upper ends of the classes that commits are counted in; what is larger has a class of its own.
pub const CLASSES: [u64; 9] = [1, 2, 4, 8, 16, 32, 64, 128, 256];

/// Commits by the number of their commands.
#[derive(Debug, Default)]
pub(crate) struct Batches {
    counted: [AtomicU64; CLASSES.len() + 1],
    commands: AtomicU64,
}

/// What was counted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BatchSizes {
    /// Commits in each of [`CLASSES`], and behind them those that are larger.
    pub commits: [u64; CLASSES.len() + 1],
    /// Commands of all of them.
    pub commands: u64,
}

impl Batches {
    /// Counts a commit.
    pub(crate) fn count(&self, commands: usize) {
        let commands = commands as u64;
        let class = CLASSES.partition_point(|end| *end < commands);
        self.counted[class].fetch_add(1, Ordering::Relaxed);
        self.commands.fetch_add(commands, Ordering::Relaxed);
    }

    pub(crate) fn sizes(&self) -> BatchSizes {
        BatchSizes {
            commits: self.counted.each_ref().map(|n| n.load(Ordering::Relaxed)),
            commands: self.commands.load(Ordering::Relaxed),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_commit_falls_into_the_first_class_that_holds_it() {
        let batches = Batches::default();
        for commands in [1, 2, 3, 4, 256, 257] {
            batches.count(commands);
        }
        let sizes = batches.sizes();
        assert_eq!(sizes.commits, [1, 1, 2, 0, 0, 0, 0, 0, 1, 1]);
        assert_eq!(sizes.commands, 523);
    }
}
