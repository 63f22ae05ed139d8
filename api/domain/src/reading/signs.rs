//! What is seen on a plug and what follows from it: one table, common practice, no source.

use super::suggestion::SuggestionCode::{
    self, ColderByOne, HotterByOne, Leaner, LessTiming, LookForOil, Richer, StopAndLook,
};
use super::{BaseRing, HeatLine, Porcelain, Reading, Speckles};
use crate::decimal::Length;
use crate::words::closed_list;

closed_list! {
    /// A place of the plug that is looked at.
    Sign, "sign of a reading" {
        /// The heat line on the strap.
        HeatLine = "heat_line",
        /// The base ring.
        BaseRing = "base_ring",
        /// The porcelain.
        Porcelain = "porcelain",
        /// Specks on it.
        Speckles = "speckles",
        /// Growth of the gap.
        GapGrowth = "gap_growth_mm",
    }
}

closed_list! {
    /// What the gap did over a run.
    GapSign, "what a gap did over a run" {
        /// It closed by more than the policy lets pass.
        Closed = "closed",
        /// It stayed as it was.
        Steady = "steady",
        /// It grew by more than the policy lets pass.
        Grown = "grown",
    }
}

/// What one look suggests.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rule {
    /// Where was looked.
    pub sign: Sign,
    /// What was seen: a word of the sign's list.
    pub seen: &'static str,
    /// What that means, as half a sentence.
    pub means: &'static str,
    /// What it suggests; nothing where all is well or the sign tells nothing.
    pub suggests: &'static [SuggestionCode],
    /// Whether the sign tells anything.
    pub tells: bool,
}

const fn rule(
    sign: Sign,
    seen: &'static str,
    suggests: &'static [SuggestionCode],
    means: &'static str,
) -> Rule {
    Rule {
        sign,
        seen,
        means,
        suggests,
        tells: true,
    }
}

const fn silent(sign: Sign, seen: &'static str, means: &'static str) -> Rule {
    Rule {
        tells: false,
        ..rule(sign, seen, &[], means)
    }
}

/// Every word of every list, with what it suggests. Common practice, no source.
#[rustfmt::skip]
pub const RULES: &[Rule] = &[
    silent(Sign::HeatLine, HeatLine::None.word(), "no heat line is to be seen, which tells nothing"),
    rule(Sign::HeatLine, HeatLine::AtTip.word(), &[HotterByOne], "the heat line stands at the very tip of the strap: the plug stays cold"),
    rule(Sign::HeatLine, HeatLine::NearTip.word(), &[], "the heat line stands near the tip: on the cold side, which is the safe one"),
    rule(Sign::HeatLine, HeatLine::Midway.word(), &[], "the heat line stands midway on the strap"),
    rule(Sign::HeatLine, HeatLine::AtBend.word(), &[], "the heat line stands at the bend: as warm as it should get"),
    rule(Sign::HeatLine, HeatLine::PastBend.word(), &[ColderByOne], "the heat line stands past the bend: the strap gets too hot"),
    rule(Sign::BaseRing, BaseRing::BareMetal.word(), &[Richer], "the base ring is bare: the mixture looks lean"),
    rule(Sign::BaseRing, BaseRing::DarkInPart.word(), &[Richer], "the base ring is dark only in part: the mixture looks a little lean"),
    rule(Sign::BaseRing, BaseRing::DarkAllRound.word(), &[], "the base ring is dark all round"),
    rule(Sign::BaseRing, BaseRing::BlackSoot.word(), &[Leaner], "soot comes off the base ring: the mixture looks rich"),
    rule(Sign::BaseRing, BaseRing::Blued.word(), &[ColderByOne, LessTiming], "the base ring is blued: it got too hot"),
    rule(Sign::Porcelain, Porcelain::CleanWhite.word(), &[], "the porcelain is white and clean, as one run on a fresh plug leaves it"),
    rule(Sign::Porcelain, Porcelain::LightTan.word(), &[], "the porcelain is tan"),
    rule(Sign::Porcelain, Porcelain::Grey.word(), &[Richer], "the porcelain is dull grey: the mixture looks lean"),
    rule(Sign::Porcelain, Porcelain::DryBlack.word(), &[Leaner], "the porcelain is dry and black: the mixture looks rich"),
    rule(Sign::Porcelain, Porcelain::WetBlack.word(), &[LookForOil], "the porcelain is wet and black: oil, or a cylinder that did not fire"),
    rule(Sign::Porcelain, Porcelain::Glazed.word(), &[ColderByOne], "the porcelain is glazed: deposits have melted on it"),
    rule(Sign::Porcelain, Porcelain::Blistered.word(), &[StopAndLook, ColderByOne, LessTiming], "the porcelain is blistered: far too hot, or pre-ignition"),
    rule(Sign::Speckles, Speckles::None.word(), &[], "there are no specks"),
    rule(Sign::Speckles, Speckles::Dark.word(), &[LessTiming, Richer], "dark specks on the porcelain: detonation begins"),
    rule(Sign::Speckles, Speckles::BrightMetal.word(), &[StopAndLook, LessTiming], "bright specks on the porcelain: metal of the piston, detonation"),
    rule(Sign::GapGrowth, GapSign::Closed.word(), &[StopAndLook], "the gap has closed: something touched the strap"),
    rule(Sign::GapGrowth, GapSign::Steady.word(), &[], "the gap is as it was set"),
    rule(Sign::GapGrowth, GapSign::Grown.word(), &[ColderByOne], "the gap has grown over one run: the electrodes got too hot"),
];

/// Where was looked, and what was seen there.
pub(super) type Seen = (Sign, &'static str);

/// What a reading tells of.
pub(super) fn seen(reading: &Reading, steady_within: Length) -> Vec<Seen> {
    let gap = reading.gap_growth().map(|growth| {
        if growth > steady_within {
            GapSign::Grown
        } else if growth.0 < -steady_within.0 {
            GapSign::Closed
        } else {
            GapSign::Steady
        }
    });
    [
        (Sign::HeatLine, reading.heat_line.map(HeatLine::word)),
        (Sign::BaseRing, reading.base_ring.map(BaseRing::word)),
        (Sign::Porcelain, reading.porcelain.map(Porcelain::word)),
        (Sign::Speckles, reading.speckles.map(Speckles::word)),
        (Sign::GapGrowth, gap.map(GapSign::word)),
    ]
    .into_iter()
    .filter_map(|(sign, word)| Some((sign, word?)))
    .collect()
}

/// The rules of what was seen, in the order of the table.
pub(super) fn rules_of(seen: &[Seen]) -> impl Iterator<Item = &'static Rule> {
    RULES
        .iter()
        .filter(|rule| seen.contains(&(rule.sign, rule.seen)))
}
