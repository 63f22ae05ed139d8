//! First come, first served; and what becomes of a turn that was not taken.

use plugwell_tests::{Who, shared};
use serde_json::{Value, json};

use crate::bench::{Bench, job, told, until};

fn states(bench: &Bench<'_>, ids: &[&String]) -> Vec<String> {
    let all = bench.shop.all(Who::Reader, "/v1/waiting-jobs?limit=200");
    let state = |id: &&String| {
        let own = all.iter().find(|own| own["id"] == **id);
        own.map_or("gone", |own| own["state"].as_str().expect("a state"))
            .to_owned()
    };
    ids.iter().map(state).collect()
}

#[test]
fn of_two_the_first_is_told_and_the_second_when_there_is_enough_for_both() {
    for shop in shared() {
        let bench = Bench::new(shop);
        let (early, late) = (job("Early"), job("Late"));
        let (first, second) = (bench.wait(&early, 8), bench.wait(&late, 6));
        bench.receive(10);
        bench.becomes(&first, "possible");
        assert_eq!(states(&bench, &[&first, &second]), ["possible", "waiting"]);
        // Two are left over: six come to it with four more.
        bench.receive(3);
        assert_eq!(bench.seen(&second)["state"], "waiting");
        bench.receive(1);
        let seen = bench.becomes(&second, "possible");
        assert_eq!(seen["fits"][0]["available"], 6, "what the first leaves");
        assert_eq!(bench.seen(&first)["fits"][0]["available"], 14);
        until("both are told", || told(shop, &late) == 1);
        assert_eq!((told(shop, &early), told(shop, &late)), (1, 1));
    }
}

#[test]
fn of_three_those_behind_take_what_the_one_before_cannot() {
    for shop in shared() {
        let bench = Bench::new(shop);
        let ids =
            [("One", 4), ("Two", 12), ("Three", 5)].map(|(name, n)| bench.wait(&job(name), n));
        let [one, two, three] = &ids;
        bench.receive(9);
        bench.becomes(three, "possible");
        let now = states(&bench, &[one, two, three]);
        assert_eq!(now, ["possible", "waiting", "possible"]);
        // With enough for the two that asked first, the third waits again, its place kept.
        bench.receive(7);
        bench.becomes(two, "possible");
        let now = states(&bench, &[one, two, three]);
        assert_eq!(now, ["possible", "possible", "waiting"]);
        // One called off moves the others up.
        let path = format!("/v1/waiting-jobs/{two}");
        shop.delete(Who::Tuner, &path).expect(204);
        shop.get(Who::Reader, &path).problem(404, "not_found");
        bench.becomes(three, "possible");
        assert_eq!(states(&bench, &[one, two]), ["possible", "gone"]);
    }
}

#[test]
fn a_second_part_serves_the_second_job() {
    for shop in shared() {
        let bench = Bench::new(shop);
        let (first, second) = (bench.wait(&job("One"), 8), bench.wait(&job("Two"), 8));
        bench.receive(8);
        bench.becomes(&first, "possible");
        let other = bench.another();
        plugwell_tests::bodies::receive(shop, &other, &bench.bin_id, 9);
        let seen = bench.becomes(&second, "possible");
        assert_eq!(seen["fits"].as_array().map(Vec::len), Some(1), "{seen}");
        let seen = bench.seen(&first);
        assert_eq!(seen["fits"].as_array().map(Vec::len), Some(2), "{seen}");
    }
}

#[test]
fn what_others_take_puts_it_back_and_it_is_told_again_only_then() {
    for shop in shared() {
        let bench = Bench::new(shop);
        let name = job("Patient");
        let id = bench.wait(&name, 8);
        bench.receive(8);
        let first = bench.becomes(&id, "possible");
        // More of it is no news.
        bench.receive(4);
        until("it shows", || bench.seen(&id)["fits"][0]["available"] == 12);
        assert_eq!(bench.seen(&id)["possible_since"], first["possible_since"]);
        let taken = bench.issue("Somebody else", 6);
        let back = bench.becomes(&id, "waiting");
        assert_eq!(
            (&back["fits"], &back["possible_since"]),
            (&json!([]), &Value::Null)
        );
        assert_eq!(told(shop, &name), 1);
        let body = json!({ "movement_id": taken["id"], "reason": "slip of the scanner" });
        bench.command("reversals", &body);
        bench.becomes(&id, "possible");
        until("it is told again", || told(shop, &name) == 2);
    }
}

#[test]
fn reserving_for_the_job_ends_its_waiting() {
    for shop in shared() {
        let bench = Bench::new(shop);
        let name = job("Served");
        let id = bench.wait(&name, 8);
        let behind = bench.wait(&job("Behind"), 8);
        bench.receive(15);
        bench.becomes(&id, "possible");
        // What does not meet it is not what it waits for.
        let other = Bench::new(shop);
        other.receive(8);
        other.reserve(&name, 8);
        assert_eq!(bench.seen(&id)["open_quantity"], 8);
        // Some of it shortens what it waits for; the job is compared case-blind.
        bench.reserve(&name.to_uppercase(), 5);
        let seen = bench.seen(&id);
        assert_eq!(
            (&seen["open_quantity"], &seen["quantity"]),
            (&json!(3), &json!(8))
        );
        bench.issue(&name, 3);
        let closed = bench.seen(&id);
        assert_eq!(closed["state"], "closed");
        assert!(closed["closed_at"].is_string());
        assert_eq!(states(&bench, &[&id]), ["gone"], "from the list");
        let path = format!("/v1/waiting-jobs?state=closed&job={name}");
        assert_eq!(shop.all(Who::Reader, &path).len(), 1);
        // Seven are left: one too few.
        assert_eq!(bench.seen(&behind)["state"], "waiting");
        bench.receive(1);
        bench.becomes(&behind, "possible");
        // Drawing on what was reserved before somebody asked is no answer to what was asked.
        let kept = bench.reserve("Keeps", 2);
        let id = bench.ask("Keeps", 2).expect(201).text("id");
        let draw = json!({ "plug_id": bench.plug_id, "quantity": 2, "reservation_id": kept["id"] });
        bench.command("issues", &draw);
        assert_eq!(bench.seen(&id)["open_quantity"], 2);
    }
}
