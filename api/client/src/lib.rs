//! A client of plugwell's HTTP API, for other shop software in Rust, the command line and the tests.
//!
//! It carries the token, gives every command a once-only key, repeats what is safe to repeat, reads lists
//! page by page, follows what happens, and turns problem documents (RFC 9457) into typed errors.
//!
//! ```no_run
//! use plugwell_client::{Client, Code, Error, Issue, Length, Match, StreamExt, Plug, Subject};
//!
//! # async fn example(build_id: uuid::Uuid) -> Result<(), Error> {
//! let client = Client::new("http://127.0.0.1:8717", "TOKEN")?;
//!
//! // What fits a stored build and is on the shelf, best first.
//! let matched = client.matches(&Match::of(Subject::BuildId(build_id)).limit(3)).await?;
//! for fit in &matched.fits {
//!     let gap = fit.set_gap_mm.map(Length::get);
//!     println!("{}: {} there, gap {gap:?}", fit.plug.name(), fit.available);
//! }
//!
//! // A set for a job. However often it has to be sent, it is issued once.
//! if let Some(best) = matched.fits.first() {
//!     match client.issue(&Issue::of(best.plug.id, matched.quantity, "J-2001")).await {
//!         Ok(moved) => println!("{} movements", moved.movements.len()),
//!         Err(Error::Refused(problem)) if problem.code() == Code::NotEnoughStock => {
//!             println!("only {:?} there", problem.available());
//!         }
//!         Err(other) => return Err(other),
//!     }
//! }
//!
//! // Every iridium plug of the catalogue, as many pages as there are.
//! let mut plugs = client.list::<Plug>().filter("electrode", "iridium").stream();
//! while let Some(plug) = plugs.next().await {
//!     println!("{}", plug?.name());
//! }
//! # Ok(())
//! # }
//! ```
//!
//! `cargo run -p plugwell-client --example main_job` does the whole job against a running shop.
//!
//! # What is sent again
//!
//! A request is sent again, up to [`Builder::attempts`] times, where no answer came or where it was 429,
//! 502, 503 or 504; after `Retry-After` where the service says it, else after a pause that doubles. So it
//! is with
//! - everything that stores nothing: [`Client::read`], [`Client::list`], [`Client::get`], [`Client::ask`] and
//!   the questions on top of them;
//! - commands, [`Client::command`] and what stands on it, such as [`Client::issue`]: each carries a
//!   once-only key, the same in every attempt, and is done once;
//! - changes and removals, [`Client::change`] and [`Client::remove`]: they name the version that they are
//!   meant for. If the first attempt was done and its answer lost, the second is [`Code::Stale`] or
//!   [`Code::NotFound`], and [`Problem::sent`] is above 1: read the record again.
//!
//! [`Client::store`] and [`Client::create`] have no such key and are sent once. Where no answer came, look
//! whether the record is there before it is stored again.
//!
//! # What it does not cover
//!
//! What people look at and print rather than programs, and what a workshop alone keeps, has no types here:
//! - pictures, all that end in `.svg`, papers `/v1/builds/{id}/fitting-card` and labels `/v1/labels`
//! - reports `/v1/reports` and the life of a lot `/v1/stock/lots/{id}/life`
//! - readings of plugs `/v1/readings`, tuning days `/v1/tuning-days`, checks of what came in
//!   `/v1/stock/incoming-checks`, calibrating heat scales `/v1/heat-scales/calibrations`
//! - barcodes of a part `/v1/plugs/{id}/barcodes` and `/v1/barcodes`, how a part is ordered
//!   `/v1/plugs/{id}/reordering`, the columns of tables `/v1/imports/columns`
//! - what operators ask: `/livez`, `/readyz`, `/metrics`, `/openapi.json`
//!
//! What is JSON of these can be asked for by its path all the same, into types of one's own or a
//! `serde_json::Value`: with [`Client::get`], [`Client::ask`], [`Client::create`], [`Client::command`].
//!
//! # What is added later
//!
//! Members that this client does not know are passed over; of a word that it does not know it keeps the
//! text, see [`Word`]; a [`Test`] in a form that it does not know is [`Test::New`], and passes nothing.
//!
//! The service helps people who know engines and does not replace them: what it tells to fit is
//! confirmed with the makers of plug, head and kit.

mod catalogue;
mod change;
mod client;
mod code;
mod counter;
mod counting;
mod delivery;
mod engine;
mod error;
mod fitted;
mod matching;
mod moving;
mod need;
mod ordering;
mod paging;
mod plug;
mod policy;
mod problem;
mod question;
mod record;
mod sending;
mod settings;
mod stock;
mod table;
mod token;
mod waiting;
pub mod webhook;
mod word;

pub use catalogue::{HeatScale, MadeWebhook, Named, ScaleCode, StandIn, Supplier, Webhook};
pub use change::{Change, ChangePage, Changes};
pub use client::Client;
pub use code::Code;
pub use counter::{PickLine, PickList, PickPart, Scan};
pub use counting::{Count, CountLine};
pub use delivery::{DeliveryAttempt, MadeWebhookSecret, WebhookDelivery};
pub use engine::{BuildRecord, HeadFacts, HeadRecord};
pub use error::Error;
pub use fitted::{Due, DueSet, FittedSet};
pub use futures_util::{Stream, StreamExt, TryStreamExt};
pub use matching::{
    Difference, Disagreement, Equivalent, Equivalents, Fit, Judged, Match, Matched, NamedPart,
    NearMiss, Pick, Subject, Totals,
};
pub use need::{
    Basis, Caution, Demand, GapNeed, HeatNeed, QuantityNeed, Requirement, Spark, Test, TorqueNeed,
    Unanswered,
};
pub use ordering::{Order, OrderChoice, OrderLine, Ordered, ReorderLine};
pub use paging::{List, Page};
pub use plug::{Plug, PlugData};
pub use plugwell_domain as domain;
pub use plugwell_domain::build::{Build, Engine, Head};
pub use plugwell_domain::decimal::{HeatIndex, Length};
pub use plugwell_domain::event::WebhookData;
pub use plugwell_domain::fit::StockMode;
pub use plugwell_domain::heat_scale::{HeatCode, HeatScaleData};
pub use plugwell_domain::identification::Readings;
pub use plugwell_domain::ledger::commands::{
    Issue, NewPlace, Receipt, Reserve, Return, Reversal, Scrapping, Transfer,
};
pub use plugwell_domain::ledger::counting::NewCount;
pub use plugwell_domain::ledger::{
    Condition, Money, MovementKind, PlaceKind, Returned, ScrapReason,
};
pub use plugwell_domain::order::{AskedLine, OrderData, SupplierData};
pub use plugwell_domain::stand_in::{Direction, PartName, StandInData};
pub use plugwell_domain::thread::Thread;
pub use plugwell_domain::waiting::{WaitingFit, WaitingState};
pub use plugwell_domain::words::{
    Electrode, Electronics, Fuel, Induction, Material, Role, Seat, Terminal, Use,
};
pub use policy::{Judgement, Policy};
pub use problem::{Fault, Problem};
pub use question::{
    Candidate, EngineOf, FitmentCheck, FitmentFinding, FittedPlugs, Identification, NamedThread,
    NextMeasurement, ReadingOf, Remedy, RemedyPlug, SecondOpinion,
};
pub use record::{Listed, Record, Stores, Versioned};
pub use settings::Builder;
pub use stock::{Amount, Delivery, Level, Lot, Moved, Movement, Place, Reservation};
pub use token::{MadeToken, NewToken, Token};
pub use waiting::{Wait, WaitFor, WaitingJob};
pub use word::Word;
