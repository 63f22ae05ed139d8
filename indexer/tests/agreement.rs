//! A match equals a plain scan of all records with the domain's fit functions: the set of fits,
//! their order, near misses and totals, whatever the segments look like; so does what an unmarked
//! plug can be.

mod record;
mod unmarked;
mod wild;

use std::collections::BTreeMap;

use plugwell_domain::attribute::Attr;
use plugwell_domain::fit::{Name, Standing, StockMode, fits, judge, near_miss};
use plugwell_domain::ledger::shelf::ShelfTable;
use plugwell_domain::plug::{Plug, Shows};
use plugwell_domain::requirement::{Requirement, set_gap_of};
use plugwell_indexer::{Fed, Found, Hit, Index, Question};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use uuid::Uuid;

/// The catalogue that the index is fed from, by ordinal.
type Catalogue = BTreeMap<u32, Plug>;

fn hit(plug: &Plug, ordinal: u32, question: &Question<'_>, shelves: &ShelfTable) -> Hit {
    let requirement = question.requirement;
    let (set_gap_mm, _) = set_gap_of(plug, requirement);
    let tolerance = requirement.gap.tolerance_mm;
    let shelf = shelves.get(ordinal);
    let available = shelf.available(set_gap_mm, tolerance);
    let one_lot = shelf.one_lot_enough(question.quantity, set_gap_mm, tolerance);
    Hit {
        id: plug.id,
        ordinal,
        standing: Standing::of(requirement, plug, available, one_lot),
        available,
        on_hand: shelf.on_hand(),
        set_gap_mm,
        verdicts: requirement
            .demands
            .iter()
            .map(|d| judge(d, plug.shown(d.attribute)))
            .collect(),
    }
}

/// The same answer without an index.
fn plain_scan(catalogue: &Catalogue, question: &Question<'_>, shelves: &ShelfTable) -> Found {
    let mut fitting: Vec<(Standing, Name, Hit)> = Vec::new();
    let mut missing: Vec<(Standing, Name, Hit, Attr)> = Vec::new();
    let (mut fits_in_catalogue, mut fits_in_stock) = (0, 0);
    for (ordinal, plug) in catalogue.iter().filter(|(_, plug)| !plug.retired) {
        let hit = hit(plug, *ordinal, question, shelves);
        let name = Name {
            part_number: plug.data.part_number.clone(),
            id: plug.id,
        };
        let offered = match question.stock {
            StockMode::Enough => hit.available >= question.quantity,
            StockMode::Some => hit.available >= 1,
            StockMode::Ignore => true,
        };
        if fits(question.requirement, plug) {
            fits_in_catalogue += 1;
            fits_in_stock += u64::from(hit.available >= question.quantity);
            if offered {
                fitting.push((hit.standing, name, hit));
            }
        } else if let Some(attr) = near_miss(question.requirement, plug)
            && offered
        {
            missing.push((hit.standing, name, hit, attr));
        }
    }
    fitting.sort_by(|a, b| (a.0, &a.1).cmp(&(b.0, &b.1)));
    missing.sort_by(|a, b| (a.0, &a.1).cmp(&(b.0, &b.1)));
    Found {
        fits: fitting
            .into_iter()
            .take(question.limit)
            .map(|(_, _, hit)| hit)
            .collect(),
        near_misses: missing
            .into_iter()
            .take(question.near_misses)
            .map(|(_, _, hit, attr)| (hit, attr))
            .collect(),
        fits_in_catalogue,
        fits_in_stock,
        // How far the index had to look is its own affair.
        candidates: fits_in_catalogue,
    }
}

/// What the questions of a run came upon, so that a run that asked for nothing is noticed.
#[derive(Debug, Default)]
struct Seen {
    fits: u64,
    near_misses: u64,
    ties: u64,
}

fn compare(
    rng: &mut StdRng,
    index: &Index,
    catalogue: &Catalogue,
    shelves: &ShelfTable,
    seen: &mut Seen,
) {
    let requirement: Requirement = wild::requirement(rng);
    for stock in StockMode::ALL {
        let question = Question {
            requirement: &requirement,
            quantity: rng.random_range(1..=4),
            stock: *stock,
            limit: *[0, 1, 3, 20, 200].get(rng.random_range(0..5)).unwrap(),
            near_misses: *[0, 1, 5, 50].get(rng.random_range(0..4)).unwrap(),
        };
        let expected = plain_scan(catalogue, &question, shelves);
        let found = index.search(&question, shelves).unwrap();
        assert!(
            found.candidates >= expected.candidates,
            "{} looked at: {question:#?}",
            found.candidates
        );
        let expected = Found {
            candidates: found.candidates,
            ..expected
        };
        assert_eq!(found, expected, "{question:#?}");
        seen.fits += found.fits.len() as u64;
        seen.near_misses += found.near_misses.len() as u64;
        seen.ties += found
            .fits
            .windows(2)
            .filter(|pair| pair[0].standing == pair[1].standing)
            .count() as u64;
    }
}

/// Adds, changes, retires and deletes records, and moves stock.
fn change(
    rng: &mut StdRng,
    catalogue: &mut Catalogue,
    shelves: &mut ShelfTable,
    version: i64,
) -> Vec<Fed> {
    let mut batch = Vec::new();
    for _ in 0..rng.random_range(1..400) {
        let ordinal = rng.random_range(0..2500);
        // The id belongs to the ordinal, and stands in no order with it.
        let id = u128::from(ordinal).wrapping_mul(0x9E37_79B9_7F4A_7C15_F39C_0C49_1D2B_8F6D);
        if catalogue.contains_key(&ordinal) && rng.random_bool(0.3) {
            catalogue.remove(&ordinal);
            batch.push(Fed {
                id: Uuid::from_u128(id),
                ordinal,
                record: None,
            });
        } else {
            let mut plug = wild::plug(rng, id);
            plug.retired = rng.random_bool(0.05);
            catalogue.insert(ordinal, plug.clone());
            batch.push(record::fed(ordinal, plug));
        }
        shelves.put(ordinal, version, wild::shelf(rng));
    }
    batch
}

#[test]
fn a_match_equals_a_plain_scan() {
    let mut seen = Seen::default();
    for seed in 0..4 {
        let rng = &mut StdRng::seed_from_u64(seed);
        let folder = tempfile::tempdir().unwrap();
        let index = Index::open(folder.path()).unwrap();
        let (mut catalogue, mut shelves) = (Catalogue::new(), ShelfTable::new());
        for round in 0..20 {
            let batch = change(rng, &mut catalogue, &mut shelves, round);
            index.feed(batch, round).unwrap();
            let living = catalogue.values().filter(|plug| !plug.retired).count();
            assert_eq!(index.count(), living as u64);
            for _ in 0..12 {
                compare(rng, &index, &catalogue, &shelves, &mut seen);
            }
        }
        let mut rebuild = index.rebuild();
        for (ordinal, plug) in &catalogue {
            rebuild.add(*ordinal, plug).unwrap();
        }
        rebuild.finish(100).unwrap();
        assert_eq!(index.segments(), 1);
        for _ in 0..40 {
            compare(rng, &index, &catalogue, &shelves, &mut seen);
        }
    }
    assert!(
        seen.fits > 10_000 && seen.near_misses > 5_000 && seen.ties > 1_000,
        "{seen:?}"
    );
}
