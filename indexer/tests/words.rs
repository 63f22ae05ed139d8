//! Free text: part numbers and barcodes, words, slips of one letter, order.

mod record;

use std::collections::BTreeSet;

use plugwell_domain::plug::PlugData;
use plugwell_indexer::{Fed, Index};
use record::{fed, record};
use uuid::Uuid;

/// A catalogue of maker, part number, barcode and description; the id is the place.
struct Catalogue {
    index: Index,
    names: Vec<String>,
    _folder: tempfile::TempDir,
}

impl Catalogue {
    fn of(parts: &[(&str, &str, Option<&str>, &str)]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let index = Index::open(folder.path()).unwrap();
        let mut names = Vec::new();
        for (place, (maker, number, gtin, description)) in parts.iter().enumerate() {
            let mut data = PlugData::named(*maker, *number);
            data.gtin = gtin.map(|digits| digits.parse().unwrap());
            data.description = (!description.is_empty()).then(|| (*description).to_owned());
            names.push((*number).to_owned());
            // A segment for each, so that ranks are seen to be those of the whole.
            index
                .feed(
                    vec![fed(place as u32, record(place as u128, data))],
                    place as i64,
                )
                .unwrap();
        }
        Self {
            index,
            names,
            _folder: folder,
        }
    }

    /// Part numbers in the order in which they are found.
    fn find(&self, text: &str) -> Vec<&str> {
        let ids = self.index.words(text, 50).unwrap();
        ids.iter()
            .map(|id| self.names[id.as_u128() as usize].as_str())
            .collect()
    }

    fn find_any_order(&self, text: &str) -> BTreeSet<&str> {
        self.find(text).into_iter().collect()
    }
}

fn shop() -> Catalogue {
    Catalogue::of(&[
        (
            "Ferrowick",
            "FW-3207",
            Some("2000000000015"),
            "iridium plug with projected tip",
        ),
        ("Ferrowick", "FW-3207-4", None, "box of four FW plugs"),
        (
            "Ferrowick",
            "FW 3208",
            None,
            "racing plug, cold, silver tip",
        ),
        (
            "Brennhald",
            "B.32/07",
            None,
            "nickel plug for vintage engines",
        ),
        ("Brennhald", "fw3207", None, "a copy under the same number"),
        (
            "Tessal & Söhne",
            "TS9",
            Some("2000000000022"),
            "Zündkerze, cold",
        ),
    ])
}

#[test]
fn a_part_number_is_found_whatever_its_case_and_separators() {
    let shop = shop();
    for text in ["FW-3207", "fw3207", "F W 3207", "fw/32.07", " FW 32-07 "] {
        // The very number first, by id where two makers have it; then what begins so.
        assert_eq!(
            shop.find(text),
            ["FW-3207", "fw3207", "FW-3207-4"],
            "{text}"
        );
    }
    assert_eq!(shop.find("b3207"), ["B.32/07"]);
    assert_eq!(shop.find("ts-9"), ["TS9"]);
}

#[test]
fn the_beginning_of_a_part_number_is_enough_but_not_its_middle() {
    let shop = shop();
    assert_eq!(
        shop.find("FW-32"),
        ["FW-3207", "fw3207", "FW-3207-4", "FW 3208"]
    );
    assert_eq!(shop.find("b.3"), ["B.32/07"]);
    assert!(shop.find("3207").is_empty());
    // No typo is forgiven in a part number.
    assert!(shop.find("FW-3307").is_empty());
    assert!(shop.find("FX-3207").is_empty());
}

#[test]
fn a_barcode_is_found_by_all_its_digits() {
    let shop = shop();
    assert_eq!(shop.find("2000000000022"), ["TS9"]);
    assert_eq!(shop.find("2 000000 000015"), ["FW-3207"]);
    assert!(shop.find("200000000002").is_empty());
    assert!(shop.find("2000000000023").is_empty());
}

#[test]
fn words_of_maker_and_description_are_found_whatever_their_case_and_accents() {
    let shop = shop();
    assert_eq!(shop.find("IRIDIUM"), ["FW-3207"]);
    assert_eq!(
        shop.find_any_order("brennhald"),
        BTreeSet::from(["B.32/07", "fw3207"])
    );
    assert_eq!(shop.find("sohne"), ["TS9"]);
    assert_eq!(shop.find("Zündkerze"), ["TS9"]);
    assert_eq!(shop.find("zundkerze"), ["TS9"]);
}

#[test]
fn one_wrong_letter_in_a_word_is_forgiven_and_two_are_not() {
    let shop = shop();
    // Wrong, missing, too many, exchanged; in the description and in the maker's name.
    for text in ["irydium", "iridum", "irridium", "iridimu", "iriidum"] {
        assert_eq!(shop.find(text), ["FW-3207"], "{text}");
    }
    for text in ["Brenhald", "Brennhalt", "Brennhlad", "rennhald"] {
        assert_eq!(
            shop.find_any_order(text),
            BTreeSet::from(["B.32/07", "fw3207"]),
            "{text}"
        );
    }
    for text in ["irydum", "brenhalt", "irdum"] {
        assert!(shop.find(text).is_empty(), "{text}");
    }
}

#[test]
fn a_word_typed_well_stands_before_one_that_is_only_like_it() {
    let catalogue = Catalogue::of(&[
        ("Ostrelle", "1", None, "gold tip"),
        (
            "Ostrelle",
            "2",
            None,
            "cold plug for long full load, with a rather longer description than the other",
        ),
        ("Ostrelle", "3", None, "colt"),
    ]);
    assert_eq!(catalogue.find("cold")[0], "2");
    assert_eq!(
        catalogue.find_any_order("cold"),
        BTreeSet::from(["1", "2", "3"])
    );
    // A size is taken as typed.
    let sizes = Catalogue::of(&[
        ("Ostrelle", "1", None, "thread m14"),
        ("Ostrelle", "2", None, "thread m12"),
    ]);
    assert_eq!(sizes.find("m14"), ["1"]);
}

#[test]
fn all_words_are_wanted_where_any_record_has_them_all() {
    let shop = shop();
    assert_eq!(shop.find("cold silver"), ["FW 3208"]);
    assert_eq!(shop.find("plug brennhald"), ["B.32/07"]);
    assert_eq!(shop.find("ferrowick fw-3207-4"), ["FW-3207-4"]);
    // The part number written with a space among other words, and a word mistyped.
    assert_eq!(shop.find("ferowick fw 3208"), ["FW 3208"]);
    assert_eq!(shop.find("fw 32 08 racing"), ["FW 3208"]);
    assert_eq!(shop.find("silver 2000000000015"), ["FW-3207", "FW 3208"]);
    // None has both: those that have one.
    assert_eq!(
        shop.find_any_order("vintage silver"),
        BTreeSet::from(["B.32/07", "FW 3208"])
    );
    assert!(shop.find("porcelain insulator").is_empty());
}

#[test]
fn what_is_no_word_finds_nothing() {
    let shop = shop();
    for text in ["", "   ", "-", "/ . -", "\u{0}"] {
        assert!(shop.find(text).is_empty(), "{text:?}");
    }
    assert!(shop.index.words("plug", 0).unwrap().is_empty());
    assert_eq!(shop.index.words("FW", 2).unwrap().len(), 2);
}

#[test]
fn what_is_deleted_or_changed_is_found_as_it_is_now() {
    let shop = shop();
    shop.index
        .feed(
            vec![Fed {
                id: Uuid::from_u128(0),
                ordinal: 0,
                record: None,
            }],
            10,
        )
        .unwrap();
    assert_eq!(shop.find("FW-3207"), ["fw3207", "FW-3207-4"]);
    assert!(shop.find("iridium").is_empty() && shop.find("2000000000015").is_empty());
    let mut renamed = PlugData::named("Corvane", "C1");
    renamed.description = Some("ruthenium".into());
    shop.index
        .feed(vec![fed(1, record(1, renamed))], 11)
        .unwrap();
    assert_eq!(shop.find("FW-3207"), ["fw3207"]);
    assert_eq!(
        shop.index.words("ruthenium", 5).unwrap(),
        [Uuid::from_u128(1)]
    );
}

#[test]
fn a_retired_record_is_found_but_not_counted() {
    let shop = shop();
    let mut retired = record(0, PlugData::named("Ferrowick", "FW-3207"));
    retired.retired = true;
    shop.index.feed(vec![fed(0, retired)], 10).unwrap();
    assert_eq!(shop.index.count(), 5);
    assert_eq!(shop.find("FW-3207"), ["FW-3207", "fw3207", "FW-3207-4"]);
}

#[test]
fn long_text_and_odd_characters_are_borne() {
    let long = "x".repeat(80);
    let catalogue = Catalogue::of(&[
        ("Corvane", &long, None, "Ölwanne"),
        ("Corvane", "日本-1", None, "点火プラグ"),
        ("Corvane", "C2", None, &"word ".repeat(100)),
    ]);
    assert_eq!(catalogue.find(&long[..79]), [long.as_str()]);
    assert_eq!(catalogue.find("日本1"), ["日本-1"]);
    assert_eq!(catalogue.find("点火プラグ"), ["日本-1"]);
    assert_eq!(catalogue.find("word"), ["C2"]);
    // "words" is one letter from "word"; of "many" there is none.
    assert_eq!(catalogue.find(&"many words ".repeat(200)), ["C2"]);
}

/// The order by relevance against scores of bm25s 0.3.16, method `lucene`, k1 1.5, b 0.75:
/// Σ idf·f/(f+k1(1−b+b·len/avg)), idf = ln(1+(N−n+0.5)/(n+0.5)), without a factor (k1+1).
/// tantivy 0.27 takes k1 1.2 and the factor, and here every text is longer by the maker's name: the
/// figures differ, the order is to be the same.
#[test]
fn relevance_orders_as_bm25_does() {
    let texts = [
        "m14 flat seat long reach resistor iridium cold",
        "m14 conical seat short reach nickel hot",
        "m12 flat seat long reach platinum resistor",
        "m10 flat seat racing cold copper cold",
        "m18 conical seat nickel non resistor",
        "m14 flat seat long reach nickel resistor resistor",
    ];
    let numbers = ["D0", "D1", "D2", "D3", "D4", "D5"];
    let parts: Vec<_> = numbers
        .iter()
        .zip(texts)
        .map(|(number, text)| ("Ostrelle", *number, None, text))
        .collect();
    let catalogue = Catalogue::of(&parts);
    let ordered = |scores: [f64; 6]| -> Vec<&str> {
        let mut places: Vec<usize> = (0..6).filter(|place| scores[*place] > 0.0).collect();
        places.sort_by(|a, b| scores[*b].total_cmp(&scores[*a]));
        places.into_iter().map(|place| numbers[place]).collect()
    };
    // A word that no text has leaves the others to rank all that have some of them.
    assert_eq!(
        catalogue.find("m14 flat resistor porcelain"),
        ordered([0.599363, 0.280191, 0.357204, 0.178602, 0.190703, 0.674797])
    );
    assert_eq!(catalogue.find("m14 flat resistor"), ["D5", "D0"]);
    assert_eq!(
        catalogue.find("cold"),
        ordered([0.391369, 0.0, 0.0, 0.592785, 0.0, 0.0])
    );
    assert_eq!(
        catalogue.find("conical nickel"),
        ordered([0.0, 0.696394, 0.0, 0.0, 0.743578, 0.0])
    );
    // D5 has one of the two words.
    assert_eq!(
        catalogue.find("conical nickel porcelain"),
        ordered([0.0, 0.696394, 0.0, 0.0, 0.743578, 0.263473])
    );
}

#[test]
fn part_numbers_that_are_spelled_nearly_so_come_by_nearness() {
    let catalogue = Catalogue::of(&[
        ("Ferrowick", "FW-2007", None, ""),
        ("Tarnholt", "F.W 2OO7", None, ""),
        ("Ferrowick", "fw/2007", None, ""),
        ("Ferrowick", "FW-2070", None, ""),
        ("Ferrowick", "FW-207", None, ""),
        ("Ferrowick", "FW-20071", None, ""),
        ("Ferrowick", "FW-2700", None, ""),
        ("Ferrowick", "FW-2O08", None, ""),
        ("Quellmar", "Q1", None, ""),
        ("Quellmar", "QI", None, ""),
        ("Quellmar", "Q2", None, ""),
    ]);
    let near = |text: &str, limit: usize| -> Vec<&str> {
        let ids = catalogue.index.spelled_like(text, limit).unwrap();
        let name = |id: &Uuid| catalogue.names[id.as_u128() as usize].as_str();
        ids.iter().map(name).collect()
    };
    // The same, then O for 0, then one slip in the order of the spellings; two slips are another part.
    let all = [
        "FW-2007", "fw/2007", "F.W 2OO7", "FW-20071", "FW-207", "FW-2070",
    ];
    assert_eq!(near("FW 2007", 50), all);
    assert_eq!(near("fw2007", 3), all[..3]);
    assert_eq!(
        near("q-l", 50),
        ["Q1", "QI"],
        "too short for a slip, not for a lookalike"
    );
    assert_eq!(near("FW-9999", 50), [""; 0]);
    assert_eq!(near(" - ", 50), [""; 0]);
}
