//! Every page that one can go to by itself: where it stands, what it is called, who may.

use plugwell_domain::words::Role::{self, Clerk, Manager, Reader, Tuner};

use crate::pages::words::say;

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
    pub fn words(self) -> &'static str {
        match self {
            Self::Counter => say("menu-counter"),
            Self::Workshop => say("menu-workshop"),
            Self::Buying => say("menu-buying"),
            Self::Reports => say("menu-reports"),
            Self::Records => say("menu-records"),
        }
    }
}

/// A page that one can go to by itself.
#[derive(Debug, Clone, Copy)]
pub struct Way {
    /// Its path.
    pub path: &'static str,
    /// What it is called, as a message.
    name: &'static str,
    /// Where it stands.
    pub room: Room,
    /// Who may look at it.
    pub least: Role,
    /// Whether its name may be followed by a part: `receive FW-3207`.
    pub takes_part: bool,
}

impl Way {
    /// What it is called; typed into the line at the top, it leads there.
    pub fn words(&self) -> &'static str {
        say(self.name)
    }
}

/// A page where something is done to a part.
const fn act(path: &'static str, name: &'static str, least: Role) -> Way {
    Way {
        takes_part: true,
        ..way(Room::Counter, path, name, least)
    }
}

const fn way(room: Room, path: &'static str, name: &'static str, least: Role) -> Way {
    Way {
        path,
        name,
        room,
        least,
        takes_part: false,
    }
}

/// Every such page, in the order in which they stand.
#[rustfmt::skip]
pub const WAYS: &[Way] = &[
    way(Room::Counter, "/",           "menu-find",           Reader),
    act(               "/receive",    "menu-receive",        Clerk),
    act(               "/issue",      "menu-issue",          Tuner),
    way(Room::Counter, "/return",     "menu-return",         Clerk),
    act(               "/move",       "menu-move",           Clerk),
    act(               "/scrap",      "menu-scrap",          Tuner),
    act(               "/reserve",    "menu-reserve",        Tuner),
    way(Room::Counter, "/jobs",       "menu-jobs",           Reader),
    way(Room::Counter, "/count",      "menu-count",          Clerk),
    way(Room::Counter, "/quarantine", "menu-quarantine",     Reader),
    way(Room::Counter, "/movements",  "menu-movements",      Reader),
    way(Room::Counter, "/labels",     "menu-labels",         Reader),
    way(Room::Workshop, "/check",       "menu-check-a-car", Reader),
    way(Room::Workshop, "/name",        "menu-name-a-plug", Reader),
    way(Room::Workshop, "/tuning-days", "menu-tuning-days", Reader),
    way(Room::Workshop, "/readings",    "menu-readings",    Reader),
    way(Room::Workshop, "/fitted-sets", "menu-fitted-sets", Reader),
    way(Room::Workshop, "/due",         "menu-due",         Reader),
    way(Room::Workshop, "/waiting",     "menu-waiting-jobs", Reader),
    way(Room::Buying,  "/reorder",   "menu-what-to-order", Reader),
    way(Room::Buying,  "/orders",    "menu-orders",        Reader),
    way(Room::Buying,  "/suppliers", "menu-suppliers",     Reader),
    way(Room::Reports, "/reports",                "menu-overview",       Reader),
    way(Room::Reports, "/reports/scrap",          "menu-scrap-report",   Reader),
    way(Room::Reports, "/reports/value",          "menu-value",          Reader),
    way(Room::Reports, "/reports/usage",          "menu-usage",          Reader),
    way(Room::Reports, "/reports/dead-stock",     "menu-dead-stock",     Reader),
    way(Room::Reports, "/reports/stock-outs",     "menu-out-of-stock",   Reader),
    way(Room::Reports, "/reports/turns",          "menu-turns",          Reader),
    way(Room::Reports, "/reports/count-accuracy", "menu-count-accuracy", Reader),
    way(Room::Reports, "/reports/lot-life",       "menu-life-of-a-lot",  Reader),
    way(Room::Records, "/catalogue", "menu-catalogue", Reader),
    way(Room::Records, "/compare",   "menu-compare",   Reader),
    way(Room::Records, "/parts/new", "menu-new-part",  Clerk),
    way(Room::Records,  "/builds",      "menu-builds",      Reader),
    way(Room::Records,  "/heads",       "menu-heads",       Reader),
    way(Room::Records, "/heat-scales",             "menu-heat-scales", Reader),
    way(Room::Records, "/heat-scales/calibration", "menu-calibration", Reader),
    way(Room::Records, "/stand-ins", "menu-stand-ins", Reader),
    way(Room::Records, "/import",    "menu-import",    Clerk),
    way(Room::Records, "/export",    "menu-export",    Reader),
    way(Room::Records, "/policy",    "menu-policy",    Reader),
    way(Room::Records, "/people",    "menu-people",    Manager),
    way(Room::Records, "/webhooks",  "menu-webhooks",  Manager),
];

/// The page whose name somebody typed, case-blind.
pub fn called(text: &str) -> Option<&'static Way> {
    WAYS.iter()
        .find(|way| way.words().eq_ignore_ascii_case(text.trim()))
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
                    !one.words().eq_ignore_ascii_case(other.words()),
                    "{}",
                    one.words()
                );
            }
        }
        assert_eq!(called(" RECEIVE ").map(|way| way.path), Some("/receive"));
        assert!(Room::ALL.iter().all(|room| !room.words().is_empty()));
    }
}
