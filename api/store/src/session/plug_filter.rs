//! What a list of plugs is narrowed by.

use plugwell_domain::attribute::{Attr, Kind};
use plugwell_domain::words::Status;
use uuid::Uuid;

use super::plugs::kept;
use super::{Filtered, key, listing};
use crate::statement::Bind;

/// What one attribute has to be, in the whole numbers of
/// [`Facts`](plugwell_domain::attribute::Facts).
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FactFilter {
    /// This value.
    Is(i64),
    /// One of these.
    OneOf(Vec<i64>),
    /// Unknown.
    Null,
    /// Known, and not less.
    AtLeast(i64),
    /// Known, and not more.
    AtMost(i64),
}

/// What a list of plugs is narrowed by; all conditions together.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PlugFilter {
    /// What attributes have to be; one may stand several times.
    pub facts: Vec<(Attr, FactFilter)>,
    /// Maker, case-blind.
    pub maker: Option<String>,
    /// Part number, case-blind.
    pub part_number: Option<String>,
    /// Barcode as printed.
    pub gtin: Option<String>,
    /// Whether the maker still supplies it.
    pub status: Option<Status>,
    /// Retired parts too; else they are left out.
    pub retired: bool,
    /// Whether any of it lies in a bin.
    pub in_bins: Option<bool>,
    /// Heat scale.
    pub heat_scale_id: Option<Uuid>,
    /// The part that took its place.
    pub superseded_by: Option<Uuid>,
    /// One of these; empty: any.
    pub ids: Vec<Uuid>,
}

impl PlugFilter {
    pub(super) fn query(&self, select: &str, listed: &str) -> Filtered {
        let mut query = Filtered::query(select);
        for (attr, fact) in &self.facts {
            fact.narrow(*attr, &mut query);
        }
        query.and_given("maker_key = ?", self.maker.as_deref().map(key));
        query.and_given("part_key = ?", self.part_number.as_deref().map(key));
        query.and_given("gtin = ?", self.gtin.as_deref());
        query.and_given("status = ?", self.status.map(Status::word));
        query.and_given(
            "CASE WHEN id IN (SELECT plug_id FROM levels WHERE place_kind = 'bin' AND quantity > 0) THEN 1 ELSE 0 END = ?",
            self.in_bins,
        );
        query.and_given("heat_scale_id = ?", self.heat_scale_id);
        query.and_given("superseded_by = ?", self.superseded_by);
        if !self.retired {
            query.and("retired = ?", false);
        }
        if !self.ids.is_empty() {
            query.and(&format!("id IN {listed}"), listing(&self.ids));
        }
        query
    }
}

impl FactFilter {
    fn narrow(&self, attr: Attr, query: &mut Filtered) {
        let column = attr.word();
        match self {
            Self::Null => query.sql.push_str(&format!(" AND {column} IS NULL")),
            Self::Is(raw) => query.and(&format!("{column} = ?"), kept(attr, Some(*raw))),
            Self::OneOf(raws) => one_of(attr, raws.iter().copied(), query),
            Self::AtLeast(raw) => match listed_places(attr) {
                Some(places) => one_of(attr, places.filter(|place| place >= raw), query),
                None => query.and(&format!("{column} >= ?"), *raw),
            },
            Self::AtMost(raw) => match listed_places(attr) {
                Some(places) => one_of(attr, places.filter(|place| place <= raw), query),
                None => query.and(&format!("{column} <= ?"), *raw),
            },
        }
    }
}

/// The places of an attribute's list, where it has one: its words are not in their order.
fn listed_places(attr: Attr) -> Option<impl Iterator<Item = i64>> {
    match attr.declared().kind {
        Kind::Choice(words) => Some(0..words.len() as i64),
        Kind::Number { .. } | Kind::Flag => None,
    }
}

fn one_of(attr: Attr, raws: impl Iterator<Item = i64>, query: &mut Filtered) {
    let values: Vec<Bind> = raws.map(|raw| kept(attr, Some(raw))).collect();
    let places = vec!["?"; values.len()].join(", ");
    // None of no values: an empty list is no SQL on PostgreSQL.
    let condition = if values.is_empty() {
        "1 = 0".to_owned()
    } else {
        format!("{} IN ({places})", attr.word())
    };
    query.sql.push_str(&format!(" AND {condition}"));
    query.binds.extend(values);
}
