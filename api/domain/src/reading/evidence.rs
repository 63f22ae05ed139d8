//! Whether a reading counts: the plug unused before, the run at full load, the shut-off clean.

use serde::{Deserialize, Serialize};

use super::Reading;
use crate::attribute::Attr;
use crate::decimal::{Decimal, HeatIndex};
use crate::fit::{Verdict, judge};
use crate::ledger::Condition;
use crate::plug::Shows;
use crate::requirement::{Requirement, Strength, Test};
use crate::words::closed_list;

closed_list! {
    /// Why a reading is no evidence.
    FlawCode, "reason why a reading is no evidence" {
        /// Neither issue nor lot is known.
        LotUnknown = "lot_unknown",
        /// The lot is known, but no issue says that the plug ever went out.
        IssueUnknown = "issue_unknown",
        /// The part fails thread, seat or reach of the build.
        NotOfEngine = "not_of_engine",
        /// The lot was set to a gap before it was issued.
        LotNotSealed = "lot_not_sealed",
        /// More plugs were read of the issue than went out with it.
        PlugReadBefore = "plug_read_before",
        /// The run was not at full load.
        NotFullLoad = "not_full_load",
        /// Nobody said whether it was.
        FullLoadUnknown = "full_load_unknown",
        /// The shut-off was not clean.
        ShutOffNotClean = "shut_off_not_clean",
        /// Nobody said whether it was.
        ShutOffUnknown = "shut_off_unknown",
    }
}

impl FlawCode {
    /// What is wrong, and what would be right.
    pub const fn sentence(self) -> &'static str {
        match self {
            Self::LotUnknown => {
                "Nobody knows which lot the plug came from: a plug with unknown history is not read. Name the issue."
            }
            Self::IssueUnknown => {
                "Nothing says that the plug ever went out of that lot, nor that it was not read before. Name the issue."
            }
            Self::NotOfEngine => {
                "The part cannot have been in that engine. Look at the issue, the build and the part's record."
            }
            Self::LotNotSealed => {
                "The lot was not sealed when it was issued: somebody has had the plug in hand. Read plugs out of sealed lots only."
            }
            Self::PlugReadBefore => {
                "As many plugs as went out with that issue have been read already, so this one has run before. Take a fresh one."
            }
            Self::NotFullLoad => {
                "The run was not at full load: the plug tells of part load, which says nothing here. Make a full-load run on a fresh plug."
            }
            Self::FullLoadUnknown => {
                "Nobody said whether the run was at full load; unknown is not taken for yes."
            }
            Self::ShutOffNotClean => {
                "The shut-off was not clean: idling or coasting has painted over what the run had left. Cut the ignition at full load, \
                 in neutral or with the clutch in."
            }
            Self::ShutOffUnknown => {
                "Nobody said whether the shut-off was clean; unknown is not taken for yes."
            }
        }
    }
}

/// A reason why a reading is no evidence.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Flaw {
    /// Which one.
    pub code: FlawCode,
    /// What is wrong, and what would be right.
    pub text: String,
}

/// What the books tell of the plug.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct History {
    /// Whether the issue is known that the plug went out with: a lot alone does not tell.
    pub issued: bool,
    /// Condition of the lot when it was issued; a lot keeps it all its life. `None` where the lot
    /// is not known.
    pub condition: Option<Condition>,
    /// Whether as many plugs have been read of the issue as went out with it.
    pub all_read: bool,
    /// Of thread, seat and reach those in which the part fails the build.
    pub unfit: Vec<Attr>,
    /// Heat of the part; `None` where nobody has established it.
    pub heat: Option<HeatIndex>,
    /// The hottest that the build takes, as the least index; `None` where it is unknown.
    pub heat_min: Option<HeatIndex>,
}

impl History {
    /// The same with what a part is to a build: whether it can be in it, and the room for heat.
    pub fn in_engine(self, part: &impl Shows, needed: &Requirement) -> Self {
        let fails = |attr: &Attr| {
            let shown = part.shown(*attr);
            needed
                .demand(*attr, Strength::Must)
                .is_some_and(|demand| judge(demand, shown) == Verdict::Fails)
        };
        let window = needed.demand(Attr::Heat, Strength::Must);
        Self {
            unfit: [Attr::Thread, Attr::Seat, Attr::Reach]
                .into_iter()
                .filter(fails)
                .collect(),
            heat: part.shown(Attr::Heat).map(Decimal),
            heat_min: window.and_then(|demand| match demand.test {
                Test::Range { min, .. } => min.map(Decimal),
                Test::OneOf(_) => None,
            }),
            ..self
        }
    }
}

/// Every reason why a reading is no evidence; none where it is.
pub(super) fn flaws(reading: &Reading, history: &History) -> Vec<Flaw> {
    let lot = match history.condition {
        None => Some(FlawCode::LotUnknown),
        Some(Condition::Gapped) => Some(FlawCode::LotNotSealed),
        Some(Condition::Sealed) => None,
    };
    let said = |answer: Option<bool>, no: FlawCode, unknown: FlawCode| match answer {
        Some(true) => None,
        Some(false) => Some(no),
        None => Some(unknown),
    };
    let not_issued = history.condition.is_some() && !history.issued;
    let unfit = !history.unfit.is_empty();
    [
        lot,
        not_issued.then_some(FlawCode::IssueUnknown),
        unfit.then_some(FlawCode::NotOfEngine),
        history.all_read.then_some(FlawCode::PlugReadBefore),
        said(
            reading.full_load,
            FlawCode::NotFullLoad,
            FlawCode::FullLoadUnknown,
        ),
        said(
            reading.clean_shut_off,
            FlawCode::ShutOffNotClean,
            FlawCode::ShutOffUnknown,
        ),
    ]
    .into_iter()
    .flatten()
    .map(|code| Flaw {
        code,
        text: match code {
            FlawCode::NotOfEngine => {
                let failed: Vec<&str> = history.unfit.iter().map(|attr| attr.word()).collect();
                format!(
                    "It fails the build in {}. {}",
                    failed.join(", "),
                    code.sentence()
                )
            }
            _ => code.sentence().to_owned(),
        },
    })
    .collect()
}
