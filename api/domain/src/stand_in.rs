//! Signed statements that one part stands in for another, and where they lead.

use std::collections::{HashSet, VecDeque};

use chrono::{DateTime, Utc};
use serde::{Deserialize, Deserializer, Serialize};
use uuid::Uuid;

use crate::fault::{Check, Fault, FaultCode, name_fault, text_fault};
use crate::words::closed_list;

closed_list! {
    /// Which way a statement holds.
    Direction, "direction of a statement" {
        /// The part stands in for the other.
        OneWay = "one_way",
        /// Each stands in for the other.
        Both = "both",
    }
}

/// A part by its name; the catalogue may lack it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PartName {
    /// Maker's name, compared case-blind.
    #[serde(deserialize_with = "trimmed")]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub maker: String,
    /// The maker's part number as printed, compared case-blind.
    #[serde(deserialize_with = "trimmed")]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub part_number: String,
}

impl PartName {
    /// The name of a part.
    pub fn new(maker: impl Into<String>, part_number: impl Into<String>) -> Self {
        Self {
            maker: maker.into(),
            part_number: part_number.into(),
        }
    }

    /// What names are compared by: maker and part number without case.
    pub fn key(&self) -> (String, String) {
        (self.maker.to_lowercase(), self.part_number.to_lowercase())
    }
}

impl std::fmt::Display for PartName {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} {}", self.maker, self.part_number)
    }
}

/// A statement as it is typed in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct StandInData {
    /// The part that stands in.
    pub part: PartName,
    /// The part that it stands in for.
    pub stands_in_for: PartName,
    /// Whether it holds the other way round as well.
    pub direction: Direction,
    /// Who says so: a maker, a colleague. The same pair once from each, case-blind.
    #[serde(deserialize_with = "trimmed")]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub who: String,
    /// Where it was said: a sheet, a letter, a bench.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 500))]
    pub source: Option<String>,
    /// What else is to be known.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 500))]
    pub note: Option<String>,
}

/// Words of a name: space around them does not count.
pub(crate) fn trimmed<'de, D: Deserializer<'de>>(d: D) -> Result<String, D::Error> {
    Ok(String::deserialize(d)?.trim().to_owned())
}

impl Check for StandInData {
    fn faults(&self) -> Vec<Fault> {
        let named = |outer: &str, name: &PartName| {
            let faults = [
                name_fault("maker", Some(&name.maker)),
                name_fault("part_number", Some(&name.part_number)),
            ];
            faults
                .into_iter()
                .flatten()
                .map(|fault| fault.under(outer))
                .collect::<Vec<_>>()
        };
        let mut faults = named("part", &self.part);
        faults.extend(named("stands_in_for", &self.stands_in_for));
        if faults.is_empty() && self.part.key() == self.stands_in_for.key() {
            let detail = "a part needs nobody's word to stand in for itself";
            faults.push(Fault::at("stands_in_for", FaultCode::Contradiction, detail));
        }
        faults.extend(name_fault("who", Some(&self.who)));
        faults.extend(text_fault("source", self.source.as_deref()));
        faults.extend(text_fault("note", self.note.as_deref()));
        faults
    }
}

/// A stored statement. It never changes: a wrong one is withdrawn.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct StandIn {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// What is said, and by whom.
    #[serde(flatten)]
    pub data: StandInData,
    /// Whose token it was entered with.
    pub recorded_by: String,
    /// Always 1: a statement never changes.
    pub version: i64,
    /// When it was entered.
    #[serde(serialize_with = "crate::instant::serialize")]
    pub created_at: DateTime<Utc>,
}

impl StandIn {
    /// The version of every statement.
    pub const VERSION: i64 = 1;

    /// What can be taken for the part of this key by this statement, if anything.
    fn instead_of(&self, key: &(String, String)) -> Option<&PartName> {
        let StandInData {
            part,
            stands_in_for,
            direction,
            ..
        } = &self.data;
        if stands_in_for.key() == *key {
            Some(part)
        } else {
            (*direction == Direction::Both && part.key() == *key).then_some(stands_in_for)
        }
    }

    /// What the part of this key can be taken for by this statement, if anything.
    fn served_by(&self, key: &(String, String)) -> Option<&PartName> {
        let StandInData {
            part,
            stands_in_for,
            direction,
            ..
        } = &self.data;
        if part.key() == *key {
            Some(stands_in_for)
        } else {
            (*direction == Direction::Both && stands_in_for.key() == *key).then_some(part)
        }
    }
}

/// One step from a part to one that stands in for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hop {
    /// Where it leads.
    pub part: PartName,
    /// Every statement that says so, oldest first.
    pub statements: Vec<StandIn>,
}

/// A part that another stands in for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Served {
    /// The part.
    pub part: PartName,
    /// Every statement that says so, oldest first.
    pub statements: Vec<StandIn>,
}

impl Served {
    /// What is said of `by`, which stands in for it, and what is not said of the other way round.
    pub fn words(&self, by: &PartName) -> String {
        let (part, said) = (&self.part, signers(&self.statements).join(" and "));
        let both = self
            .statements
            .iter()
            .filter(|statement| statement.data.direction == Direction::Both);
        let back = signers(both).join(" and ");
        if back.is_empty() {
            format!(
                "By the word of {said}, {by} stands in for {part}; that does not say that {part} may be taken for {by}."
            )
        } else {
            format!(
                "By the word of {said}, {by} stands in for {part}; by that of {back}, {part} for {by} as well."
            )
        }
    }
}

/// A shortest way from a part, by statements, to one that stands in for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chain {
    /// Where it ends.
    pub part: PartName,
    /// The steps, from the part outwards; the last one leads to the end.
    pub hops: Vec<Hop>,
}

impl Chain {
    /// Who signed the statements that it rests on, each once, from the part outwards.
    pub fn signed_by(&self) -> Vec<&str> {
        signers(self.hops.iter().flat_map(|hop| &hop.statements))
    }
}

/// Who signed statements, each once, case-blind.
fn signers<'a>(statements: impl IntoIterator<Item = &'a StandIn>) -> Vec<&'a str> {
    let mut names: Vec<&str> = Vec::new();
    for statement in statements {
        let who = statement.data.who.as_str();
        if !names
            .iter()
            .any(|name| name.to_lowercase() == who.to_lowercase())
        {
            names.push(who);
        }
    }
    names
}

/// Everything that statements say stands in for a part, nearest first, each by a shortest way; at
/// most so many. Loops do no harm: each part is reached once, and the one begun with never.
///
/// `of` gives the statements that name a part, on either side.
///
/// # Errors
/// Those of `of`.
pub fn chains<E>(
    from: &PartName,
    most: usize,
    mut of: impl FnMut(&PartName) -> Result<Vec<StandIn>, E>,
) -> Result<Vec<Chain>, E> {
    let mut seen = HashSet::from([from.key()]);
    let mut found: Vec<Chain> = Vec::new();
    let mut followed = VecDeque::from([Chain {
        part: from.clone(),
        hops: Vec::new(),
    }]);
    while let Some(Chain { part, hops }) = followed.pop_front() {
        for hop in steps_from(&part, of(&part)?) {
            if found.len() < most && seen.insert(hop.part.key()) {
                let part = hop.part.clone();
                let hops = hops.iter().cloned().chain([hop]).collect();
                found.push(Chain { part, hops });
                followed.extend(found.last().cloned());
            }
        }
    }
    Ok(found)
}

/// Everything that a part stands in for by the statements that name it, one step far, in the order of
/// the oldest statement.
pub fn served_by(name: &PartName, statements: Vec<StandIn>) -> Vec<Served> {
    let key = name.key();
    let grouped = by_part(statements, |statement| statement.served_by(&key));
    let served = grouped
        .into_iter()
        .map(|(part, statements)| Served { part, statements });
    served.collect()
}

/// The parts that statements put in the place of one, in the order of the oldest statement.
fn steps_from(at: &PartName, statements: Vec<StandIn>) -> Vec<Hop> {
    let key = at.key();
    let grouped = by_part(statements, |statement| statement.instead_of(&key));
    let hops = grouped
        .into_iter()
        .map(|(part, statements)| Hop { part, statements });
    hops.collect()
}

/// The parts that are found in statements, each once with its statements, oldest first.
fn by_part(
    mut statements: Vec<StandIn>,
    part_in: impl Fn(&StandIn) -> Option<&PartName>,
) -> Vec<(PartName, Vec<StandIn>)> {
    statements.sort_by_key(|statement| statement.id);
    let mut grouped: Vec<(PartName, Vec<StandIn>)> = Vec::new();
    for statement in statements {
        let Some(part) = part_in(&statement).cloned() else {
            continue;
        };
        match grouped
            .iter_mut()
            .find(|(known, _)| known.key() == part.key())
        {
            Some((_, all)) => all.push(statement),
            None => grouped.push((part, vec![statement])),
        }
    }
    grouped
}
