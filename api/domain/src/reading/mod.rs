//! Reading a plug: what is recorded, whether it counts as evidence, and what it suggests.
//!
//! A plug tells only of the last moments before shut-off, and only if it was unused before. What
//! does not meet that is kept, but suggests nothing. What is seen and what follows from it stand in
//! one table, [`RULES`]; every line of it is common practice without a source.

mod evidence;
mod signs;
mod suggestion;

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::build::bound_fault;
use crate::caution::{Caution, CautionCode};
use crate::decimal::Length;
use crate::fault::{Check, Fault, FaultCode, text_fault};
use crate::named_part::NamedPart;
use crate::policy::Values;
use crate::wording::counted;
use crate::words::closed_list;

pub use evidence::{Flaw, FlawCode, History};
pub use signs::{GapSign, RULES, Rule, Sign};
pub use suggestion::{Contradiction, OPPOSED, Suggestion, SuggestionCode};

closed_list! {
    /// Where the line stands to which heat coloured the ground strap.
    HeatLine, "position of the heat line on the strap" {
        /// No line is to be seen.
        None = "none",
        /// At the very tip of the strap.
        AtTip = "at_tip",
        /// Between tip and middle.
        NearTip = "near_tip",
        /// Half-way between tip and bend.
        Midway = "midway",
        /// At the bend.
        AtBend = "at_bend",
        /// Past the bend, towards the shell.
        PastBend = "past_bend",
    }
}

closed_list! {
    /// Colour of the ring at the shell's end that the strap stands on.
    BaseRing, "colour of the base ring" {
        /// Bare metal, no colour.
        BareMetal = "bare_metal",
        /// Dark over a part of the ring.
        DarkInPart = "dark_in_part",
        /// Dark all round.
        DarkAllRound = "dark_all_round",
        /// Black soot that comes off on a finger.
        BlackSoot = "black_soot",
        /// Blued or straw-coloured metal.
        Blued = "blued",
    }
}

closed_list! {
    /// Look of the porcelain.
    Porcelain, "look of the porcelain" {
        /// White and clean.
        CleanWhite = "clean_white",
        /// Tan or light brown.
        LightTan = "light_tan",
        /// Dull grey.
        Grey = "grey",
        /// Dry and black.
        DryBlack = "dry_black",
        /// Wet and black.
        WetBlack = "wet_black",
        /// Shiny, as if glazed.
        Glazed = "glazed",
        /// Blistered, or melted at the tip.
        Blistered = "blistered",
    }
}

closed_list! {
    /// Specks on the porcelain.
    Speckles, "kind of speckles" {
        /// None.
        None = "none",
        /// Fine dark specks.
        Dark = "dark",
        /// Bright specks of metal.
        BrightMetal = "bright_metal",
    }
}

/// One plug, read after one run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Reading {
    /// The stored build that it was read in.
    pub build_id: Uuid,
    /// The issue that the plug went out with.
    #[serde(default)]
    pub movement_id: Option<Uuid>,
    /// The lot that it came from, where the issue is not known: kept, but never evidence.
    #[serde(default)]
    pub lot_id: Option<Uuid>,
    /// The tuning day that it belongs to.
    #[serde(default)]
    pub tuning_day_id: Option<Uuid>,
    /// The run (pull or pass) of that day or session, counted from 1.
    #[cfg_attr(feature = "schema", schema(minimum = 1, maximum = 1000))]
    pub run: u32,
    /// The cylinder, counted from 1.
    #[cfg_attr(feature = "schema", schema(minimum = 1, maximum = 16))]
    pub cylinder: u32,
    /// Which plug of the cylinder, counted from 1, where there are several.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(minimum = 1, maximum = 3))]
    pub plug_of_cylinder: Option<u32>,
    /// Whether the run was at full load; unknown is not taken for yes.
    #[serde(default)]
    pub full_load: Option<bool>,
    /// Whether ignition was cut at full load, in neutral or with the clutch in, and the plug came
    /// out before any idling; unknown is not taken for yes.
    #[serde(default)]
    pub clean_shut_off: Option<bool>,
    /// The heat line on the strap.
    #[serde(default)]
    pub heat_line: Option<HeatLine>,
    /// Colour at the base ring.
    #[serde(default)]
    pub base_ring: Option<BaseRing>,
    /// Look of the porcelain.
    #[serde(default)]
    pub porcelain: Option<Porcelain>,
    /// Specks on the porcelain.
    #[serde(default)]
    pub speckles: Option<Speckles>,
    /// The gap before the run.
    #[serde(default)]
    pub gap_before_mm: Option<Length>,
    /// The gap after it.
    #[serde(default)]
    pub gap_after_mm: Option<Length>,
    /// Anything else.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 500))]
    pub note: Option<String>,
}

impl Reading {
    /// How much the gap grew over the run; negative where it closed.
    pub fn gap_growth(&self) -> Option<Length> {
        Some(crate::decimal::Decimal(
            self.gap_after_mm?.0 - self.gap_before_mm?.0,
        ))
    }

    /// Whether another is of the same plug after the same run: same build, same day (or where either
    /// names none, same issue), run, cylinder and plug of it. Which of one plug to a cylinder it
    /// was need not be said.
    pub fn repeats(&self, other: &Self, plugs_per_cylinder: u32) -> bool {
        let session = match (self.tuning_day_id, other.tuning_day_id) {
            (Some(own), Some(day)) => own == day,
            _ => self.movement_id.is_some() && self.movement_id == other.movement_id,
        };
        let plug = |reading: &Self| match plugs_per_cylinder {
            1 => Some(1),
            _ => reading.plug_of_cylinder,
        };
        session
            && (self.build_id, self.run, self.cylinder)
                == (other.build_id, other.run, other.cylinder)
            && plug(self) == plug(other)
    }

    /// The faults of a reading against the engine that it was made in.
    pub fn faults_in(&self, cylinders: u32, plugs_per_cylinder: u32) -> Vec<Fault> {
        let mut faults = Vec::new();
        if self.cylinder > cylinders {
            let detail = format!("the engine has {}", counted(cylinders, "cylinder"));
            faults.push(Fault::at("cylinder", FaultCode::Contradiction, detail));
        }
        if self
            .plug_of_cylinder
            .is_some_and(|n| n > plugs_per_cylinder)
        {
            let detail = format!(
                "each cylinder of the engine has {}",
                counted(plugs_per_cylinder, "plug")
            );
            faults.push(Fault::at(
                "plug_of_cylinder",
                FaultCode::Contradiction,
                detail,
            ));
        }
        faults
    }
}

impl Check for Reading {
    fn faults(&self) -> Vec<Fault> {
        let mut faults = Vec::new();
        for (field, value, max) in [
            ("run", Some(self.run), 1000),
            ("cylinder", Some(self.cylinder), 16),
            ("plug_of_cylinder", self.plug_of_cylinder, 3),
        ] {
            if let Some(value) = value.filter(|n| !(1..=max).contains(n)) {
                let detail = format!("{value} is outside 1 to {max}");
                faults.push(Fault::at(field, FaultCode::OutOfRange, detail));
            }
        }
        if self.movement_id.is_some() && self.lot_id.is_some() {
            let detail = "give either movement_id or lot_id, not both: the issue names its lot";
            faults.push(Fault::at("lot_id", FaultCode::NotTogether, detail));
        }
        for (field, gap) in [
            ("gap_before_mm", self.gap_before_mm),
            ("gap_after_mm", self.gap_after_mm),
        ] {
            faults.extend(gap.and_then(|mm| bound_fault(field, mm.get())));
        }
        faults.extend(text_fault("note", self.note.as_deref()));
        let seen = self.heat_line.is_some()
            || self.base_ring.is_some()
            || self.porcelain.is_some()
            || self.speckles.is_some()
            || self.gap_growth().is_some();
        if !seen {
            let detail = "say what is seen: at least one of heat_line, base_ring, porcelain, speckles, or both gaps";
            faults.push(Fault::at("", FaultCode::Missing, detail));
        }
        faults
    }
}

/// What is made of a reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Judgement {
    /// Whether it counts as evidence. Without, nothing is suggested.
    pub evidence: bool,
    /// Why it does not.
    pub refused_because: Vec<Flaw>,
    /// How much the gap grew over the run; negative where it closed.
    pub gap_growth_mm: Option<Length>,
    /// What it suggests, the most urgent first: for a licensed or experienced hand to judge. Empty
    /// without evidence, and where what was seen tells nothing.
    pub suggestions: Vec<Suggestion>,
    /// What signs speak for but something speaks against: other signs, or the heat of the plug.
    pub contradictions: Vec<Contradiction>,
    /// What was not looked at; it says nothing either way.
    pub not_seen: Vec<Sign>,
    /// What to beware of.
    pub cautions: Vec<Caution>,
}

/// The cautions under every reading.
const CAUTIONS: &[CautionCode] = &[
    CautionCode::ReadingSuggests,
    CautionCode::FreshPlugsOnly,
    CautionCode::LeadsSuffer,
    CautionCode::MakersStandAbove,
    CautionCode::LicensedPractice,
    CautionCode::ColdEngine,
    CautionCode::HighVoltage,
];

/// Judges a reading by what is known of its plug and its run.
pub fn judge(reading: &Reading, history: &History, values: &Values) -> Judgement {
    let refused_because = evidence::flaws(reading, history);
    let evidence = refused_because.is_empty();
    let seen = signs::seen(reading, values.reading_gap_growth_mm.value);
    let (suggestions, contradictions) = match evidence {
        true => suggestion::of(&seen, history),
        false => (Vec::new(), Vec::new()),
    };
    let looked_at = |sign: &&Sign| seen.iter().any(|(own, _)| own == *sign);
    Judgement {
        evidence,
        refused_because,
        gap_growth_mm: reading.gap_growth(),
        suggestions,
        contradictions,
        not_seen: Sign::ALL
            .iter()
            .filter(|sign| !looked_at(sign))
            .copied()
            .collect(),
        cautions: CAUTIONS.iter().copied().map(Caution::of).collect(),
    }
}

/// A reading as it is kept: never changed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct KeptReading {
    /// What was recorded.
    #[serde(flatten)]
    pub reading: Reading,
    /// The part, where issue or lot tell.
    pub plug_id: Option<Uuid>,
    /// What was made of it then.
    #[serde(flatten)]
    pub judgement: Judgement,
}

/// A reading with its plug beside it.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ShownReading {
    /// The reading.
    #[serde(flatten)]
    pub kept: KeptReading,
    /// The part with its heat, as the catalogue has it now; null where the lot is not known.
    pub plug: Option<NamedPart>,
}
