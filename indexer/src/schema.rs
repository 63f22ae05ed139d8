//! The fields of the index and how an attribute value is kept in one.

use std::ops::RangeInclusive;
use std::sync::OnceLock;

use plugwell_domain::attribute::{Attr, Kind};
use plugwell_domain::decimal::exact;
use tantivy::schema::{
    FAST, Field, INDEXED, IndexRecordOption, NumericOptions, STRING, Schema, TextFieldIndexing,
    TextOptions,
};
use tantivy::tokenizer::{
    AsciiFoldingFilter, LowerCaser, RemoveLongFilter, SimpleTokenizer, TextAnalyzer,
};
use tantivy::{IndexSettings, IndexSortByField, Order};

/// Rises with every change of the fields, of how values are kept in them or of the key; an index
/// of another version is made anew.
pub(crate) const VERSION: u32 = 2;

/// The field that the documents of a segment are sorted by; see [`crate::key`].
pub(crate) const KEY: &str = "key";
/// The part's place in the shelf table.
pub(crate) const ORDINAL: &str = "ordinal";
/// The first and the last eight bytes of the id.
pub(crate) const ID_HALVES: [&str; 2] = ["id_high", "id_low"];
/// The part number as printed: its column breaks ties.
pub(crate) const PRINTED: &str = "part_number";
/// The first eight bytes of the part number: they break most ties between segments.
pub(crate) const BEGINNING: &str = "part_number_beginning";
/// The tokenizer of maker and description.
pub(crate) const WORDS_OF_TEXT: &str = "words";

/// The longest word that is kept, in bytes.
const LONGEST_WORD: usize = 64;

/// The fields by name.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Fields {
    /// Sixteen bytes of the id: what a delete looks for.
    pub(crate) id: Field,
    pub(crate) id_halves: [Field; 2],
    pub(crate) ordinal: Field,
    pub(crate) key: Field,
    /// One for each attribute, in their order. A posted requirement may put a test to any of
    /// them, so every one is kept.
    pub(crate) facts: [Fact; Attr::COUNT],
    pub(crate) printed: Field,
    pub(crate) beginning: Field,
    /// The part number without case and separators.
    pub(crate) part: Field,
    pub(crate) gtin: Field,
    /// Words of maker and description.
    pub(crate) text: Field,
}

/// The field of one attribute.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Fact {
    pub(crate) attr: Attr,
    pub(crate) field: Field,
    pub(crate) keeping: Keeping,
}

/// The schema and its fields.
pub(crate) fn schema() -> &'static (Schema, Fields) {
    static SCHEMA: OnceLock<(Schema, Fields)> = OnceLock::new();
    SCHEMA.get_or_init(|| {
        let mut builder = Schema::builder();
        let fast = || NumericOptions::default() | FAST;
        let words = TextFieldIndexing::default()
            .set_tokenizer(WORDS_OF_TEXT)
            .set_index_option(IndexRecordOption::WithFreqs);
        let fields = Fields {
            id: builder.add_bytes_field("id", INDEXED),
            id_halves: ID_HALVES.map(|name| builder.add_u64_field(name, fast())),
            ordinal: builder.add_u64_field(ORDINAL, fast()),
            key: builder.add_u64_field(KEY, fast()),
            facts: std::array::from_fn(|place| {
                let attr = Attr::ALL[place];
                let field = builder.add_u64_field(&fact(attr), fast());
                Fact {
                    attr,
                    field,
                    keeping: Keeping::of(attr),
                }
            }),
            printed: builder.add_text_field(PRINTED, TextOptions::default().set_fast("raw")),
            beginning: builder.add_u64_field(BEGINNING, fast()),
            part: builder.add_text_field("part", STRING),
            gtin: builder.add_text_field("gtin", STRING),
            text: builder
                .add_text_field("text", TextOptions::default().set_indexing_options(words)),
        };
        (builder.build(), fields)
    })
}

/// The name of an attribute's field.
pub(crate) fn fact(attr: Attr) -> String {
    format!("fact_{attr}")
}

/// Documents of a segment in the order of their key; nothing is kept in tantivy's own store.
pub(crate) fn settings() -> IndexSettings {
    IndexSettings {
        sort_by_field: Some(IndexSortByField {
            field: KEY.to_owned(),
            order: Order::Asc,
        }),
        docstore_compress_dedicated_thread: false,
        ..IndexSettings::default()
    }
}

/// Cuts maker and description, and what is searched for in them, into words.
pub(crate) fn analyzer() -> TextAnalyzer {
    TextAnalyzer::builder(SimpleTokenizer::default())
        .filter(RemoveLongFilter::limit(LONGEST_WORD))
        .filter(LowerCaser)
        .filter(AsciiFoldingFilter)
        .build()
}

/// The first eight bytes of a part number as a number: of two that differ, the part number of the
/// smaller stands first.
pub(crate) fn beginning(part_number: &str) -> u64 {
    let mut bytes = [0; 8];
    for (byte, own) in bytes.iter_mut().zip(part_number.bytes()) {
        *byte = own;
    }
    u64::from_be_bytes(bytes)
}

/// How the values of one attribute are kept: 0 where the value is unknown or assumed, else one
/// more than the distance from the attribute's least value. Unknown is thus a value of every
/// column, no column has holes, and blocks of it are read at once.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Keeping {
    least: i64,
    most: i64,
}

impl Keeping {
    /// The keeping of an attribute.
    fn of(attr: Attr) -> Self {
        match attr.declared().kind {
            Kind::Number {
                decimals, min, max, ..
            } => {
                let end = |value| exact(value, decimals).expect("a bound is as fine as the values");
                Self {
                    least: end(min),
                    most: end(max),
                }
            }
            Kind::Flag => Self { least: 0, most: 1 },
            Kind::Choice(words) => Self {
                least: 0,
                most: words.len() as i64 - 1,
            },
        }
    }

    /// The number that is kept for a value; `None` for one outside the attribute's bounds.
    pub(crate) fn keep(self, shown: Option<i64>) -> Option<u64> {
        match shown {
            None => Some(0),
            Some(raw) if (self.least..=self.most).contains(&raw) => {
                Some((raw - self.least) as u64 + 1)
            }
            Some(_) => None,
        }
    }

    /// The numbers that are kept for the values from one to another, either of which may be open
    /// or lie outside the attribute's bounds; `None` where no value lies between them.
    pub(crate) fn span(self, min: Option<i64>, max: Option<i64>) -> Option<RangeInclusive<u64>> {
        let (min, max) = (
            min.map_or(self.least, |m| m.max(self.least)),
            max.map_or(self.most, |m| m.min(self.most)),
        );
        Some(self.keep(Some(min))?..=self.keep(Some(max))?).filter(|span| !span.is_empty())
    }

    /// The value that a test sees.
    #[inline]
    pub(crate) fn shown(self, kept: u64) -> Option<i64> {
        if kept == 0 {
            None
        } else {
            Some(kept as i64 - 1 + self.least)
        }
    }
}

#[cfg(test)]
mod tests {
    use plugwell_domain::words::Seat;

    use super::*;

    #[test]
    fn every_value_comes_back_and_unknown_stays_unknown() {
        for attr in Attr::ALL {
            let keeping = Keeping::of(*attr);
            assert_eq!(keeping.keep(None), Some(0));
            assert_eq!(keeping.shown(0), None);
            let Keeping { least, most } = keeping;
            assert!(least < most && most - least < i64::from(u32::MAX), "{attr}");
            for raw in [least, least + 1, most - 1, most] {
                let kept = keeping.keep(Some(raw)).unwrap();
                assert_ne!(kept, 0, "{attr} {raw}");
                assert_eq!(keeping.shown(kept), Some(raw), "{attr}");
            }
            assert_eq!(keeping.keep(Some(least - 1)), None, "{attr}");
            assert_eq!(keeping.keep(Some(most + 1)), None, "{attr}");
        }
    }

    #[test]
    fn the_bounds_are_those_of_the_attribute() {
        assert_eq!(
            Keeping::of(Attr::Reach),
            Keeping {
                least: 50_000,
                most: 600_000
            }
        );
        assert_eq!(Keeping::of(Attr::Resistor), Keeping { least: 0, most: 1 });
        assert_eq!(Keeping::of(Attr::Seat).most + 1, Seat::ALL.len() as i64);
    }

    #[test]
    fn beginnings_stand_as_part_numbers_do() {
        let ordered = [
            "", "\u{1}", "A", "A-", "A-1", "AB", "a", "abcdefgh", "z", "Ö", "Ü1",
        ];
        assert!(ordered.is_sorted());
        assert!(ordered.map(beginning).is_sorted());
        assert_eq!(beginning("abcdefgh"), beginning("abcdefghi"));
    }
}
