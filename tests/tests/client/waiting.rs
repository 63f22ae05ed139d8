//! Jobs that wait.

use plugwell_client::domain::waiting::WaitingState;
use plugwell_client::{
    Build, Code, Demand, Receipt, Requirement, Test, Versioned, Wait, WaitFor, WaitingJob,
};
use plugwell_tests::bodies::{build, unique};
use plugwell_tests::{Who, shared, wait};
use serde_json::json;

use crate::{bin, part};

/// What only a part of this number's description meets: nothing else of that service life is stored.
fn needs(life: i64) -> Requirement {
    let must = |attribute: &str, test: serde_json::Value| -> Demand {
        let demand =
            json!({ "attribute": attribute, "strength": "must", "test": test, "unknown": "fails" });
        serde_json::from_value(demand).expect("a demand")
    };
    let needs = json!({ "demands": [
        must("thread", json!({ "one_of": ["M14x1.25"] })),
        must("service_life_km", json!({ "one_of": [life] })),
        must("heat_index", json!({ "min": 70.0, "max": 70.0 })),
    ] });
    serde_json::from_value(needs).expect("a requirement")
}

#[test]
fn a_job_waits_is_told_and_is_called_off() {
    for shop in shared() {
        let (tuner, clerk) = (shop.typed(Who::Tuner), shop.typed(Who::Clerk));
        let (life, job) = (31_417, unique("Waits"));
        let plug = plugwell_client::PlugData {
            service_life_km: Some(life),
            ..part()
        };
        let plug = wait(clerk.store(&plug)).expect("a part").record;
        let asked = Wait::of(&job, WaitFor::Requirement(Box::new(needs(life)))).quantity(3);
        let asked = wait(tuner.store(&asked)).expect("it waits");
        let WaitingJob { requirement, .. } = &asked.record;
        assert!(asked.record.state == WaitingState::Waiting && asked.record.fits.is_empty());
        assert_eq!((asked.record.quantity, asked.record.open_quantity), (3, 3));
        assert!(matches!(requirement.demands[2].test, Test::Range { .. }));
        assert!(!asked.record.cautions.is_empty(), "the makers stand above");

        let receipt = Receipt::of(plug.id, "Quayside Parts", bin(shop), 4);
        wait(clerk.receive(&receipt)).expect("received");
        let read =
            || -> Versioned<WaitingJob> { wait(tuner.read(asked.record.id)).expect("it is there") };
        let mut tries = 0;
        while read().record.state != WaitingState::Possible {
            tries += 1;
            assert!(tries < 500, "{:?}", read());
            std::thread::sleep(std::time::Duration::from_millis(20));
        }
        let possible = read();
        let fits = &possible.record.fits;
        assert_eq!((fits[0].plug_id, fits[0].available), (plug.id, 4));
        assert!(possible.record.possible_since.is_some());
        let listed = tuner.list::<WaitingJob>().filter("job", &job);
        let listed = wait(listed.all()).expect("a list");
        assert_eq!(listed, std::slice::from_ref(&possible.record));

        let stale = wait(tuner.remove(&asked)).expect_err("it has been told since");
        assert_eq!(stale.code(), Code::Stale);
        wait(tuner.remove(&possible)).expect("called off");
        let gone = wait(tuner.read::<WaitingJob>(asked.record.id)).expect_err("gone");
        assert_eq!(gone.code(), Code::NotFound);
    }
}

#[test]
fn a_build_waits_for_its_whole_set() {
    for shop in shared() {
        let tuner = shop.typed(Who::Tuner);
        let build: Build = serde_json::from_value(build()).expect("a build");
        let made = wait(tuner.store(&build)).expect("a build").record;
        for (subject, build_id) in [
            (WaitFor::Build(Box::new(build)), None),
            (WaitFor::BuildId(made.id), Some(made.id)),
        ] {
            let asked = wait(tuner.store(&Wait::of(&unique("Set"), subject))).expect("it waits");
            assert_eq!(asked.record.build_id, build_id);
            let total = asked
                .record
                .requirement
                .quantity
                .as_ref()
                .and_then(|q| q.total);
            assert_eq!((asked.record.quantity, total), (9, Some(9)));
            wait(tuner.remove(&asked)).expect("called off");
        }
    }
}
