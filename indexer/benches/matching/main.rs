//! How long a match takes, beside SQLite on the same question, interleaved query by query.
//!
//! `cargo bench -p plugwell-indexer` measures at 10 000, 100 000 and 1 000 000 records;
//! `cargo bench -p plugwell-indexer -- 10000 --questions=200` at other sizes, with fewer questions.
//! Figures to look at, not a timed test; it fails where the two sides do not answer alike.

mod catalogue;
mod sqlite;

use std::time::{Duration, Instant};

use plugwell_domain::fit::StockMode;
use plugwell_domain::ledger::shelf::ShelfTable;
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::Requirement;
use plugwell_indexer::{Fed, Found, Index, Question};
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
    let questions = arguments
        .iter()
        .find_map(|a| a.strip_prefix("--questions=")?.parse().ok())
        .unwrap_or(2000);
    println!(
        "median (95th percentile) of {questions} questions, microseconds; top 20, {CHANGED_PERCENT} % changed afterwards"
    );
    for size in sizes {
        let shop = Shop::new(size);
        shop.measure(questions);
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
        let index = Index::open(&folder.path().join("index")).expect("an index");
        let database = Database::new(&folder.path().join("parts.sqlite")).expect("a database");
        let mut shop = Self {
            size,
            index,
            shelves: ShelfTable::new(),
            database,
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
            rebuild
                .add(ordinal, &catalogue::plug(ordinal, 0))
                .expect("an added record");
        }
        rebuild.finish(0).expect("a finished index");
        let built = start.elapsed();
        self.database.begin().unwrap();
        for ordinal in 0..self.size {
            let shelf = catalogue::shelf(rng);
            self.database
                .put(ordinal, &catalogue::plug(ordinal, 0), &shelf)
                .expect("a row");
            self.shelves.put(ordinal, 1, shelf);
        }
        self.database.commit().unwrap();
        println!(
            "\n{} records: index built in {:.1} s, {} segments",
            self.size,
            built.as_secs_f64(),
            self.index.segments()
        );
    }

    /// Deletes and changes records in batches, as a feed from the database does.
    fn change(&mut self) {
        let rng = &mut StdRng::seed_from_u64(2);
        let mut took = Vec::new();
        self.database.begin().unwrap();
        for position in 1..=BATCHES {
            let mut batch = Vec::new();
            for _ in 0..(self.size * CHANGED_PERCENT / 100 / BATCHES).max(1) {
                let ordinal = rng.random_range(0..self.size);
                let id = catalogue::id(ordinal);
                if rng.random_bool(0.5) {
                    self.database.delete(ordinal).unwrap();
                    batch.push(Fed {
                        id,
                        ordinal,
                        record: None,
                    });
                } else {
                    let plug = catalogue::plug(ordinal, u64::from(position));
                    let shelf = catalogue::shelf(rng);
                    self.database.put(ordinal, &plug, &shelf).unwrap();
                    self.shelves.put(ordinal, 1 + i64::from(position), shelf);
                    batch.push(Fed {
                        id,
                        ordinal,
                        record: Some(plug),
                    });
                }
            }
            let start = Instant::now();
            self.index
                .feed(batch, i64::from(position))
                .expect("a fed batch");
            took.push(start.elapsed());
        }
        self.database.commit().unwrap();
        self.database.index().unwrap();
        println!(
            "  a batch of {} fed, committed and shown: {} ms",
            self.size * CHANGED_PERCENT / 100 / BATCHES,
            Times(took).milliseconds()
        );
        self.settle();
        println!(
            "  {} records in {} segments, {} MB",
            self.index.count(),
            self.index.segments(),
            self.index.folder_size().unwrap() >> 20
        );
    }

    /// Waits until the merges in the background are done, so that they are not measured too.
    fn settle(&self) {
        let mut same = 0;
        let mut before = (0, 0);
        while same < 6 {
            std::thread::sleep(Duration::from_millis(500));
            self.index.refresh().unwrap();
            let now = (self.index.segments(), self.index.folder_size().unwrap());
            same = if now == before { same + 1 } else { 0 };
            before = now;
        }
    }

    fn measure(&self, questions: usize) {
        let rng = &mut StdRng::seed_from_u64(3);
        let policy = Policy::default();
        let asked: Vec<(Requirement, i64)> = (0..questions)
            .map(|_| catalogue::requirement(rng, &policy))
            .map(|r| {
                let quantity = r.quantity.total.map_or(1, i64::from);
                (r, quantity)
            })
            .collect();
        for by in [By::Covering, By::Stocked] {
            println!(
                "  {by:?}: {}",
                self.database.plan(&asked[0].0, asked[0].1, by).unwrap()
            );
        }
        let mut times = [(); 6].map(|()| Times(Vec::new()));
        let (mut in_catalogue, mut in_stock) = (Vec::new(), Vec::new());
        // The first tenth warms up.
        for round in 0..questions + questions / 10 {
            let (requirement, quantity) = &asked[round % questions];
            let question = Question {
                requirement,
                quantity: *quantity,
                stock: StockMode::Enough,
                limit: 20,
                near_misses: 0,
            };
            let [ours, any_stock, with_misses, covering, stocked, records] = &mut times;
            if std::env::var_os("ONLY").is_some() {
                ours.time(|| self.index.search(&question, &self.shelves).unwrap());
                covering.time(|| {
                    self.database
                        .search(requirement, *quantity, By::Covering)
                        .unwrap()
                });
                continue;
            }
            let found = ours.time(|| self.index.search(&question, &self.shelves).unwrap());
            let by_covering = covering.time(|| {
                self.database
                    .search(requirement, *quantity, By::Covering)
                    .unwrap()
            });
            let by_stocked = stocked.time(|| {
                self.database
                    .search(requirement, *quantity, By::Stocked)
                    .unwrap()
            });
            let lines = lines(&found);
            assert_eq!(lines, by_covering, "the covering index answers otherwise");
            assert_eq!(lines, by_stocked, "the partial index answers otherwise");
            with_misses.time(|| {
                self.index
                    .search(
                        &Question {
                            near_misses: 5,
                            ..question
                        },
                        &self.shelves,
                    )
                    .unwrap()
            });
            let hits = any_stock.time(|| {
                self.index
                    .search(
                        &Question {
                            stock: StockMode::Ignore,
                            ..question
                        },
                        &self.shelves,
                    )
                    .unwrap()
            });
            let ids: Vec<String> = hits.fits.iter().map(|hit| hit.id.to_string()).collect();
            assert_eq!(
                records.time(|| self.database.records(&ids).unwrap()),
                ids.len()
            );
            in_catalogue.push(found.fits_in_catalogue);
            in_stock.push(found.fits_in_stock);
            if round + 1 == questions / 10 {
                times.iter_mut().for_each(|t| t.0.clear());
            }
        }
        self.print(&times, [in_catalogue, in_stock]);
    }

    fn print(&self, times: &[Times; 6], mut totals: [Vec<u64>; 2]) {
        let [in_catalogue, in_stock] = &mut totals;
        println!(
            "  fits in the catalogue {}, in stock {}",
            middle(in_catalogue),
            middle(in_stock)
        );
        let names = [
            "match, enough in stock",
            "  stock ignored",
            "  with 5 near misses",
            "SQLite, covering index",
            "SQLite, stocked parts",
            "20 whole records",
        ];
        for (name, times) in names.iter().zip(times) {
            println!("  {name:<24} {:>24}", times.microseconds());
        }
    }
}

fn lines(found: &Found) -> Vec<Line> {
    let line = |hit: &plugwell_indexer::Hit| Line {
        id: hit.id.to_string(),
        verdicts: hit.verdicts.clone(),
        available: hit.available,
    };
    found.fits.iter().map(line).collect()
}

fn middle(values: &mut [u64]) -> u64 {
    if values.is_empty() {
        return 0;
    }
    values.sort_unstable();
    values[values.len() / 2]
}

struct Times(Vec<Duration>);

impl Times {
    fn time<T>(&mut self, run: impl FnOnce() -> T) -> T {
        let start = Instant::now();
        let result = std::hint::black_box(run());
        self.0.push(start.elapsed());
        result
    }

    fn share(&self, share: f64) -> Duration {
        let mut sorted = self.0.clone();
        sorted.sort_unstable();
        sorted
            .get((sorted.len() as f64 * share) as usize)
            .copied()
            .unwrap_or_default()
    }

    fn microseconds(&self) -> String {
        let [median, late] = [0.5, 0.95].map(|s| self.share(s).as_secs_f64() * 1e6);
        format!("{median:.1} ({late:.1})")
    }

    fn milliseconds(&self) -> String {
        let [median, late] = [0.5, 0.95].map(|s| self.share(s).as_secs_f64() * 1e3);
        format!("{median:.1} ({late:.1})")
    }
}
