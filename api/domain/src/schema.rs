//! OpenAPI schemas of what the attribute table declares: a plug in a request and in an answer, and
//! the demands that are put to it. Bounds, units and meanings are added by the member's name when
//! the document is put together.

use std::borrow::Cow;

use utoipa::openapi::schema::{
    AdditionalProperties, ArrayBuilder, OneOfBuilder, Schema, SchemaType, Type,
};
use utoipa::openapi::{Object, ObjectBuilder, Ref, RefOr};
use utoipa::{PartialSchema, ToSchema};

use crate::attribute::{Attr, Kind};
use crate::caution::Caution;
use crate::fitment::ToldPlug;
use crate::plug::{DESCRIPTION_MAX, NAME_MAX, Plug, PlugData};
use crate::requirement::{
    Basis, Demand, GapNeed, HeatNeed, Quantity, Requirement, Strength, Test, TorqueNeed,
    Unanswered, WhenUnknown,
};
use crate::thread::Thread;
use crate::words::{
    Electrode, Ground, HexKind, ProjectionClass, Provenance, Seat, Status, Terminal,
};

type Schemas = Vec<(String, RefOr<Schema>)>;

fn refer<T: ToSchema>() -> Ref {
    Ref::from_schema_name(T::name())
}

/// Puts the schema of a type, and of what it refers to, into the list.
fn collect<T: ToSchema>(schemas: &mut Schemas) {
    schemas.push((T::name().into_owned(), T::schema()));
    T::schemas(schemas);
}

fn null() -> Object {
    ObjectBuilder::new().schema_type(Type::Null).build()
}

fn nullable(schema: impl Into<RefOr<Schema>>) -> Schema {
    OneOfBuilder::new().item(null()).item(schema).into()
}

fn or_null(type_: Type) -> SchemaType {
    SchemaType::from_iter([type_, Type::Null])
}

fn text(max: usize) -> ObjectBuilder {
    ObjectBuilder::new()
        .schema_type(or_null(Type::String))
        .min_length(Some(1))
        .max_length(Some(max))
}

fn name() -> ObjectBuilder {
    ObjectBuilder::new()
        .schema_type(Type::String)
        .min_length(Some(1))
        .max_length(Some(NAME_MAX))
}

fn format(type_: impl Into<SchemaType>, format: &str) -> ObjectBuilder {
    let format = utoipa::openapi::SchemaFormat::Custom(format.to_owned());
    ObjectBuilder::new().schema_type(type_).format(Some(format))
}

fn closed() -> ObjectBuilder {
    ObjectBuilder::new()
        .schema_type(Type::Object)
        .additional_properties(Some(AdditionalProperties::<Schema>::FreeForm(false)))
}

/// The list of words that an attribute's values come from.
fn choice(attr: Attr) -> Option<Ref> {
    Some(match attr {
        Attr::Thread => refer::<Thread>(),
        Attr::Seat => refer::<Seat>(),
        Attr::HexKind => refer::<HexKind>(),
        Attr::Electrode => refer::<Electrode>(),
        Attr::Ground => refer::<Ground>(),
        Attr::Terminal => refer::<Terminal>(),
        _ => return None,
    })
}

fn value(attr: Attr) -> Schema {
    match attr.declared().kind {
        Kind::Number { decimals: 0, .. } => ObjectBuilder::new()
            .schema_type(or_null(Type::Integer))
            .into(),
        Kind::Number { .. } => ObjectBuilder::new()
            .schema_type(or_null(Type::Number))
            .into(),
        Kind::Flag => ObjectBuilder::new()
            .schema_type(or_null(Type::Boolean))
            .into(),
        Kind::Choice(words) => match choice(attr) {
            Some(list) => nullable(list),
            None => ObjectBuilder::new()
                .schema_type(Type::String)
                .enum_values(Some(words.iter().copied()))
                .into(),
        },
    }
}

/// The members that a request and an answer share, in the order in which they are written.
fn members(mut object: ObjectBuilder) -> ObjectBuilder {
    object = object
        .property(
            "maker",
            name().description(Some(
                "Maker's name; together with the part number unique, case-blind.",
            )),
        )
        .property(
            "part_number",
            name().description(Some("The maker's part number as printed.")),
        )
        .property(
            "gtin",
            format(or_null(Type::String), "gtin").description(Some(
                "Barcode on the pack: GTIN-8, 12, 13 or 14 with a right check digit.",
            )),
        )
        .property(
            "description",
            text(DESCRIPTION_MAX).description(Some("Free text.")),
        );
    for attr in Attr::ALL {
        object = object.property(attr.word(), value(*attr));
    }
    let mut provenance = closed().description(Some(
        "Where values come from; an attribute without an entry counts as `maker_sheet`, an `assumed` value is \
         tested as unknown.",
    ));
    for attr in Attr::ALL {
        provenance = provenance.property(attr.word(), refer::<Provenance>());
    }
    object
        .property(
            "heat_scale_id",
            format(or_null(Type::String), "uuid")
                .description(Some("The scale that `heat_code` belongs to.")),
        )
        .property(
            "heat_code",
            text(NAME_MAX).description(Some("The maker's own heat code as printed.")),
        )
        .property("status", nullable(refer::<Status>()))
        .property(
            "superseded_by",
            format(or_null(Type::String), "uuid")
                .description(Some("The part that took its place.")),
        )
        .property("provenance", nullable(Schema::from(provenance)))
}

fn shared_lists(schemas: &mut Schemas) {
    collect::<Thread>(schemas);
    collect::<Seat>(schemas);
    collect::<HexKind>(schemas);
    collect::<Electrode>(schemas);
    collect::<Ground>(schemas);
    collect::<Terminal>(schemas);
    collect::<Status>(schemas);
    collect::<Provenance>(schemas);
}

impl PartialSchema for PlugData {
    fn schema() -> RefOr<Schema> {
        members(closed())
            .description(Some(
                "What somebody has established about a part; null is unknown, never a default.",
            ))
            .required("maker")
            .required("part_number")
            .into()
    }
}

impl ToSchema for PlugData {
    fn schemas(schemas: &mut Schemas) {
        shared_lists(schemas);
    }
}

impl PartialSchema for ToldPlug {
    fn schema() -> RefOr<Schema> {
        members(closed())
            .description(Some(
                "A plug as somebody tells of it: any members of a record, none of which has to be given.",
            ))
            .into()
    }
}

impl ToSchema for ToldPlug {
    fn schemas(schemas: &mut Schemas) {
        shared_lists(schemas);
    }
}

impl PartialSchema for Plug {
    fn schema() -> RefOr<Schema> {
        let instant = || format(Type::String, "date-time");
        let object = ObjectBuilder::new()
            .schema_type(Type::Object)
            .description(Some("A catalogue record."))
            .property(
                "id",
                format(Type::String, "uuid").description(Some("UUID v7 made by the service.")),
            );
        let object = members(object)
            .property("projection_class", nullable(refer::<ProjectionClass>()))
            .property(
                "retired",
                ObjectBuilder::new()
                    .schema_type(Type::Boolean)
                    .description(Some("Left out of lists and matches, kept for its history.")),
            )
            .property(
                "version",
                ObjectBuilder::new()
                    .schema_type(Type::Integer)
                    .description(Some("Counts the changes, from 1.")),
            )
            .property(
                "created_at",
                instant().description(Some("When it was first stored.")),
            )
            .property(
                "updated_at",
                instant().description(Some("When it last changed.")),
            );
        let object: Object = object.build();
        let every: Vec<String> = object.properties.keys().cloned().collect();
        every
            .into_iter()
            .fold(ObjectBuilder::from(object), ObjectBuilder::required)
            .into()
    }
}

impl ToSchema for Plug {
    fn schemas(schemas: &mut Schemas) {
        shared_lists(schemas);
        collect::<ProjectionClass>(schemas);
    }
}

impl PartialSchema for Test {
    fn schema() -> RefOr<Schema> {
        let values =
            ArrayBuilder::new().items(ObjectBuilder::new().schema_type(SchemaType::AnyValue));
        let end = || ObjectBuilder::new().schema_type(or_null(Type::Number));
        let one_of = closed()
            .property("one_of", values.description(Some("Values that pass.")))
            .required("one_of");
        let range = closed()
            .property(
                "min",
                end().description(Some("Least value that passes; null leaves it open.")),
            )
            .property(
                "max",
                end().description(Some("Greatest value that passes; null leaves it open.")),
            );
        OneOfBuilder::new()
            .item(one_of)
            .item(range)
            .description(Some(
                "What a value has to be, in the attribute's unit; ends are included.",
            ))
            .into()
    }
}

impl ToSchema for Test {
    fn name() -> Cow<'static, str> {
        "Test".into()
    }
}

/// A demand; one that is read may carry more, and lack what only explains it.
fn demand(object: ObjectBuilder) -> ObjectBuilder {
    let reason = ObjectBuilder::new()
        .schema_type(Type::String)
        .description(Some("Why, in a plain sentence."));
    object
        .schema_type(Type::Object)
        .property("attribute", refer::<Attr>())
        .property("strength", refer::<Strength>())
        .property("test", refer::<Test>())
        .property("unknown", nullable(refer::<WhenUnknown>()))
        .property("reason", reason)
        .property("basis", refer::<Basis>())
        .required("attribute")
        .required("strength")
        .required("test")
}

impl PartialSchema for Demand {
    fn schema() -> RefOr<Schema> {
        demand(ObjectBuilder::new())
            .description(Some(
                "One thing that a plug has to be, or had better be; every must says `unknown`.",
            ))
            .required("reason")
            .required("basis")
            .into()
    }
}

impl ToSchema for Demand {
    fn schemas(schemas: &mut Schemas) {
        collect::<Attr>(schemas);
        collect::<Strength>(schemas);
        collect::<Test>(schemas);
        collect::<WhenUnknown>(schemas);
        collect::<Basis>(schemas);
    }
}

fn list_of<T: ToSchema>() -> ArrayBuilder {
    ArrayBuilder::new().items(refer::<T>())
}

impl PartialSchema for Requirement {
    fn schema() -> RefOr<Schema> {
        let version = ObjectBuilder::new()
            .schema_type(or_null(Type::Integer))
            .description(Some(
                "The policy that it was made with; null where the requirement was posted.",
            ));
        ObjectBuilder::new()
            .schema_type(Type::Object)
            .description(Some("All that a build needs of its plugs."))
            .property("policy_version", version)
            .property(
                "demands",
                list_of::<Demand>()
                    .description(Some("What a plug has to meet, or had better meet.")),
            )
            .property("heat", refer::<HeatNeed>())
            .property("gap", refer::<GapNeed>())
            .property("quantity", refer::<Quantity>())
            .property("torque_nm", nullable(refer::<TorqueNeed>()))
            .property(
                "cautions",
                list_of::<Caution>().description(Some("What to beware of.")),
            )
            .property(
                "unanswered",
                list_of::<Unanswered>().description(Some(
                    "What nobody has established of the build, each with the question to ask.",
                )),
            )
            .required("policy_version")
            .required("demands")
            .required("heat")
            .required("gap")
            .required("quantity")
            .required("torque_nm")
            .required("cautions")
            .required("unanswered")
            .into()
    }
}

impl ToSchema for Requirement {
    fn schemas(schemas: &mut Schemas) {
        collect::<Demand>(schemas);
        collect::<HeatNeed>(schemas);
        collect::<GapNeed>(schemas);
        collect::<Quantity>(schemas);
        collect::<TorqueNeed>(schemas);
        collect::<Caution>(schemas);
        collect::<Unanswered>(schemas);
    }
}
