//! What a judgement rests on.

use crate::words::closed_list;

closed_list! {
    /// What a judgement rests on.
    Label, "label" {
        /// A published standard or handbook.
        Standard = "standard",
        /// Physics that can be recomputed.
        Physics = "physics",
        /// Common practice of the trade, no source.
        CommonPractice = "common_practice",
        /// Recalled from memory, to be checked.
        FromMemory = "from_memory",
        /// A definition or an estimate of this service.
        Own = "own",
    }
}

impl Label {
    /// What it says to whoever reads it.
    pub const fn meaning(self) -> &'static str {
        match self {
            Self::Standard => "a published standard or handbook",
            Self::Physics => "physics, which can be recomputed",
            Self::CommonPractice => "common practice of the trade, no source",
            Self::FromMemory => "from memory, to be checked",
            Self::Own => "our own definition or estimate",
        }
    }
}
