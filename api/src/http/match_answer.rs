//! The answer to a match as it stands in JSON.

use plugwell_domain::attribute::Attr;
use plugwell_domain::decimal::{Decimal, Length};
use plugwell_domain::plug::{Plug, Shows};
use plugwell_domain::policy::Policy;
use serde_json::{Map, Value, json};

use crate::service::matching::{Fit, Judged, Matched, NearMiss};

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
        "fits": matched.fits.iter().map(|f| fit(f, policy)).collect::<Vec<_>>(),
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

fn fit(fit: &Fit, policy: &Policy) -> Value {
    let picks = fit.picks.iter().map(|pick| {
        json!({ "lot_id": pick.lot_id, "place_id": pick.place.id, "quantity": pick.quantity })
    });
    json!({
        "plug": plug(&fit.plug, policy),
        "available": fit.available,
        "on_hand": fit.on_hand,
        "closeness": (fit.closeness * 1000.0).round() / 1000.0,
        "set_gap_mm": length(fit.set_gap_mm),
        "verdicts": fit.verdicts.iter().map(Judged::to_map).collect::<Vec<_>>(),
        "unconfirmed": fit.unconfirmed.iter().map(|a| a.word()).collect::<Vec<_>>(),
        "picks": picks.collect::<Vec<_>>(),
        "cautions": fit.cautions,
    })
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
