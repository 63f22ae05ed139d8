//! What a reading suggests, in words: never a number of degrees or of fuel.

use serde::{Deserialize, Serialize};

use super::evidence::History;
use super::signs::{Seen, Sign, rules_of};
use crate::requirement::{Basis, BasisKind, STEP};
use crate::words::closed_list;

closed_list! {
    /// What a reading suggests, the most urgent first.
    SuggestionCode, "suggestion of a reading" {
        /// No further run before somebody has looked.
        StopAndLook = "stop_and_look",
        /// Less ignition timing.
        LessTiming = "less_timing",
        /// A plug one step colder.
        ColderByOne = "colder_by_one",
        /// A richer mixture.
        Richer = "richer",
        /// Where oil comes from, or why the cylinder did not fire.
        LookForOil = "look_for_oil",
        /// A leaner mixture.
        Leaner = "leaner",
        /// A plug one step hotter.
        HotterByOne = "hotter_by_one",
        /// Nothing that was seen asks for a change.
        NoChange = "no_change",
    }
}

/// Suggestions that speak against each other: the first, which is on the safe side, stands.
pub const OPPOSED: &[(SuggestionCode, SuggestionCode)] = &[
    (SuggestionCode::ColderByOne, SuggestionCode::HotterByOne),
    (SuggestionCode::Richer, SuggestionCode::Leaner),
    (SuggestionCode::StopAndLook, SuggestionCode::HotterByOne),
    (SuggestionCode::StopAndLook, SuggestionCode::Leaner),
    (SuggestionCode::LessTiming, SuggestionCode::HotterByOne),
    (SuggestionCode::LessTiming, SuggestionCode::Leaner),
    (SuggestionCode::ColderByOne, SuggestionCode::Leaner),
    (SuggestionCode::Richer, SuggestionCode::HotterByOne),
    (SuggestionCode::LookForOil, SuggestionCode::Leaner),
    (SuggestionCode::LookForOil, SuggestionCode::HotterByOne),
];

impl SuggestionCode {
    /// What to do, as somebody might say it.
    pub const fn sentence(self) -> &'static str {
        match self {
            Self::StopAndLook => {
                "No further run before piston, clearance at the plug and the log of the run have been looked at."
            }
            Self::LessTiming => "Take some ignition timing out, and read again.",
            Self::ColderByOne => "Try a plug one step colder, and read again.",
            Self::Richer => "Try the mixture richer, and read again.",
            Self::LookForOil => {
                "Find out where the oil comes from, or why the cylinder did not fire, before anything else is changed."
            }
            Self::Leaner => {
                "The mixture may go leaner, carefully: a boosted engine forgives rich, not lean. Read again."
            }
            Self::HotterByOne => {
                "The plug may be a step colder than need be. A hotter one only where the requirement of the build allows it: \
                 too cold fouls, too hot breaks pistons."
            }
            Self::NoChange => {
                "Nothing that was seen asks for a change. What was not looked at says nothing either way."
            }
        }
    }
}

/// One suggestion with the signs that it rests on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Suggestion {
    /// Which one.
    pub code: SuggestionCode,
    /// What was seen, what it means and what to try.
    pub text: String,
    /// The signs that it follows from.
    pub signs: Vec<Sign>,
    /// What it rests on.
    pub basis: Basis,
}

/// A suggestion that other signs, or the heat of the plug, speak against.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Contradiction {
    /// The suggestion that is left out.
    pub left_out: SuggestionCode,
    /// The signs that speak for it.
    pub signs: Vec<Sign>,
    /// The suggestions against it, which are on the safe side and stand; empty where it is the
    /// heat of the plug that leaves no room.
    pub stands: Vec<SuggestionCode>,
    /// The same in a sentence.
    pub text: String,
}

/// What was seen suggests; where signs speak against each other, only what is on the safe side; a
/// hotter plug only where the build has room for it.
pub(super) fn of(seen: &[Seen], history: &History) -> (Vec<Suggestion>, Vec<Contradiction>) {
    let mut found: Vec<Suggestion> = SuggestionCode::ALL
        .iter()
        .filter_map(|code| suggested(*code, seen))
        .collect();
    let contradictions: Vec<Contradiction> = found
        .iter()
        .filter_map(|own| contradiction(own, &found, seen).or_else(|| too_hot(own, seen, history)))
        .collect();
    found.retain(|own| contradictions.iter().all(|c| c.left_out != own.code));
    let rules: Vec<_> = rules_of(seen).filter(|rule| rule.tells).collect();
    if found.is_empty() && contradictions.is_empty() && !rules.is_empty() {
        found.push(Suggestion {
            code: SuggestionCode::NoChange,
            text: SuggestionCode::NoChange.sentence().to_owned(),
            signs: rules.iter().map(|rule| rule.sign).collect(),
            basis: BasisKind::CommonPractice.into(),
        });
    }
    (found, contradictions)
}

fn suggested(code: SuggestionCode, seen: &[Seen]) -> Option<Suggestion> {
    let rules: Vec<_> = rules_of(seen)
        .filter(|rule| rule.suggests.contains(&code))
        .collect();
    if rules.is_empty() {
        return None;
    }
    let meanings: Vec<&str> = rules.iter().map(|rule| rule.means).collect();
    Some(Suggestion {
        code,
        text: format!("{}. {}", capital(&meanings.join("; ")), code.sentence()),
        signs: rules.iter().map(|rule| rule.sign).collect(),
        basis: BasisKind::CommonPractice.into(),
    })
}

/// Why a hotter plug is out of the question, where it is: a step hotter, and it would be hotter
/// than the build takes. What nobody knows leaves no room.
fn too_hot(own: &Suggestion, seen: &[Seen], history: &History) -> Option<Contradiction> {
    if own.code != SuggestionCode::HotterByOne {
        return None;
    }
    let why = match (history.heat, history.heat_min) {
        (Some(heat), Some(min)) if heat.0 - STEP >= min.0 => return None,
        (Some(heat), Some(min)) => {
            format!("the plug stands at {heat}, the build asks for {min} or colder: not hotter")
        }
        (None, Some(min)) => format!(
            "nobody knows how hot the plug is, and the build asks for {min} or colder: not hotter"
        ),
        (Some(heat), None) => format!(
            "the plug stands at {heat}, and nobody knows how hot a plug the build takes: not hotter"
        ),
        (None, None) => {
            "nobody knows how hot the plug is, nor how hot a one the build takes: not hotter"
                .to_owned()
        }
    };
    Some(Contradiction {
        left_out: own.code,
        signs: own.signs.clone(),
        stands: Vec::new(),
        text: format!("{}. But {why}.", capital(&meanings(&[own.code], seen))),
    })
}

/// What the signs mean that speak for any of these.
fn meanings(codes: &[SuggestionCode], seen: &[Seen]) -> String {
    let rules = rules_of(seen)
        .filter(|rule| rule.suggests.iter().any(|code| codes.contains(code)))
        .map(|rule| rule.means);
    rules.collect::<Vec<_>>().join("; ")
}

/// What speaks against a suggestion, where anything does.
fn contradiction(own: &Suggestion, all: &[Suggestion], seen: &[Seen]) -> Option<Contradiction> {
    let against = |code: SuggestionCode| OPPOSED.contains(&(code, own.code));
    let stands: Vec<SuggestionCode> = all
        .iter()
        .map(|other| other.code)
        .filter(|code| against(*code))
        .collect();
    if stands.is_empty() {
        return None;
    }
    let text = format!(
        "{}. But {}. The signs speak against each other: the safe side stands. Read again on fresh plugs before anything \
         is changed.",
        capital(&meanings(&[own.code], seen)),
        meanings(&stands, seen)
    );
    Some(Contradiction {
        left_out: own.code,
        signs: own.signs.clone(),
        stands,
        text,
    })
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect())
        .unwrap_or_default()
}
