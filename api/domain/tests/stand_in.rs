//! Statements that one part stands in for another: what is one, and where they lead.

use std::collections::BTreeSet;

use plugwell_domain::fault::Check;
use plugwell_domain::stand_in::{
    Chain, Direction, PartName, StandIn, StandInData, chains, served_by,
};
use proptest::prelude::*;
use serde_json::{Value, json};

/// Statement `n`: `part` for `other`, both parts of one maker.
fn statement(n: u128, part: &str, other: &str, direction: Direction, who: &str) -> StandIn {
    StandIn {
        id: uuid::Uuid::from_u128(n),
        data: StandInData {
            part: PartName::new("Ferrowick", part),
            stands_in_for: PartName::new("Ferrowick", other),
            direction,
            who: who.into(),
            source: None,
            note: None,
        },
        recorded_by: "clerk".into(),
        version: StandIn::VERSION,
        created_at: chrono::DateTime::UNIX_EPOCH,
    }
}

fn from(part: &str, all: &[StandIn], most: usize) -> Vec<Chain> {
    let of = |name: &PartName| -> Result<Vec<StandIn>, ()> {
        let names = |s: &&StandIn| {
            [&s.data.part, &s.data.stands_in_for]
                .iter()
                .any(|p| p.key() == name.key())
        };
        Ok(all.iter().filter(names).cloned().collect())
    };
    chains(&PartName::new("Ferrowick", part), most, of).unwrap()
}

/// Each way as `A>B>C`.
fn ways(chains: &[Chain]) -> Vec<String> {
    let way = |chain: &Chain| {
        let names: Vec<&str> = chain
            .hops
            .iter()
            .map(|hop| hop.part.part_number.as_str())
            .collect();
        assert_eq!(names.last().copied(), Some(chain.part.part_number.as_str()));
        names.join(">")
    };
    chains.iter().map(way).collect()
}

#[test]
fn statements_are_followed_the_way_they_hold() {
    use Direction::*;
    let all = [
        statement(1, "B", "A", OneWay, "Odo"),
        statement(2, "C", "B", OneWay, "Sela"),
        statement(3, "A", "D", Both, "Odo"),
        statement(4, "A", "E", OneWay, "Odo"),
    ];
    // B stands in for A, D too since that holds both ways, C for B; A for E, and not the other way.
    assert_eq!(ways(&from("A", &all, 9)), ["B", "D", "B>C"]);
    assert_eq!(ways(&from("E", &all, 9)), ["A", "A>B", "A>D", "A>B>C"]);
    assert_eq!(ways(&from("C", &all, 9)), [""; 0]);
    assert_eq!(ways(&from("a", &all, 9)), ["B", "D", "B>C"], "case-blind");
    assert_eq!(
        ways(&from("E", &all, 2)),
        ["A", "A>B"],
        "the nearest, at most so many"
    );
}

#[test]
fn the_shortest_way_is_taken_and_every_statement_of_it_kept() {
    use Direction::*;
    let all = [
        statement(1, "B", "A", OneWay, "Odo"),
        statement(2, "C", "B", OneWay, "Odo"),
        statement(3, "C", "A", OneWay, "Sela"),
        statement(4, "A", "C", Both, "ODO"),
        statement(5, "B", "A", OneWay, "Sela"),
    ];
    let found = from("A", &all, 9);
    assert_eq!(ways(&found), ["B", "C"]);
    let ids: Vec<u128> = found[1].hops[0]
        .statements
        .iter()
        .map(|s| s.id.as_u128())
        .collect();
    assert_eq!(ids, [3, 4], "both say that C serves for A");
    assert_eq!(found[1].signed_by(), ["Sela", "ODO"]);
    assert_eq!(found[0].signed_by(), ["Odo", "Sela"]);
    let longer = [
        statement(1, "B", "A", OneWay, "Odo"),
        statement(2, "C", "B", OneWay, "odo"),
    ];
    assert_eq!(
        from("A", &longer, 9)[1].signed_by(),
        ["Odo"],
        "each once, case-blind"
    );
}

#[test]
fn the_other_side_is_told_with_what_it_does_not_say() {
    use Direction::*;
    let all = vec![
        statement(4, "B", "A", Both, "Sela"),
        statement(1, "A", "B", OneWay, "Odo"),
        statement(2, "a", "C", OneWay, "Odo"),
        statement(3, "D", "A", OneWay, "Odo"),
        statement(5, "A", "c", OneWay, "ODO"),
    ];
    let name = PartName::new("ferrowick", "A");
    let told: Vec<(Vec<u128>, String)> = served_by(&name, all)
        .iter()
        .map(|served| {
            let ids = served.statements.iter().map(|s| s.id.as_u128());
            (ids.collect(), served.words(&name))
        })
        .collect();
    let b = "By the word of Odo and Sela, ferrowick A stands in for Ferrowick B; by that of Sela, \
             Ferrowick B for ferrowick A as well.";
    let c = "By the word of Odo, ferrowick A stands in for Ferrowick C; that does not say that \
             Ferrowick C may be taken for ferrowick A.";
    // D stands in for A: that is no word on what A stands in for.
    assert_eq!(
        told,
        [(vec![1, 4], b.to_owned()), (vec![2, 5], c.to_owned())]
    );
}

#[test]
fn loops_do_no_harm() {
    use Direction::*;
    let ring = [
        statement(1, "B", "A", OneWay, "Odo"),
        statement(2, "C", "B", OneWay, "Odo"),
        statement(3, "A", "C", Both, "Odo"),
        statement(4, "B", "C", Both, "Sela"),
    ];
    for (start, expected) in [("A", ["B", "C"]), ("B", ["C", "C>A"]), ("C", ["A", "B"])] {
        assert_eq!(ways(&from(start, &ring, 9)), expected, "{start}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 500, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever is stated, what is reached is what a plain closure reaches, each part once, never the
    /// one begun with.
    #[test]
    fn what_is_reached_is_the_closure(pairs in proptest::collection::vec((0usize..7, 0usize..7, any::<bool>()), 0..14)) {
        const NAMES: [&str; 7] = ["A", "B", "C", "D", "E", "F", "G"];
        let pairs: Vec<_> = pairs.into_iter().filter(|(one, other, _)| one != other).collect();
        let all: Vec<StandIn> = pairs.iter().enumerate().map(|(n, (one, other, both))| {
            let direction = if *both { Direction::Both } else { Direction::OneWay };
            statement(n as u128, NAMES[*one], NAMES[*other], direction, "Odo")
        }).collect();
        let mut reached = BTreeSet::from([0]);
        for _ in NAMES {
            for (one, other, both) in &pairs {
                if reached.contains(other) { reached.insert(*one); }
                if *both && reached.contains(one) { reached.insert(*other); }
            }
        }
        reached.remove(&0);
        let found = from("A", &all, 99);
        let ends: Vec<&str> = found.iter().map(|chain| chain.part.part_number.as_str()).collect();
        let expected: BTreeSet<&str> = reached.iter().map(|place| NAMES[*place]).collect();
        prop_assert_eq!(ends.len(), expected.len());
        prop_assert_eq!(ends.into_iter().collect::<BTreeSet<_>>(), expected);
        prop_assert!(found.is_sorted_by_key(|chain| chain.hops.len()), "nearest first");
    }
}

#[test]
fn a_statement_is_about_two_parts_and_signed() {
    let right = json!({
        "part": { "maker": " Ferrowick", "part_number": "FW-1 " }, "stands_in_for": { "maker": "Quellmar", "part_number": "Q1" },
        "direction": "one_way", "who": " Odo ", "source": null, "note": "a\nb"
    });
    let read = |changes: Value| {
        let mut body = right.clone();
        body.as_object_mut()
            .unwrap()
            .extend(changes.as_object().unwrap().clone());
        serde_json::from_value::<StandInData>(body).unwrap()
    };
    let data = read(json!({}));
    assert_eq!(data.faults(), []);
    assert_eq!(
        (data.part.to_string().as_str(), data.who.as_str()),
        ("Ferrowick FW-1", "Odo"),
        "trimmed"
    );
    let long = "x".repeat(81);
    for (changes, pointers) in [
        (
            json!({ "stands_in_for": { "maker": "FERROWICK", "part_number": "fw-1" } }),
            vec!["#/stands_in_for"],
        ),
        (
            json!({ "part": { "maker": " ", "part_number": long } }),
            vec!["#/part/maker", "#/part/part_number"],
        ),
        (
            json!({ "who": "\t", "source": "", "note": "x".repeat(501) }),
            vec!["#/who", "#/source", "#/note"],
        ),
    ] {
        let faults = read(changes).faults();
        let found: Vec<&str> = faults.iter().map(|fault| fault.pointer.as_str()).collect();
        assert_eq!(found, pointers);
    }
}
