//! What to beware of: a closed list of codes, each with its sentence.

use serde::{Deserialize, Serialize};

use crate::words::closed_list;

closed_list! {
    /// What to beware of; other programs branch on it.
    CautionCode, "caution code" {
        /// Reach, projection and clearance are the head maker's to confirm.
        ConfirmWithHeadMaker = "confirm_with_head_maker",
        /// The plug maker's sheet and the kit's instructions stand above the answer.
        MakersStandAbove = "makers_stand_above",
        /// Local codes and licensed practice stand above the answer.
        LicensedPractice = "licensed_practice",
        /// Tens of kilovolts.
        HighVoltage = "high_voltage",
        /// Fit and remove on a cold engine.
        ColdEngine = "cold_engine",
        /// The torque is that of dry threads.
        LubricatedThreads = "lubricated_threads",
        /// How to set a gap without breaking the plug.
        HowToGap = "how_to_gap",
        /// The cap of the use cut the rule's heat steps.
        HeatCapApplied = "heat_cap_applied",
        /// The gap that the coil allows lies under the practice band.
        BelowPracticeBand = "below_practice_band",
        /// The caller's gap lies above what the coil allows.
        AbovePhysicalLimit = "above_physical_limit",
        /// The coil allows no usable gap.
        CoilTooWeak = "coil_too_weak",
        /// Plugs at the upper end of the voltage band may need more than the coil has.
        MayMisfireAtTheHighEnd = "may_misfire_at_the_high_end",
        /// The plug cannot be bent to the gap that the engine allows.
        GapOutOfRange = "gap_out_of_range",
        /// No whole projection window is known, or the plug's projection is not.
        ProjectionUnconfirmed = "projection_unconfirmed",
        /// The hexagon is unknown.
        HexUnconfirmed = "hex_unconfirmed",
        /// The terminal is unknown.
        TerminalUnconfirmed = "terminal_unconfirmed",
        /// The gap, or the range that it may be bent to, is unknown.
        GapRangeUnconfirmed = "gap_range_unconfirmed",
        /// Another value that a posted demand lets pass unknown.
        ValueUnconfirmed = "value_unconfirmed",
        /// The part is no longer supplied.
        DiscontinuedPart = "discontinued_part",
        /// Another part took its place.
        SupersededPart = "superseded_part",
        /// Nitrous with a projected or fine-wire tip.
        NitrousTip = "nitrous_tip",
        /// Methanol or E85.
        AlcoholFuel = "alcohol_fuel",
        /// A boost that looks like psi.
        BoostLooksLikePsi = "boost_looks_like_psi",
        /// A power that looks like horsepower.
        PowerLooksLikeHp = "power_looks_like_hp",
        /// A near miss by its reach.
        ReachNeverFitted = "reach_never_fitted",
        /// A second opinion on what was told.
        OnlyAsTold = "only_as_told",
        /// Leads and boots suffer from every change of plugs.
        LeadsSuffer = "leads_suffer",
        /// What a plug has to be, and the run, so that it can be read.
        FreshPlugsOnly = "fresh_plugs_only",
        /// A reading suggests; somebody who knows engines decides.
        ReadingSuggests = "reading_suggests",
        /// A plug is named by measurements only.
        NamedByMeasurement = "named_by_measurement",
        /// Worn or damaged crests.
        WornThread = "worn_thread",
        /// The strap of an equivalent stands further out than that of the part.
        StrapFurtherOut = "strap_further_out",
        /// A record that is named was retired.
        RetiredRecord = "retired_record",
        /// The part that was issued fails a must of its build.
        FailsItsBuild = "fails_its_build",
        /// Whether the part that was issued fits its build cannot be judged.
        FitUnjudged = "fit_unjudged",
        /// The gap that was set lies outside the plug's own range.
        GapOutsidePlugRange = "gap_outside_plug_range",
        /// The gap that was set is not the one that the build asks for.
        GapNotTheBuilds = "gap_not_the_builds",
        /// No gap was told: that of the gapped lot was written down.
        GapOfTheLot = "gap_of_the_lot",
        /// What came back went on to quarantine.
        WaitsInQuarantine = "waits_in_quarantine",
        /// More came than was ordered, at the order's price.
        PricedAsOrdered = "priced_as_ordered",
        /// Plugs came back sealed of an issue that a gap was set at.
        SealedAfterGap = "sealed_after_gap",
    }
}

/// What to do about each, in the order of the list.
const SENTENCES: &[(CautionCode, &str)] = &[
    (
        CautionCode::ConfirmWithHeadMaker,
        "Confirm reach, projection and clearance to piston and valves with the head's maker before fitting.",
    ),
    (
        CautionCode::MakersStandAbove,
        "This is an estimate: the plug maker's sheet and the kit's instructions stand above it.",
    ),
    (
        CautionCode::LicensedPractice,
        "Local codes and licensed practice stand above this answer.",
    ),
    (
        CautionCode::HighVoltage,
        "Ignition carries tens of kilovolts: switch it off before touching leads or coils; with a pacemaker keep away.",
    ),
    (
        CautionCode::ColdEngine,
        "Fit and remove plugs on a cold engine only; a hot head gives up its thread.",
    ),
    (
        CautionCode::LubricatedThreads,
        "The torque is for dry threads: on lubricated ones the same figure over-tightens.",
    ),
    (
        CautionCode::HowToGap,
        "Close the gap with a screw-type tool. A coin gauge is workable, but never pry it against the centre electrode \
                 of a fine-wire tip, and never tap a plug on a bench: that is how plugs are broken.",
    ),
    (
        CautionCode::HeatCapApplied,
        "The use of the car caps the heat steps.",
    ),
    (
        CautionCode::BelowPracticeBand,
        "The coil fires a smaller gap than practice sets: practice comes from large V engines, a small one at high boost needs less.",
    ),
    (
        CautionCode::AbovePhysicalLimit,
        "The gap that was asked for is larger than the coil fires with its reserve kept: expect misfire under load.",
    ),
    (
        CautionCode::CoilTooWeak,
        "The coil is too weak for this build: no usable gap always fires. Fit a stronger one.",
    ),
    (
        CautionCode::MayMisfireAtTheHighEnd,
        "A plug at the upper end of the voltage band needs more than the whole coil gives: it may misfire.",
    ),
    (
        CautionCode::GapOutOfRange,
        "The gap that this engine allows is outside the range that this plug may be bent to: leave it as it is and ask its maker.",
    ),
    (
        CautionCode::ProjectionUnconfirmed,
        "Fits as far as known: nobody has confirmed the projection. Ask the head's maker for its whole window.",
    ),
    (
        CautionCode::HexUnconfirmed,
        "Nobody has established the hexagon: see that it enters the plug well.",
    ),
    (
        CautionCode::TerminalUnconfirmed,
        "Nobody has established the terminal: see that lead or coil boot hold on it.",
    ),
    (
        CautionCode::GapRangeUnconfirmed,
        "Nobody has established the gap or the range it may be bent to: ask the plug's maker.",
    ),
    (
        CautionCode::ValueUnconfirmed,
        "The demand lets a value pass that nobody has established.",
    ),
    (
        CautionCode::DiscontinuedPart,
        "The maker no longer supplies this part: old stock is good stock, but there is no more of it.",
    ),
    (
        CautionCode::SupersededPart,
        "Another part took this one's place: old stock is good stock, order the new one.",
    ),
    (
        CautionCode::NitrousTip,
        "With nitrous a projected or fine-wire tip can overheat or break: ask the plug's maker for one that bears it.",
    ),
    (
        CautionCode::AlcoholFuel,
        "Methanol and E85 change heat and corrosion at the tip: ask the plug's maker for heat range and metal.",
    ),
    (
        CautionCode::BoostLooksLikePsi,
        "The boost is very low for a blown engine: was psi typed as kPa?",
    ),
    (
        CautionCode::PowerLooksLikeHp,
        "The power is very high for the engine's size: was horsepower typed as kW?",
    ),
    (
        CautionCode::ReachNeverFitted,
        "Never fit it: too short bares the head's thread, too long puts thread or strap in the way of piston and valves.",
    ),
    (
        CautionCode::OnlyAsTold,
        "This opinion rests on what was told: look at engine and plugs before spending money on it.",
    ),
    (
        CautionCode::LeadsSuffer,
        "Leads and boots suffer from every change of plugs: pull on the boot, never on the lead, and renew worn ones \
                 before the plugs are blamed.",
    ),
    (
        CautionCode::FreshPlugsOnly,
        "A plug tells only of the last moments before shut-off: sealed until fitted, one full-load pull, ignition cut \
                 at full load in neutral or with the clutch in, out before any idling.",
    ),
    (
        CautionCode::ReadingSuggests,
        "A reading suggests, it does not instruct: for a licensed or experienced hand to judge, one change at a time, \
                 each read again on fresh plugs.",
    ),
    (
        CautionCode::NamedByMeasurement,
        "Measurements name what a plug can be, never its heat range or its past: one that nobody can name for sure is not fitted.",
    ),
    (
        CautionCode::WornThread,
        "Worn or damaged crests: do not fit this plug, it spoils the head's thread and seals badly.",
    ),
    (
        CautionCode::StrapFurtherOut,
        "Its strap stands further out than that of the part it replaces: measure the clearance to piston and valves \
                 before fitting.",
    ),
    (
        CautionCode::RetiredRecord,
        "The plug can be one of a record that was retired: it is kept for its history, and no match offers it.",
    ),
    (
        CautionCode::FailsItsBuild,
        "This part does not pass every must of this build: do not fit it unless the makers of head, plug and kit say that it may be.",
    ),
    (
        CautionCode::FitUnjudged,
        "Nobody can say whether this part fits this build: put the build right, and judge it before fitting.",
    ),
    (
        CautionCode::GapOutsidePlugRange,
        "The gap lies outside the range that this plug may be bent to: do not fit it before its maker has said that it may be.",
    ),
    (
        CautionCode::GapNotTheBuilds,
        "The gap is not the one that this build asks for: measure it before fitting, and let the makers of plug and kit have the last word.",
    ),
    (
        CautionCode::GapOfTheLot,
        "No gap was told: the one that the lot is set to was written down. Measure it before fitting.",
    ),
    (
        CautionCode::WaitsInQuarantine,
        "What came back went on to quarantine and waits for a manager: its lot, or one that it descends from, failed an incoming check.",
    ),
    (
        CautionCode::PricedAsOrdered,
        "More came than was ordered, and what is beyond it was priced as ordered: where the invoice has another price, \
                 reverse the receipt and give that price with a new one.",
    ),
    (
        CautionCode::SealedAfterGap,
        "A gap was set when these went out, and they came back as sealed: make sure that nobody opened them; whatever was \
                 opened comes back as gapped.",
    ),
];

impl CautionCode {
    /// What to do about it.
    pub const fn sentence(self) -> &'static str {
        SENTENCES[self as usize].1
    }
}

/// A caution as it stands in an answer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Caution {
    /// Which one.
    pub code: CautionCode,
    /// What to do about it.
    pub text: String,
}

impl Caution {
    /// The caution with its own sentence.
    pub fn of(code: CautionCode) -> Self {
        Self {
            code,
            text: code.sentence().to_owned(),
        }
    }

    /// The same caution with the figures of the case behind its sentence.
    #[must_use]
    pub fn with(mut self, detail: impl AsRef<str>) -> Self {
        self.text = format!("{} {}", self.text, detail.as_ref());
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_code_has_its_own_sentence() {
        assert_eq!(SENTENCES.len(), CautionCode::ALL.len());
        for (code, (named, _)) in CautionCode::ALL.iter().zip(SENTENCES) {
            assert_eq!(code, named);
        }
    }
}
