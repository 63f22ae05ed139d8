//! What the data of events consists of.

use serde_json::Value;

/// What a member holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MemberKind {
    /// An identifier.
    Id,
    /// Several identifiers.
    Ids,
    /// Text, or a word of a closed list.
    Text,
    /// A whole number.
    Number,
    /// Yes or no.
    Flag,
}

/// One member of an event's data.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Member {
    /// Its name.
    pub name: &'static str,
    /// What it holds.
    pub kind: MemberKind,
    /// Whether it may be null.
    pub or_null: bool,
}

impl Member {
    /// Whether a value is one that the member may have.
    pub fn takes(&self, value: &Value) -> bool {
        let is_id = |v: &Value| v.as_str().is_some_and(|t| t.parse::<uuid::Uuid>().is_ok());
        match (self.kind, value) {
            (_, Value::Null) => self.or_null,
            (MemberKind::Id, value) => is_id(value),
            (MemberKind::Ids, value) => value.as_array().is_some_and(|v| v.iter().all(is_id)),
            (MemberKind::Text, value) => value.is_string(),
            (MemberKind::Number, value) => value.is_i64() || value.is_u64(),
            (MemberKind::Flag, value) => value.is_boolean(),
        }
    }
}

const fn member(name: &'static str, kind: MemberKind) -> Member {
    Member {
        name,
        kind,
        or_null: false,
    }
}

const fn id(name: &'static str) -> Member {
    member(name, MemberKind::Id)
}

const fn text(name: &'static str) -> Member {
    member(name, MemberKind::Text)
}

const fn number(name: &'static str) -> Member {
    member(name, MemberKind::Number)
}

const fn or_null(member: Member) -> Member {
    Member {
        or_null: true,
        ..member
    }
}

pub(super) const PLUG: &[Member] = &[
    id("plug_id"),
    text("maker"),
    text("part_number"),
    text("status"),
    member("retired", MemberKind::Flag),
];
pub(super) const BARCODE: &[Member] = &[
    id("barcode_id"),
    or_null(id("plug_id")),
    or_null(text("code")),
];
pub(super) const STAND_IN: &[Member] = &[id("stand_in_id"), or_null(text("who"))];
pub(super) const HEAT_SCALE: &[Member] = &[
    id("heat_scale_id"),
    or_null(text("maker")),
    or_null(text("name")),
];
pub(super) const HEAD: &[Member] = &[id("head_id"), or_null(text("name"))];
pub(super) const BUILD: &[Member] = &[id("build_id"), or_null(text("name"))];
pub(super) const POLICY: &[Member] = &[number("version")];
pub(super) const PLACE: &[Member] = &[
    id("place_id"),
    text("kind"),
    text("name"),
    member("retired", MemberKind::Flag),
];
pub(super) const MOVEMENT: &[Member] = &[
    id("movement_id"),
    text("kind"),
    id("plug_id"),
    id("lot_id"),
    id("from_place_id"),
    id("to_place_id"),
    number("quantity"),
    or_null(text("reason")),
    or_null(text("job")),
    text("actor"),
    or_null(id("reverses")),
];
pub(super) const CROSSED: &[Member] = &[
    id("plug_id"),
    text("maker"),
    text("part_number"),
    number("reorder_point"),
    number("on_hand"),
    number("reserved"),
    number("on_order"),
];
pub(super) const RESERVATION: &[Member] = &[
    id("reservation_id"),
    id("plug_id"),
    text("job"),
    number("quantity"),
    number("open_quantity"),
    number("issued_quantity"),
    text("state"),
    or_null(text("expires_at")),
];
pub(super) const COUNT: &[Member] = &[
    id("count_id"),
    text("state"),
    member("places", MemberKind::Ids),
    or_null(text("approved_by")),
];
pub(super) const ORDER: &[Member] = &[
    id("order_id"),
    text("code"),
    text("supplier"),
    id("supplier_id"),
    text("state"),
    or_null(text("expected_on")),
];
pub(super) const REORDERING: &[Member] = &[id("plug_id")];
pub(super) const INCOMING_CHECK: &[Member] = &[id("incoming_check_id")];
pub(super) const TUNING_DAY: &[Member] = &[id("tuning_day_id")];
pub(super) const READING: &[Member] = &[id("reading_id"), id("build_id"), or_null(id("plug_id"))];
pub(super) const WAITING_JOB: &[Member] = &[
    id("waiting_job_id"),
    text("job"),
    number("quantity"),
    member("plug_ids", MemberKind::Ids),
    number("available"),
];
pub(super) const WAITS_AGAIN: &[Member] = &[id("waiting_job_id"), text("job"), number("quantity")];
pub(super) const TABLE: &[Member] = &[
    id("import_id"),
    text("table"),
    number("rows"),
    number("created"),
    number("updated"),
    number("unchanged"),
];
