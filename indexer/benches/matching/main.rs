//! How long a match takes, beside SQLite on the same question, interleaved query by query; and how
//! long it takes to say what an unmarked plug can be.
//!
//! `cargo bench -p plugwell-indexer` measures at 10 000, 100 000 and 1 000 000 records, which takes
//! some minutes; `cargo bench -p plugwell-indexer -- 10000 --questions=200` at another size, with
//! fewer questions. Figures to look at, not a timed test; it fails where the sides do not answer
//! alike.

mod catalogue;
mod identifying;
mod sqlite;

use std::time::{Duration, Instant};

use plugwell_domain::fit::StockMode;
use plugwell_domain::ledger::shelf::ShelfTable;
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::{Requirement, of_part};
use plugwell_indexer::{Fed, Found, Hit, Index, Question};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

use sqlite::{By, Database, Line};

/// Records that are deleted or changed after the index was built, of a hundred.
const CHANGED_PERCENT: u32 = 5;
/// Batches in which they come.
const BATCHES: u32 = 20;

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let mut sizes: Vec<u32> = arguments.iter().filter_map(|a| a.parse().ok()).collect();
    if sizes.is_empty() {
        sizes = vec![10_000, 100_000, 1_000_000];
    }
    let given = arguments
        .iter()
        .find_map(|a| a.strip_prefix("--questions="));
    let questions = given.map_or(2000, |number| {
        number.parse().expect("a number of questions")
    });
    println!("{questions} questions, the best 20; median (95th percentile) in microseconds");
    let medians: Vec<(u32, Duration)> = sizes
        .into_iter()
        .map(|size| (size, Shop::new(size).measure(questions)))
        .collect();
    if let [(small, least), .., (large, most)] = medians[..] {
        let times = most.as_secs_f64() / least.as_secs_f64();
        println!("\na match among {large} records takes {times:.1} times as long as among {small}");
    }
}

/// One catalogue, in both engines.
struct Shop {
    size: u32,
    index: Index,
    shelves: ShelfTable,
    database: Database,
    _folder: tempfile::TempDir,
}

impl Shop {
    fn new(size: u32) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let mut shop = Self {
            size,
            index: Index::open(&folder.path().join("index")).expect("an index"),
            shelves: ShelfTable::new(),
            database: Database::new(&folder.path().join("parts.sqlite")).expect("a database"),
            _folder: folder,
        };
        shop.fill();
        shop.change();
        shop
    }

    fn fill(&mut self) {
        let rng = &mut StdRng::seed_from_u64(1);
        let start = Instant::now();
        let mut rebuild = self.index.rebuild();
        for ordinal in 0..self.size {
            let plug = catalogue::plug(ordinal, 0);
            rebuild.add(ordinal, &plug).expect("an added record");
        }
        rebuild.finish(0).expect("a finished index");
        let built = start.elapsed().as_secs_f64();
        println!("\n{} records: index built in {built:.1} s", self.size);
        self.database.begin().expect("a transaction");
        for ordinal in 0..self.size {
            let (plug, shelf) = (catalogue::plug(ordinal, 0), catalogue::shelf(rng));
            self.database.put(ordinal, &plug, &shelf).expect("a row");
            self.shelves.put(ordinal, 1, shelf);
        }
        self.database.commit().expect("rows");
    }

    /// Deletes and changes records in batches, as a feed from the database does.
    fn change(&mut self) {
        let rng = &mut StdRng::seed_from_u64(2);
        let in_batch = (self.size * CHANGED_PERCENT / 100 / BATCHES).max(1);
        let mut feeds = Times::default();
        self.database.begin().expect("a transaction");
        for position in 1..=BATCHES {
            let batch: Vec<Fed> = (0..in_batch)
                .map(|_| self.change_one(rng, position))
                .collect();
            let feed = || self.index.feed(batch, i64::from(position));
            feeds.time(feed).expect("a fed batch");
        }
        self.database.commit().expect("rows");
        self.database.index().expect("indexes");
        let median = feeds.share(0.5).as_secs_f64() * 1e3;
        println!("  {in_batch} changes fed, committed and shown in {median:.0} ms (median)");
        self.settle();
        let (records, segments) = (self.index.count(), self.index.segments());
        let megabytes = self.index.folder_size().expect("a size") >> 20;
        println!("  {records} records left, in {segments} segments, {megabytes} MB");
    }

    fn change_one(&mut self, rng: &mut StdRng, position: u32) -> Fed {
        let ordinal = rng.random_range(0..self.size);
        let id = catalogue::id(ordinal);
        if rng.random_bool(0.5) {
            self.database.delete(ordinal).expect("a deleted row");
            return Fed {
                id,
                ordinal,
                record: None,
            };
        }
        let plug = catalogue::plug(ordinal, u64::from(position));
        let shelf = catalogue::shelf(rng);
        self.database.put(ordinal, &plug, &shelf).expect("a row");
        self.shelves.put(ordinal, 1 + i64::from(position), shelf);
        Fed {
            id,
            ordinal,
            record: Some(plug),
        }
    }

    /// Waits until the merges in the background are done, so that they are not measured too.
    fn settle(&self) {
        let (mut quiet, mut before) = (0, (0, 0));
        while quiet < 6 {
            std::thread::sleep(Duration::from_millis(500));
            self.index.refresh().expect("a view");
            let now = (
                self.index.segments(),
                self.index.folder_size().expect("a size"),
            );
            quiet = if now == before { quiet + 1 } else { 0 };
            before = now;
        }
    }

    /// Puts the questions to all sides; the median of the match.
    fn measure(&self, questions: usize) -> Duration {
        let rng = &mut StdRng::seed_from_u64(3);
        let policy = Policy::default();
        let asked: Vec<Requirement> = (0..questions)
            .map(|_| catalogue::requirement(rng, &policy))
            .collect();
        let mut sides = Sides::default();
        // The first tenth warms up.
        for requirement in asked.iter().take(questions / 10) {
            self.ask(requirement, &mut sides);
        }
        sides = Sides::default();
        for requirement in &asked {
            self.ask(requirement, &mut sides);
            self.ask_for_equivalents(rng, &policy, &mut sides);
        }
        for _ in 0..questions {
            self.search_text(rng, &mut sides);
        }
        sides.print();
        self.identify(questions / 10);
        sides.matched.share(0.5)
    }

    fn ask(&self, requirement: &Requirement, sides: &mut Sides) {
        let quantity = requirement.quantity.total.map_or(1, i64::from);
        let question = Question {
            requirement,
            quantity,
            stock: StockMode::Enough,
            limit: 20,
            near_misses: 0,
        };
        let search = |question: Question<'_>| {
            self.index
                .search(&question, &self.shelves)
                .expect("an answer")
        };
        let sqlite = |by| {
            self.database
                .search(requirement, quantity, by)
                .expect("an answer")
        };
        let found = sides.matched.time(|| search(question));
        let covering = sides.covering.time(|| sqlite(By::Covering));
        let stocked = sides.stocked.time(|| sqlite(By::Stocked));
        assert_eq!(
            lines(&found),
            covering,
            "the covering index answers otherwise"
        );
        assert_eq!(
            lines(&found),
            stocked,
            "the partial index answers otherwise"
        );
        sides.near_misses.time(|| {
            search(Question {
                near_misses: 5,
                ..question
            })
        });
        let any = sides.any_stock.time(|| {
            search(Question {
                stock: StockMode::Ignore,
                ..question
            })
        });
        let ids: Vec<String> = any.fits.iter().map(|hit| hit.id.to_string()).collect();
        let records = sides
            .records
            .time(|| self.database.records(&ids).expect("records"));
        assert_eq!(records, ids.len());
        sides.in_catalogue.push(found.fits_in_catalogue);
        sides.in_stock.push(found.fits_in_stock);
    }

    /// The equivalents of a part of the catalogue: from its record to the best of those that fit it.
    fn ask_for_equivalents(&self, rng: &mut StdRng, policy: &Policy, sides: &mut Sides) {
        let (part, requirement) = loop {
            let part = catalogue::plug(rng.random_range(0..self.size), 0);
            if let Ok(requirement) = of_part(&part, policy) {
                break (part, requirement);
            }
        };
        let search = |stock| {
            let requirement = of_part(&part, policy).expect("a whole part");
            let question = Question {
                requirement: &requirement,
                quantity: 1,
                stock,
                limit: 21,
                near_misses: 0,
            };
            self.index
                .search(&question, &self.shelves)
                .expect("an answer")
        };
        let stocked = sides.equivalents.time(|| search(StockMode::Enough));
        let any = sides.equivalents_any.time(|| search(StockMode::Ignore));
        assert!(any.fits_in_catalogue >= stocked.fits.len() as u64);
        let database = |by| {
            self.database
                .search(&requirement, 1, by)
                .expect("an answer")
        };
        let mut first = lines(&stocked);
        first.truncate(20);
        assert_eq!(first, database(By::Covering), "SQLite answers otherwise");
        sides.equal.push(any.fits_in_catalogue);
    }

    fn search_text(&self, rng: &mut StdRng, sides: &mut Sides) {
        let part_number = catalogue::plug(rng.random_range(0..self.size), 0)
            .data
            .part_number;
        let words = |text: &str| self.index.words(text, 20).expect("an answer");
        sides.part_numbers.time(|| words(&part_number));
        let beginning = &part_number[..7];
        sides.beginnings.time(|| words(beginning));
        let slipped = format!("{}x{}", &part_number[..2], &part_number[2..]);
        let near = || self.index.spelled_like(&slipped, 20).expect("an answer");
        sides.near_spellings.time(near);
        let mistyped = sides.mistyped.time(|| words("generted ferowick"));
        assert_eq!(mistyped.len(), 20, "mistyped words do not find enough");
    }
}

/// Times of all that is compared, and what was found.
#[derive(Default)]
struct Sides {
    matched: Times,
    any_stock: Times,
    near_misses: Times,
    equivalents: Times,
    equivalents_any: Times,
    covering: Times,
    stocked: Times,
    records: Times,
    part_numbers: Times,
    beginnings: Times,
    near_spellings: Times,
    mistyped: Times,
    in_catalogue: Vec<u64>,
    in_stock: Vec<u64>,
    equal: Vec<u64>,
}

impl Sides {
    fn print(&self) {
        let middle = |values: &[u64]| {
            let mut sorted = values.to_vec();
            sorted.sort_unstable();
            sorted[sorted.len() / 2]
        };
        let (in_catalogue, in_stock) = (middle(&self.in_catalogue), middle(&self.in_stock));
        println!("  fits in the catalogue {in_catalogue}, in stock {in_stock} (medians)");
        println!(
            "  equivalents in the catalogue {} (median)",
            middle(&self.equal)
        );
        for (name, times) in [
            ("match, enough in stock, with totals", &self.matched),
            ("match, stock ignored, with totals", &self.any_stock),
            ("match, with five near misses", &self.near_misses),
            ("equivalents of a part, in stock", &self.equivalents),
            ("equivalents, stock ignored", &self.equivalents_any),
            ("SQLite, covering index, no totals", &self.covering),
            ("SQLite, stocked parts, no totals", &self.stocked),
            ("twenty whole records from SQLite", &self.records),
            ("a part number", &self.part_numbers),
            ("the beginning of a part number", &self.beginnings),
            ("a part number with a slip in it", &self.near_spellings),
            ("two words mistyped", &self.mistyped),
        ] {
            let [median, late] = [0.5, 0.95].map(|share| times.share(share).as_secs_f64() * 1e6);
            println!("  {name:<36} {median:>9.1} ({late:.1})");
        }
    }
}

/// What the index found, as SQLite answers.
fn lines(found: &Found) -> Vec<Line> {
    let line = |hit: &Hit| Line {
        id: hit.id.to_string(),
        verdicts: hit.verdicts.clone(),
        available: hit.available,
    };
    found.fits.iter().map(line).collect()
}

/// How long something took, time after time.
#[derive(Default)]
struct Times(Vec<Duration>);

impl Times {
    fn time<T>(&mut self, run: impl FnOnce() -> T) -> T {
        let start = Instant::now();
        let result = std::hint::black_box(run());
        self.0.push(start.elapsed());
        result
    }

    /// The time that a share of all stayed under.
    fn share(&self, share: f64) -> Duration {
        let mut sorted = self.0.clone();
        sorted.sort_unstable();
        sorted
            .get((sorted.len() as f64 * share) as usize)
            .copied()
            .unwrap_or_default()
    }
}
