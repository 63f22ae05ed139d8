//! What can go wrong in the database, in the words of the shop. No text of SQL gets out but in
//! [`StoreError::Fault`] and [`StoreError::Unavailable`], which are for the log.

use std::path::PathBuf;

use diesel::result::{DatabaseErrorInformation, DatabaseErrorKind, Error};

/// A key that must stand once.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Key {
    /// Maker and part number of a plug.
    PlugName,
    /// Maker and name of a heat scale.
    ScaleName,
    /// Two parts, and who says that one stands in for the other.
    StandIn,
    /// What a barcode of a part is compared by.
    Barcode,
    /// Kind and name of a place.
    PlaceName,
    /// The scrap drum or the difference account, of which there is one.
    SinglePlace,
    /// A movement that is already put right.
    Reversal,
    /// A bin that is being counted.
    CountedPlace,
    /// Token and once-only key.
    Once,
    /// The hash of a token.
    TokenHash,
    /// The version of the policy.
    PolicyVersion,
    /// The id of a record.
    Id,
}

/// Each key with the index that guards it on PostgreSQL and the columns that SQLite names.
const KEYS: &[(Key, &str, &str)] = &[
    (
        Key::PlugName,
        "plugs_name",
        "plugs.maker_key, plugs.part_key",
    ),
    (
        Key::ScaleName,
        "heat_scales_name",
        "heat_scales.maker_key, heat_scales.name_key",
    ),
    (
        Key::StandIn,
        "stand_ins_pair",
        "stand_ins.pair, stand_ins.who_key",
    ),
    (Key::Barcode, "barcodes_code", "barcodes.code_key"),
    (
        Key::PlaceName,
        "places_name",
        "places.kind, places.name_key",
    ),
    (Key::SinglePlace, "places_single", "places.kind"),
    (Key::Reversal, "movements_reverses", "movements.reverses"),
    (
        Key::CountedPlace,
        "count_places_open",
        "count_places.place_id",
    ),
    (Key::Once, "once_key", "once.token_id, once.key"),
    (Key::TokenHash, "tokens_hash", "tokens.hash"),
    (Key::PolicyVersion, "policies_pkey", "policies.version"),
    (Key::Id, "plugs_id", "plugs.id"),
    (Key::Id, "heat_scales_pkey", "heat_scales.id"),
    (Key::Id, "stand_ins_pkey", "stand_ins.id"),
    (Key::Id, "heads_pkey", "heads.id"),
    (Key::Id, "builds_pkey", "builds.id"),
    (Key::Id, "places_id", "places.id"),
    (Key::Id, "lots_id", "lots.id"),
    (Key::Id, "movements_id", "movements.id"),
    (Key::Id, "reservations_pkey", "reservations.id"),
    (Key::Id, "tokens_pkey", "tokens.id"),
    (Key::Id, "tuning_days_pkey", "tuning_days.id"),
    (Key::Id, "readings_pkey", "readings.id"),
    (Key::Id, "counts_pkey", "counts.id"),
    (Key::Id, "orders_id", "orders.id"),
    (Key::Id, "barcodes_pkey", "barcodes.id"),
    (Key::Id, "incoming_checks_pkey", "incoming_checks.id"),
    (Key::Id, "order_lines_pkey", "order_lines.id"),
    (Key::Id, "table_reads_pkey", "table_reads.id"),
    (Key::Id, "webhooks_pkey", "webhooks.id"),
    (Key::Id, "webhook_secrets_pkey", "webhook_secrets.id"),
    (Key::Id, "deliveries_pkey", "deliveries.id"),
];

/// Why the database did not do what it was asked.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum StoreError {
    /// The key stands already.
    #[error("{what:?} stands already")]
    Duplicate {
        /// Which key.
        what: Key,
    },
    /// Others hold what is needed, longer than one waits. May be tried again.
    #[error("the database is busy; try again")]
    Busy,
    /// The database cannot be reached, or its disk gives out. For the log.
    #[error("the database is not available: {0}")]
    Unavailable(String),
    /// An error of the program or of the data. For the log.
    #[error("fault of the database: {0}")]
    Fault(String),
}

/// Why a database was not opened.
#[derive(Debug, thiserror::Error)]
pub enum OpenError {
    /// The folder of the file is not there, and is not to be made.
    #[error("there is no folder {}, so no database is made in it", .0.display())]
    NoFolder(PathBuf),
    /// The file cannot be made or read.
    #[error("{}: {source}", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The file holds something else.
    #[error("{} is not a database of plugwell: {reason}", path.display())]
    Foreign {
        /// The file.
        path: PathBuf,
        /// How that shows.
        reason: String,
    },
    /// The server said no, or nobody answered: its own words.
    #[error("cannot connect: {0}")]
    Refused(String),
    /// A later version of the program has changed the tables.
    #[error("the database was written by a later version (it has the migration {0}); use that one")]
    Later(String),
    /// The tables could not be brought up to date.
    #[error("the tables could not be brought up to date: {0}")]
    Migration(String),
    /// Anything else, after the connection stood.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// What an error means for the transaction it happened in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Trouble {
    /// Once more from the start can help.
    Again,
    /// Once more can help if it did not take long: PostgreSQL reports deadlocks without a kind,
    /// like everything that it has no kind for.
    Perhaps,
    /// The connection is gone.
    Gone,
    /// The transaction is of no more use.
    Spoilt,
}

/// Sorts an error of diesel.
pub(crate) fn sort(error: Error) -> (StoreError, Trouble) {
    let (kind, info) = match error {
        Error::DatabaseError(kind, info) => (kind, info),
        other => return (StoreError::Fault(other.to_string()), Trouble::Spoilt),
    };
    let said = full_text(&*info);
    match kind {
        DatabaseErrorKind::UniqueViolation => match key_of(&*info) {
            Some(what) => (StoreError::Duplicate { what }, Trouble::Spoilt),
            None => (StoreError::Fault(said), Trouble::Spoilt),
        },
        // A record that was just now deleted, or named, by somebody else: seen at the next try.
        DatabaseErrorKind::ForeignKeyViolation => (StoreError::Fault(said), Trouble::Again),
        DatabaseErrorKind::SerializationFailure => (StoreError::Busy, Trouble::Again),
        DatabaseErrorKind::ClosedConnection | DatabaseErrorKind::UnableToSendCommand => {
            (StoreError::Unavailable(said), Trouble::Gone)
        }
        DatabaseErrorKind::Unknown => sort_unknown(said),
        _ => (StoreError::Fault(said), Trouble::Spoilt),
    }
}

fn sort_unknown(said: String) -> (StoreError, Trouble) {
    let says = |words: &[&str]| words.iter().any(|w| said.contains(w));
    if says(&["deadlock detected"]) {
        (StoreError::Busy, Trouble::Again)
    } else if says(&[
        "is locked",
        "due to lock timeout",
        "due to statement timeout",
    ]) {
        (StoreError::Busy, Trouble::Spoilt)
    } else if says(&[
        "disk is full",
        "disk I/O error",
        "unable to open database",
        "readonly database",
        "No space left",
    ]) {
        (StoreError::Unavailable(said), Trouble::Spoilt)
    } else if says(&[
        "server closed the connection",
        "terminating connection",
        "no connection to the server",
    ]) {
        (StoreError::Unavailable(said), Trouble::Gone)
    } else {
        (StoreError::Fault(said), Trouble::Perhaps)
    }
}

fn full_text(info: &(dyn DatabaseErrorInformation + Send + Sync)) -> String {
    let details = info
        .details()
        .map(|d| format!(" ({d})"))
        .unwrap_or_default();
    format!("{}{details}", info.message().trim_end())
}

fn key_of(info: &(dyn DatabaseErrorInformation + Send + Sync)) -> Option<Key> {
    let found = match info.constraint_name() {
        Some(index) => KEYS.iter().find(|(_, name, _)| *name == index),
        None => {
            let columns = info.message().rsplit_once("failed: ")?.1;
            KEYS.iter().find(|(_, _, named)| *named == columns)
        }
    };
    found.map(|(key, _, _)| *key)
}
