//! Every page that one can go to by itself: where it stands, what it is called, who may.

use plugwell_domain::words::Role::{self, Clerk, Manager, Reader, Tuner};

/// Where in the house a page stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Room {
    /// Where plugs change hands.
    Counter,
    /// Where engines are worked on.
    Workshop,
    /// Where plugs are bought.
    Buying,
    /// What the books tell.
    Reports,
    /// What is known of parts, engines and people.
    Records,
}

impl Room {
    /// All, in the order in which they stand.
    pub const ALL: [Self; 5] = [
        Self::Counter,
        Self::Workshop,
        Self::Buying,
        Self::Reports,
        Self::Records,
    ];

    /// What it is called.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Counter => "Counter",
            Self::Workshop => "Workshop",
            Self::Buying => "Buying",
            Self::Reports => "Reports",
            Self::Records => "Records",
        }
    }
}

/// A page that one can go to by itself.
#[derive(Debug, Clone, Copy)]
pub struct Way {
    /// Its path.
    pub path: &'static str,
    /// What it is called; typed into the line at the top, it leads there.
    pub words: &'static str,
    /// Where it stands.
    pub room: Room,
    /// Who may look at it.
    pub least: Role,
    /// Whether its name may be followed by a part: `receive FW-3207`.
    pub takes_part: bool,
}

/// A page where something is done to a part.
const fn act(path: &'static str, words: &'static str, least: Role) -> Way {
    Way {
        takes_part: true,
        ..way(Room::Counter, path, words, least)
    }
}

const fn way(room: Room, path: &'static str, words: &'static str, least: Role) -> Way {
    Way {
        path,
        words,
        room,
        least,
        takes_part: false,
    }
}

/// Every such page, in the order in which they stand.
#[rustfmt::skip]
pub const WAYS: &[Way] = &[
    way(Room::Counter, "/",           "Find",           Reader),
    act(               "/receive",    "Receive",        Clerk),
    act(               "/issue",      "Issue",          Tuner),
    way(Room::Counter, "/return",     "Return",         Clerk),
    act(               "/move",       "Move",           Clerk),
    act(               "/scrap",      "Scrap",          Tuner),
    act(               "/reserve",    "Reserve",        Tuner),
    way(Room::Counter, "/jobs",       "Jobs",           Reader),
    way(Room::Counter, "/count",      "Count",          Clerk),
    way(Room::Counter, "/quarantine", "Quarantine",     Reader),
    way(Room::Counter, "/movements",  "Movements",      Reader),
    way(Room::Counter, "/labels",     "Labels",         Reader),
    way(Room::Workshop, "/check",       "Check a car", Reader),
    way(Room::Workshop, "/name",        "Name a plug", Reader),
    way(Room::Workshop, "/tuning-days", "Tuning days", Reader),
    way(Room::Workshop, "/readings",    "Readings",    Reader),
    way(Room::Workshop, "/fitted-sets", "Fitted sets", Reader),
    way(Room::Workshop, "/due",         "Due",         Reader),
    way(Room::Workshop, "/waiting",     "Waiting jobs", Reader),
    way(Room::Buying,  "/reorder",   "What to order", Reader),
    way(Room::Buying,  "/orders",    "Orders",        Reader),
    way(Room::Buying,  "/suppliers", "Suppliers",     Reader),
    way(Room::Reports, "/reports",                "Overview",       Reader),
    way(Room::Reports, "/reports/scrap",          "Scrap report",   Reader),
    way(Room::Reports, "/reports/value",          "Value",          Reader),
    way(Room::Reports, "/reports/usage",          "Usage",          Reader),
    way(Room::Reports, "/reports/dead-stock",     "Dead stock",     Reader),
    way(Room::Reports, "/reports/stock-outs",     "Out of stock",   Reader),
    way(Room::Reports, "/reports/turns",          "Turns",          Reader),
    way(Room::Reports, "/reports/count-accuracy", "Count accuracy", Reader),
    way(Room::Reports, "/reports/lot-life",       "Life of a lot",  Reader),
    way(Room::Records, "/catalogue", "Catalogue", Reader),
    way(Room::Records, "/compare",   "Compare",   Reader),
    way(Room::Records, "/parts/new", "New part",  Clerk),
    way(Room::Records,  "/builds",      "Builds",      Reader),
    way(Room::Records,  "/heads",       "Heads",       Reader),
    way(Room::Records, "/heat-scales",             "Heat scales", Reader),
    way(Room::Records, "/heat-scales/calibration", "Calibration", Reader),
    way(Room::Records, "/stand-ins", "Stand-ins", Reader),
    way(Room::Records, "/import",    "Import",    Clerk),
    way(Room::Records, "/export",    "Export",    Reader),
    way(Room::Records, "/policy",    "Policy",    Reader),
    way(Room::Records, "/people",    "People",    Manager),
];

/// The page whose name somebody typed, case-blind.
pub fn called(text: &str) -> Option<&'static Way> {
    WAYS.iter()
        .find(|way| way.words.eq_ignore_ascii_case(text.trim()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_pages_have_one_path_or_one_name() {
        for (place, one) in WAYS.iter().enumerate() {
            for other in &WAYS[place + 1..] {
                assert!(one.path != other.path, "{}", one.path);
                assert!(
                    !one.words.eq_ignore_ascii_case(other.words),
                    "{}",
                    one.words
                );
            }
        }
        assert_eq!(called(" RECEIVE ").map(|way| way.path), Some("/receive"));
        assert!(Room::ALL.iter().all(|room| !room.words().is_empty()));
    }
}
