//! What a plug without a name can be equals a plain scan of all records with the domain's own
//! judgement: which records, how many, in which order, whatever the segments look like.

use plugwell_domain::attribute::Attr;
use plugwell_domain::identification::{Crowd, Measurement, Readings, Sought};
use plugwell_domain::ledger::shelf::ShelfTable;
use plugwell_domain::policy::Policy;
use plugwell_indexer::{Identified, Index, Likely};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng, seq::IndexedRandom};
use serde_json::{Map, Value, json};

use crate::{Catalogue, change};

/// The same answer without an index.
fn plain_scan(catalogue: &Catalogue, sought: &Sought, limit: usize) -> Identified {
    let mut crowd = Crowd::default();
    let mut found: Vec<(u32, &str, Likely)> = Vec::new();
    for (ordinal, plug) in catalogue {
        let Some(tally) = sought.tally(plug) else {
            continue;
        };
        crowd.add(tally.cost);
        let likely = Likely {
            id: plug.id,
            ordinal: *ordinal,
            cost: tally.cost,
        };
        found.push((tally.cost, &plug.data.part_number, likely));
    }
    found.sort_by_key(|(cost, number, likely)| (*cost, *number, likely.id));
    let likeliest = found.into_iter().take(limit).map(|(_, _, likely)| likely);
    Identified {
        likeliest: likeliest.collect(),
        crowd,
    }
}

/// Readings around the values that records have, each taken or not.
fn readings(rng: &mut StdRng) -> Readings {
    let diameters = [7.9, 9.85, 11.9, 13.88, 13.6, 13.2, 17.8, 21.0, 22.1, 16.0];
    let lengths = [12.7, 17.5, 18.9, 19.0, 19.33, 19.5, 26.5];
    let mut taken = Map::new();
    let mut take = |measurement: Measurement, value: Value| {
        taken.insert(measurement.word().to_owned(), value);
    };
    loop {
        for measurement in Measurement::ALL {
            if !rng.random_bool(0.4) {
                continue;
            }
            let value = match measurement {
                Measurement::MajorDiameter => json!(diameters.choose(rng)),
                Measurement::Pitch => json!([1.0, 1.25, 1.5, 1.41, 1.81, 2.0].choose(rng)),
                Measurement::Reach => json!(lengths.choose(rng)),
                Measurement::Hex => json!([14.0, 15.8, 16.0, 16.4, 20.7].choose(rng)),
                Measurement::Resistance => json!([0.0, 3.0, 600.0, 4700.0, 90_000.0].choose(rng)),
                Measurement::Projection => json!([-0.3, 0.2, 2.1, 3.6, 4.4].choose(rng)),
                Measurement::Overall => json!([20.0, 20.4, 60.0, 199.8].choose(rng)),
                Measurement::Insulator => json!([5.0, 5.6, 150.0].choose(rng)),
                by_eye => {
                    let attr: Attr = by_eye.attr();
                    attr.to_json(rng.random_range(0..2))
                }
            };
            take(*measurement, value);
        }
        if rng.random_bool(0.7) {
            break;
        }
    }
    if taken.is_empty() {
        taken.insert("seat".to_owned(), json!("gasket"));
    }
    serde_json::from_value(taken.into()).expect("readings")
}

/// What the questions of a run came upon, so that a run that found nothing is noticed.
#[derive(Debug, Default)]
struct Seen {
    empty: u64,
    candidates: u64,
    ties: u64,
    retired: u64,
}

fn compare(rng: &mut StdRng, index: &Index, catalogue: &Catalogue, seen: &mut Seen) {
    let readings = readings(rng);
    let sought = Sought::of(&readings, &Policy::default());
    let limit = *[0, 1, 10, 100].choose(rng).unwrap();
    let expected = plain_scan(catalogue, &sought, limit);
    let found = index.identify(&sought, limit).unwrap();
    assert_eq!(found, expected, "{readings:#?}");
    seen.empty += u64::from(found.crowd.count() == 0);
    seen.candidates += found.crowd.count();
    let ties = found
        .likeliest
        .windows(2)
        .filter(|p| p[0].cost == p[1].cost);
    seen.ties += ties.count() as u64;
    let retired = |likely: &&Likely| catalogue[&likely.ordinal].retired;
    seen.retired += found.likeliest.iter().filter(retired).count() as u64;
}

#[test]
fn an_identification_equals_a_plain_scan() {
    let mut seen = Seen::default();
    for seed in 0..3 {
        let rng = &mut StdRng::seed_from_u64(seed);
        let folder = tempfile::tempdir().unwrap();
        let index = Index::open(folder.path()).unwrap();
        // What lies on the shelves makes no difference.
        let (mut catalogue, mut shelves) = (Catalogue::new(), ShelfTable::new());
        for round in 0..10 {
            let batch = change(rng, &mut catalogue, &mut shelves, round);
            index.feed(batch, round).unwrap();
            for _ in 0..12 {
                compare(rng, &index, &catalogue, &mut seen);
            }
        }
        let mut rebuild = index.rebuild();
        for (ordinal, plug) in &catalogue {
            rebuild.add(*ordinal, plug).unwrap();
        }
        rebuild.finish(100).unwrap();
        for _ in 0..40 {
            compare(rng, &index, &catalogue, &mut seen);
        }
    }
    assert!(
        seen.empty > 20 && seen.candidates > 20_000 && seen.ties > 1_000 && seen.retired > 100,
        "{seen:?}"
    );
}
