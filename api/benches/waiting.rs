//! What a line of waiting jobs costs those who come to it: one plug reserved and released again, and one
//! more job that asks and is called off, while 10, 1 000 and 5 000 jobs wait.
//!
//! `cargo bench -p plugwell --bench waiting`.

mod made_up;

use std::fs::File;
use std::path::Path;

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use plugwell::service::exchange::{self, Importing, TableKind};
use plugwell::service::matching::Subject;
use plugwell::service::once::{OnceKey, Stored};
use plugwell::service::stock::{self, By, Moved};
use plugwell::service::waiting_jobs::{self, Wanted};
use plugwell::service::{Actor, Refusal, Shop, catalogue};
use plugwell_domain::attribute::Attr;
use plugwell_domain::ledger::PlaceKind;
use plugwell_domain::ledger::commands::{NewPlace, Receipt, Reserve};
use plugwell_domain::plug::Shows;
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::Requirement;
use plugwell_domain::words::Role;
use plugwell_store::{Options, Session, Store, Target};
use serde_json::json;
use uuid::Uuid;

/// Jobs that wait.
const LINES: [i64; 3] = [10, 1_000, 5_000];
/// Parts of the catalogue, of as many heats as there are.
const PARTS: u64 = 180;
const HEATS: i64 = 90;
/// Plugs of the part that is moved; a job wants half of them.
const PLUGS: i64 = 16;

/// A shop in which so many jobs wait, for parts of every heat in turn.
struct Waiting {
    shop: Shop,
    actor: Actor,
    policy: Policy,
    part: Uuid,
}

impl Waiting {
    fn of(folder: &Path, jobs: i64) -> Self {
        let target = Target::Sqlite(folder.join("shop.db"));
        let store = Store::open(&target, &Options::default()).expect("a database");
        let shop = Shop::open(store, &folder.join("index"), &|_, _| {}).expect("a shop");
        let actor = Actor {
            token_id: Uuid::nil(),
            name: "bench".into(),
            role: Role::Clerk,
        };
        let file = folder.join("plugs.csv");
        made_up::table(&file, PARTS);
        let importing = Importing {
            kind: TableKind::Plugs,
            actor: &actor,
            progress: &|_, _| {},
        };
        let mut table = File::open(&file).expect("the table");
        exchange::import(&shop, &importing, &mut table).expect("an import");
        let found = catalogue::find(&shop, "Ferrowick", 1).expect("a search");
        let plug = found.first().expect("a part");
        let heat = plug.shown(Attr::Heat).expect("its heat");
        let policy = (*shop.policy()).clone();
        let own = Self {
            shop,
            actor,
            policy,
            part: plug.id,
        };
        own.stock();
        let by = By::now(&own.actor);
        let asked = own.shop.write(|s| {
            for job in 0..jobs {
                let of = (heat + 10 * (job % HEATS)) as f64 / 10.0;
                waiting_jobs::keep(s, &by, &own.policy, &wanted(&format!("J-{job}"), of))?;
            }
            Ok::<_, Refusal>(())
        });
        asked.expect("they wait");
        waiting_jobs::follow(&own.shop).expect("their turns");
        own
    }

    fn stock(&self) {
        let bin = NewPlace {
            kind: PlaceKind::Bin,
            name: "Bin".into(),
        };
        let bin = stock::add_place(&self.shop, &bin).expect("a bin");
        let receipt = Receipt::of(self.part, "Quayside Parts", bin.id, PLUGS);
        self.command(|s| stock::receive(s, &By::now(&self.actor), &self.policy, &receipt));
    }

    /// A command on stock, and everybody's turn after it; what it moved or made.
    fn command(&self, run: impl FnMut(&mut Session) -> Moved + Send) -> Option<Uuid> {
        let key = Uuid::now_v7().to_string();
        let key = OnceKey {
            token_id: self.actor.token_id,
            fingerprint: key.clone(),
            key,
        };
        let done = self.shop.once(&key, run, |_| Stored {
            status: 200,
            headers: Vec::new(),
            body: Vec::new(),
            replayed: false,
        });
        let done = done.expect("it is done").fresh.expect("for the first time");
        waiting_jobs::follow(&self.shop).expect("their turns");
        done.reservations.first().map(|reservation| reservation.id)
    }

    fn reserve_and_release(&self) {
        let reserve = Reserve::of(self.part, 1, "Somebody");
        let kept =
            self.command(|s| stock::reserve(s, &By::now(&self.actor), &self.policy, &reserve));
        let kept = kept.expect("a reservation");
        self.command(|s| stock::release(s, &By::now(&self.actor), kept));
    }

    fn ask_and_call_off(&self) {
        let asked = waiting_jobs::ask(&self.shop, &self.actor, &wanted("One more", 45.0));
        let id = asked.expect("it waits").id;
        waiting_jobs::remove(&self.shop, id, |_| Ok(())).expect("it is called off");
    }
}

/// Plugs of a heat for a job.
fn wanted(job: &str, heat: f64) -> Wanted {
    let needs = json!({ "demands": [
        { "attribute": "thread", "strength": "must", "unknown": "fails", "test": { "one_of": ["M14x1.25"] } },
        { "attribute": "heat_index", "strength": "must", "unknown": "fails", "test": { "min": heat, "max": heat } },
    ] });
    let needs = Requirement::from_json(&needs).expect("a requirement");
    Wanted {
        job: job.to_owned(),
        subject: Subject::Requirement(Box::new(needs)),
        quantity: Some(PLUGS / 2),
    }
}

fn lines(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("waiting");
    group.sample_size(20);
    for jobs in LINES {
        let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder");
        let waiting = Waiting::of(folder.path(), jobs);
        group.bench_function(BenchmarkId::new("stock", jobs), |bencher| {
            bencher.iter(|| waiting.reserve_and_release());
        });
        group.bench_function(BenchmarkId::new("asking", jobs), |bencher| {
            bencher.iter(|| waiting.ask_and_call_off());
        });
    }
    group.finish();
}

criterion_group!(benches, lines);
criterion_main!(benches);
