//! Signatures of deliveries, by the scheme of the Standard Webhooks specification, version 1.0.0.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use chrono::{DateTime, Utc};
use rand::TryRng;
use ring::hmac;
use uuid::Uuid;

use crate::service::Refusal;

/// What every secret begins with.
const PREFIX: &str = "whsec_";

/// A new secret of 256 random bits.
///
/// # Errors
/// Where the system has no randomness to give.
pub fn new_secret() -> Result<String, Refusal> {
    let mut bytes = [0u8; 32];
    rand::rngs::SysRng
        .try_fill_bytes(&mut bytes)
        .map_err(|e| Refusal::Fault(format!("no randomness: {e}")))?;
    Ok(format!("{PREFIX}{}", STANDARD.encode(bytes)))
}

/// The header `webhook-signature`: one signature for each secret, with a space between.
pub fn signatures<'a>(
    secrets: impl IntoIterator<Item = &'a str>,
    id: &str,
    at: DateTime<Utc>,
    payload: &[u8],
) -> String {
    let signed = secrets
        .into_iter()
        .filter_map(|secret| signature(secret, id, at, payload));
    signed.collect::<Vec<_>>().join(" ")
}

/// The id of an event as the header `webhook-id` has it.
pub fn message_id(event: Uuid) -> String {
    event.to_string()
}

/// `None` where the secret is none.
fn signature(secret: &str, id: &str, at: DateTime<Utc>, payload: &[u8]) -> Option<String> {
    let key = STANDARD.decode(secret.strip_prefix(PREFIX)?).ok()?;
    let mut context = hmac::Context::with_key(&hmac::Key::new(hmac::HMAC_SHA256, &key));
    context.update(format!("{id}.{}.", at.timestamp()).as_bytes());
    context.update(payload);
    Some(format!("v1,{}", STANDARD.encode(context.sign())))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The reference vector of the Standard Webhooks libraries (standard-webhooks on GitHub, their
    /// tests of `sign`), which every one of them has to meet.
    #[test]
    fn the_reference_vector_of_the_standard() {
        let secret = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw";
        let at = DateTime::from_timestamp(1_614_265_330, 0).unwrap();
        let signed = |secrets: &[&str]| {
            let id = "msg_p5jXN8AQM9LWM0D4loKWxJek";
            signatures(secrets.iter().copied(), id, at, br#"{"test": 2432232314}"#)
        };
        let expected = "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=";
        assert_eq!(signed(&[secret]), expected);
        let other = new_secret().unwrap();
        let both = signed(&[secret, &other]);
        let (first, second) = both.split_once(' ').unwrap();
        assert_eq!(first, expected);
        assert!(second.starts_with("v1,") && second != expected);
    }

    #[test]
    fn a_new_secret_is_long_enough_and_new() {
        let (one, other) = (new_secret().unwrap(), new_secret().unwrap());
        assert_ne!(one, other);
        let key = STANDARD.decode(one.strip_prefix("whsec_").unwrap());
        assert_eq!(key.unwrap().len(), 32);
    }
}
