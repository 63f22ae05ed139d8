//! Forms that are sent twice and done once.

use std::time::Duration;

use plugwell_domain::fault::{Fault, FaultCode};
use uuid::Uuid;

use crate::pages::typed::Typed;
use crate::pages::words::say;
use crate::service::conflict::Conflict;
use crate::service::once::{OnceKey, Stored};
use crate::service::{Actor, Refusal, Shop, access};

/// How often a form asks again while its twin is still being worked on, and how long it waits between.
const PATIENCE: u32 = 200;
const PAUSE: Duration = Duration::from_millis(50);

/// The answer that is kept under a form's key: where to see what it did.
pub(super) fn leading_to(location: String) -> Stored {
    Stored {
        status: 303,
        headers: vec![("Location".into(), location)],
        body: Vec::new(),
        replayed: false,
    }
}

/// Does what a form of `path` asks, once; where to see what was done. The form carries its key in the
/// hidden field `once`.
///
/// # Errors
/// A form without its key, and whatever `run` refuses.
pub(super) fn once(
    actor: &Actor,
    path: &str,
    typed: &Typed,
    mut run: impl FnMut(&OnceKey) -> Result<Stored, Refusal>,
) -> Result<String, Refusal> {
    let Ok(once) = typed.one("once").parse::<Uuid>() else {
        return Err(Refusal::fault(Fault::at(
            "",
            FaultCode::Missing,
            say("pages-form-came-without-key-nothing"),
        )));
    };
    let key = OnceKey {
        token_id: actor.token_id,
        key: named(once),
        fingerprint: access::hashed(&format!("{path} {}", typed.content())),
    };
    for _ in 0..PATIENCE {
        match run(&key) {
            // The twin of a double click: what it waits for is the answer to the first.
            Err(Refusal::Conflict {
                conflict: Conflict::StillRunning,
                ..
            }) => std::thread::sleep(PAUSE),
            done => return done.map(|stored| address(&stored)),
        }
    }
    run(&key).map(|stored| address(&stored))
}

/// What the key of a form is called among the once-only keys.
fn named(once: Uuid) -> String {
    format!("form {once}")
}

/// What a form of this key did, where it did something.
pub(super) fn done(shop: &Shop, actor: &Actor, once: Uuid) -> Result<Option<Stored>, Refusal> {
    shop.answered(actor.token_id, &named(once))
}

/// Where a kept answer leads.
fn address(stored: &Stored) -> String {
    let location = stored.headers.iter().find(|(name, _)| name == "Location");
    let location = location.map_or("/", |(_, there)| there.as_str());
    match (stored.replayed, location.contains('?')) {
        (false, _) => location.to_owned(),
        (true, true) => format!("{location}&again=yes"),
        (true, false) => format!("{location}?again=yes"),
    }
}
