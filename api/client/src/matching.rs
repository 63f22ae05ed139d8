//! What fits from stock, and what is equal to a part.

use plugwell_domain::attribute::Attr;
use plugwell_domain::build::Build;
use plugwell_domain::decimal::{HeatIndex, Length};
use plugwell_domain::equivalent::{Finding, Grade};
use plugwell_domain::fit::{StockMode, Verdict};
use plugwell_domain::requirement::Strength;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};
use uuid::Uuid;

use crate::catalogue::Named;
use crate::client::Client;
use crate::error::Error;
use crate::need::{Caution, Requirement, Test};
use crate::paging::with_query;
use crate::plug::Plug;
use crate::problem::Problem;
use crate::word::Word;

/// What plugs are sought for.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Subject {
    /// A build that is told in full.
    Build(Box<Build>),
    /// A stored build.
    BuildId(Uuid),
    /// A requirement.
    Requirement(Box<Requirement>),
    /// A part: its equivalents, itself among them.
    PlugId(Uuid),
}

/// A match to be asked for.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[must_use]
pub struct Match {
    #[serde(flatten)]
    subject: Subject,
    #[serde(skip_serializing_if = "Option::is_none")]
    quantity: Option<i64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    stock: Option<StockMode>,
    #[serde(skip_serializing_if = "Option::is_none")]
    limit: Option<u16>,
    #[serde(skip_serializing_if = "Option::is_none")]
    near_misses: Option<u16>,
}

impl Match {
    /// Plugs for a subject: as many as its set has, enough of them on the shelf.
    pub fn of(subject: Subject) -> Self {
        Self {
            subject,
            quantity: None,
            stock: None,
            limit: None,
            near_misses: None,
        }
    }

    /// Plugs for a build.
    pub fn build(build: Build) -> Self {
        Self::of(Subject::Build(Box::new(build)))
    }

    /// So many plugs.
    pub fn quantity(mut self, quantity: i64) -> Self {
        self.quantity = Some(quantity);
        self
    }

    /// How much has to be there.
    pub fn stock(mut self, stock: StockMode) -> Self {
        self.stock = Some(stock);
        self
    }

    /// So many fits at the most, up to 200.
    pub fn limit(mut self, limit: u16) -> Self {
        self.limit = Some(limit);
        self
    }

    /// So many near misses at the most, up to 50.
    pub fn near_misses(mut self, near_misses: u16) -> Self {
        self.near_misses = Some(near_misses);
        self
    }
}

/// What fits, what nearly does, and how many there are.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Matched {
    /// What was to be met.
    pub requirement: Requirement,
    /// Plugs that were asked for.
    #[serde(default)]
    pub quantity: i64,
    /// What fits, best first.
    pub fits: Vec<Fit>,
    /// What fails exactly one must.
    pub near_misses: Vec<NearMiss>,
    /// How many there are.
    pub totals: Totals,
    /// What to beware of whichever is taken.
    #[serde(default)]
    pub cautions: Vec<Caution>,
}

/// A plug that fits.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Fit {
    /// The part.
    pub plug: Plug,
    /// Plugs that nobody has reserved.
    pub available: i64,
    /// Plugs in bins.
    pub on_hand: i64,
    /// From 0 to 1; only shows the order.
    pub closeness: f64,
    /// The gap to set on this plug; null where none is to be set, or none can be.
    #[serde(default)]
    pub set_gap_mm: Option<Length>,
    /// How it stands to every demand.
    pub verdicts: Vec<Judged>,
    /// What nobody could answer for.
    #[serde(default)]
    pub unconfirmed: Vec<Word<Attr>>,
    /// Where to take the plugs from.
    pub picks: Vec<Pick>,
    /// What to beware of with this plug.
    #[serde(default)]
    pub cautions: Vec<Caution>,
}

/// A plug that one must alone rules out.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct NearMiss {
    /// The part.
    pub plug: Plug,
    /// Plugs that nobody has reserved.
    pub available: i64,
    /// The must that fails; both of the gap range where they fail together.
    pub fails: Vec<Judged>,
}

/// How a plug stands to one demand.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Judged {
    /// The member of the plug.
    pub attribute: Word<Attr>,
    /// Whether failing it rules the plug out.
    pub strength: Word<Strength>,
    /// The test.
    pub needed: Test,
    /// The plug's value; null where it is unknown or only assumed.
    #[serde(default)]
    pub has: Value,
    /// What came of it.
    pub verdict: Word<Verdict>,
    /// What to beware of where it fails: a wrong reach is never to be fitted.
    #[serde(default)]
    pub caution: Option<String>,
}

/// Plugs of one lot in one place.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Pick {
    /// The lot.
    pub lot_id: Uuid,
    /// Where it lies.
    pub place_id: Uuid,
    /// How many to take.
    pub quantity: i64,
}

/// How many fits there are.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Totals {
    /// Records that pass every must.
    pub fits_in_catalogue: u64,
    /// Those of them with the quantity available, whatever was asked of the stock.
    pub fits_in_stock: u64,
}

/// What is equal to a part.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Equivalents {
    /// The part.
    pub plug_id: Uuid,
    /// What it asks of another part.
    pub requirement: Requirement,
    /// What passes every must of the part, best first.
    pub items: Vec<Equivalent>,
    /// What statements name and the attributes do not let in. Not to be taken for fits.
    pub disagreements: Vec<Disagreement>,
    /// What to beware of whichever is taken.
    #[serde(default)]
    pub cautions: Vec<Caution>,
}

/// A part that is equal to the one that was asked for.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Equivalent {
    /// The part.
    pub plug: Plug,
    /// Plugs that nobody has reserved.
    pub available: i64,
    /// Plugs in bins.
    pub on_hand: i64,
    /// How near it comes, in words.
    pub grade: String,
    /// The same as a code.
    pub grade_code: Word<Grade>,
    /// Points of the heat index by which it is colder; never hotter beyond what scales can tell.
    pub colder_by: HeatIndex,
    /// In what the two are not known to be the same.
    pub differences: Vec<Difference>,
    /// Who signed the statements that name it as well.
    #[serde(default)]
    pub asserted_by: Vec<String>,
    /// The steps by which statements lead to it.
    #[serde(default)]
    pub path: Vec<Value>,
    /// What to beware of with this plug.
    #[serde(default)]
    pub cautions: Vec<Caution>,
}

/// A member in which two parts are not known to be the same.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Difference {
    /// The member.
    pub attribute: Word<Attr>,
    /// The part's own value; null where it is unknown or only assumed.
    #[serde(default)]
    pub own: Value,
    /// That of the other.
    #[serde(default)]
    pub other: Value,
}

/// A statement that the attributes contradict, or cannot confirm.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Disagreement {
    /// The part that the statement names.
    pub plug: Plug,
    /// What its attributes say.
    pub finding: Word<Finding>,
    /// The same in words.
    pub text: String,
    /// Who signed it.
    #[serde(default)]
    pub asserted_by: Vec<String>,
}

/// What is known of a part by its name, be it in the catalogue or not.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct NamedPart {
    /// The name that was asked for.
    pub name: Named,
    /// The part of the catalogue; null where it has none of that name.
    #[serde(default)]
    pub known: Option<Uuid>,
    /// What is equal to it; null where it is unknown, or too little of it is known.
    #[serde(default)]
    pub equivalents: Option<Equivalents>,
    /// What took its place, names that are spelled nearly so, and statements that name it.
    #[serde(flatten)]
    pub further: Map<String, Value>,
}

/// Questions that are put at once.
#[derive(Serialize)]
struct Batch<'a> {
    requests: &'a [Match],
}

/// The answers to them, in their order.
#[derive(Deserialize)]
struct Answers {
    answers: Vec<BatchItem>,
}

#[derive(Deserialize)]
struct BatchItem {
    status: u16,
    body: Value,
}

impl BatchItem {
    fn read(self) -> Result<Result<Matched, Problem>, Error> {
        let read = if self.status == 200 {
            serde_json::from_value(self.body).map(Ok)
        } else {
            serde_json::from_value(self.body).map(Err)
        };
        read.map_err(|e| Error::NotUnderstood(e.to_string()))
    }
}

impl Client {
    /// Up to 200 matches in one call, answered in their order: each as it would have been by itself. Where
    /// one of them does not keep to its schema, all are refused.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn match_batch(
        &self,
        questions: &[Match],
    ) -> Result<Vec<Result<Matched, Problem>>, Error> {
        let batch = Batch {
            requests: questions,
        };
        let answered: Answers = self.ask("/v1/match-batches", &batch).await?;
        answered.answers.into_iter().map(BatchItem::read).collect()
    }

    /// What is equal to a part that is known by its name only: the cross-reference from outside.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn equivalents_named(
        &self,
        maker: &str,
        part_number: &str,
    ) -> Result<NamedPart, Error> {
        let query = [("maker", maker), ("part_number", part_number)];
        self.get(&with_query("/v1/equivalents", query.into_iter()))
            .await
    }

    /// The plugs that meet a build, a requirement or a part, from what is on the shelf now.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn matches(&self, question: &Match) -> Result<Matched, Error> {
        self.ask("/v1/matches", question).await
    }

    /// What is equal to a part: the cross-reference.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn equivalents(&self, plug_id: Uuid) -> Result<Equivalents, Error> {
        self.get(&format!("/v1/plugs/{plug_id}/equivalents")).await
    }
}
