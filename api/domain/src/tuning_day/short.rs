//! What a day lacks: how many, by when to order, what could stand in.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use super::Offer;
use crate::named_part::NamedPart;
use crate::wording::{agreeing, counted};

/// Another part of the very same heat that lies sealed on the shelf.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Filling {
    /// The part.
    pub plug: NamedPart,
    /// Sealed plugs of it that nobody has reserved.
    pub available: i64,
}

impl From<&Offer> for Filling {
    fn from(offer: &Offer) -> Self {
        Self {
            plug: offer.plug.clone(),
            available: offer.available,
        }
    }
}

/// What a day lacks of its part.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Short {
    /// Plugs that are missing.
    pub quantity: i64,
    /// Plugs in a box of the part; null where nobody knows.
    #[serde(default)]
    pub pack_size: Option<i64>,
    /// Boxes that bring at least so many.
    #[serde(default)]
    pub packs: Option<i64>,
    /// The last day to order them: the policy's lead time before the day.
    pub order_by: NaiveDate,
    /// Days by which that has passed; 0 where there is time.
    pub days_late: i64,
    /// What to do, in a sentence.
    pub text: String,
    /// Other parts that meet the requirement at the very same heat index, since a reading compares
    /// plugs; empty where there are none.
    pub fill_with: Vec<Filling>,
}

impl Short {
    /// The same with how late it is, and in words; `proposed` is the part of the day.
    pub(super) fn told(
        mut self,
        lead_days: u32,
        today: NaiveDate,
        proposed: Option<&Offer>,
    ) -> Self {
        self.days_late = (today - self.order_by).num_days().max(0);
        let (quantity, order_by) = (self.quantity, self.order_by);
        let packs = match (self.packs, self.pack_size) {
            (Some(packs), Some(size)) => format!(" (packs of {size}: {packs})"),
            _ => String::new(),
        };
        let missing = format!(
            "{} {} missing{packs}",
            counted(quantity, "plug"),
            agreeing(quantity, "is", "are")
        );
        let before = format!("{order_by}, {} before the day", counted(lead_days, "day"));
        let mut text = match (proposed.map(|offer| offer.orderable), self.days_late) {
            (None, _) => format!(
                "{missing}: enter a part that meets the requirement, and order it by {before}."
            ),
            (Some(false), _) => format!(
                "{missing}, and the maker no longer supplies this part: read fewer cylinders, or name another part and \
                 order it by {before}."
            ),
            (Some(true), 0) => format!("{missing}: order them by {before}."),
            (Some(true), late) => format!(
                "{missing}, and {before}, passed {} ago: ask a supplier for quick delivery, read fewer \
                 cylinders, or move the day.",
                counted(late, "day")
            ),
        };
        if !self.fill_with.is_empty() {
            text.push_str(
                " Other parts of the same heat could stand in: never two parts within one pull.",
            );
        }
        self.text = text;
        self
    }
}
