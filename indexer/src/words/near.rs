//! Part numbers that are spelled nearly so.

use std::collections::{BTreeSet, HashSet};

use plugwell_domain::spelling::{SLIP_FROM, SPELLINGS, bare, lookalikes};
use tantivy::Term;
use tantivy::query::FuzzyTermQuery;
use tantivy::schema::Field;
use uuid::Uuid;

use super::{Ranking, beginning};
use crate::IndexError;
use crate::schema;
use crate::view::View;

/// Records whose part number is spelled like this one, nearest first.
pub(crate) fn near(view: &View, part_number: &str, limit: usize) -> Result<Vec<Uuid>, IndexError> {
    let field = schema::schema().1.part;
    let own = bare(part_number);
    let mut found = Ranking {
        limit,
        ids: Vec::new(),
        seen: HashSet::new(),
    };
    if own.is_empty() {
        return Ok(found.ids);
    }
    found.extend(beginning::exact(view, field, &own)?);
    for spelling in lookalikes(&own, SPELLINGS) {
        found.extend(beginning::exact(view, field, &spelling)?);
    }
    if own.chars().count() >= SLIP_FROM {
        for other in one_slip_away(view, field, &own)? {
            found.extend(beginning::exact(view, field, &other)?);
        }
    }
    Ok(found.ids)
}

/// The text itself and those that one slip makes of it, as far as terms of a field: one character
/// wrong, missing, too many, or two exchanged.
pub(super) fn one_slip_away(
    view: &View,
    field: Field,
    text: &str,
) -> Result<BTreeSet<String>, IndexError> {
    let automaton = FuzzyTermQuery::new(Term::from_field_text(field, text), 1, true).automaton()?;
    let mut terms = BTreeSet::new();
    for reader in view.searcher.segment_readers() {
        let inverted = reader.inverted_index(field)?;
        let mut stream = inverted.terms().search(&automaton).into_stream()?;
        while stream.advance() {
            terms.extend(std::str::from_utf8(stream.key()).map(str::to_owned));
        }
    }
    Ok(terms)
}
