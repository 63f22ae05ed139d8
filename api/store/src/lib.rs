//! The database: the only room that knows diesel.
//!
//! A [`Store`] is SQLite or PostgreSQL, chosen by its [`Target`]; everything above it is the same
//! for both. Work is done in a [`Session`], an open transaction: [`Store::read`] shows one
//! consistent state, [`Store::write`] commits all of a command or nothing. On SQLite writers
//! share commits; on PostgreSQL each has its own and is tried again where
//! the server asks for it.
//!
//! Ids are kept as text, instants as microseconds since 1970 (UTC), members of closed lists as
//! their word. Records come in and go out as the types of the domain: no row leaves this room.

mod backup;
mod connection;
mod error;
mod group_commit;
mod migrate;
mod record;
pub mod session;
mod statement;
mod store;
mod target;

pub use backup::{BackupError, BackupReport, restore};
pub use error::{Key, OpenError, StoreError};
pub use session::Session;
pub use session::audit::{AuditReport, Difference};
pub use session::builds::BuildFilter;
pub use session::counts::CountFilter;
pub use session::deliveries::{Attempt, Claimed, Delivery, DeliveryState, Outcome};
pub use session::demand::{Bought, Demanded, OnHand, Parts};
pub use session::events::Told;
pub use session::fitted::FittedSetFilter;
pub use session::incoming::IncomingFilter;
pub use session::levels::{LevelFilter, LevelKey};
pub use session::lots::LotFilter;
pub use session::movements::MovementFilter;
pub use session::once::OnceRow;
pub use session::orders::{OnOrder, OpenLine, OrderFilter};
pub use session::outbox::{Mark, MarkKind};
pub use session::plug_filter::{FactFilter, PlugFilter};
pub use session::readings::ReadingFilter;
pub use session::reservations::ReservationFilter;
pub use session::shelf::Applied;
pub use session::stand_ins::StandInFilter;
pub use session::stored::Stored;
pub use session::table_reads::TableRead;
pub use session::tokens::Token;
pub use session::tuning_days::TuningDayFilter;
pub use session::valued::PartBooks;
pub use session::webhooks::{Webhook, WebhookSecret};
pub use store::{Options, Store, Turn};
pub use target::{BadTarget, Target};
