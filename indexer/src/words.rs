//! Free text: part number and barcode first, then the words of maker and description.

mod beginning;
mod near;

use std::collections::{BTreeSet, HashSet};

use plugwell_domain::spelling::{SLIP_FROM, bare};
use tantivy::collector::TopDocs;
use tantivy::query::{BooleanQuery, BoostQuery, ConstScoreQuery, Query, TermQuery};
use tantivy::schema::IndexRecordOption;
use tantivy::{DocAddress, Term};
use uuid::Uuid;

use crate::IndexError;
use crate::schema::{self, Fields};
use crate::view::View;
use beginning::PartsBeginning;
pub(crate) use near::near;

/// What a mistyped word counts against the same word typed well.
const TYPO_WEIGHT: f32 = 0.1;
/// What a part number or barcode among other words counts: more than words come to.
const NAMED_WEIGHT: f32 = 1000.0;
/// What a part number's beginning counts among other words.
const BEGINNING_WEIGHT: f32 = 100.0;
/// Up to so many words are also read as a part number that is written with spaces.
const JOINED_UP_TO: usize = 8;

/// The records that a text means, best first.
pub(crate) fn search(view: &View, text: &str, limit: usize) -> Result<Vec<Uuid>, IndexError> {
    let chunks: Vec<&str> = text
        .split_whitespace()
        .filter(|c| !bare(c).is_empty())
        .collect();
    if limit == 0 || chunks.is_empty() {
        return Ok(Vec::new());
    }
    let mut found = Ranking {
        limit,
        ids: Vec::new(),
        seen: HashSet::new(),
    };
    let words = Words {
        view,
        fields: schema::schema().1,
    };
    let whole = bare(text);
    // The same number by several makers, and the same barcode on several packs, stand by id.
    found.extend(beginning::exact(view, words.fields.part, &whole)?);
    found.extend(beginning::exact(view, words.fields.gtin, &whole)?);
    found.extend(beginning::first(view, &whole, limit)?);
    if found.ids.len() < limit {
        found.extend(words.ranked(words.all(&chunks)?.as_ref(), limit)?);
    }
    if found.ids.is_empty() {
        found.extend(words.ranked(words.some(&chunks)?.as_ref(), limit)?);
    }
    Ok(found.ids)
}

/// Ids in the order in which they were found, each once.
struct Ranking {
    limit: usize,
    ids: Vec<Uuid>,
    seen: HashSet<Uuid>,
}

impl Ranking {
    fn extend(&mut self, ids: impl IntoIterator<Item = Uuid>) {
        for id in ids {
            if self.ids.len() < self.limit && self.seen.insert(id) {
                self.ids.push(id);
            }
        }
    }
}

type AnyQuery = Box<dyn Query>;

struct Words<'v> {
    view: &'v View,
    fields: Fields,
}

impl Words<'_> {
    /// Records that have every word. Words side by side also count as one part number that is
    /// written with spaces, where any begins so.
    fn all(&self, chunks: &[&str]) -> Result<AnyQuery, IndexError> {
        let clauses: Vec<AnyQuery> = chunks
            .iter()
            .map(|c| self.chunk(c))
            .collect::<Result<_, _>>()?;
        let mut ways: Vec<AnyQuery> = vec![all_of(clauses.iter().map(|c| c.box_clone()).collect())];
        if chunks.len() <= JOINED_UP_TO {
            for start in 0..chunks.len() {
                for end in start + 2..=chunks.len() {
                    let joined = bare(&chunks[start..end].concat());
                    let Some(named) = self.named(&joined)? else {
                        continue;
                    };
                    let others = clauses.iter().take(start).chain(clauses.iter().skip(end));
                    let others = others.map(|c| c.box_clone());
                    ways.push(all_of(std::iter::once(named).chain(others).collect()));
                }
            }
        }
        Ok(any_of(ways))
    }

    /// Records that have some of the words.
    fn some(&self, chunks: &[&str]) -> Result<AnyQuery, IndexError> {
        Ok(any_of(
            chunks
                .iter()
                .map(|c| self.chunk(c))
                .collect::<Result<_, _>>()?,
        ))
    }

    /// What is written without a space: words of maker or description, or a part number's
    /// beginning, or a barcode.
    fn chunk(&self, chunk: &str) -> Result<AnyQuery, IndexError> {
        let mut ways = Vec::new();
        let mut tokens = Vec::new();
        let mut analyzer = schema::analyzer();
        analyzer
            .token_stream(chunk)
            .process(&mut |token| tokens.push(token.text.clone()));
        if !tokens.is_empty() {
            ways.push(all_of(
                tokens
                    .iter()
                    .map(|t| self.word(t))
                    .collect::<Result<_, _>>()?,
            ));
        }
        ways.extend(self.named(&bare(chunk))?);
        Ok(any_of(ways))
    }

    /// A part number's beginning, or a barcode; `None` where nothing is called so.
    fn named(&self, bare: &str) -> Result<Option<AnyQuery>, IndexError> {
        let mut ways: Vec<AnyQuery> = Vec::new();
        if beginning::is_any(self.view, bare)? {
            let beginning = PartsBeginning {
                field: self.fields.part,
                with: bare.to_owned(),
            };
            ways.push(Box::new(BoostQuery::new(
                Box::new(beginning),
                BEGINNING_WEIGHT,
            )));
        }
        for field in [self.fields.part, self.fields.gtin] {
            let term = Term::from_field_text(field, bare);
            if self.view.searcher.doc_freq(&term)? > 0 {
                let query = Box::new(TermQuery::new(term, IndexRecordOption::Basic));
                ways.push(Box::new(ConstScoreQuery::new(query, NAMED_WEIGHT)));
            }
        }
        Ok((!ways.is_empty()).then(|| any_of(ways)))
    }

    /// A word of maker or description, and those that are one letter away from it.
    fn word(&self, word: &str) -> Result<AnyQuery, IndexError> {
        let term = |text: &str| {
            let term = Term::from_field_text(self.fields.text, text);
            Box::new(TermQuery::new(term, IndexRecordOption::WithFreqs))
        };
        let mut ways: Vec<AnyQuery> = vec![term(word)];
        for other in self.one_letter_away(word)? {
            ways.push(Box::new(BoostQuery::new(term(&other), TYPO_WEIGHT)));
        }
        Ok(any_of(ways))
    }

    /// Words of the index that a slip of one letter makes of a word: one wrong, missing, too many,
    /// or two exchanged. A word with a digit in it is a size or a number, and is taken as typed.
    fn one_letter_away(&self, word: &str) -> Result<BTreeSet<String>, IndexError> {
        if word.chars().count() < SLIP_FROM || !word.chars().all(char::is_alphabetic) {
            return Ok(BTreeSet::new());
        }
        let mut others = near::one_slip_away(self.view, self.fields.text, word)?;
        others.retain(|other| other != word && other.chars().all(char::is_alphabetic));
        Ok(others)
    }

    fn ranked(&self, query: &dyn Query, limit: usize) -> Result<Vec<Uuid>, IndexError> {
        let top = self
            .view
            .searcher
            .search(query, &TopDocs::with_limit(limit).order_by_score())?;
        let mut ranked: Vec<(f32, Uuid)> = top
            .into_iter()
            .map(|(score, at)| (score, self.id(at)))
            .collect();
        ranked.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        Ok(ranked.into_iter().map(|(_, id)| id).collect())
    }

    fn id(&self, at: DocAddress) -> Uuid {
        self.view.segments[at.segment_ord as usize]
            .columns
            .id(at.doc_id)
    }
}

fn all_of(queries: Vec<AnyQuery>) -> AnyQuery {
    Box::new(BooleanQuery::intersection(queries))
}

fn any_of(queries: Vec<AnyQuery>) -> AnyQuery {
    Box::new(BooleanQuery::union(queries))
}
