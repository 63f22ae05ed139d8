//! Which bin is proposed for what comes in: the one where the part lies already.

use serde::Serialize;
use uuid::Uuid;

/// A bin in which a part lies, or last lay.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InBin {
    /// The bin.
    pub place_id: Uuid,
    /// Its code.
    pub code: String,
    /// What people call it.
    pub name: String,
    /// Its running number.
    pub number: i64,
    /// Plugs of the part in it; 0 where it only last lay there.
    pub quantity: i64,
}

/// A bin that is proposed, and why.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ProposedBin {
    /// The bin.
    pub place_id: Uuid,
    /// Its code.
    pub code: String,
    /// What people call it.
    pub name: String,
    /// Why this one.
    pub why: String,
}

/// The bin for more of a part, of those that are in use: where most of it lies, of several the one
/// with the lowest number; else where it last lay. `None` where it never lay in any.
pub fn propose_bin(lies: &[InBin], last: Option<&InBin>) -> Option<ProposedBin> {
    let most = lies
        .iter()
        .filter(|bin| bin.quantity > 0)
        .max_by_key(|bin| (bin.quantity, std::cmp::Reverse(bin.number)));
    let (bin, why) = match (most, last) {
        (Some(bin), _) => (bin, format!("{} of them lie there already", bin.quantity)),
        (None, Some(bin)) => (bin, "it last lay there".to_owned()),
        (None, None) => return None,
    };
    Some(ProposedBin {
        place_id: bin.place_id,
        code: bin.code.clone(),
        name: bin.name.clone(),
        why,
    })
}
