//! How long it takes to say what an unmarked plug can be, by how much was read off it.

use plugwell_domain::attribute::Attr;
use plugwell_domain::identification::{Readings, Sought, next_measurement};
use plugwell_domain::plug::{Plug, Shows};
use plugwell_domain::policy::Policy;
use plugwell_domain::thread::Thread;
use plugwell_domain::thread_limits::{INCH, METRIC};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use serde_json::{Map, Value, json};

use crate::{Shop, Times, catalogue};

/// Questions as a clerk asks them: what they are called and what is read.
const KINDS: [(&str, &[&str]); 4] = [
    (
        "all that can be measured",
        &[
            "thread",
            "seat",
            "reach_mm",
            "hex_mm",
            "resistance_ohm",
            "projection_mm",
            "ground",
            "terminal",
        ],
    ),
    (
        "thread, seat, reach and hex",
        &["thread", "seat", "reach_mm", "hex_mm"],
    ),
    ("a diameter alone", &["thread"]),
    (
        "hex and resistance: every record",
        &["hex_mm", "resistance_ohm"],
    ),
];
/// Candidates that are asked for, as the service does.
const LEADING: usize = 200;

impl Shop {
    /// Puts readings of random parts to the index.
    pub(crate) fn identify(&self, questions: usize) {
        let policy = Policy::default();
        println!("  what an unmarked plug can be, by:");
        for (name, members) in KINDS {
            let rng = &mut StdRng::seed_from_u64(4);
            let (mut times, mut next, mut found) = (Times::default(), Times::default(), Vec::new());
            for _ in 0..questions {
                let plug = catalogue::plug(rng.random_range(0..self.size), 0);
                let Some(readings) = readings(rng, &plug, members) else {
                    continue;
                };
                let sought = Sought::of(&readings, &policy);
                let identified =
                    times.time(|| self.index.identify(&sought, LEADING).expect("an answer"));
                found.push(identified.crowd.count());
                let leading: Vec<Plug> = identified
                    .likeliest
                    .iter()
                    .map(|l| catalogue::plug(l.ordinal, 0))
                    .collect();
                let share = 1.0 / leading.len().max(1) as f64;
                let leading: Vec<(&Plug, f64)> = leading.iter().map(|plug| (plug, share)).collect();
                next.time(|| next_measurement(&sought, &leading));
            }
            found.sort_unstable();
            let middle = found[found.len() / 2];
            let [median, late] = [0.5, 0.95].map(|share| times.share(share).as_secs_f64() * 1e6);
            println!("    {name:<34} {median:>9.1} ({late:.1}); {middle} candidates");
            println!(
                "      and what to measure next         {:>9.1}",
                next.share(0.5).as_secs_f64() * 1e6
            );
        }
    }
}

/// What a caliper reads of a part, up to 0.05 mm off; `None` where nothing of it is known.
fn readings(rng: &mut StdRng, plug: &Plug, members: &[&str]) -> Option<Readings> {
    let mut taken = Map::new();
    for member in members {
        let attr: Attr = member.parse().expect("an attribute");
        let Some(raw) = plug.shown(attr) else {
            continue;
        };
        let value = match attr {
            Attr::Thread => {
                let word = Thread::at(raw).expect("a thread").word();
                taken.insert("major_diameter_mm".into(), crests(word));
                continue;
            }
            Attr::Reach | Attr::Hex | Attr::Projection => {
                json!((raw + 100 * rng.random_range(-5..=5)) as f64 / 10_000.0)
            }
            _ => attr.to_json(raw),
        };
        taken.insert((*member).into(), value);
    }
    (!taken.is_empty()).then(|| serde_json::from_value(taken.into()).expect("readings"))
}

/// The middle of a thread's limits over the crests, mm.
fn crests(word: &str) -> Value {
    let metric = METRIC
        .iter()
        .find(|t| t.designation == word)
        .map(|t| t.external_6e.major);
    let inch = INCH.iter().find(|t| t.designation == word).map(|t| t.major);
    let limits = metric.or(inch).expect("limits of every thread");
    json!(f64::from(limits.min_um + limits.max_um) / 2000.0)
}
