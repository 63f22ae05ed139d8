//! The command line.

mod ask;
mod demo;
mod exchange;
mod folder;
mod keep;
mod opened;
mod ready;
mod said;
mod serve;
pub mod table;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Args, Parser, Subcommand};
use plugwell_domain::fit::StockMode;
use plugwell_domain::wording::counted;
use plugwell_domain::words::Role;

use crate::config::Given;
use crate::service::Refusal;

/// Parts cross-reference and inventory for spark plugs: what the plug of a build must be and why,
/// which parts on the shelf meet it, and a stock that stays true.
#[derive(Debug, Parser)]
#[command(name = "plugwell", version, arg_required_else_help = true)]
struct Plugwell {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Serve the shop over HTTP
    Serve(Box<Given>),
    /// Serve an invented shop, after one worked example
    Demo(Box<demo::Demo>),
    /// Read a table into the shop; all of it or nothing
    Import(exchange::Import),
    /// Write a table of the shop, in the form that can be read in again
    Export(exchange::Export),
    /// Find the plugs on the shelf that meet a build
    Match(ask::Match),
    /// Make the search index anew from the database
    Reindex(Where),
    /// Recompute every level from the movements and compare; fails on any difference
    Audit(Where),
    /// Copy a SQLite database, also while it is served, and read the copy back
    Backup {
        /// The copy; must not exist yet
        file: PathBuf,
        #[command(flatten)]
        place: Where,
    },
    /// Put a copy into a data folder that has no database yet
    Restore {
        /// The copy
        file: PathBuf,
        #[command(flatten)]
        place: Where,
    },
    /// Tokens of people and programs
    Token {
        #[command(subcommand)]
        command: TokenCommand,
    },
    /// Print the OpenAPI document
    Openapi {
        /// Print the table of all problems instead
        #[arg(long)]
        problems: bool,
    },
}

#[derive(Debug, Subcommand)]
enum TokenCommand {
    /// Make a token and print it, alone on its line; it is shown this once
    Create {
        /// What it may do: reader, tuner, clerk or manager, each holding the ones before it
        #[arg(long)]
        role: Role,
        /// What the shop calls it; stands in the movements that it makes
        #[arg(long, default_value = "command line")]
        name: String,
        #[command(flatten)]
        place: Where,
        #[command(flatten)]
        service: Service,
    },
}

/// Where the shop's data lies.
#[derive(Debug, Clone, Args)]
pub struct Where {
    /// Folder with the SQLite file and the search index
    #[arg(long, env = "PLUGWELL_DATA", value_name = "DIR", default_value = serve::DATA)]
    data: PathBuf,
    /// Database: postgres://USER@HOST/NAME or sqlite:FILE [default: sqlite, in the data folder]
    #[arg(
        long,
        env = "PLUGWELL_DATABASE_URL",
        value_name = "URL",
        hide_env_values = true
    )]
    database: Option<String>,
}

impl Where {
    fn parts(&self) -> (&Path, Option<&str>) {
        (&self.data, self.database.as_deref())
    }
}

/// The running service to ask where the data folder is in use.
#[derive(Debug, Clone, Args)]
pub struct Service {
    /// Token to ask a running service with, where the data folder is in use
    #[arg(long, env = "PLUGWELL_TOKEN", hide_env_values = true)]
    token: Option<String>,
}

/// How much of a part has to be there.
fn stock_mode(text: &str) -> Result<StockMode, String> {
    text.parse()
        .map_err(|e: plugwell_domain::words::NotInList| e.to_string())
}

/// Why a command did not do what it was asked: a sentence for whoever typed it.
#[derive(Debug, thiserror::Error)]
pub enum Ended {
    /// Said once, on standard error.
    #[error("{0}")]
    Wrong(String),
    /// The data folder is in use, or cannot be used.
    #[error(transparent)]
    Folder(#[from] folder::NotOurs),
    /// A running service did not do it.
    #[error(transparent)]
    Service(#[from] plugwell_client::Error),
    /// The system did not let us.
    #[error(transparent)]
    System(#[from] std::io::Error),
}

impl From<Refusal> for Ended {
    fn from(refusal: Refusal) -> Self {
        Self::Wrong(match refusal {
            Refusal::Faults(faults) => {
                let lines = faults
                    .iter()
                    .map(|f| format!("{}: {}", f.pointer, f.detail));
                lines.collect::<Vec<_>>().join("\n")
            }
            Refusal::Rows { errors, count } => {
                let mut text = format!("{}, nothing was stored", counted(count, "fault"));
                for e in errors {
                    text += &format!(
                        "\nrow {}, {}: {} (found {:?})",
                        e.row, e.column, e.detail, e.found
                    );
                }
                text
            }
            Refusal::NotFound(what) => format!("there is no such {what}"),
            Refusal::Forbidden(detail) | Refusal::Conflict { detail, .. } => detail,
            Refusal::Unavailable(cause) | Refusal::Fault(cause) => cause,
            Refusal::Behind { position, .. } => format!("position {position} has not been reached"),
            Refusal::Stale | Refusal::NeedsVersion | Refusal::KeyReused => {
                "somebody else changed it in the meantime; try again".to_owned()
            }
        })
    }
}

impl From<plugwell_store::StoreError> for Ended {
    fn from(error: plugwell_store::StoreError) -> Self {
        Self::Wrong(error.to_string())
    }
}

/// Runs the command line of this process.
pub fn run() -> ExitCode {
    let command = Plugwell::parse().command;
    match obey(command) {
        Ok(()) => ExitCode::SUCCESS,
        Err(ended) => {
            eprintln!("plugwell: {ended}");
            ExitCode::FAILURE
        }
    }
}

fn obey(command: Command) -> Result<(), Ended> {
    match command {
        Command::Serve(given) => serve::serve(*given),
        Command::Demo(demo) => demo::demo(*demo),
        Command::Import(import) => exchange::import(&import),
        Command::Export(export) => exchange::export(&export),
        Command::Match(question) => ask::find(&question),
        Command::Reindex(place) => keep::reindex(place.parts().0, place.parts().1),
        Command::Audit(place) => keep::audit(place.parts().0, place.parts().1),
        Command::Backup { file, place } => keep::backup(place.parts().0, place.parts().1, &file),
        Command::Restore { file, place } => keep::restore(place.parts().0, place.parts().1, &file),
        Command::Token {
            command:
                TokenCommand::Create {
                    role,
                    name,
                    place,
                    service,
                },
        } => ask::token(&place, &service, role, &name),
        Command::Openapi { problems } => {
            if problems {
                said::print(crate::http::problem::table())
            } else {
                said::print(String::from_utf8_lossy(&crate::http::openapi::text()))
            }
        }
    }
}
