//! Who is told of events by a request to a URL: entered, changed, given secrets, removed.
//!
//! Secrets are kept as they are, since deliveries have to be signed with them; they are shown when they
//! are made and never again. Whoever can read the database can sign in the shop's name: its file, or
//! its server, is to be kept like the tokens of the receivers.

pub mod allowed;
pub mod deliveries;
pub mod schedule;
pub mod secrets;
pub mod signing;

use std::net::{IpAddr, ToSocketAddrs};
use std::sync::mpsc::channel;
use std::thread;
use std::time::Duration;

use allowed::{Allowed, Entry};
use chrono::{DateTime, Utc};
use plugwell_domain::event::WebhookData;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_store::{DeliveryState, Session, Webhook, WebhookSecret};
use reqwest::Url;
use schedule::Schedule;
use serde_json::{Map, Value};
use uuid::Uuid;

use crate::service::heads::patched;
use crate::service::once::{Once, OnceKey, Stored};
use crate::service::{Actor, Refusal, Shop, new_id, now};

/// How long whoever enters a webhook waits for its name to be looked up.
const LOOKED_UP: Duration = Duration::from_secs(2);

/// How deliveries are sent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sending {
    /// Addresses besides public ones.
    pub allowed: Allowed,
    /// The waits between attempts.
    pub schedule: Schedule,
    /// How long an attempt may take.
    pub timeout: Duration,
}

impl Default for Sending {
    fn default() -> Self {
        Self {
            allowed: Allowed::default(),
            schedule: Schedule::default(),
            timeout: Duration::from_secs(15),
        }
    }
}

impl Sending {
    /// With the operator's list of addresses.
    pub fn allowing(self, entries: impl IntoIterator<Item = Entry>) -> Self {
        Self {
            allowed: entries.into_iter().collect(),
            ..self
        }
    }
}

/// A webhook as it is shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shown {
    /// The webhook.
    pub hook: Webhook,
    /// Its secrets, by id and time, oldest first.
    pub secrets: Vec<(Uuid, DateTime<Utc>)>,
    /// Deliveries that wait.
    pub waiting: i64,
    /// Deliveries that are dead.
    pub dead: i64,
}

/// Whether a URL can be sent to at all, and its host.
///
/// # Errors
/// A sentence.
pub fn target(url: &str) -> Result<Url, String> {
    let url = Url::parse(url).map_err(|e| format!("{url:?} is no URL: {e}"))?;
    if !matches!(url.scheme(), "https" | "http") || url.host_str().is_none() {
        return Err(format!(
            "a delivery goes to an https URL with a host, not to {url}"
        ));
    }
    if !url.username().is_empty() || url.password().is_some() {
        return Err(
            "name and password do not belong into the URL: deliveries are signed".to_owned(),
        );
    }
    if url.fragment().is_some() {
        return Err("a fragment is never sent; leave it out".to_owned());
    }
    Ok(url)
}

/// The host of a URL as a name, and as an address where it is one.
pub fn host(url: &Url) -> (String, Option<IpAddr>) {
    let host = url.host_str().unwrap_or_default();
    let bare = host.trim_start_matches('[').trim_end_matches(']');
    (host.to_owned(), bare.parse().ok())
}

/// Refuses what could never be sent to as things stand. A name that does not resolve just now passes:
/// it is looked up again at every attempt.
fn reachable(allowed: &Allowed, data: &WebhookData) -> Result<(), Refusal> {
    let fault = |code, detail| Err(Refusal::fault(Fault::at("url", code, detail)));
    let url = match target(&data.url) {
        Ok(url) => url,
        Err(detail) => return fault(FaultCode::WrongForm, detail),
    };
    let (name, address) = host(&url);
    let encrypted = url.scheme() == "https";
    let port = url.port_or_known_default().unwrap_or(443);
    let addresses: Vec<IpAddr> = match address {
        Some(address) => vec![address],
        None => looked_up(name.clone(), port),
    };
    let takes = |address: &&IpAddr| allowed.takes(&name, **address, encrypted);
    match addresses.first() {
        Some(first) if !addresses.iter().any(|a| takes(&a)) => {
            fault(FaultCode::OutOfRange, refused(&name, *first, encrypted))
        }
        _ => Ok(()),
    }
}

/// The addresses of a name, as far as somebody says them before whoever asks has waited too long.
fn looked_up(name: String, port: u16) -> Vec<IpAddr> {
    let (sender, found) = channel();
    thread::spawn(move || {
        let addresses = (name.as_str(), port).to_socket_addrs();
        let ips = addresses.map(|found| found.map(|a| a.ip()).collect());
        // Nobody may be waiting any more.
        let _ = sender.send(ips.unwrap_or_default());
    });
    found.recv_timeout(LOOKED_UP).unwrap_or_default()
}

/// Why an address is not sent to.
pub fn refused(host: &str, address: IpAddr, encrypted: bool) -> String {
    let named = match host.trim_matches(['[', ']']) == address.to_string() {
        true => address.to_string(),
        false => format!("{host} is {address}, which"),
    };
    let why = match encrypted || !allowed::is_public(address) {
        true => "is not reached over the public internet",
        false => "would be sent to without encryption",
    };
    format!("{named} {why}, and the operator's list (serve --webhook-allow) does not have it")
}

fn shown(session: &mut Session, hooks: Vec<Webhook>) -> Result<Vec<Shown>, Refusal> {
    let ids: Vec<Uuid> = hooks.iter().map(|hook| hook.id).collect();
    let secrets = session.webhook_secrets(&ids)?;
    let one = |hook: Webhook| {
        let own = secrets.iter().filter(|s| s.webhook_id == hook.id);
        Ok(Shown {
            secrets: own.map(|s| (s.id, s.created_at)).collect(),
            waiting: session.count_deliveries(hook.id, DeliveryState::Waiting)?,
            dead: session.count_deliveries(hook.id, DeliveryState::Dead)?,
            hook,
        })
    };
    hooks.into_iter().map(one).collect()
}

fn found(session: &mut Session, id: Uuid) -> Result<Webhook, Refusal> {
    session.webhook(id)?.ok_or(Refusal::NotFound("webhook"))
}

fn shown_one(session: &mut Session, id: Uuid) -> Result<Shown, Refusal> {
    let hook = found(session, id)?;
    let mut shown = shown(session, vec![hook])?;
    shown.pop().ok_or(Refusal::NotFound("webhook"))
}

/// Webhooks in the order that they were made in.
///
/// # Errors
/// Where the database fails.
pub fn list(shop: &Shop, after: Option<Uuid>, limit: i64) -> Result<Vec<Shown>, Refusal> {
    shop.store.read(|s| {
        let hooks = s.list_webhooks(after, limit)?;
        shown(s, hooks)
    })
}

/// One webhook.
///
/// # Errors
/// `NotFound`.
pub fn get(shop: &Shop, id: Uuid) -> Result<Shown, Refusal> {
    shop.store.read(|s| shown_one(s, id))
}

/// A webhook that is about to be entered, with its first secret.
struct New {
    hook: Webhook,
    secret: WebhookSecret,
}

impl New {
    /// # Errors
    /// A URL that is none, or whose target is not to be sent to.
    fn of(shop: &Shop, actor: &Actor, data: &WebhookData) -> Result<Self, Refusal> {
        reachable(&shop.sending().allowed, data)?;
        let at = now();
        let hook = Webhook {
            id: new_id(),
            data: data.clone(),
            enabled: true,
            disabled_because: None,
            reached: 0,
            made_by: actor.name.clone(),
            version: 1,
            created_at: at,
            updated_at: at,
        };
        let secret = secrets::new(hook.id)?;
        Ok(Self { hook, secret })
    }

    fn keep(&self, session: &mut Session) -> Result<(Shown, WebhookSecret), Refusal> {
        let reached = session.last_event()?;
        session.insert_webhook(&Webhook {
            reached,
            ..self.hook.clone()
        })?;
        session.insert_webhook_secret(&self.secret)?;
        Ok((shown_one(session, self.hook.id)?, self.secret.clone()))
    }
}

/// Enters a webhook; it is told of what happens from now on. The secret is shown this once.
///
/// # Errors
/// A URL that is none, or whose target is not to be sent to.
pub fn create(
    shop: &Shop,
    actor: &Actor,
    data: &WebhookData,
) -> Result<(Shown, WebhookSecret), Refusal> {
    let new = New::of(shop, actor, data)?;
    shop.write(|s| new.keep(s))
}

/// The same, once however often it is asked; the secret comes with the first answer alone.
///
/// # Errors
/// As [`create`], and what a once-only key refuses.
pub fn create_once(
    shop: &Shop,
    key: &OnceKey,
    actor: &Actor,
    data: &WebhookData,
    render: impl Fn(&Shown) -> Stored + Send + Sync,
) -> Result<Once<(Shown, WebhookSecret)>, Refusal> {
    let new = New::of(shop, actor, data)?;
    shop.once(
        key,
        |s| Ok((new.keep(s)?, Vec::new())),
        |(shown, _)| render(shown),
    )
}

/// Changes a webhook, stops it or lets it go on where it stopped; a patch that makes no other webhook of it
/// changes nothing.
///
/// # Errors
/// `NotFound`, every fault of it as it would become, `Stale`.
pub fn patch(
    shop: &Shop,
    id: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal> + Send + Sync,
    patch: &Map<String, Value>,
) -> Result<Shown, Refusal> {
    // Looked up outside of the transaction: names take their time.
    let allowed = &shop.sending().allowed;
    let old = shop.store.read(|s| found(s, id))?;
    let mut members = patch.clone();
    let enabled = members.remove("enabled").and_then(|flag| flag.as_bool());
    reachable(allowed, &patched(&old.data, &members)?)?;
    shop.write(|s| {
        let old = found(s, id)?;
        let data = patched(&old.data, &members)?;
        expected(old.version)?;
        let enabled_now = enabled.unwrap_or(old.enabled);
        let is_settled = enabled.is_none() || old.disabled_because.is_none();
        if (&data, enabled_now) == (&old.data, old.enabled) && is_settled {
            return shown_one(s, id);
        }
        let next = Webhook {
            data,
            enabled: enabled_now,
            disabled_because: old.disabled_because.clone().filter(|_| enabled.is_none()),
            version: old.version + 1,
            updated_at: now(),
            ..old
        };
        s.update_webhook(&next)?;
        shown_one(s, id)
    })
}

/// Removes a webhook with its deliveries.
///
/// # Errors
/// `NotFound`, `Stale`.
pub fn remove(
    shop: &Shop,
    id: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal> + Send + Sync,
) -> Result<(), Refusal> {
    shop.write(|s| take_away(s, id, &expected))
}

/// The same, once however often it is asked.
///
/// # Errors
/// As [`remove`], and what a once-only key refuses.
pub fn remove_once(
    shop: &Shop,
    key: &OnceKey,
    id: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal> + Send + Sync,
    render: impl Fn() -> Stored + Send + Sync,
) -> Result<Once<()>, Refusal> {
    shop.once(
        key,
        |s| Ok((take_away(s, id, &expected)?, Vec::new())),
        |()| render(),
    )
}

fn take_away(
    session: &mut Session,
    id: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal>,
) -> Result<(), Refusal> {
    expected(found(session, id)?.version)?;
    session.delete_webhook(id)?;
    Ok(())
}

fn raised(session: &mut Session, hook: Webhook) -> Result<Shown, Refusal> {
    let (id, version) = (hook.id, hook.version + 1);
    session.update_webhook(&Webhook {
        version,
        updated_at: now(),
        ..hook
    })?;
    shown_one(session, id)
}
