//! Deliveries of a webhook, in the Standard Webhooks scheme: was this sent by the shop, and just now?

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use chrono::{DateTime, TimeDelta, Utc};
use ring::hmac;

/// How far a delivery's time may be from one's own clock, either way.
pub const TOLERANCE: TimeDelta = TimeDelta::minutes(5);

/// Why a delivery is not to be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NotTrusted {
    /// The secret is not one that the service hands out.
    #[error("the secret is no whsec_ and base64")]
    Secret,
    /// Its time is no time, or too far from now: perhaps an old delivery sent again by somebody.
    #[error("the time of the delivery is too far from now")]
    Time,
    /// No signature of it was made with the secret.
    #[error("no signature of the delivery is right")]
    Signature,
}

/// The headers of a delivery.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Signed<'a> {
    /// `webhook-id`.
    pub id: &'a str,
    /// `webhook-timestamp`.
    pub timestamp: &'a str,
    /// `webhook-signature`: one or more, parted by spaces.
    pub signature: &'a str,
}

/// Checks a delivery against one's secret and clock; the body is taken byte for byte as it came.
///
/// # Errors
/// [`NotTrusted`].
pub fn verify(
    secret: &str,
    signed: Signed<'_>,
    body: &[u8],
    now: DateTime<Utc>,
) -> Result<(), NotTrusted> {
    let key = secret.strip_prefix("whsec_").unwrap_or(secret);
    let key = STANDARD.decode(key).map_err(|_| NotTrusted::Secret)?;
    let sent = signed.timestamp.parse().ok();
    let sent = sent
        .and_then(|seconds| DateTime::from_timestamp(seconds, 0))
        .ok_or(NotTrusted::Time)?;
    if (now - sent).abs() > TOLERANCE {
        return Err(NotTrusted::Time);
    }
    let key = hmac::Key::new(hmac::HMAC_SHA256, &key);
    let mut told = format!("{}.{}.", signed.id, signed.timestamp).into_bytes();
    told.extend_from_slice(body);
    let right = signed
        .signature
        .split(' ')
        .filter_map(|one| STANDARD.decode(one.strip_prefix("v1,")?).ok())
        .any(|one| hmac::verify(&key, &told, &one).is_ok());
    if right {
        Ok(())
    } else {
        Err(NotTrusted::Signature)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Made with Python's hmac and base64 modules over `id.timestamp.body`.
    const SECRET: &str = "whsec_MDEyMzQ1Njc4OWFiY2RlZjAxMjM0NTY3ODlhYmNkZWY=";
    const BODY: &[u8] = br#"{"type":"plugwell.movement.booked.v1"}"#;
    const SIGNED: Signed<'_> = Signed {
        id: "0195d1a0-0000-7000-8000-000000000001",
        timestamp: "1790000000",
        signature: "v1,DmDSPjIIpvGq04zy5SdfYcx43OTo5Hh1UsadcKOslUM=",
    };

    fn at(seconds: i64) -> DateTime<Utc> {
        DateTime::from_timestamp(1_790_000_000 + seconds, 0).expect("a time")
    }

    #[test]
    fn a_delivery_is_trusted_with_its_secret_and_in_its_time_only() {
        assert_eq!(verify(SECRET, SIGNED, BODY, at(0)), Ok(()));
        assert_eq!(verify(SECRET, SIGNED, BODY, at(300)), Ok(()));
        assert_eq!(verify(SECRET, SIGNED, BODY, at(301)), Err(NotTrusted::Time));
        assert_eq!(
            verify(SECRET, SIGNED, BODY, at(-301)),
            Err(NotTrusted::Time)
        );
        let other = "whsec_MTEyMzQ1Njc4OWFiY2RlZjAxMjM0NTY3ODlhYmNkZWY=";
        let wrong = Err(NotTrusted::Signature);
        assert_eq!(verify(other, SIGNED, BODY, at(0)), wrong);
        assert_eq!(verify(SECRET, SIGNED, b"{}", at(0)), wrong);
        let renamed = Signed {
            id: "another",
            ..SIGNED
        };
        assert_eq!(verify(SECRET, renamed, BODY, at(0)), wrong);
        let none = Signed {
            signature: "",
            ..SIGNED
        };
        assert_eq!(verify(SECRET, none, BODY, at(0)), wrong);
        assert_eq!(
            verify("whsec_?", SIGNED, BODY, at(0)),
            Err(NotTrusted::Secret)
        );
    }

    #[test]
    fn one_right_signature_of_several_is_enough() {
        let two = format!("v1,AAAA {}", SIGNED.signature);
        let signed = Signed {
            signature: &two,
            ..SIGNED
        };
        assert_eq!(verify(SECRET, signed, BODY, at(0)), Ok(()));
    }
}
