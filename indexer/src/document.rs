//! A catalogue record as a document of the index.

use plugwell_domain::plug::{Plug, Shows};
use plugwell_domain::spelling::bare;
use tantivy::{TantivyDocument, Term};
use uuid::Uuid;

use crate::schema::{Fields, beginning};
use crate::{IndexError, key};

/// The document of a record.
///
/// # Errors
/// [`IndexError::OutOfBounds`] for a value that no record can hold.
pub(crate) fn document(
    fields: &Fields,
    ordinal: u32,
    plug: &Plug,
) -> Result<TantivyDocument, IndexError> {
    let mut document = TantivyDocument::default();
    document.add_bytes(fields.id, plug.id.as_bytes());
    let (high, low) = plug.id.as_u64_pair();
    document.add_u64(fields.id_halves[0], high);
    document.add_u64(fields.id_halves[1], low);
    document.add_u64(fields.ordinal, u64::from(ordinal));
    for fact in &fields.facts {
        let kept = fact.keeping.keep(plug.shown(fact.attr));
        let outside = IndexError::OutOfBounds {
            id: plug.id,
            attribute: fact.attr,
        };
        document.add_u64(fact.field, kept.ok_or(outside)?);
    }
    // A retired record is found by its words and by measurements only: its key lies behind all that
    // a match looks at.
    let key = if plug.retired {
        key::RETIRED
    } else {
        key::of(plug)
    };
    document.add_u64(fields.key, key);
    document.add_text(fields.printed, &plug.data.part_number);
    document.add_u64(fields.beginning, beginning(&plug.data.part_number));
    document.add_text(fields.part, bare(&plug.data.part_number));
    if let Some(gtin) = &plug.data.gtin {
        document.add_text(fields.gtin, gtin.as_str());
    }
    document.add_text(fields.text, &plug.data.maker);
    if let Some(description) = &plug.data.description {
        document.add_text(fields.text, description);
    }
    Ok(document)
}

/// What a delete looks for.
pub(crate) fn id_term(fields: &Fields, id: Uuid) -> Term {
    Term::from_field_bytes(fields.id, id.as_bytes())
}
