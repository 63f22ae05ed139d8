//! The policy as the shop keeps it: read, replaced whole, versioned.

use plugwell_domain::policy::Policy;
use plugwell_store::Session;
use serde_json::Value;

use crate::service::{Refusal, Shop, now};

/// The latest stored policy, or the embedded one where none was stored.
pub(super) fn stored(session: &mut Session) -> Result<Policy, Refusal> {
    match session.latest_policy()? {
        None => Ok(Policy::default()),
        Some((version, text)) => read(version, &text),
    }
}

fn read(version: i64, text: &str) -> Result<Policy, Refusal> {
    let value: Value =
        serde_json::from_str(text).map_err(|e| Refusal::Fault(format!("stored policy: {e}")))?;
    // A value that came with a newer program takes its embedded default until the shop replaces it.
    let mut policy = Policy::from_json(&with_defaults(value))
        .map_err(|faults| Refusal::Fault(format!("stored policy: {faults:?}")))?;
    policy.version = version;
    Ok(policy)
}

fn with_defaults(mut value: Value) -> Value {
    let embedded = serde_json::to_value(Policy::default()).unwrap_or_default();
    if let (Some(own), Some(all)) = (
        value.get_mut("values").and_then(Value::as_object_mut),
        embedded["values"].as_object(),
    ) {
        own.retain(|key, _| all.contains_key(key));
        for (key, entry) in all {
            own.entry(key.clone()).or_insert_with(|| entry.clone());
        }
    }
    value
}

/// The policy as it was in a version; the first is the embedded one, where none was stored.
///
/// # Errors
/// `NotFound`.
pub fn of_version(shop: &Shop, version: i64) -> Result<Policy, Refusal> {
    match shop.store.read(|s| s.policy(version))? {
        Some(text) => read(version, &text),
        None if version == Policy::default().version => Ok(Policy::default()),
        None => Err(Refusal::NotFound("version of the policy")),
    }
}

/// Replaces the policy as a whole; `expected` is the version that the caller read.
///
/// # Errors
/// `Stale` where another version is in force.
pub fn replace(
    shop: &Shop,
    policy: Policy,
    expected: impl Fn(i64) -> Result<(), Refusal> + Send + Sync,
) -> Result<Policy, Refusal> {
    let policy = shop.write(|session| {
        let current = stored(session)?.version;
        expected(current)?;
        let mut next = policy.clone();
        next.version = current + 1;
        let text = serde_json::to_string(&next).map_err(|e| Refusal::Fault(e.to_string()))?;
        session.insert_policy(next.version, &text, now())?;
        Ok::<_, Refusal>(next)
    })?;
    shop.put_policy(policy.clone());
    Ok(policy)
}
