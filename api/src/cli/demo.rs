//! `plugwell demo`: an invented shop, a worked example, then the service.

use std::path::{Path, PathBuf};

use clap::Args;
use plugwell_domain::words::Role;

use crate::cli::Ended;
use crate::cli::folder::Folder;
use crate::cli::opened;
use crate::cli::ready::Ready;
use crate::cli::said;
use crate::cli::serve::answer;
use crate::config::Given;
use crate::demo::{self, example};
use crate::service::Shop;
use crate::telemetry;

/// The demo's data folder where nobody names another.
const DATA: &str = "plugwell-demo";

/// Options of the demo.
#[derive(Debug, Args)]
pub struct Demo {
    #[command(flatten)]
    given: Given,
    /// Start over; empties only what is empty or was made by a demo
    #[arg(long)]
    fresh: bool,
    /// Print the worked example and stop
    #[arg(long)]
    exit_after_example: bool,
}

/// Serves the demo shop.
///
/// # Errors
/// A sentence.
pub fn demo(demo: Demo) -> Result<(), Ended> {
    // The example stands on the terminal: unless told otherwise, the log only speaks up where
    // something is wrong.
    let settings = demo
        .given
        .complete_or("warn")
        .map_err(|e| Ended::Wrong(e.to_string()))?;
    telemetry::start(settings.log_format, &settings.log_level)
        .map_err(|e| Ended::Wrong(e.to_string()))?;
    let data = settings.data.clone().unwrap_or_else(|| PathBuf::from(DATA));
    let database = settings.database.as_deref();
    let folder = opened::take(&data, database)?;
    let shop = filled(&folder, &data, database, demo.fresh)?;
    said::line(example::worked(&shop)?)?;
    if demo.exit_after_example {
        return Ok(());
    }
    let ready = Ready {
        tokens: demo::tokens(&shop)?,
        ..Ready::default()
    };
    let links = ready
        .tokens
        .iter()
        .map(|(role, shown)| Ok((*role, shop.access.link(shown.token.id)?)))
        .collect::<Result<Vec<_>, crate::service::Refusal>>()?;
    answer(shop, folder, &settings, ready, |ready| {
        let link = |code: &str| format!("{}/sign-in?link={code}", ready.url);
        let sign_in = links
            .iter()
            .map(|(role, code)| (*role, link(code)))
            .collect();
        ready.sign_in = sign_in;
        said::print(invitation(ready))
    })
}

/// The demo shop of a folder: as it was left, or filled anew.
fn filled(
    folder: &Folder,
    data: &Path,
    database: Option<&str>,
    fresh: bool,
) -> Result<Shop, Ended> {
    let store = opened::store(folder, database)?;
    let ours = demo::made_here(&store)?;
    let used = store.read(|s| s.count_plugs())? > 0 || store.read(|s| s.any_token())?;
    if used && !ours {
        let place = if database.is_some() {
            "the database".to_owned()
        } else {
            data.display().to_string()
        };
        return Err(Ended::Wrong(format!(
            "{place} holds a shop that is no demo; name another folder with --data"
        )));
    }
    let half_done = ours && store.read(|s| s.meta("made_by"))?.as_deref() != Some("demo");
    if ours && (fresh || half_done) {
        store
            .start_over()
            .map_err(|e| Ended::Wrong(e.to_string()))?;
    }
    let shop = opened::shop(store, folder)?;
    if demo::is_empty(&shop)? {
        said::line("Filling the demo shop; everything in it is invented.")?;
        // A shop half filled for want of a reader would be worse than a line less.
        demo::fill(&shop, &|step| {
            said::line(format_args!("  {step} …")).unwrap_or_default()
        })?;
        said::line("")?;
    }
    Ok(shop)
}

fn invitation(ready: &Ready) -> String {
    let of = |role: Role, pairs: &[(Role, String)]| {
        pairs
            .iter()
            .find(|(r, _)| *r == role)
            .map_or(String::new(), |(_, text)| text.clone())
    };
    let token = ready.tokens.iter().find(|(role, _)| *role == Role::Manager);
    let token = token.map_or("", |(_, shown)| shown.secret.as_str());
    let url = &ready.url;
    format!(
        "Sign in (the link works once):\n  {}\n\nOr over HTTP:\n  \
         curl -H 'Authorization: Bearer {token}' '{url}/v1/builds?limit=1'\n  \
         curl -H 'Authorization: Bearer {token}' '{url}/v1/plugs?q=iridium&limit=3'\n  \
         curl -H 'Authorization: Bearer {token}' '{url}/v1/stock/levels?kind=bin&limit=3'\n\n\
         plugwell answers at {url}; Ctrl-C stops it.\n",
        of(Role::Manager, &ready.sign_in)
    )
}
