//! A generated catalogue, its shelves, and builds that ask for a plug.
//!
//! Every share below is made up: no catalogue of a million parts exists. It is spread as a trade's
//! range is, most of it in 14 mm, and values hang together as far as a part could really be made.

use chrono::DateTime;
use plugwell_domain::attribute::Attr;
use plugwell_domain::build::Build;
use plugwell_domain::ledger::shelf::OnShelf;
use plugwell_domain::plug::{Plug, PlugData};
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::{Requirement, derive};
use plugwell_domain::thread::Thread;
use plugwell_domain::words::{Electrode, Ground, Seat, Terminal};
use rand::rngs::StdRng;
use rand::seq::IndexedRandom;
use rand::{RngExt, SeedableRng};
use serde_json::json;
use uuid::Uuid;

/// A shell: thread, seat, reach, hex and its share in the catalogue.
type Shell = (Thread, Seat, i64, i64, u32);

/// Shells that are made; reach and hex in 0.1 µm.
const SHELLS: [Shell; 26] = [
    (Thread::M14x125, Seat::Gasket, 190_000, 160_000, 12),
    (Thread::M14x125, Seat::Gasket, 190_500, 206_375, 5),
    (Thread::M14x125, Seat::Gasket, 190_000, 208_000, 7),
    (Thread::M14x125, Seat::Gasket, 127_000, 208_000, 6),
    (Thread::M14x125, Seat::Gasket, 127_000, 160_000, 3),
    (Thread::M14x125, Seat::Gasket, 95_000, 208_000, 3),
    (Thread::M14x125, Seat::Gasket, 95_000, 190_000, 2),
    (Thread::M14x125, Seat::Gasket, 265_000, 160_000, 5),
    (Thread::M14x125, Seat::Gasket, 250_000, 160_000, 3),
    (Thread::M14x125, Seat::Conical, 175_000, 160_000, 6),
    (Thread::M14x125, Seat::Conical, 250_000, 160_000, 4),
    (Thread::M14x125, Seat::Conical, 112_000, 160_000, 3),
    (Thread::M12x125, Seat::Gasket, 265_000, 140_000, 7),
    (Thread::M12x125, Seat::Gasket, 265_000, 160_000, 4),
    (Thread::M12x125, Seat::Gasket, 190_000, 180_000, 5),
    (Thread::M12x125, Seat::Gasket, 190_000, 160_000, 3),
    (Thread::M12x125, Seat::Conical, 265_000, 140_000, 2),
    (Thread::M10x1, Seat::Gasket, 190_000, 160_000, 4),
    (Thread::M10x1, Seat::Gasket, 127_000, 160_000, 3),
    (Thread::M10x1, Seat::Gasket, 265_000, 140_000, 2),
    (Thread::M18x15, Seat::Conical, 112_000, 208_000, 3),
    (Thread::M18x15, Seat::Gasket, 127_000, 208_000, 2),
    (Thread::M8x1, Seat::Gasket, 190_000, 140_000, 2),
    (Thread::M8x1, Seat::Gasket, 127_000, 140_000, 1),
    (Thread::Uns78, Seat::Gasket, 127_000, 230_000, 2),
    (Thread::Npt12, Seat::Conical, 127_000, 220_000, 1),
];

/// How many parts of a hundred a shop that keeps such a catalogue has on its shelves.
const STOCKED_PERCENT: f64 = 5.0;
/// Values that nobody has established, of a hundred, among those that are not the shell's.
const UNKNOWN_PERCENT: f64 = 4.0;

/// One part, by its ordinal and the number of times it changed.
pub fn plug(ordinal: u32, version: u64) -> Plug {
    let rng = &mut StdRng::seed_from_u64(u64::from(ordinal) << 8 | version);
    let mut data = PlugData::named(
        *["Ferrowick", "Brennhald", "Tessal", "Corvane", "Ostrelle"]
            .choose(rng)
            .unwrap(),
        format!(
            "{}{}-{:07}",
            (b'A' + rng.random_range(0..6)) as char,
            rng.random_range(10..99),
            ordinal
        ),
    );
    data.description = Some("spark plug, generated".to_owned());
    for (attr, raw) in values(rng) {
        let of_shell = matches!(attr, Attr::Thread | Attr::Seat | Attr::Reach);
        if of_shell || !rng.random_bool(UNKNOWN_PERCENT / 100.0) {
            data.facts.set(attr, Some(raw));
        }
    }
    let at = DateTime::UNIX_EPOCH;
    Plug {
        id: id(ordinal),
        data,
        retired: false,
        version: 1,
        created_at: at,
        updated_at: at,
    }
}

/// Metals and terminals, the usual ones more than once.
const METALS: [Electrode; 7] = [
    Electrode::Nickel,
    Electrode::Nickel,
    Electrode::Iridium,
    Electrode::Platinum,
    Electrode::DoublePlatinum,
    Electrode::Silver,
    Electrode::Ruthenium,
];
const TERMINALS: [Terminal; 4] = [
    Terminal::SolidNut,
    Terminal::SolidNut,
    Terminal::RemovableNut,
    Terminal::StudM4,
];

/// The values of one part, none of them unknown yet.
fn values(rng: &mut StdRng) -> [(Attr, i64); 15] {
    let (thread, seat, reach, hex, _) = *SHELLS.choose_weighted(rng, |shell| shell.4).unwrap();
    let preset = 7_000 + 500 * rng.random_range(0..10);
    let fixed = rng.random_bool(0.06);
    let ground = if fixed {
        Ground::MultiStrap
    } else {
        *[Ground::SingleStrap, Ground::FineWire].choose(rng).unwrap()
    };
    let (down, up) = if fixed {
        (0, 0)
    } else {
        (500 * rng.random_range(1..8), 500 * rng.random_range(1..6))
    };
    let resistor = rng.random_bool(0.8);
    [
        (Attr::Thread, thread.position()),
        (Attr::Seat, seat.position()),
        (Attr::Reach, reach),
        (Attr::Hex, hex),
        // 20 to 120 in half steps, a fifth of them off the grid, as calibrated scales are.
        (
            Attr::Heat,
            50 * rng.random_range(4..=24)
                + if rng.random_bool(0.2) {
                    rng.random_range(-20..=20)
                } else {
                    0
                },
        ),
        (Attr::Projection, 5_000 * rng.random_range(-1..=12)),
        (Attr::Resistor, i64::from(resistor)),
        (Attr::Resistance, if resistor { 50_000 } else { 10 }),
        (Attr::Electrode, METALS.choose(rng).unwrap().position()),
        (Attr::Ground, ground.position()),
        (Attr::GapPreset, preset),
        (Attr::GapMin, preset - down),
        (Attr::GapMax, preset + up),
        (Attr::Terminal, TERMINALS.choose(rng).unwrap().position()),
        (Attr::PackSize, *[1, 4, 10].choose(rng).unwrap()),
    ]
}

/// Ids rise with the time at which a record was made, as version 7 has it.
pub fn id(ordinal: u32) -> Uuid {
    let noise = u64::from(ordinal).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    let milliseconds = 1_700_000_000_000 + u64::from(ordinal) * 40;
    Uuid::from_u64_pair(
        milliseconds << 16 | 0x7000 | noise >> 52,
        1 << 63 | noise >> 2,
    )
}

/// What lies on the shelf of a part: sealed lots only, since SQLite is asked for the same.
pub fn shelf(rng: &mut StdRng) -> OnShelf {
    if !rng.random_bool(STOCKED_PERCENT / 100.0) {
        return OnShelf::default();
    }
    let largest = 4 * rng.random_range(1..=10);
    let others = if rng.random_bool(0.4) {
        rng.random_range(1..=largest)
    } else {
        0
    };
    let reserved = if rng.random_bool(0.2) {
        rng.random_range(1..=8)
    } else {
        0
    };
    OnShelf {
        sealed: largest + others,
        largest_sealed_lot: largest,
        reserved,
        gapped: Vec::new(),
    }
}

/// What a build needs, by the service's own rules; heads are asked for as often as their shells
/// are in the catalogue.
pub fn requirement(rng: &mut StdRng, policy: &Policy) -> Requirement {
    let (thread, seat, reach, hex, _) = *SHELLS.choose_weighted(rng, |shell| shell.4).unwrap();
    let window = 5_000 * rng.random_range(1..=8);
    let base = 10 * rng.random_range(4..=7);
    let (power, boost) = (rng.random_range(250..600), rng.random_range(30..110));
    let boosted = rng.random_bool(0.8);
    let purpose = ["street", "track", "strip"].choose(rng);
    let cylinders = [4, 6, 8].choose(rng);
    let build = json!({
        "head": {
            "thread": thread, "seat": seat, "reach_mm": Attr::Reach.to_json(reach), "hex_max_mm": Attr::Hex.to_json(hex),
            "projection_min_mm": Attr::Projection.to_json(window), "projection_max_mm": Attr::Projection.to_json(window + 20_000),
            "heat_index": base, "terminal": if rng.random_bool(0.3) { json!("solid_nut") } else { json!(null) },
        },
        "cylinders": cylinders, "use": purpose,
        "induction": if boosted { "supercharged" } else { "naturally_aspirated" },
        "base_power_kw": 240, "power_kw": power, "base_boost_kpa": 0, "boost_kpa": if boosted { boost } else { 0 },
        "displacement_cc": 5400, "compression_ratio": 9.5, "coil_kv": 36, "electronics": ["fuel_injection"],
    });
    let build: Build = serde_json::from_value(build).expect("a build");
    derive(&build.engine, &build.head.expect("a head"), None, policy).expect("a requirement")
}
