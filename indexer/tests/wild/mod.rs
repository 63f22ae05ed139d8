//! Records, shelves and requirements that no shop would have: every value unknown now and then or
//! only assumed, values on the very ends of ranges, the same part number many times over.

use plugwell_domain::attribute::{Asked, Attr, Kind};
use plugwell_domain::decimal::{Decimal, Length};
use plugwell_domain::ledger::shelf::OnShelf;
use plugwell_domain::plug::{Plug, PlugData};
use plugwell_domain::requirement::{OwnGap, Requirement};
use plugwell_domain::words::Provenance;
use rand::rngs::StdRng;
use rand::{RngExt, seq::IndexedRandom};
use serde_json::{Value, json};

use crate::record::record;

/// Values that ranges begin and end with, one beyond them, and some in other families.
fn usual(attr: Attr) -> Vec<i64> {
    match attr {
        Attr::Reach => vec![
            127_000, 175_000, 186_999, 187_000, 190_000, 190_500, 193_000, 193_001, 265_000,
        ],
        Attr::Hex => vec![
            140_000, 158_750, 160_000, 162_000, 162_001, 206_375, 208_000,
        ],
        Attr::Heat => vec![0, 500, 664, 665, 670, 694, 700, 750, 751, 800, 2000],
        Attr::Projection => vec![
            -50_000, -1, 0, 19_999, 20_000, 30_000, 40_000, 40_001, 150_000,
        ],
        Attr::Resistance => vec![0, 30, 50_000],
        Attr::GapPreset | Attr::GapMin | Attr::GapMax => {
            vec![2_000, 6_000, 8_099, 8_100, 8_101, 11_000, 25_000]
        }
        _ => match attr.declared().kind {
            Kind::Flag => vec![0, 1],
            Kind::Choice(words) => (0..words.len() as i64).collect(),
            Kind::Number {
                decimals, min, max, ..
            } => {
                let scale = 10_f64.powi(decimals as i32);
                vec![(min * scale).round() as i64, (max * scale).round() as i64]
            }
        },
    }
}

fn value(rng: &mut StdRng, attr: Attr) -> i64 {
    // The front of a list more often than its end, so that demands find something.
    let values = usual(attr);
    let (a, b) = (
        rng.random_range(0..values.len()),
        rng.random_range(0..values.len()),
    );
    values[a.min(b)]
}

/// A record; its values need not agree with each other, which is no concern of the index.
pub fn plug(rng: &mut StdRng, id: u128) -> Plug {
    let number = rng.random_range(0..40);
    let part_number = match rng.random_range(0..4) {
        0 => format!("P-{number}"),
        1 => format!("a long beginning that all share {number:03}"),
        2 => format!("Ö{number}"),
        _ => "same".to_owned(),
    };
    let mut data = PlugData::named("Ferrowick", part_number);
    for attr in Attr::ALL {
        if rng.random_bool(0.9) {
            data.facts.set(*attr, Some(value(rng, *attr)));
            if rng.random_bool(0.06) {
                data.provenance.insert(*attr, Provenance::Assumed);
            }
        }
    }
    record(id, data)
}

/// What lies on the shelf of a part: mostly nothing.
pub fn shelf(rng: &mut StdRng) -> OnShelf {
    if rng.random_bool(0.5) {
        return OnShelf::default();
    }
    let largest = rng.random_range(0..=4);
    let mut gapped = Vec::new();
    for _ in 0..rng.random_range(0..3) {
        gapped.push((
            Decimal(*[7_900, 8_100, 8_350, 8_351].choose(rng).unwrap()),
            rng.random_range(1..=4),
        ));
    }
    gapped.sort_unstable();
    OnShelf {
        sealed: largest + rng.random_range(0..=largest),
        largest_sealed_lot: largest,
        reserved: rng.random_range(0..3),
        gapped,
    }
}

fn test(rng: &mut StdRng, attr: Attr) -> Value {
    if attr.declared().asked == Asked::Range && rng.random_bool(0.8) {
        let ends = [value(rng, attr), value(rng, attr)];
        let (min, max) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        let mut end = |raw: i64| {
            if rng.random_bool(0.2) {
                Value::Null
            } else {
                attr.to_json(raw)
            }
        };
        return json!({ "min": end(min), "max": end(max) });
    }
    let count = if matches!(attr.declared().kind, Kind::Number { .. }) {
        3
    } else {
        1
    };
    let values: Vec<Value> = (0..rng.random_range(1..=count))
        .map(|_| attr.to_json(value(rng, attr)))
        .collect();
    json!({ "one_of": values })
}

fn demand(rng: &mut StdRng, attr: Attr) -> Value {
    let strength = if rng.random_bool(0.8) {
        "must"
    } else {
        "prefer"
    };
    let unknown = if rng.random_bool(0.4) {
        "allowed"
    } else {
        "fails"
    };
    json!({ "attribute": attr.word(), "strength": strength, "test": test(rng, attr), "unknown": unknown, "reason": "" })
}

/// A requirement that lacks any demands, asks for one attribute twice, or lets unknown values pass.
pub fn requirement(rng: &mut StdRng) -> Requirement {
    let keyed = [
        Attr::Thread,
        Attr::Seat,
        Attr::Resistor,
        Attr::Reach,
        Attr::Hex,
        Attr::Heat,
    ];
    let mut demands = Vec::new();
    for attr in keyed {
        if rng.random_bool(0.5) {
            demands.push(demand(rng, attr));
        }
    }
    // Two spans of heat at once have to be put together.
    if rng.random_bool(0.1) {
        demands.push(demand(rng, Attr::Heat));
    }
    for _ in 0..rng.random_range(0..4) {
        let attr = *Attr::ALL.choose(rng).unwrap();
        demands.push(demand(rng, attr));
    }
    let target = rng
        .random_bool(0.8)
        .then(|| Attr::Heat.to_json(value(rng, Attr::Heat)));
    let set = rng.random_bool(0.5).then_some(0.81);
    let posted = json!({ "demands": demands, "heat": { "target_index": target }, "gap": { "set_mm": set }, "quantity": { "total": null } });
    let mut requirement = Requirement::from_json(&posted).expect("a sound requirement");
    requirement.gap.tolerance_mm = Decimal(250);
    if set.is_none() && rng.random_bool(0.5) {
        let limit = rng.random_bool(0.5).then_some(Length::exact(0.81).unwrap());
        requirement.context.own_gap = Some(OwnGap {
            otherwise: Decimal(11_000),
            limit,
        });
    }
    if rng.random_bool(0.3) {
        requirement.context.projection_twice = Some(60_000);
    }
    requirement
}
