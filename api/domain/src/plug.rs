//! A plug as the catalogue keeps it.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _};
use serde_json::{Map, Value};
use uuid::Uuid;

use crate::attribute::{Attr, Facts};
use crate::decimal::as_f64;
use crate::fault::{Check, Fault, FaultCode, segment};
use crate::gtin::Gtin;
use crate::instant;
use crate::words::{Ground, ProjectionClass, Provenance, Status};

/// Longest maker's name, part number and heat code, in characters.
pub const NAME_MAX: usize = 80;
/// Longest description, in characters.
pub const DESCRIPTION_MAX: usize = 500;
/// From this resistance on a record's resistor counts as fitted, under it as not (common practice, no source).
const RESISTOR_FROM_OHM: f64 = 500.0;

/// What somebody has established about a part: the body of a request.
#[derive(Debug, Clone, PartialEq)]
pub struct PlugData {
    /// Maker's name; together with the part number unique, case-blind.
    pub maker: String,
    /// The maker's part number as printed.
    pub part_number: String,
    /// Barcode on the pack.
    pub gtin: Option<Gtin>,
    /// Free text.
    pub description: Option<String>,
    /// Attribute values.
    pub facts: Facts,
    /// The scale that `heat_code` belongs to.
    pub heat_scale_id: Option<Uuid>,
    /// The maker's own heat code as printed.
    pub heat_code: Option<String>,
    /// Whether the maker still supplies it.
    pub status: Status,
    /// The part that took its place.
    pub superseded_by: Option<Uuid>,
    /// Where values come from; an attribute without an entry counts as `maker_sheet`.
    pub provenance: BTreeMap<Attr, Provenance>,
}

/// A catalogue record.
#[derive(Debug, Clone, PartialEq)]
pub struct Plug {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// What is established about it.
    pub data: PlugData,
    /// Left out of lists and matches, kept for its history.
    pub retired: bool,
    /// Counts the changes, from 1.
    pub version: i64,
    /// When it was first stored.
    pub created_at: DateTime<Utc>,
    /// When it last changed.
    pub updated_at: DateTime<Utc>,
}

/// Anything that shows the attributes of a plug to a test.
///
/// A full record, a posted JSON, a row of fast fields: all are judged by the same code.
pub trait Shows {
    /// The value that a test sees: `None` where it is unknown or only assumed.
    fn shown(&self, attr: Attr) -> Option<i64>;
}

impl Shows for PlugData {
    fn shown(&self, attr: Attr) -> Option<i64> {
        match self.provenance.get(&attr) {
            Some(Provenance::Assumed) => None,
            _ => self.facts.get(attr),
        }
    }
}

impl Shows for Plug {
    fn shown(&self, attr: Attr) -> Option<i64> {
        self.data.shown(attr)
    }
}

/// The members of a plug that are not attributes, as they stand in JSON before them.
pub const IDENTITY: &[&str] = &["maker", "part_number", "gtin", "description"];
/// The members that follow the attributes.
pub const STANDING: &[&str] = &[
    "heat_scale_id",
    "heat_code",
    "status",
    "superseded_by",
    "provenance",
];

impl PlugData {
    /// A record of which nothing is known but its name.
    pub fn named(maker: impl Into<String>, part_number: impl Into<String>) -> Self {
        Self {
            maker: maker.into(),
            part_number: part_number.into(),
            gtin: None,
            description: None,
            facts: Facts::default(),
            heat_scale_id: None,
            heat_code: None,
            status: Status::Active,
            superseded_by: None,
            provenance: BTreeMap::new(),
        }
    }

    /// The record as a JSON object, every member present.
    pub fn to_map(&self) -> Map<String, Value> {
        let mut map = Map::new();
        map.insert("maker".into(), self.maker.clone().into());
        map.insert("part_number".into(), self.part_number.clone().into());
        map.insert(
            "gtin".into(),
            self.gtin.as_ref().map(ToString::to_string).into(),
        );
        map.insert("description".into(), self.description.clone().into());
        for attr in Attr::ALL {
            map.insert(
                attr.word().into(),
                self.facts
                    .get(*attr)
                    .map_or(Value::Null, |raw| attr.to_json(raw)),
            );
        }
        map.insert(
            "heat_scale_id".into(),
            self.heat_scale_id.map(|id| id.to_string()).into(),
        );
        map.insert("heat_code".into(), self.heat_code.clone().into());
        map.insert("status".into(), self.status.word().into());
        map.insert(
            "superseded_by".into(),
            self.superseded_by.map(|id| id.to_string()).into(),
        );
        let provenance = self
            .provenance
            .iter()
            .map(|(a, p)| (a.word().to_owned(), Value::from(p.word())));
        map.insert("provenance".into(), Value::Object(provenance.collect()));
        map
    }

    /// Reads a record from a JSON object; absent members count as `null`.
    ///
    /// # Errors
    /// Every fault of shape, type, bounds and of the rules between members.
    pub fn from_map(map: &Map<String, Value>) -> Result<Self, Vec<Fault>> {
        let mut faults = Vec::new();
        for name in map.keys() {
            if !IDENTITY.contains(&name.as_str())
                && !STANDING.contains(&name.as_str())
                && name.parse::<Attr>().is_err()
            {
                faults.push(Fault::at(
                    &segment(name),
                    FaultCode::UnknownMember,
                    format!("a plug has no member {name:?}"),
                ));
            }
        }
        let given = |name: &str| map.get(name).filter(|v| !v.is_null());
        let mut facts = Facts::default();
        for attr in Attr::ALL {
            match given(attr.word())
                .map(|value| attr.from_json(value))
                .transpose()
            {
                Ok(raw) => facts.set(*attr, raw),
                Err(fault) => faults.push(fault),
            }
        }
        let mut reader = Reader { map, faults };
        let data = Self {
            maker: reader.name("maker"),
            part_number: reader.name("part_number"),
            gtin: reader.read("gtin", |text| {
                text.parse::<Gtin>()
                    .map_err(|e| (e.fault_code(), e.to_string()))
            }),
            description: reader.read("description", |text| bounded(text, DESCRIPTION_MAX)),
            facts,
            heat_scale_id: reader.read("heat_scale_id", uuid),
            heat_code: reader.read("heat_code", |text| bounded(text, NAME_MAX)),
            status: reader
                .read("status", |text| {
                    text.parse()
                        .map_err(|e: crate::words::NotInList| (FaultCode::NotInList, e.to_string()))
                })
                .unwrap_or(Status::Active),
            superseded_by: reader.read("superseded_by", uuid),
            provenance: reader.provenance(),
        };
        let mut faults = reader.faults;
        // A member that could not be read is unknown here, and the unknown contradicts nothing.
        faults.extend(data.faults());
        if faults.is_empty() {
            Ok(data)
        } else {
            Err(faults)
        }
    }
}

impl Plug {
    /// The record as it is answered: identity, data, what the service adds, and the projection's
    /// class where the projection is known.
    pub fn to_map(&self, class: Option<ProjectionClass>) -> Map<String, Value> {
        let mut map = Map::new();
        map.insert("id".into(), self.id.to_string().into());
        map.extend(self.data.to_map());
        map.insert(
            "projection_class".into(),
            class.map(ProjectionClass::word).into(),
        );
        map.insert("retired".into(), self.retired.into());
        map.insert("version".into(), self.version.into());
        map.insert("created_at".into(), instant::text(&self.created_at).into());
        map.insert("updated_at".into(), instant::text(&self.updated_at).into());
        map
    }
}

/// Reads the members that are not attributes, keeping the faults.
struct Reader<'a> {
    map: &'a Map<String, Value>,
    faults: Vec<Fault>,
}

impl Reader<'_> {
    fn read<T>(
        &mut self,
        name: &str,
        parse: impl FnOnce(&str) -> Result<T, (FaultCode, String)>,
    ) -> Option<T> {
        let value = self.map.get(name).filter(|v| !v.is_null())?;
        let parsed = match value.as_str() {
            Some(text) => parse(text),
            None => Err((FaultCode::WrongType, format!("{name} is text, not {value}"))),
        };
        parsed
            .map_err(|(code, detail)| self.faults.push(Fault::at(name, code, detail)))
            .ok()
    }

    fn name(&mut self, name: &str) -> String {
        if self.map.get(name).is_none_or(Value::is_null) {
            self.faults.push(Fault::at(
                name,
                FaultCode::Missing,
                format!("{name} has to be given"),
            ));
        }
        self.read(name, |text| bounded(text, NAME_MAX))
            .unwrap_or_default()
    }

    fn provenance(&mut self) -> BTreeMap<Attr, Provenance> {
        let mut read = BTreeMap::new();
        let map = match self.map.get("provenance") {
            None | Some(Value::Null) => return read,
            Some(Value::Object(map)) => map,
            Some(other) => {
                let detail =
                    format!("provenance is an object of attribute and source, not {other}");
                self.faults
                    .push(Fault::at("provenance", FaultCode::WrongType, detail));
                return read;
            }
        };
        for (name, value) in map {
            let path = format!("provenance/{}", segment(name));
            match (
                name.parse::<Attr>(),
                value.as_str().map(str::parse::<Provenance>),
            ) {
                (Ok(attr), Some(Ok(source))) => {
                    read.insert(attr, source);
                }
                (Err(e), _) => {
                    self.faults
                        .push(Fault::at(&path, FaultCode::UnknownMember, e.to_string()))
                }
                (_, Some(Err(e))) => {
                    self.faults
                        .push(Fault::at(&path, FaultCode::NotInList, e.to_string()))
                }
                (_, None) => {
                    let detail = format!("a source is a word, not {value}");
                    self.faults
                        .push(Fault::at(&path, FaultCode::WrongType, detail));
                }
            }
        }
        read
    }
}

fn uuid(text: &str) -> Result<Uuid, (FaultCode, String)> {
    text.parse()
        .map_err(|_| (FaultCode::WrongForm, format!("{text:?} is no UUID")))
}

/// Text without surrounding space, not empty, within a length, free of control characters.
fn bounded(text: &str, max: usize) -> Result<String, (FaultCode, String)> {
    let text = text.trim();
    if text.is_empty() {
        return Err((FaultCode::OutOfRange, "the text is empty".into()));
    }
    if text.chars().count() > max {
        return Err((
            FaultCode::OutOfRange,
            format!("longer than {max} characters"),
        ));
    }
    if text.chars().any(char::is_control) {
        return Err((FaultCode::WrongForm, "holds a control character".into()));
    }
    Ok(text.to_owned())
}

impl Check for PlugData {
    fn faults(&self) -> Vec<Fault> {
        let mut faults = Vec::new();
        let mut contradiction = |path: &str, detail: String| {
            faults.push(Fault::at(path, FaultCode::Contradiction, detail));
        };
        let get = |attr| self.facts.get(attr);
        if let (Some(flag), Some(raw)) = (get(Attr::Resistor), get(Attr::Resistance)) {
            let ohm = as_f64(raw, Attr::Resistance.decimals());
            if (flag != 0) != (ohm >= RESISTOR_FROM_OHM) {
                let said = if flag != 0 { "fitted" } else { "not fitted" };
                contradiction(
                    "resistance_ohm",
                    format!(
                        "{ohm} Ω says the opposite of a resistor that is {said}: from {RESISTOR_FROM_OHM} Ω on one is fitted"
                    ),
                );
            }
        }
        let gaps = (get(Attr::GapMin), get(Attr::GapPreset), get(Attr::GapMax));
        let fixed = [Ground::SurfaceGap, Ground::MultiStrap]
            .map(Ground::position)
            .map(Some)
            .contains(&get(Attr::Ground));
        let mut known = [gaps.0, gaps.1, gaps.2].into_iter().flatten();
        let one = known.next();
        if fixed && known.any(|gap| Some(gap) != one) {
            contradiction("gap_preset_mm", "a surface gap or several straps cannot be bent: least and greatest gap are the gap as delivered".into());
        }
        if let (Some(min), Some(max)) = (gaps.0, gaps.2)
            && min > max
        {
            contradiction("gap_min_mm", "the least gap is above the greatest".into());
        }
        if gaps
            .0
            .is_some_and(|min| gaps.1.is_some_and(|preset| preset < min))
            || gaps
                .2
                .is_some_and(|max| gaps.1.is_some_and(|preset| preset > max))
        {
            contradiction(
                "gap_preset_mm",
                "the gap as delivered is outside the range that the strap may be bent to".into(),
            );
        }
        faults
    }
}

impl Serialize for PlugData {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        self.to_map().serialize(s)
    }
}

impl<'de> Deserialize<'de> for PlugData {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        Self::from_map(&Map::deserialize(d)?).map_err(|faults| {
            D::Error::custom(
                faults
                    .iter()
                    .map(|f| format!("{}: {}", f.pointer, f.detail))
                    .collect::<Vec<_>>()
                    .join("; "),
            )
        })
    }
}
