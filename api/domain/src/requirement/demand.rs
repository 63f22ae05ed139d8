//! One demand: the test that an outside program can repeat, why, and what it rests on.

use serde::ser::SerializeMap;
use serde::{Deserialize, Serialize, Serializer};
use serde_json::Value;

use crate::attribute::{Asked, Attr};
use crate::decimal::exact;
use crate::fault::{Fault, FaultCode};
use crate::policy::{Judged, Label};
use crate::words::closed_list;

closed_list! {
    /// Whether a plug that fails the demand is out, or only stands further back.
    Strength, "strength of a demand" {
        /// Failing it rules the plug out.
        Must = "must",
        /// Failing it moves the plug back.
        Prefer = "prefer",
    }
}

closed_list! {
    /// What an unknown value does to a must.
    WhenUnknown, "effect of an unknown value" {
        /// Rules the plug out.
        Fails = "fails",
        /// Lets it pass, with a caution.
        Allowed = "allowed",
    }
}

closed_list! {
    /// What a demand rests on.
    BasisKind, "kind of basis" {
        /// The head's own figures.
        Head = "head",
        /// The caller's word.
        Caller = "caller",
        /// The plug's maker.
        PlugMaker = "plug_maker",
        /// A published standard or handbook.
        Standard = "standard",
        /// Physics that can be recomputed.
        Physics = "physics",
        /// Common practice of the trade, no source.
        CommonPractice = "common_practice",
        /// Recalled from memory, to be checked.
        FromMemory = "from_memory",
        /// A definition of this service.
        Own = "own",
    }
}

/// What a demand rests on, and the publication where there is one.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Basis {
    /// Kind of ground.
    pub kind: BasisKind,
    /// The publication, if there is one.
    #[serde(default)]
    pub source: Option<String>,
}

impl From<BasisKind> for Basis {
    fn from(kind: BasisKind) -> Self {
        Self { kind, source: None }
    }
}

impl From<Label> for BasisKind {
    fn from(label: Label) -> Self {
        match label {
            Label::Standard => Self::Standard,
            Label::Physics => Self::Physics,
            Label::CommonPractice => Self::CommonPractice,
            Label::FromMemory => Self::FromMemory,
            Label::Own => Self::Own,
        }
    }
}

/// A demand that rests on a value of the policy rests on what that value rests on.
impl<T> From<&Judged<T>> for Basis {
    fn from(judged: &Judged<T>) -> Self {
        BasisKind::from(judged.label).into()
    }
}

/// The test of one attribute, in the attribute's whole numbers; ends belong to the range.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Test {
    /// One of some values.
    OneOf(Vec<i64>),
    /// From a least to a greatest value; either may be open.
    Range {
        /// Least value.
        min: Option<i64>,
        /// Greatest value.
        max: Option<i64>,
    },
}

impl Test {
    /// Whether an established value passes.
    #[inline]
    pub fn passes(&self, raw: i64) -> bool {
        match self {
            Self::OneOf(values) => values.contains(&raw),
            Self::Range { min, max } => {
                min.is_none_or(|m| m <= raw) && max.is_none_or(|m| raw <= m)
            }
        }
    }

    /// Whether it is a range with both its ends.
    pub fn is_whole(&self) -> bool {
        matches!(
            self,
            Self::Range {
                min: Some(_),
                max: Some(_)
            }
        )
    }

    /// Twice the middle of a range, or twice its one known end.
    pub fn middle_twice(&self) -> Option<i64> {
        match self {
            Self::Range {
                min: Some(min),
                max: Some(max),
            } => Some(min + max),
            Self::Range {
                min: Some(end),
                max: None,
            }
            | Self::Range {
                min: None,
                max: Some(end),
            } => Some(end * 2),
            _ => None,
        }
    }

    /// The test as it stands in JSON, in the attribute's unit.
    pub fn to_json(&self, attr: Attr) -> Value {
        let end = |raw: &Option<i64>| raw.map_or(Value::Null, |r| attr.to_json(r));
        match self {
            Self::OneOf(values) => {
                serde_json::json!({ "one_of": values.iter().map(|v| attr.to_json(*v)).collect::<Vec<_>>() })
            }
            Self::Range { min, max } => serde_json::json!({ "min": end(min), "max": end(max) }),
        }
    }

    /// Reads a test of an attribute.
    ///
    /// # Errors
    /// A [`Fault`] that points into the test.
    pub fn from_json(attr: Attr, value: &Value) -> Result<Self, Fault> {
        let shape = || {
            let detail = "a test is exactly one of {\"one_of\": […]} and {\"min\": x, \"max\": y}";
            Fault::at("", FaultCode::WrongForm, detail)
        };
        let map = value.as_object().ok_or_else(shape)?;
        let inner = |value: &Value, path: &str| {
            attr.from_json(value)
                .map_err(|f| Fault::at(path, f.code, f.detail))
        };
        if let Some(values) = map.get("one_of") {
            let values = values
                .as_array()
                .filter(|v| map.len() == 1 && !v.is_empty())
                .ok_or_else(shape)?;
            let values = values
                .iter()
                .enumerate()
                .map(|(i, v)| inner(v, &format!("one_of/{i}")));
            return Ok(Self::OneOf(values.collect::<Result<_, _>>()?));
        }
        if map.keys().any(|k| k != "min" && k != "max") || map.is_empty() {
            return Err(shape());
        }
        if attr.declared().asked != Asked::Range {
            let detail = format!("{attr} is asked for by one_of, not by a range");
            return Err(Fault::at("", FaultCode::WrongForm, detail));
        }
        let end = |name: &str| {
            map.get(name)
                .filter(|v| !v.is_null())
                .map(|v| Self::limit(attr, v, name))
                .transpose()
        };
        let (min, max) = (end("min")?, end("max")?);
        if let (Some(min), Some(max)) = (min, max)
            && min > max
        {
            return Err(Fault::at(
                "min",
                FaultCode::Contradiction,
                "the range ends before it begins",
            ));
        }
        Ok(Self::Range { min, max })
    }

    /// An end of a range: as fine as the attribute, but it may lie outside the attribute's bounds
    /// (a heat window may end above 200).
    fn limit(attr: Attr, value: &Value, name: &str) -> Result<i64, Fault> {
        let number = value.as_f64().ok_or_else(|| {
            Fault::at(
                name,
                FaultCode::WrongType,
                format!("an end is a number, not {value}"),
            )
        })?;
        exact(number, attr.decimals())
            .map_err(|e| Fault::at(name, FaultCode::TooFine, e.to_string()))
    }
}

/// One thing that a plug has to be, or had better be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Demand {
    /// The attribute that the test is put to.
    pub attribute: Attr,
    /// Whether failing it rules the plug out.
    pub strength: Strength,
    /// The test.
    pub test: Test,
    /// In every must: what an unknown value does.
    pub unknown: Option<WhenUnknown>,
    /// Why, in a plain sentence.
    pub reason: String,
    /// What it rests on.
    pub basis: Basis,
}

impl Demand {
    /// A demand that rules out what fails it.
    pub(crate) fn must(
        attribute: Attr,
        test: Test,
        unknown: WhenUnknown,
        reason: impl Into<String>,
        basis: impl Into<Basis>,
    ) -> Self {
        let (reason, basis) = (reason.into(), basis.into());
        Self {
            attribute,
            strength: Strength::Must,
            test,
            unknown: Some(unknown),
            reason,
            basis,
        }
    }

    /// A demand that only moves back what fails it.
    pub(crate) fn prefer(
        attribute: Attr,
        test: Test,
        reason: impl Into<String>,
        basis: impl Into<Basis>,
    ) -> Self {
        let (reason, basis) = (reason.into(), basis.into());
        Self {
            attribute,
            strength: Strength::Prefer,
            test,
            unknown: None,
            reason,
            basis,
        }
    }
}

impl Serialize for Demand {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let mut map = s.serialize_map(None)?;
        map.serialize_entry("attribute", &self.attribute)?;
        map.serialize_entry("strength", &self.strength)?;
        map.serialize_entry("test", &self.test.to_json(self.attribute))?;
        if let Some(unknown) = self.unknown {
            map.serialize_entry("unknown", &unknown)?;
        }
        map.serialize_entry("reason", &self.reason)?;
        map.serialize_entry("basis", &self.basis)?;
        map.end()
    }
}
