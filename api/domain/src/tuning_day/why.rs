//! Why a part is proposed, in sentences.

use super::{Choice, Offer};
use crate::named_part::NamedPart;
use crate::wording::counted;

/// What the reason for a proposal is told from.
pub(super) struct Why<'a> {
    pub choice: Choice,
    /// Parts that are there in full.
    pub in_full: usize,
    /// Whether what is missing can still be ordered in time.
    pub in_time: bool,
    /// Plugs that the proposed part lacks.
    pub lacking: i64,
    pub proposed: Option<&'a Offer>,
    /// The part of which most is there.
    pub fullest: Option<&'a Offer>,
    /// How many parts were priced, where there are more.
    pub nearest: Option<usize>,
}

impl Why<'_> {
    pub(super) fn told(&self) -> String {
        let mut text = self.chosen();
        if let Some(nearest) = self.nearest {
            text.push_str(&format!(
                " Only the {nearest} nearest of the parts that meet the requirement were priced; there are more."
            ));
        }
        let unknown = self.proposed.map_or(0, |offer| offer.cost.unknown_quantity);
        if unknown > 0 {
            text.push_str(&format!(
                " Nobody has said what {unknown} of its plugs cost: that is not taken for free."
            ));
        }
        text
    }

    fn chosen(&self) -> String {
        match self.choice {
            Choice::Named => "You named this part, and it meets the requirement.".to_owned(),
            Choice::InFull if self.in_full == 1 => {
                "The one part that meets the requirement and lies sealed on the shelf in full."
                    .to_owned()
            }
            Choice::InFull => format!(
                "The least costly of {} parts that meet the requirement and lie sealed on the shelf in full.",
                self.in_full
            ),
            Choice::InPart => self.in_part(),
            Choice::NotOnShelf => {
                "No part that meets the requirement lies sealed on the shelf; this one comes nearest to it."
                    .to_owned()
            }
            Choice::NothingFits => "Nothing in the catalogue meets the requirement.".to_owned(),
        }
    }

    fn in_part(&self) -> String {
        let completable = self.in_time && self.proposed.is_some_and(|own| own.orderable);
        let because = match completable {
            true => "this costs least to the plug, and the rest can be ordered in time",
            false => "this one lacks least, since what is missing cannot be ordered in time",
        };
        let mut text = format!(
            "No part lies sealed on the shelf in full; of those that are there {because}. \
             One part for the whole day, since a reading compares plugs."
        );
        let there = self.proposed.map_or(0, |own| own.available);
        if let Some(fullest) = self.fullest.filter(|other| other.available > there) {
            let lacking = counted(self.lacking - (fullest.available - there), "plug");
            let NamedPart {
                maker, part_number, ..
            } = &fullest.plug;
            text.push_str(&format!(" {maker} {part_number} lacks least: {lacking}."));
        }
        text
    }
}
