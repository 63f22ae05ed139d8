//! The answer to a match as it stands in JSON.

use plugwell_domain::attribute::Attr;
use plugwell_domain::decimal::{Decimal, Length};
use plugwell_domain::plug::{Plug, Shows};
use plugwell_domain::policy::Policy;
use serde_json::{Map, Value, json};

use crate::service::matching::{Fit, Matched, NearMiss};

/// A record with its projection class.
pub fn plug(plug: &Plug, policy: &Policy) -> Map<String, Value> {
    let class = plug
        .shown(Attr::Projection)
        .map(|raw| policy.projection_class(Decimal(raw)));
    plug.to_map(class)
}

/// The whole answer.
pub fn matched(matched: &Matched, policy: &Policy) -> Value {
    json!({
        "requirement": matched.requirement,
        "quantity": matched.quantity,
        "fits": matched.fits.iter().map(|f| Value::Object(fit(f, policy))).collect::<Vec<_>>(),
        "near_misses": matched.near_misses.iter().map(|n| near_miss(n, policy)).collect::<Vec<_>>(),
        "totals": {
            "fits_in_catalogue": matched.fits_in_catalogue,
            "fits_in_stock": matched.fits_in_stock,
        },
        "cautions": matched.requirement.cautions,
    })
}

fn length(length: Option<Length>) -> Value {
    length.map_or(Value::Null, |l| Value::from(l.get()))
}

/// A plug that fits.
pub(super) fn fit(fit: &Fit, policy: &Policy) -> Map<String, Value> {
    let picks = fit.picks.iter().map(|pick| {
        json!({ "lot_id": pick.lot_id, "place_id": pick.place.id, "quantity": pick.quantity })
    });
    let members = [
        ("plug", plug(&fit.plug, policy).into()),
        ("available", fit.available.into()),
        ("on_hand", fit.on_hand.into()),
        (
            "closeness",
            ((fit.closeness * 1000.0).round() / 1000.0).into(),
        ),
        ("set_gap_mm", length(fit.set_gap_mm)),
        (
            "verdicts",
            fit.verdicts
                .iter()
                .map(|j| Value::from(j.to_map()))
                .collect(),
        ),
        (
            "unconfirmed",
            fit.unconfirmed.iter().map(|a| a.word()).collect(),
        ),
        ("picks", picks.collect()),
        ("cautions", json!(fit.cautions)),
    ];
    let members = members.map(|(name, value): (&str, Value)| (name.to_owned(), value));
    members.into_iter().collect()
}

fn near_miss(miss: &NearMiss, policy: &Policy) -> Value {
    let fails = miss.fails.iter().map(|j| {
        let mut map = j.to_map();
        if let Some(caution) = &miss.caution {
            map.insert("caution".into(), caution.text.clone().into());
        }
        map
    });
    json!({ "plug": plug(&miss.plug, policy), "available": miss.available, "fails": fails.collect::<Vec<_>>() })
}
