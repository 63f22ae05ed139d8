//! A polite caller beside a greedy one: the 99th percentile of a match, against the aim of at most three
//! times what it is when nobody else asks.
//!
//! `cargo bench -p plugwell --bench fairness`; `PLUGWELL_BENCH_SAMPLES` and `PLUGWELL_BENCH_ROWS` make it
//! smaller. Ends with an error where the greedy one gets through.

mod made_up;

use std::fs::File;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use plugwell::app;
use plugwell::config::Given;
use plugwell::service::exchange::{self, Importing, TableKind};
use plugwell::service::{Actor, Shop, access};
use plugwell_domain::words::Role;
use plugwell_store::{Options, Store, Target};
use uuid::Uuid;

/// How many times its quiet value the polite caller's 99th percentile may reach.
const AIM: f64 = 3.0;
/// Connections of the greedy caller, each asking again as soon as it is answered.
const GREEDY: usize = 16;
/// Between two requests of the polite caller: slower than its limit.
const POLITE: Duration = Duration::from_millis(60);

const BODY: &str = r#"{"stock": "ignore", "build": {
    "head": {"name": "Cormorant", "thread": "M14x1.25", "reach_mm": 19.0, "reach_tolerance_mm": 0.3, "seat": "gasket",
             "hex_max_mm": 16.0, "projection_min_mm": 2.0, "projection_max_mm": 4.0, "heat_index": 50},
    "name": "Heron", "cylinders": 8, "induction": "supercharged", "use": "street", "base_power_kw": 320, "power_kw": 500,
    "boost_kpa": 62, "electronics": []}}"#;

fn main() -> ExitCode {
    // What `cargo test` calls with is no measurement.
    if std::env::args().any(|argument| argument == "--test") {
        return ExitCode::SUCCESS;
    }
    let number = |name: &str, usual: usize| {
        let given = std::env::var(name).ok().and_then(|n| n.parse().ok());
        given.unwrap_or(usual)
    };
    let samples = number("PLUGWELL_BENCH_SAMPLES", 500);
    let rows = number("PLUGWELL_BENCH_ROWS", 50_000) as u64;
    let folder = tempfile::tempdir().expect("a folder");
    let shop = Arc::new(stocked(folder.path(), rows));
    println!("{rows} parts, {samples} matches each");
    let usual = Given::default();
    let unlimited = Given {
        token_rate: Some(0),
        address_rate: Some(0),
        ..Given::default()
    };
    // Without rates the greedy one is held by its line alone; told, and no part of the aim.
    measured("in line only", &shop, unlimited, samples);
    let ratio = measured("usual limits", &shop, usual, samples);
    if ratio > AIM {
        println!("more than {AIM} times");
        return ExitCode::FAILURE;
    }
    ExitCode::SUCCESS
}

/// The polite caller's 99th percentile beside the greedy one, as a multiple of the quiet one.
fn measured(what: &str, shop: &Arc<Shop>, given: Given, samples: usize) -> f64 {
    let given = Given {
        port: Some(0),
        limit_loopback: Some(true),
        ..given
    };
    let settings = given.complete().expect("settings");
    let shop = Arc::clone(shop);
    let token = |name: &str| {
        let shown = access::create(&shop, name, Role::Reader);
        shown.expect("a token").secret
    };
    let (polite, greedy) = (token("polite"), token("greedy"));
    actix_web::rt::System::new().block_on(async {
        let running = app::start(Arc::clone(&shop), &settings).await.expect("it starts");
        let address = running.url().trim_start_matches("http://").to_owned();
        let asking = thread::spawn(move || {
            let quiet = percentiles(&address, &polite, samples);
            let beside = beside_greedy(&address, &greedy, || percentiles(&address, &polite, samples));
            (quiet, beside)
        });
        while !asking.is_finished() {
            actix_web::rt::time::sleep(Duration::from_millis(50)).await;
        }
        let (quiet, (beside, served, refused)) = asking.join().expect("both ask");
        running.stop().await.expect("it stops");
        let ratio = beside.1.as_secs_f64() / quiet.1.as_secs_f64();
        println!(
            "{what}: quiet median {:.2?}, 99th percentile {:.2?}; beside a greedy caller ({served} answered, {refused} \
             refused) median {:.2?}, 99th percentile {:.2?}: {ratio:.2} times",
            quiet.0, quiet.1, beside.0, beside.1,
        );
        ratio
    })
}

/// What `ask` finds while a greedy caller asks at full speed; what that one got.
fn beside_greedy<T>(address: &str, token: &str, ask: impl FnOnce() -> T) -> (T, u64, u64) {
    let (stop, served, refused) = (AtomicBool::new(false), AtomicU64::new(0), AtomicU64::new(0));
    let found = thread::scope(|scope| {
        for _ in 0..GREEDY {
            scope.spawn(|| {
                let mut caller = Caller::of(address, token);
                while !stop.load(Ordering::Relaxed) {
                    let counter = match caller.ask() {
                        200 => &served,
                        429 => &refused,
                        status => panic!("the greedy caller got {status}"),
                    };
                    counter.fetch_add(1, Ordering::Relaxed);
                }
            });
        }
        let found = ask();
        stop.store(true, Ordering::Relaxed);
        found
    });
    (found, served.into_inner(), refused.into_inner())
}

/// Median and 99th percentile of what a polite caller waits.
fn percentiles(address: &str, token: &str, samples: usize) -> (Duration, Duration) {
    let mut caller = Caller::of(address, token);
    let mut took: Vec<Duration> = (0..samples)
        .map(|_| {
            thread::sleep(POLITE);
            let start = Instant::now();
            assert_eq!(caller.ask(), 200, "the polite caller is never refused");
            start.elapsed()
        })
        .collect();
    took.sort_unstable();
    let at = |percent: usize| took[(samples * percent).div_ceil(100).saturating_sub(1)];
    (at(50), at(99))
}

/// A connection that asks the same again and again.
struct Caller {
    stream: BufReader<TcpStream>,
    request: Vec<u8>,
}

impl Caller {
    fn of(address: &str, token: &str) -> Self {
        let stream = TcpStream::connect(address).expect("a connection");
        stream.set_nodelay(true).expect("no delay");
        let request = format!(
            "POST /v1/matches HTTP/1.1\r\nHost: {address}\r\nAuthorization: Bearer {token}\r\n\
             Content-Type: application/json\r\nContent-Length: {}\r\n\r\n{BODY}",
            BODY.len()
        );
        Self {
            stream: BufReader::new(stream),
            request: request.into(),
        }
    }

    /// The status of the answer, once all of it has come.
    fn ask(&mut self) -> u16 {
        self.stream
            .get_mut()
            .write_all(&self.request)
            .expect("it is sent");
        let (mut status, mut length) = (0, 0);
        loop {
            let mut line = String::new();
            self.stream.read_line(&mut line).expect("a head");
            let line = line.trim_end().to_ascii_lowercase();
            if let Some(rest) = line.strip_prefix("http/1.1 ") {
                status = rest[..3].parse().expect("a status");
            } else if let Some(rest) = line.strip_prefix("content-length:") {
                length = rest.trim().parse().expect("a length");
            } else if line.is_empty() {
                break;
            }
        }
        let mut body = vec![0; length];
        self.stream.read_exact(&mut body).expect("a body");
        status
    }
}

fn stocked(folder: &Path, rows: u64) -> Shop {
    let target = Target::Sqlite(folder.join("shop.db"));
    let store = Store::open(&target, &Options::default()).expect("a database");
    let shop = Shop::open(store, &folder.join("index"), &|_, _| {}).expect("a shop");
    let file = folder.join("plugs.csv");
    made_up::table(&file, rows);
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
    let mut table = File::open(&file).expect("the table");
    exchange::import(&shop, &importing, &mut table).expect("an import");
    shop
}
