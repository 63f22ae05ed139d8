//! What lies unsold and would do: an equivalent is used up before more is ordered.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use serde::Serialize;

use crate::attribute::Attr;
use crate::equivalent::{Grade, Graded, Opinion};
use crate::named_part::NamedPart;
use crate::plug::{Plug, Shows};
use crate::policy::Policy;
use crate::requirement::of_part;

/// Most equivalents that a line names.
const MOST: usize = 3;

/// An equivalent that lies unsold.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct UseFirst {
    /// The part.
    pub plug: NamedPart,
    /// Sealed plugs in bins that nobody has reserved.
    pub available: i64,
    /// Since when nobody has taken any: its last issue, or its first receipt.
    #[serde(serialize_with = "crate::instant::serialize")]
    pub unsold_since: DateTime<Utc>,
    /// How near it comes, in words, with what to beware of.
    pub text: String,
    /// The same as a word, for the order.
    #[serde(skip)]
    grade: Grade,
}

/// A part of which something lies unsold.
#[derive(Debug, Clone)]
pub struct UnsoldPart {
    /// The part.
    pub plug: Plug,
    /// Sealed plugs in bins that nobody has reserved.
    pub available: i64,
    /// Since when nobody has taken any.
    pub since: DateTime<Utc>,
}

/// All that lies unsold, by what equivalents have to share.
#[derive(Debug, Clone, Default)]
pub struct Unsold(HashMap<[Option<i64>; 2], Vec<UnsoldPart>>);

/// Thread and seat: never interchangeable.
fn shape(plug: &Plug) -> [Option<i64>; 2] {
    [plug.shown(Attr::Thread), plug.shown(Attr::Seat)]
}

impl FromIterator<UnsoldPart> for Unsold {
    fn from_iter<I: IntoIterator<Item = UnsoldPart>>(parts: I) -> Self {
        let mut by_shape: HashMap<_, Vec<UnsoldPart>> = HashMap::new();
        for part in parts {
            by_shape.entry(shape(&part.plug)).or_default().push(part);
        }
        Self(by_shape)
    }
}

impl Unsold {
    /// What lies unsold and passes every must of a part: never hotter than scales can tell. The
    /// nearest first, of equals what there is more of. Empty for a part that lacks what equivalents
    /// are found by.
    pub fn instead_of(&self, part: &Plug, policy: &Policy) -> Vec<UseFirst> {
        let Some(like) = self.0.get(&shape(part)) else {
            return Vec::new();
        };
        let Ok(need) = of_part(part, policy) else {
            return Vec::new();
        };
        let others = like.iter().filter(|other| other.plug.id != part.id);
        let mut found: Vec<UseFirst> = others
            .filter_map(|other| {
                match Opinion::of(part, &other.plug, &need, &policy.values) {
                    Opinion::Equivalent(graded) => Some(UseFirst::of(other, &graded)),
                    Opinion::Unconfirmed(_) | Opinion::Contradicted(_) => None,
                }
            })
            .collect();
        found.sort_by(|a, b| {
            (a.grade, -a.available, a.plug.id).cmp(&(b.grade, -b.available, b.plug.id))
        });
        found.truncate(MOST);
        found
    }
}

impl UseFirst {
    fn of(other: &UnsoldPart, graded: &Graded) -> Self {
        let mut text = graded.words();
        for caution in graded.cautions() {
            text.push_str(". ");
            text.push_str(&caution.text);
        }
        Self {
            plug: NamedPart::from(&other.plug),
            available: other.available,
            unsold_since: other.since,
            text,
            grade: graded.grade,
        }
    }
}
