//! Schemas of what `equivalent_answer` writes.
#![expect(dead_code, reason = "read for their schemas only")]

use plugwell_domain::attribute::Attr;
use plugwell_domain::caution::Caution;
use plugwell_domain::decimal::{HeatIndex, Length};
use plugwell_domain::equivalent::{Finding, Grade};
use plugwell_domain::fit::Verdict;
use plugwell_domain::plug::Plug;
use plugwell_domain::requirement::{Requirement, Strength, Test};
use plugwell_domain::spelling::Nearness;
use plugwell_domain::stand_in::{PartName, StandIn};
use plugwell_domain::words::Status;
use serde_json::Value;
use utoipa::ToSchema;
use uuid::Uuid;

use crate::http::match_shapes::Pick;

/// What is equal to a part.
#[derive(ToSchema)]
pub struct EquivalentsAnswer {
    /// The part.
    plug_id: Uuid,
    requirement: Requirement,
    /// Plugs that were asked for.
    quantity: i64,
    /// What passes every must of the part, in the order of fits; behind them, where `limit` would
    /// leave them out, those that statements name as well.
    items: Vec<Equivalent>,
    /// What statements name and the attributes do not let in, whatever the stock. Not to be taken
    /// for fits.
    disagreements: Vec<Disagreement>,
    /// What statements name and the catalogue lacks, nearest first, whatever the stock. Nothing is
    /// claimed about fit.
    asserted_elsewhere: Vec<AssertedElsewhere>,
    totals: EquivalentTotals,
    /// What took the part's place, step by step to the end.
    superseded_by: Vec<Successor>,
    /// What to beware of whichever is taken.
    cautions: Vec<Caution>,
}

/// A part that is equal to the one that was asked for.
#[derive(ToSchema)]
pub struct Equivalent {
    plug: Plug,
    /// Plugs that nobody has reserved.
    available: i64,
    /// Plugs in bins.
    on_hand: i64,
    /// From 0 to 1; only shows the order.
    closeness: f64,
    /// The gap to set on this plug: that of the part; null where the part's is unknown.
    set_gap_mm: Option<Length>,
    /// What nobody could answer for.
    unconfirmed: Vec<Attr>,
    /// Where to take the plugs from: what there is, up to the quantity.
    picks: Vec<Pick>,
    /// What to beware of with this plug.
    cautions: Vec<Caution>,
    /// How near it comes, in words: `same but for metal and one step colder`.
    grade: String,
    /// The same as a code, by what is known of both.
    grade_code: Grade,
    /// Points of the heat index by which it is colder, 10 to a step; 0 where the two count as the same.
    colder_by: HeatIndex,
    /// Its heat index less the part's, as they stand: below 0 it is hotter, within what scales can tell.
    heat_difference: Option<HeatIndex>,
    /// In what the two are not known to be the same.
    differences: Vec<Difference>,
    /// What is compared and nobody has established of one of the two: the grade holds as far as known.
    not_established: Vec<Attr>,
    /// What took its own place, step by step to the end.
    superseded_by: Vec<Successor>,
    /// Who signed the statements that name it as well, from the part outwards.
    asserted_by: Vec<String>,
    /// The steps by which statements lead to it; none where no statement does.
    path: Vec<PathStep>,
}

/// An attribute in which two parts are not known to be the same.
#[derive(ToSchema)]
pub struct Difference {
    attribute: Attr,
    /// The part's own value; null where it is unknown or only assumed.
    own: Value,
    /// That of the other; null where it is unknown or only assumed.
    other: Value,
    /// Whether the grade counts it. Not where one of the two is unknown; where they are no further
    /// apart than what counts as the same (reach, hex, heat); a strap that stands less far out; gap
    /// ranges that both hold the part's gap; nor what only informs (resistance, heights, life, torque,
    /// pack).
    counts: bool,
}

/// A part that statements name and the attributes do not let in.
#[derive(ToSchema)]
pub struct Disagreement {
    plug: Plug,
    /// Plugs that nobody has reserved.
    available: i64,
    /// Plugs in bins.
    on_hand: i64,
    finding: Finding,
    /// Both sides in words.
    text: String,
    /// The musts of the part that it does not pass.
    fails: Vec<Objection>,
    /// Who signed the statements, from the part outwards.
    asserted_by: Vec<String>,
    /// The steps by which statements lead to it.
    path: Vec<PathStep>,
}

/// A must of the part that another does not pass.
#[derive(ToSchema)]
pub struct Objection {
    attribute: Attr,
    strength: Strength,
    needed: Test,
    /// The other's value; null where it is unknown or only assumed.
    has: Value,
    verdict: Verdict,
    /// Why it rules the other out.
    text: String,
}

/// One step from a part to one that stands in for it.
#[derive(ToSchema)]
pub struct PathStep {
    /// The maker of the part that it leads to.
    maker: String,
    /// Its part number.
    part_number: String,
    /// That part in the catalogue; null where the catalogue lacks it.
    plug_id: Option<Uuid>,
    /// Every statement that says so.
    statements: Vec<StandIn>,
}

/// A part that took the place of another.
#[derive(ToSchema)]
pub struct Successor {
    /// The part.
    plug_id: Uuid,
    /// Its maker.
    maker: String,
    /// The maker's part number as printed.
    part_number: String,
    /// Whether it is still made.
    status: Status,
    /// Left out of lists and matches, kept for its history.
    retired: bool,
    /// Plugs that nobody has reserved.
    available: i64,
    /// Plugs in bins.
    on_hand: i64,
    /// What its attributes say of its being an equivalent of the part that was asked for; null
    /// where that part lacks what its equivalents are found by.
    finding: Option<Finding>,
    /// The same in words: the grade, or what rules it out.
    text: Option<String>,
}

/// How many there are.
#[derive(ToSchema)]
pub struct EquivalentTotals {
    /// Other records that pass every must of the part.
    equivalents_in_catalogue: u64,
    /// Those of them with the quantity available, whatever `stock` says.
    equivalents_in_stock: u64,
}

/// What is known of a part by its name.
#[derive(ToSchema)]
pub struct NamedAnswer {
    /// The name that was asked for.
    name: PartName,
    /// The part of exactly that name; null where the catalogue lacks it.
    known: Option<Uuid>,
    /// What nobody has established of the known part, so that it has no equivalents by attributes;
    /// else null.
    lacks: Option<Vec<Attr>>,
    /// The equivalents of the known part; null where there is none, or where it lacks something.
    equivalents: Option<EquivalentsAnswer>,
    /// What took the known part's place, step by step to the end.
    superseded_by: Vec<Successor>,
    /// Parts that are spelled nearly so, nearest first; none where the part is known.
    near_spellings: Vec<NearSpelling>,
    /// Where there are no equivalents by attributes: what statements say stands in for the part.
    /// Nothing is claimed about fit; `stock` and `limit` hold here as well.
    asserted: Vec<Asserted>,
    /// The same of what the catalogue lacks, nearest first, whatever the stock.
    asserted_elsewhere: Vec<AssertedElsewhere>,
    /// The other side: what the named part itself stands in for by statements, wherever it is known.
    stands_in_for: Vec<ServedPart>,
}

/// A part that the named one stands in for.
#[derive(ToSchema)]
pub struct ServedPart {
    /// Its maker.
    maker: String,
    /// Its part number.
    part_number: String,
    /// That part in the catalogue; null where the catalogue lacks it.
    plug_id: Option<Uuid>,
    /// Every statement that says so.
    statements: Vec<StandIn>,
    /// What they say; and, where none holds both ways, that they do not say that this part may be
    /// taken for the named one.
    text: String,
}

/// A part that statements name and the catalogue lacks.
#[derive(ToSchema)]
pub struct AssertedElsewhere {
    /// Its name.
    name: PartName,
    /// Who signed the statements, from the part that was asked for outwards.
    asserted_by: Vec<String>,
    /// The steps by which statements lead to it.
    path: Vec<PathStep>,
}

/// A part that is spelled nearly so.
#[derive(ToSchema)]
pub struct NearSpelling {
    /// Its name.
    name: PartName,
    /// The part; null where only statements name it: ask by that name for what they say.
    plug: Option<Plug>,
    /// Plugs that nobody has reserved; null where `plug` is.
    available: Option<i64>,
    /// Plugs in bins; null where `plug` is.
    on_hand: Option<i64>,
    /// How near its part number comes.
    spelling: Nearness,
    /// How near its maker's name comes; null where it is another maker.
    maker_spelling: Option<Nearness>,
}

/// A part that statements name, without a word on whether it fits.
#[derive(ToSchema)]
pub struct Asserted {
    plug: Plug,
    /// Plugs that nobody has reserved.
    available: i64,
    /// Plugs in bins.
    on_hand: i64,
    /// Who signed the statements, from the part outwards.
    asserted_by: Vec<String>,
    /// The steps by which statements lead to it.
    path: Vec<PathStep>,
}
