//! Commands that ask the shop or give it something: in its own data folder, or through the service
//! that has it open.

use std::path::{Path, PathBuf};

use clap::Args;
use plugwell_client::Client;
use plugwell_domain::build::Build;
use plugwell_domain::fit::StockMode;
use plugwell_domain::words::Role;
use serde_json::{Value, json};

use crate::cli::folder::NotOurs;
use crate::cli::opened::{self, Opened};
use crate::cli::{Ended, Service, Where, said, stock_mode, table};
use crate::http::body::Body;
use crate::http::match_answer;
use crate::service::matching::{self, Asked, Subject};
use crate::service::{Refusal, access};

/// Options of `plugwell match`.
#[derive(Debug, Args)]
pub struct Match {
    /// The build, as JSON in the form of POST /v1/builds; - reads standard input
    #[arg(long, value_name = "FILE")]
    build: PathBuf,
    /// Plugs wanted [default: the set and its spares]
    #[arg(long)]
    quantity: Option<u32>,
    /// How much has to be there: enough, some or ignore
    #[arg(long, default_value = "enough", value_parser = stock_mode)]
    stock: StockMode,
    /// Most parts listed
    #[arg(long, default_value_t = 20, value_parser = clap::value_parser!(u16).range(1..=200))]
    limit: u16,
    /// Print the answer as JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    place: Where,
    #[command(flatten)]
    service: Service,
}

/// A shop of our own, or the service that has it open.
pub(super) enum Reached {
    Own(Box<Opened>),
    Over(Client),
}

pub(super) fn reach(place: &Where, service: &Service) -> Result<Reached, Ended> {
    match opened::open(&place.data, place.database.as_deref()) {
        Ok(opened) => Ok(Reached::Own(Box::new(opened))),
        Err(Ended::Folder(NotOurs::Taken {
            path,
            url: Some(url),
        })) => match &service.token {
            Some(token) => Ok(Reached::Over(Client::new(&url, token)?)),
            None => Err(Ended::Wrong(format!(
                "{}; give --token (or PLUGWELL_TOKEN) to go through it",
                NotOurs::Taken {
                    path,
                    url: Some(url)
                }
            ))),
        },
        Err(other) => Err(other),
    }
}

pub(super) fn wait<T>(
    answer: impl Future<Output = Result<T, plugwell_client::Error>>,
) -> Result<T, Ended> {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()?;
    Ok(runtime.block_on(answer)?)
}

fn read(file: &Path) -> Result<String, Ended> {
    let text = if file == Path::new("-") {
        std::io::read_to_string(std::io::stdin())
    } else {
        std::fs::read_to_string(file)
    };
    text.map_err(|e| Ended::Wrong(format!("{} cannot be read: {e}", file.display())))
}

/// Finds the plugs that meet a build.
///
/// # Errors
/// A sentence, or every fault of the build.
pub fn find(question: &Match) -> Result<(), Ended> {
    let text = read(&question.build)?;
    let value: Value = serde_json::from_str(&text)
        .map_err(|e| Ended::Wrong(format!("{} is no JSON: {e}", question.build.display())))?;
    let answer = match reach(&question.place, &question.service)? {
        Reached::Over(client) => {
            let body = json!({
                "build": &value,
                "quantity": question.quantity,
                "stock": question.stock,
                "limit": question.limit,
            });
            wait(client.ask("/v1/matches", &body))?
        }
        Reached::Own(opened) => {
            let build = Build::check(value.clone()).map_err(Refusal::Faults)?;
            let mut asked = Asked::of(Subject::Build(Box::new(build)));
            asked.quantity = question.quantity.map(i64::from);
            asked.stock = question.stock;
            asked.limit = usize::from(question.limit);
            let matched = matching::find(&opened.shop, &asked)?;
            match_answer::matched(&matched, &opened.shop.policy())
        }
    };
    if question.json {
        said::line(serde_json::to_string_pretty(&answer).unwrap_or_default())
    } else {
        said::line(format_args!(
            "{}\n{}",
            table::build(&value),
            table::matched(&answer)
        ))
    }
}

/// Makes a token and prints its secret alone on its line.
///
/// # Errors
/// A sentence.
pub fn token(place: &Where, service: &Service, role: Role, name: &str) -> Result<(), Ended> {
    let secret = match reach(place, service)? {
        Reached::Own(opened) => access::create(&opened.shop, name, role)?.secret,
        Reached::Over(client) => {
            let made: Value =
                wait(client.create("/v1/tokens", &json!({ "name": name, "role": role })))?;
            made["token"].as_str().unwrap_or_default().to_owned()
        }
    };
    said::line(secret)
}
