//! `plugwell serve`: the shop over HTTP, until it is told to stop.

use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use chrono::TimeDelta;
use plugwell_domain::words::Role;

use crate::app;
use crate::cli::Ended;
use crate::cli::folder::Folder;
use crate::cli::opened::{self, Opened};
use crate::cli::ready::Ready;
use crate::cli::said;
use crate::config::{Given, Settings};
use crate::outbox;
use crate::service::{Refusal, Shop, access, changes, now, once, reordering, stock, waiting_jobs};
use crate::telemetry;

/// The data folder where nobody names another.
pub const DATA: &str = "plugwell-data";
/// How often what other nodes wrote is looked for, what other processes changed of the tokens, and
/// reservations whose time has run out.
const FOLLOW: Duration = Duration::from_millis(250);
/// How often old once-only keys are forgotten.
const SWEEP: Duration = Duration::from_secs(3600);

/// Serves the shop of a data folder.
///
/// # Errors
/// A sentence.
pub fn serve(given: Given) -> Result<(), Ended> {
    let settings = given.complete().map_err(|e| Ended::Wrong(e.to_string()))?;
    telemetry::start(settings.log_format, &settings.log_level)
        .map_err(|e| Ended::Wrong(e.to_string()))?;
    let data = settings.data.clone().unwrap_or_else(|| PathBuf::from(DATA));
    let Opened { shop, folder } = opened::open(&data, settings.database.as_deref())?;
    let mut ready = Ready::default();
    if !shop.store.read(|s| s.any_token())? {
        let shown = access::create(&shop, "first manager", Role::Manager)?;
        said::line(format_args!(
            "A manager's token, shown this once: {}",
            shown.secret
        ))?;
        ready.tokens.push((Role::Manager, shown));
    }
    answer(shop, folder, &settings, ready, |ready| {
        said::line(format_args!("plugwell answers at {}", ready.url))
    })
}

/// Answers requests until the process is told to stop; `tell` is called once it does.
///
/// # Errors
/// A sentence.
pub fn answer(
    mut shop: Shop,
    mut folder: Folder,
    settings: &Settings,
    mut ready: Ready,
    tell: impl FnOnce(&mut Ready) -> Result<(), Ended>,
) -> Result<(), Ended> {
    shop.access.expire_after(settings.idle);
    shop.send_like(settings.sending.clone());
    let shop = Arc::new(shop);
    actix_web::rt::System::new().block_on(async {
        let running = app::start(Arc::clone(&shop), settings).await?;
        ready.url = running.url();
        folder.serving_at(&ready.url)?;
        tell(&mut ready)?;
        if let Some(file) = &settings.ready_file {
            app::announce(file, &ready.to_json())?;
        }
        let background = [
            follow(Arc::clone(&shop), settings.keep_events),
            look_for_low(Arc::clone(&shop), settings.low_stock),
            actix_web::rt::spawn(outbox::run(Arc::clone(&shop))),
        ];
        let ended = running.until_stopped().await;
        background.iter().for_each(|task| task.abort());
        ended.map_err(Ended::from)
    })
}

/// Follows what other nodes and processes write, ends reservations whose time has run out, tells
/// waiting jobs what they can have, and forgets old once-only keys and old events.
fn follow(shop: Arc<Shop>, keep_events: TimeDelta) -> actix_web::rt::task::JoinHandle<()> {
    actix_web::rt::spawn(async move {
        let mut since_sweep = SWEEP;
        loop {
            let shop = Arc::clone(&shop);
            let sweep = since_sweep >= SWEEP;
            since_sweep = if sweep { FOLLOW } else { since_sweep + FOLLOW };
            let round = actix_web::web::block(move || {
                shop.follow()?;
                stock::expire(&shop)?;
                waiting_jobs::follow(&shop)?;
                shop.access.refresh(&shop.store)?;
                changes::settle(&shop)?;
                if sweep {
                    changes::forget(&shop, keep_events)?;
                    shop.store
                        .write(|s| s.forget_once_before(now() - once::KEPT))?;
                }
                Ok::<_, Refusal>(())
            });
            match round.await {
                Ok(Ok(())) => {}
                Ok(Err(refusal)) => tracing::warn!(?refusal, "could not follow the database"),
                Err(blocked) => tracing::warn!(%blocked, "could not follow the database"),
            }
            actix_web::rt::time::sleep(FOLLOW).await;
        }
    })
}

/// Looks every so often which parts have come to their reorder point.
fn look_for_low(shop: Arc<Shop>, every: Duration) -> actix_web::rt::task::JoinHandle<()> {
    actix_web::rt::spawn(async move {
        loop {
            actix_web::rt::time::sleep(every).await;
            let shop = Arc::clone(&shop);
            match actix_web::web::block(move || reordering::tell_of_low(&shop)).await {
                Ok(Ok(())) => {}
                Ok(Err(refusal)) => tracing::warn!(?refusal, "could not look for low stock"),
                Err(blocked) => tracing::warn!(%blocked, "could not look for low stock"),
            }
        }
    })
}
