//! What each finding is called for: how urgent it is, which complaints it explains, what helps.
//!
//! Common practice, no source, unless the row says otherwise; the figures are the policy's.

use super::words::FindingCode::{
    DemandNotMet, Dropped, FarTooCold, GapNotSettable, GapTooLarge, GapTooSmall, HexTooLarge,
    LeadsDue, NoResistor, NotEstablished, ResistorBroken, TipTooFarBack, TipTooFarOut, TooCold,
    TooHot, WearsEarly, WornOut, WrongMetal, WrongReach, WrongSeat, WrongTerminal, WrongThread,
};
use super::words::Severity::{Fix, Stop, Watch};
use super::words::Symptom::{
    Detonation, Fouling, HardStart, LoggerDropout, LowPower, MisfireAtIdle, MisfireUnderLoad,
    RadioNoise,
};
use super::words::{FindingCode, Severity, Symptom};

/// Which plugs help, so that the shelf is worth looking at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Helps {
    /// No new plug.
    NoPlug,
    /// As many of the same part as were dropped, where the part is right.
    TheDropped,
    /// A whole set that meets the requirement.
    ASet,
}

/// What a finding of one code always says.
#[derive(Debug, Clone, Copy)]
pub struct Rule {
    /// Which.
    pub code: FindingCode,
    /// How urgent.
    pub severity: Severity,
    /// Complaints that it explains.
    pub explains: &'static [Symptom],
    /// Which plugs help.
    pub helps: Helps,
    /// What to do; findings with figures of their own say it themselves.
    pub remedy: &'static str,
}

const fn rule(
    code: FindingCode,
    severity: Severity,
    explains: &'static [Symptom],
    helps: Helps,
    remedy: &'static str,
) -> Rule {
    Rule {
        code,
        severity,
        explains,
        helps,
        remedy,
    }
}

const OUT: &str = "Take them out before the engine runs again, look at hole and piston, and fit a set that suits.";
const COOLER: &str =
    "Keep off full load and fit a colder set; look at the old tips and straps for melted spots.";
const ANOTHER: &str = "Fit a set that meets the demand.";
/// The finding says it with its own figures.
const ITS_OWN: &str = "";

/// Every rule, in the order of [`FindingCode`].
#[rustfmt::skip]
pub const RULES: &[Rule] = &[
    rule(WrongThread,    Stop,  &[], Helps::ASet, OUT),
    rule(WrongSeat,      Stop,  &[], Helps::ASet, OUT),
    rule(WrongReach,     Stop,  &[], Helps::ASet, OUT),
    rule(TooHot,         Stop,  &[Detonation], Helps::ASet, COOLER),
    rule(TipTooFarOut,   Stop,  &[], Helps::ASet, OUT),
    rule(NoResistor,     Fix,   &[MisfireUnderLoad, RadioNoise, LoggerDropout], Helps::ASet, "Fit a set with resistor."),
    rule(ResistorBroken, Fix,  &[MisfireUnderLoad, MisfireAtIdle, HardStart], Helps::ASet, "Fit a fresh set, and measure that too: an open resistor is not mended."),
    rule(TipTooFarBack,  Fix,   &[MisfireUnderLoad, MisfireAtIdle, Fouling, LowPower], Helps::ASet, "Fit a set whose tip stands within the window."),
    rule(FarTooCold,     Fix,   &[MisfireAtIdle, Fouling], Helps::ASet, "Fit a hotter set, no hotter than the target."),
    rule(Dropped,        Fix,   &[MisfireUnderLoad, MisfireAtIdle, LowPower], Helps::TheDropped, "Replace every one that may have fallen: a dropped plug is scrap, however good it looks."),
    // Own.
    rule(LeadsDue,       Fix,   &[MisfireUnderLoad, MisfireAtIdle], Helps::NoPlug, "Leads before plugs: renew leads or boots, then judge the plugs."),
    rule(WornOut,        Fix,   &[MisfireUnderLoad, HardStart, LowPower], Helps::ASet, "Fit a fresh set."),
    rule(GapTooLarge,    Fix,   &[MisfireUnderLoad], Helps::NoPlug, ITS_OWN),
    rule(GapNotSettable, Fix,   &[], Helps::ASet, "Fit a set that may be bent to the gap."),
    rule(HexTooLarge,    Fix,   &[], Helps::ASet, "Fit a set with a hexagon that enters the well."),
    rule(WrongTerminal,  Fix,   &[], Helps::ASet, "Fit a set with the terminal that lead or boot hold on."),
    rule(WrongMetal,     Fix,   &[], Helps::ASet, "Fit a set with the metal that was asked for."),
    rule(DemandNotMet,   Fix,   &[], Helps::ASet, ANOTHER),
    rule(TooCold,        Watch, &[], Helps::NoPlug, "Nothing yet: look for soot after town driving, and take the next set nearer to the target."),
    rule(GapTooSmall,    Watch, &[MisfireAtIdle, LowPower], Helps::NoPlug, ITS_OWN),
    // Own: the maker's interval is given for the engine as it left the works, a tip's for one without boost.
    rule(WearsEarly,     Watch, &[], Helps::NoPlug, "Measure the gap of each: wear shows as a gap that has grown."),
    rule(NotEstablished, Watch, &[], Helps::NoPlug, "Find it out before trusting them: what to ask or to measure stands with what could not be judged."),
];

impl FindingCode {
    /// What a finding of this code always says.
    pub const fn rule(self) -> &'static Rule {
        &RULES[self as usize]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_code_has_its_own_rule() {
        assert_eq!(RULES.len(), FindingCode::ALL.len());
        for (code, rule) in FindingCode::ALL.iter().zip(RULES) {
            assert_eq!(*code, rule.code);
            assert!(rule.explains.is_sorted(), "{code}");
        }
    }
}
