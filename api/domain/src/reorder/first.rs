//! What lies unsold and would do: an equivalent is used up before more is ordered.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use serde::Serialize;
use uuid::Uuid;

use super::{Alike, ReorderLine};
use crate::equivalent::Graded;
use crate::named_part::NamedPart;
use crate::plug::Plug;
use crate::policy::Policy;

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
    /// Whether it does without question: nothing compared is unknown of either, and there is nothing to
    /// beware of. Only such plugs hold an order back.
    pub certain: bool,
    /// How near it comes, in words, with what to beware of.
    pub text: String,
}

/// What lies unsold of a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Lying {
    /// Sealed plugs in bins that nobody has reserved.
    pub available: i64,
    /// Since when nobody has taken any.
    pub since: DateTime<Utc>,
}

/// What lies unsold and should be used up before more of a part is ordered: the nearest first, of
/// equals what there is more of.
pub fn use_first(part: &Plug, unsold: &Alike<'_, Lying>, policy: &Policy) -> Vec<UseFirst> {
    let mut found = unsold.to(part, policy);
    found.sort_by_key(|(_, lying, graded)| (graded.grade, -lying.available));
    let nearest = found.into_iter().take(MOST);
    nearest
        .map(|(other, lying, graded)| UseFirst::of(other, *lying, &graded))
        .collect()
}

impl UseFirst {
    fn of(other: &Plug, lying: Lying, graded: &Graded) -> Self {
        let (mut text, cautions) = (graded.words(), graded.cautions());
        let certain = graded.not_established.is_empty() && cautions.is_empty();
        for caution in cautions {
            text.push_str(". ");
            text.push_str(&caution.text);
        }
        Self {
            plug: NamedPart::from(other),
            available: lying.available,
            unsold_since: lying.since,
            certain,
            text,
        }
    }
}

/// Plugs that lie unsold and that lines count on instead of an order: no plug stands in for two lines.
///
/// Lines are put to it in the order of the proposal: whoever stands first has the plugs.
#[derive(Debug, Clone, Default)]
pub struct CountedOn(HashMap<Uuid, i64>);

impl CountedOn {
    /// Whether equivalents that lie unsold, and do without question, cover what would be ordered with
    /// what no line before counts on. If so the line counts on them, the nearest first; a line that
    /// they cover only in part takes none.
    pub fn cover(&mut self, line: &ReorderLine) -> bool {
        let certain: Vec<(Uuid, i64)> = (line.use_first.iter())
            .filter(|other| other.certain)
            .map(|other| (other.plug.id, other.available - self.counted(other.plug.id)))
            .collect();
        let free: i64 = certain.iter().map(|(_, free)| free).sum();
        let mut wanted = line.order_quantity;
        if wanted == 0 || free < wanted {
            return false;
        }
        for (id, free) in certain {
            let taken = free.min(wanted);
            *self.0.entry(id).or_default() += taken;
            wanted -= taken;
        }
        true
    }

    fn counted(&self, id: Uuid) -> i64 {
        self.0.get(&id).copied().unwrap_or(0)
    }
}
