//! What else lies on the shelf where a part is short.

use plugwell_domain::equivalent::{Grade, Graded};
use plugwell_domain::fit::StockMode;
use plugwell_domain::ledger::rules::Rejection;
use serde::Serialize;
use serde_json::Value;
use utoipa::ToSchema;
use uuid::Uuid;

use crate::service::conflict::Conflict;
use crate::service::equivalents::{self, Asked, Found};
use crate::service::{Refusal, Shop};

/// Equivalents that are named at the most.
const NAMED: usize = 5;
/// Equivalents that are looked at for them.
const LOOKED_AT: usize = 20;

/// A part on the shelf that is equal to one that is short; never hotter.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct InStead {
    /// The part.
    pub plug_id: Uuid,
    /// Its maker.
    pub maker: String,
    /// Its part number.
    pub part_number: String,
    /// Plugs that nobody has reserved.
    pub available: i64,
    /// How near it comes, by what is known, in words.
    pub grade: String,
    /// The same as a word of a closed list.
    pub grade_code: Grade,
}

/// Equivalents of a part that lie on the shelf, in the order of fits; none where the part lacks what
/// they are found by: nothing is taken for equal that is not known. What only the tolerance of heat
/// scales lets in is left out: whoever is short of plugs gets no caution beside it.
///
/// # Errors
/// `NotFound`; where database or index fail.
pub fn instead(shop: &Shop, plug_id: Uuid, quantity: i64) -> Result<Vec<InStead>, Refusal> {
    let asked = Asked {
        quantity,
        stock: StockMode::Some,
        limit: LOOKED_AT,
    };
    let Found::Equivalents(found) = equivalents::of(shop, plug_id, asked)? else {
        return Ok(Vec::new());
    };
    let hotter = |graded: &Graded| graded.heat_difference().is_none_or(|by| by.0 < 0);
    let items = found.items.into_iter();
    let items = items.filter(|item| !hotter(&item.graded)).take(NAMED);
    let on_shelf = items.map(|item| InStead {
        plug_id: item.fit.plug.id,
        maker: item.fit.plug.data.maker,
        part_number: item.fit.plug.data.part_number,
        available: item.fit.available,
        grade: item.graded.words(),
        grade_code: item.graded.grade,
    });
    Ok(on_shelf.collect())
}

/// A refusal for want of a part, with its equivalents on the shelf; any other as it is.
pub fn with_equivalents(shop: &Shop, plug_id: Uuid, quantity: i64, refusal: Refusal) -> Refusal {
    let Refusal::Conflict {
        conflict: conflict @ Conflict::Ledger(Rejection::NotEnoughStock),
        mut detail,
        mut members,
    } = refusal
    else {
        return refusal;
    };
    match instead(shop, plug_id, quantity) {
        Ok(found) => {
            if !found.is_empty() {
                detail.push_str(&format!("; equal to it and there: {}", listed(&found)));
            }
            let found = serde_json::to_value(&found).unwrap_or(Value::Null);
            members.insert("equivalents".into(), found);
        }
        // What was refused stays refused, and says what there is.
        Err(cause) => tracing::warn!(?cause, "no equivalents could be looked up"),
    }
    Refusal::Conflict {
        conflict,
        detail,
        members,
    }
}

/// `Ferrowick FW-3207 (24)`.
fn listed(found: &[InStead]) -> String {
    let named = found
        .iter()
        .map(|part| format!("{} {} ({})", part.maker, part.part_number, part.available));
    named.collect::<Vec<_>>().join(", ")
}
