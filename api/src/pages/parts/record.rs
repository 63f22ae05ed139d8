//! The form of a part's record, derived from the declared attributes, and the record that it means.

use std::sync::LazyLock;

use plugwell_domain::attribute::{Attr, Kind};
use plugwell_domain::plug::{Plug, PlugData};
use plugwell_domain::words::{Provenance, Status};
use serde_json::{Map, Value};

use crate::pages::field::{Field, Wrong};
use crate::pages::form::{self, Declared, Form, Stored, field, needed, worded};
use crate::pages::part;
use crate::pages::typed::Typed;
use crate::pages::words::{Word, say, say_with};
use crate::service::{Refusal, Shop, catalogue};

/// Who it is.
pub(super) const NAMED: &[Declared] = &[
    needed(field(
        "maker",
        "parts-maker",
        Form::Words,
        "parts-maker-hint-2",
    )),
    needed(field(
        "part_number",
        "parts-part-number",
        Form::Words,
        "parts-part-number-hint",
    )),
    field(
        "gtin",
        "parts-barcode-on-the-box",
        Form::Words,
        "parts-barcode-on-the-box-hint",
    ),
    field(
        "description",
        "parts-description",
        Form::Words,
        "parts-description-hint",
    ),
];

/// Where its heat comes from.
const SCALE: &[Declared] = &[
    field(
        "heat_scale",
        "parts-heat-scale",
        Form::Stored(Stored::HeatScale),
        "parts-heat-scale-hint",
    ),
    field(
        "heat_code",
        "parts-heat-code",
        Form::Words,
        "parts-heat-code-hint",
    ),
];

/// How it stands.
const STANDING: &[Declared] = &[
    field(
        "status",
        "parts-status",
        Form::One(Status::WORDS),
        "parts-status-hint",
    ),
    field(
        "superseded_by",
        "parts-its-place-was-taken-by",
        Form::Part,
        "parts-its-place-was-taken-by-hint",
    ),
];

/// Only of a record that stands already.
const RETIRED: Declared = field(
    "retired",
    "parts-retired",
    Form::Flag,
    "parts-retired-hint-2",
);

/// Attributes that belong together.
pub(super) const GROUPS: &[(&str, &[Attr])] = &[
    (
        "parts-thread-and-seat",
        &[
            Attr::Thread,
            Attr::Reach,
            Attr::Seat,
            Attr::Hex,
            Attr::HexKind,
        ],
    ),
    ("parts-heat", &[Attr::Heat]),
    (
        "parts-firing-end",
        &[
            Attr::Projection,
            Attr::StrapExtent,
            Attr::Electrode,
            Attr::Ground,
            Attr::GapPreset,
            Attr::GapMin,
            Attr::GapMax,
        ],
    ),
    (
        "parts-resistor-terminal-heights",
        &[
            Attr::Resistor,
            Attr::Resistance,
            Attr::Terminal,
            Attr::Overall,
            Attr::Insulator,
        ],
    ),
    (
        "parts-fitting-and-box",
        &[Attr::Torque, Attr::ServiceLife, Attr::PackSize],
    ),
];

/// An attribute's field, and the one that says where its value comes from.
static OF_ATTRIBUTES: LazyLock<Vec<(Attr, Declared, Declared)>> = LazyLock::new(|| {
    let declared = |attr: &Attr| {
        let known = attr.declared();
        let form = match known.kind {
            Kind::Number {
                decimals: 0, unit, ..
            } => Form::Counted(unit),
            Kind::Number { unit, .. } => Form::Measured(unit),
            Kind::Flag => Form::Flag,
            Kind::Choice(words) => Form::One(words),
        };
        let own = worded(
            attr.word(),
            Word::Own(known.label),
            form,
            Word::Own(known.measure),
        );
        // Made once for the life of the process, as names of fields have to be.
        let [name, label] = [
            format!("{}_from", attr.word()),
            say_with("parts-label-comes-from", &[("label", &known.label)]),
        ]
        .map(|text| &*Box::leak(text.into_boxed_str()));
        (
            *attr,
            own,
            worded(
                name,
                Word::Own(label),
                Form::One(Provenance::WORDS),
                Word::Own(""),
            ),
        )
    };
    Attr::ALL.iter().map(declared).collect()
});

/// Fields of the form that belong together: those of attributes with where they come from.
#[derive(Debug)]
pub(super) struct Group {
    pub legend: &'static str,
    pub fields: Vec<(Field, Option<Field>)>,
}

impl Group {
    /// All fields, to put to them what is wrong.
    pub fn all(&mut self) -> impl Iterator<Item = &mut Field> {
        self.fields
            .iter_mut()
            .flat_map(|(own, source)| std::iter::once(own).chain(source))
    }
}

/// The fields with what was typed.
pub(super) fn groups(shop: &Shop, typed: &Typed, is_new: bool) -> Result<Vec<Group>, Refusal> {
    let plain = |legend, declared: &[Declared]| {
        let fields = form::all_shown(shop, declared, typed)?;
        let fields = fields.into_iter().map(|field| (field, None)).collect();
        Ok::<_, Refusal>(Group { legend, fields })
    };
    let mut groups = vec![plain(say("parts-the-part"), NAMED)?];
    for (legend, attrs) in GROUPS {
        let mut group = Group {
            legend: say(legend),
            fields: Vec::new(),
        };
        for (_, own, source) in OF_ATTRIBUTES
            .iter()
            .filter(|(attr, ..)| attrs.contains(attr))
        {
            let own = form::shown(shop, own, typed)?;
            group
                .fields
                .push((own, Some(form::shown(shop, source, typed)?)));
        }
        if attrs.contains(&Attr::Heat) {
            group.fields.extend(plain("", SCALE)?.fields);
        }
        groups.push(group);
    }
    let mut standing = plain(say("parts-how-it-stands"), STANDING)?;
    if !is_new {
        standing.fields.extend(plain("", &[RETIRED])?.fields);
    }
    groups.push(standing);
    Ok(groups)
}

/// The fields whose members stand in the record under their own names.
fn declared() -> Vec<Declared> {
    let of_attributes = OF_ATTRIBUTES.iter().map(|(_, own, _)| *own);
    let named = NAMED.iter().chain(SCALE).chain(STANDING).copied();
    named.chain([RETIRED]).chain(of_attributes).collect()
}

/// A record as it would be typed.
pub(super) fn typed(shop: &Shop, plug: &Plug) -> Result<Typed, Refusal> {
    let record = as_value(plug);
    let mut typed = form::as_typed(&declared(), &record);
    for (attr, _, source) in OF_ATTRIBUTES.iter() {
        if let Some(from) = plug.data.provenance.get(attr) {
            typed.put(source.name, from.word());
        }
    }
    if let Some(next) = plug.data.superseded_by {
        typed.put("superseded_by", part::name(&catalogue::get(shop, next)?));
    }
    Ok(typed)
}

fn as_value(plug: &Plug) -> Value {
    let mut map = plug.data.to_map();
    map.insert("retired".into(), plug.retired.into());
    Value::Object(map)
}

/// The record that was typed, for the same checks as over HTTP.
pub(super) fn object(
    shop: &Shop,
    typed: &Typed,
) -> Result<(Map<String, Value>, Vec<Wrong>), Refusal> {
    let (mut map, wrong) = form::object(shop, &declared(), typed)?;
    if let Some(next) = map.remove("superseded_by_id") {
        map.insert("superseded_by".into(), next);
    }
    let sources = OF_ATTRIBUTES.iter().filter_map(|(attr, _, source)| {
        let from = typed.one(source.name);
        (!from.is_empty()).then(|| (attr.word().to_owned(), Value::from(from)))
    });
    let sources: Map<String, Value> = sources.collect();
    if !sources.is_empty() {
        map.insert("provenance".into(), Value::Object(sources));
    }
    Ok((map, wrong))
}

/// What differs from a record, as a patch of it: an index that stays is asked of its scale again.
pub(super) fn patch(given: &Map<String, Value>, plug: &Plug) -> Map<String, Value> {
    let record = as_value(plug);
    let mut declared = declared();
    // Its member has no ending of an identifier.
    declared.retain(|one| one.name != "superseded_by");
    declared.push(field("superseded_by", "", Form::Words, ""));
    let mut patch = crate::pages::changing::differing(&declared, given, &record);
    if patch.get("status").is_some_and(Value::is_null) {
        patch.insert("status".into(), Status::Active.word().into());
    }
    if patch.get("retired").is_some_and(Value::is_null) {
        patch.remove("retired");
    }
    let now = given.get("provenance").and_then(Value::as_object);
    let sources = Attr::ALL.iter().filter_map(|attr| {
        let from = now.and_then(|map| map.get(attr.word())).cloned();
        let before = plug.data.provenance.get(attr).map(|from| from.word());
        (from.as_ref().and_then(Value::as_str) != before)
            .then(|| (attr.word().to_owned(), from.unwrap_or(Value::Null)))
    });
    let sources: Map<String, Value> = sources.collect();
    if !sources.is_empty() {
        patch.insert("provenance".into(), Value::Object(sources));
    }
    patch
}

/// What a record that somebody else changed says now, field by field.
pub(super) fn meanwhile(shop: &Shop, typed: &Typed, plug: &Plug) -> Result<Vec<Wrong>, Refusal> {
    let mut declared = declared();
    declared.retain(|one| one.name != "superseded_by");
    crate::pages::changing::meanwhile(shop, &declared, typed, &as_value(plug))
}

/// Where a value comes from, in words; nothing of what is unknown.
pub(super) fn source(data: &PlugData, attr: Attr) -> &'static str {
    if data.facts.get(attr).is_none() {
        return "";
    }
    match data.provenance.get(&attr) {
        None | Some(Provenance::MakerSheet) => say("parts-the-maker-sheet"),
        Some(Provenance::Measured) => say("parts-measured-in-the-shop"),
        Some(Provenance::SupplierFeed) => say("parts-a-supplier-data"),
        Some(Provenance::Assumed) => say("parts-assumed-every-test-treats-unknown"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_attribute_stands_in_one_group() {
        for attr in Attr::ALL {
            let groups = GROUPS.iter().filter(|(_, attrs)| attrs.contains(attr));
            assert_eq!(groups.count(), 1, "{attr}");
        }
    }

    #[test]
    fn a_patch_has_what_differs_and_sources_one_by_one() {
        let at = crate::service::now();
        let mut data = PlugData::named("Ferrowick", "FW-1");
        data.facts.set(Attr::Reach, Some(190_000));
        data.provenance.insert(Attr::Reach, Provenance::Assumed);
        let plug = Plug {
            id: crate::service::new_id(),
            data,
            retired: false,
            version: 1,
            created_at: at,
            updated_at: at,
        };
        let given = serde_json::json!({
            "maker": "Ferrowick", "part_number": "FW-2", "reach_mm": 19.0, "retired": false,
            "provenance": { "hex_mm": "measured" },
        });
        let patch = patch(given.as_object().unwrap(), &plug);
        let expected = serde_json::json!({
            "part_number": "FW-2", "status": "active",
            "provenance": { "reach_mm": null, "hex_mm": "measured" },
        });
        assert_eq!(Value::Object(patch), expected);
    }
}
