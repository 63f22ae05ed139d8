//! A table of a million parts, in and out: time and memory, against the aim of under 60 s on two cores.
//!
//! `cargo bench -p plugwell`; fewer rows with `PLUGWELL_BENCH_ROWS`.

mod made_up;

use std::fs::File;
use std::io::BufWriter;
use std::time::Instant;

use plugwell::service::exchange::{self, Importing, TableKind};
use plugwell::service::{Actor, Shop};
use plugwell_domain::words::Role;
use plugwell_store::{Options, Store, Target};
use uuid::Uuid;

fn main() {
    // What `cargo test` calls with is no measurement.
    if std::env::args().any(|argument| argument == "--test") {
        return;
    }
    let rows = std::env::var("PLUGWELL_BENCH_ROWS");
    let rows: u64 = rows.ok().and_then(|n| n.parse().ok()).unwrap_or(1_000_000);
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("plugs.csv");
    made_up::table(&file, rows);
    let size = std::fs::metadata(&file).expect("the table").len();
    println!("{rows} rows, {} MB", size / 1_000_000);

    let target = Target::Sqlite(folder.path().join("shop.db"));
    let store = Store::open(&target, &Options::default()).expect("a database");
    let shop = Shop::open(store, &folder.path().join("index"), &|_, _| {}).expect("a shop");
    let actor = Actor {
        token_id: Uuid::nil(),
        name: "bench".into(),
        role: Role::Clerk,
    };
    let importing = Importing {
        kind: TableKind::Plugs,
        actor: &actor,
        progress: &|_, _| {},
    };
    for (what, created) in [("new", rows), ("the same again", 0)] {
        let start = Instant::now();
        let mut table = File::open(&file).expect("the table");
        let report = exchange::import(&shop, &importing, &mut table).expect("an import");
        assert_eq!(report.created, created, "{report:?}");
        told(what, start);
    }
    let start = Instant::now();
    let mut out = BufWriter::new(File::create(folder.path().join("out.csv")).expect("a file"));
    let written = exchange::export(&shop, TableKind::Plugs, &mut out).expect("an export");
    assert_eq!(written, rows);
    told("written out", start);
}

fn told(what: &str, start: Instant) {
    let seconds = start.elapsed().as_secs_f64();
    println!("{what}: {seconds:.1} s, peak memory {} MB", peak() / 1_000);
}

/// The most memory that this process has had, in kB.
fn peak() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmHWM:"));
    let number = line.and_then(|line| line.split_whitespace().nth(1));
    number.and_then(|n| n.parse().ok()).unwrap_or_default()
}
