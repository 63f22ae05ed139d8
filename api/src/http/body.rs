//! Bodies that the endpoints take, each read from a value that its schema has passed.

use std::borrow::Cow;
use std::marker::PhantomData;

use plugwell_domain::build::{Build, Head};
use plugwell_domain::fault::{Check, Fault, FaultCode};
use plugwell_domain::heat_scale::HeatScaleData;
use plugwell_domain::ledger::commands::{
    Issue, NewPlace, PlaceName, Receipt, Reserve, Return, Reversal, Scrapping, Transfer,
};
use plugwell_domain::plug::PlugData;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};
use utoipa::openapi::schema::{ObjectBuilder, Schema, SchemaType};
use utoipa::openapi::{RefOr, Type};
use utoipa::{PartialSchema, ToSchema};

use crate::http::shapes;

/// A body of its own kind, one for each endpoint.
pub trait Body: ToSchema + Sized + 'static {
    /// Media types that it comes in.
    const MEDIA: &'static [&'static str] = &["application/json"];
    /// Flags that only a PATCH sets, with what they mean.
    const FLAGS: &'static [(&'static str, &'static str)] = &[];

    /// Reads it from a value that has passed its schema.
    ///
    /// # Errors
    /// Every fault of the rules between members.
    fn read(value: Value) -> Result<Self, Vec<Fault>>;

    /// Checks a raw value as a whole: its schema first, then the rules between members.
    ///
    /// # Errors
    /// Every fault of the first of the two that finds any.
    fn check(value: Value) -> Result<Self, Vec<Fault>> {
        let faults = shapes::faults(&Self::name(), &value);
        if faults.is_empty() {
            Self::read(value)
        } else {
            Err(faults)
        }
    }
}

/// Reads a type that says its own rules.
///
/// # Errors
/// Every fault.
pub fn checked<T: DeserializeOwned + Check>(value: Value) -> Result<T, Vec<Fault>> {
    // What the schema lets pass and the type refuses has no pointer of its own.
    let read: T = serde_json::from_value(value)
        .map_err(|e| vec![Fault::at("", FaultCode::WrongForm, e.to_string())])?;
    let faults = read.faults();
    if faults.is_empty() {
        Ok(read)
    } else {
        Err(faults)
    }
}

/// The fault of a choice of members of which exactly one has to be given: of two the second is one
/// too many.
pub fn choice(given: &[(&str, bool)]) -> Option<Fault> {
    let names: Vec<&str> = given.iter().map(|(name, _)| *name).collect();
    let detail = match names.as_slice() {
        [first @ .., last] => format!("give exactly one of {} and {last}", first.join(", ")),
        [] => return None,
    };
    let mut present = given.iter().filter(|(_, is)| *is);
    match (present.next(), present.next()) {
        (None, _) => Some(Fault::at("", FaultCode::Missing, detail)),
        (Some(_), None) => None,
        (Some(_), Some((name, _))) => Some(Fault::at(name, FaultCode::NotTogether, detail)),
    }
}

/// Declares bodies that are read by [`checked`].
macro_rules! bodies {
    ($($name:ty),+ $(,)?) => {
        $(impl $crate::http::body::Body for $name {
            fn read(value: serde_json::Value) -> Result<Self, Vec<plugwell_domain::fault::Fault>> {
                $crate::http::body::checked(value)
            }
        })+
    };
}
pub(super) use bodies;

bodies!(
    Head,
    Build,
    HeatScaleData,
    NewPlace,
    Receipt,
    Issue,
    Return,
    Transfer,
    Scrapping,
    Reversal,
    Reserve
);

impl Body for PlaceName {
    const FLAGS: &'static [(&'static str, &'static str)] = &[(
        "retired",
        "Nothing more is put into it; what lies there can still be taken out.",
    )];

    fn read(value: Value) -> Result<Self, Vec<Fault>> {
        checked(value)
    }
}

impl Body for PlugData {
    const FLAGS: &'static [(&'static str, &'static str)] = &[(
        "retired",
        "Leaves it out of lists and matches, and keeps it for its history.",
    )];

    fn read(value: Value) -> Result<Self, Vec<Fault>> {
        match value {
            Value::Object(map) => Self::from_map(&map),
            _ => Err(vec![Fault::at(
                "",
                FaultCode::WrongType,
                "a plug is an object",
            )]),
        }
    }
}

/// A JSON merge patch (RFC 7396) of a `T`: what it names is changed, null clears, all else stays.
///
/// Its schema is that of `T` with nothing required; a member that `T` requires cannot be cleared.
#[derive(Debug, Clone)]
pub struct Patch<T> {
    /// The members to change.
    pub members: Map<String, Value>,
    of: PhantomData<fn() -> T>,
}

/// The member of a patch's schema that names what is patched, until the document is put together.
pub(super) const PATCH_OF: &str = "x-patch-of";

impl<T: Body> PartialSchema for Patch<T> {
    fn schema() -> RefOr<Schema> {
        let mut object = ObjectBuilder::new()
            .schema_type(SchemaType::new(Type::Object))
            .extensions(Some(
                utoipa::openapi::extensions::Extensions::builder()
                    .add(PATCH_OF, T::name())
                    .build(),
            ));
        for (flag, meaning) in T::FLAGS {
            object = object.property(
                *flag,
                ObjectBuilder::new()
                    .schema_type(SchemaType::new(Type::Boolean))
                    .description(Some(*meaning)),
            );
        }
        object.into()
    }
}

impl<T: Body> ToSchema for Patch<T> {
    fn name() -> Cow<'static, str> {
        patch_name(&T::name()).into()
    }

    fn schemas(schemas: &mut Vec<(String, RefOr<Schema>)>) {
        schemas.push((T::name().into_owned(), T::schema()));
        T::schemas(schemas);
    }
}

/// What the schema of a patch is called.
pub(super) fn patch_name(of: &str) -> String {
    format!("{}Patch", of.strip_suffix("Data").unwrap_or(of))
}

impl<T: Body> Body for Patch<T> {
    const MEDIA: &'static [&'static str] = &["application/merge-patch+json", "application/json"];

    fn read(value: Value) -> Result<Self, Vec<Fault>> {
        match value {
            Value::Object(members) => Ok(Self {
                members,
                of: PhantomData,
            }),
            _ => Err(vec![Fault::at(
                "",
                FaultCode::WrongType,
                "a patch is an object",
            )]),
        }
    }
}
