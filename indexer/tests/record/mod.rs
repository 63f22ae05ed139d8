//! Records for tests.

use chrono::DateTime;
use plugwell_domain::plug::{Plug, PlugData};
use plugwell_indexer::Fed;
use uuid::Uuid;

/// A living record.
pub fn record(id: u128, data: PlugData) -> Plug {
    let at = DateTime::UNIX_EPOCH;
    Plug {
        id: Uuid::from_u128(id),
        data,
        retired: false,
        version: 1,
        created_at: at,
        updated_at: at,
    }
}

/// A record on its way into the index.
pub fn fed(ordinal: u32, plug: Plug) -> Fed {
    Fed {
        id: plug.id,
        ordinal,
        record: Some(plug),
    }
}
