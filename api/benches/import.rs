//! A table of a million parts, in and out: time and memory, against the aim of under 60 s on two cores.
//!
//! `cargo bench -p plugwell`; fewer rows with `PLUGWELL_BENCH_ROWS`.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;
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
    write(&file, rows);
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

/// Parts of eight invented makers, their numbers in no order.
fn write(file: &Path, rows: u64) {
    let mut to = BufWriter::new(File::create(file).expect("a file"));
    let header = "maker,part_number,description,thread,reach_mm,seat,hex_mm,hex_kind,heat_index,projection_mm,\
                  strap_extent_mm,resistor,resistance_ohm,electrode,ground,gap_preset_mm,gap_min_mm,gap_max_mm,terminal,\
                  overall_mm,insulator_mm,service_life_km,torque_nm,pack_size,status,provenance";
    writeln!(to, "{header}").expect("a row");
    for n in 0..rows {
        // A prime: shares no factor with the rows, so that every number comes once.
        let part = n * 7_368_787 % rows;
        let maker = ["Ferrowick", "Alderstone", "Quayburn", "Tindrel"][(part % 4) as usize];
        let heat = 20 + part % 90;
        writeln!(
            to,
            "{maker},{}-{part:07},\"One strap, projected, number {part}\",M14x1.25,19.0,gasket,16.0,hex,{heat},3.0,5.2,true,\
             5000,iridium,single_strap,0.9,0.6,1.1,solid_nut,72.0,33.0,60000,25,4,active,reach_mm=measured",
            &maker[..2],
        )
        .expect("a row");
    }
    to.flush().expect("a table");
}
