//! Equivalents as they stand in JSON.

use plugwell_domain::attribute::Attr;
use plugwell_domain::decimal::HeatIndex;
use plugwell_domain::equivalent::{Objection, Opinion};
use plugwell_domain::policy::Policy;
use plugwell_domain::stand_in::{Hop, PartName, StandIn};
use serde_json::{Map, Value, json};
use uuid::Uuid;

use crate::http::match_answer::{fit, plug};
use crate::http::problem::Problem;
use crate::service::equivalents::{
    Asserted, Disagreement, Elsewhere, Equivalents, Found, Incomplete, Item, Named, Near,
    ServedPart, Stocked, Successor, Way,
};
use crate::service::matching::{self, Judged};

/// The equivalents of a part.
pub fn equivalents(found: &Equivalents, policy: &Policy) -> Value {
    json!({
        "plug_id": found.plug_id,
        "requirement": found.requirement,
        "quantity": found.quantity,
        "items": found.items.iter().map(|i| item(i, policy)).collect::<Vec<_>>(),
        "disagreements": found.disagreements.iter().map(|d| disagreement(d, policy)).collect::<Vec<_>>(),
        "asserted_elsewhere": all_elsewhere(&found.elsewhere),
        "totals": {
            "equivalents_in_catalogue": found.in_catalogue,
            "equivalents_in_stock": found.in_stock,
        },
        "superseded_by": successors(&found.successors),
        "cautions": found.requirement.cautions,
    })
}

/// The problem of a part that lacks what its equivalents are found by.
pub fn incomplete(found: &Incomplete, policy: &Policy) -> Problem {
    Problem::from(matching::incomplete(&found.lacks))
        .member("lacks", words(&found.lacks))
        .member("asserted", all_asserted(&found.asserted, policy))
        .member("asserted_elsewhere", all_elsewhere(&found.elsewhere))
        .member("superseded_by", successors(&found.successors))
}

/// What is known of a part by its name.
pub fn named(named: &Named, policy: &Policy) -> Value {
    let near: Vec<Value> = named.near.iter().map(|n| near(n, policy)).collect();
    let (mut known, mut lacks, mut equal) = (Value::Null, Value::Null, Value::Null);
    let (mut told, mut elsewhere, mut line) = (&named.asserted, &named.elsewhere, &[][..]);
    match &named.known {
        Some(Found::Equivalents(found)) => {
            known = json!(found.plug_id);
            equal = equivalents(found, policy);
            line = &found.successors;
        }
        Some(Found::Incomplete(found)) => {
            known = json!(found.plug_id);
            lacks = words(&found.lacks);
            (told, elsewhere) = (&found.asserted, &found.elsewhere);
            line = &found.successors;
        }
        None => {}
    }
    json!({
        "name": named.name,
        "known": known,
        "lacks": lacks,
        "equivalents": equal,
        "superseded_by": successors(line),
        "near_spellings": near,
        "asserted": all_asserted(told, policy),
        "asserted_elsewhere": all_elsewhere(elsewhere),
        "stands_in_for": named.stands_in_for.iter().map(served).collect::<Vec<_>>(),
    })
}

fn words(attrs: &[Attr]) -> Value {
    attrs.iter().map(|attr| attr.word()).collect()
}

fn item(item: &Item, policy: &Policy) -> Value {
    let graded = &item.graded;
    let mut map = fit(&item.fit, policy);
    map.remove("verdicts");
    map.insert("grade".into(), graded.words().into());
    map.insert("grade_code".into(), graded.grade.word().into());
    let colder: HeatIndex = graded.colder_by();
    map.insert("colder_by".into(), json!(colder));
    map.insert("heat_difference".into(), json!(graded.heat_difference()));
    map.insert("differences".into(), json!(graded.differences));
    map.insert("not_established".into(), words(&graded.not_established));
    map.insert("superseded_by".into(), successors(&item.successors));
    put_way(&mut map, item.way.as_ref());
    Value::Object(map)
}

fn disagreement(disagreement: &Disagreement, policy: &Policy) -> Value {
    let mut map = stocked(&disagreement.part, policy);
    map.insert("finding".into(), disagreement.finding.word().into());
    map.insert("text".into(), disagreement.text.clone().into());
    let fails = disagreement.objections.iter().map(objection);
    map.insert("fails".into(), fails.collect());
    put_way(&mut map, Some(&disagreement.way));
    Value::Object(map)
}

fn objection(objection: &Objection) -> Value {
    let judged = Judged {
        demand: objection.demand.clone(),
        has: objection.has,
        verdict: objection.verdict,
    };
    let mut map = judged.to_map();
    map.insert("text".into(), objection.text.clone().into());
    Value::Object(map)
}

fn stocked(part: &Stocked, policy: &Policy) -> Map<String, Value> {
    let mut map = Map::new();
    map.insert("plug".into(), plug(&part.plug, policy).into());
    map.insert("available".into(), part.available.into());
    map.insert("on_hand".into(), part.on_hand.into());
    map
}

fn near(near: &Near, policy: &Policy) -> Value {
    let mut map = match &near.part {
        Some(part) => stocked(part, policy),
        None => ["plug", "available", "on_hand"]
            .map(|member| (member.to_owned(), Value::Null))
            .into_iter()
            .collect(),
    };
    map.insert("name".into(), json!(near.name));
    map.insert("spelling".into(), near.spelling.word().into());
    let maker = near.maker_spelling.map(|nearness| nearness.word());
    map.insert("maker_spelling".into(), maker.into());
    Value::Object(map)
}

fn all_asserted(asserted: &[Asserted], policy: &Policy) -> Value {
    let one = |asserted: &Asserted| {
        let mut map = stocked(&asserted.part, policy);
        put_way(&mut map, Some(&asserted.way));
        Value::Object(map)
    };
    asserted.iter().map(one).collect()
}

fn all_elsewhere(elsewhere: &[Elsewhere]) -> Value {
    let one = |elsewhere: &Elsewhere| {
        let mut map = Map::new();
        map.insert("name".into(), json!(elsewhere.name));
        put_way(&mut map, Some(&elsewhere.way));
        Value::Object(map)
    };
    elsewhere.iter().map(one).collect()
}

fn served(part: &ServedPart) -> Value {
    let mut map = step(&part.served.part, part.plug_id, &part.served.statements);
    map.insert("text".into(), part.text.clone().into());
    Value::Object(map)
}

/// A part at one end of statements, and the statements.
fn step(part: &PartName, plug_id: Option<Uuid>, statements: &[StandIn]) -> Map<String, Value> {
    let mut map = Map::new();
    map.insert("maker".into(), part.maker.clone().into());
    map.insert("part_number".into(), part.part_number.clone().into());
    map.insert("plug_id".into(), json!(plug_id));
    map.insert("statements".into(), json!(statements));
    map
}

/// Who says so, and by which steps; nothing where no statement does.
fn put_way(map: &mut Map<String, Value>, way: Option<&Way>) {
    let signed_by = way.map_or(&[][..], |way| &way.signed_by);
    let path = way.map_or(&[][..], |way| &way.path);
    let steps = path.iter().map(|one| {
        let Hop { part, statements } = &one.hop;
        Value::Object(step(part, one.plug_id, statements))
    });
    map.insert("asserted_by".into(), json!(signed_by));
    map.insert("path".into(), steps.collect());
}

fn successors(line: &[Successor]) -> Value {
    let one = |successor: &Successor| {
        let part = &successor.part;
        let data = &part.plug.data;
        let opinion = successor.opinion.as_ref();
        json!({
            "plug_id": part.plug.id, "maker": data.maker, "part_number": data.part_number,
            "status": data.status, "retired": part.plug.retired,
            "available": part.available, "on_hand": part.on_hand,
            "finding": opinion.map(Opinion::finding), "text": opinion.map(Opinion::words),
        })
    };
    line.iter().map(one).collect()
}
