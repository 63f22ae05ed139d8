//! Schemas of the answer to a match and of a requirement that is posted: what `match_answer` writes
//! and the domain reads.
#![expect(dead_code, reason = "read for their schemas only")]

use std::collections::HashMap;

use plugwell_domain::attribute::Attr;
use plugwell_domain::caution::Caution;
use plugwell_domain::decimal::{HeatIndex, Length};
use plugwell_domain::fit::Verdict;
use plugwell_domain::plug::Plug;
use plugwell_domain::requirement::{Requirement, Strength, Test, WhenUnknown};
use serde::Deserialize;
use serde_json::Value;
use utoipa::ToSchema;
use uuid::Uuid;

/// What fits, what nearly does, and how many there are.
#[derive(ToSchema)]
pub struct MatchAnswer {
    requirement: Requirement,
    /// Plugs that were asked for.
    quantity: i64,
    /// What fits, best first.
    fits: Vec<Fit>,
    /// What fails exactly one must, in the same order.
    near_misses: Vec<NearMiss>,
    totals: Totals,
    /// What to beware of whichever is taken.
    cautions: Vec<Caution>,
}

/// A plug that fits.
#[derive(ToSchema)]
pub struct Fit {
    plug: Plug,
    /// Plugs that nobody has reserved.
    available: i64,
    /// Plugs in bins.
    on_hand: i64,
    /// From 0 to 1; only shows the order.
    closeness: f64,
    /// The gap to set on this plug; null where none is to be set, or none can be.
    set_gap_mm: Option<Length>,
    /// How it stands to every demand.
    verdicts: Vec<Judged>,
    /// What nobody could answer for.
    unconfirmed: Vec<Attr>,
    /// Where to take the plugs from: what there is, up to the quantity.
    picks: Vec<Pick>,
    /// What to beware of with this plug.
    cautions: Vec<Caution>,
}

/// A plug that one must alone rules out.
#[derive(ToSchema)]
pub struct NearMiss {
    plug: Plug,
    /// Plugs that nobody has reserved.
    available: i64,
    /// The must; both where the two of the gap range fail together.
    fails: Vec<Failed>,
}

/// How a plug stands to one demand.
#[derive(ToSchema)]
pub struct Judged {
    attribute: Attr,
    strength: Strength,
    needed: Test,
    /// The plug's value; null where it is unknown or only assumed.
    has: Value,
    verdict: Verdict,
}

/// How a near miss fails.
#[derive(ToSchema)]
pub struct Failed {
    attribute: Attr,
    strength: Strength,
    needed: Test,
    /// The plug's value; null where it is unknown or only assumed.
    has: Value,
    verdict: Verdict,
    /// What to beware of: a wrong reach is never to be fitted.
    #[schema(required = false)]
    caution: String,
}

/// Plugs of one lot in one place.
#[derive(ToSchema)]
pub struct Pick {
    /// The lot.
    lot_id: Uuid,
    /// The bin that it lies in.
    place_id: Uuid,
    /// Plugs to take there.
    quantity: i64,
}

/// How many there are.
#[derive(ToSchema)]
pub struct Totals {
    /// Records that pass every must.
    fits_in_catalogue: u64,
    /// Those of them with the quantity available, whatever `stock` says.
    fits_in_stock: u64,
}

/// A requirement to be met: of an answered one all else is ignored.
#[derive(Deserialize, ToSchema)]
pub struct PostedRequirement {
    /// What a plug has to be.
    demands: Vec<PostedDemand>,
    heat: Option<PostedHeat>,
    gap: Option<PostedGap>,
    quantity: Option<PostedQuantity>,
    #[serde(flatten)]
    ignored: HashMap<String, Value>,
}

/// A demand to be met.
#[derive(Deserialize, ToSchema)]
pub struct PostedDemand {
    attribute: Attr,
    strength: Strength,
    #[schema(value_type = Test)]
    test: Value,
    /// In every must: what an unknown value does.
    unknown: Option<WhenUnknown>,
    #[serde(flatten)]
    ignored: HashMap<String, Value>,
}

/// Heat that fits are ordered by.
#[derive(Deserialize, ToSchema)]
pub struct PostedHeat {
    /// The heat index that fits are ordered by their distance from; null where there is none.
    target_index: Option<HeatIndex>,
    #[serde(flatten)]
    ignored: HashMap<String, Value>,
}

/// Gap that will be set.
#[derive(Deserialize, ToSchema)]
pub struct PostedGap {
    /// The gap that will be set; null where none is.
    set_mm: Option<Length>,
    #[serde(flatten)]
    ignored: HashMap<String, Value>,
}

/// Plugs wanted.
#[derive(Deserialize, ToSchema)]
pub struct PostedQuantity {
    /// Plugs wanted; null for one.
    #[schema(minimum = 1, maximum = 1_000_000)]
    total: Option<i64>,
    #[serde(flatten)]
    ignored: HashMap<String, Value>,
}
