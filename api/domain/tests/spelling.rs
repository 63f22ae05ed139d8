//! How near two spellings come to each other.

use plugwell_domain::spelling::{Nearness, bare, lookalikes, nearness};

#[test]
fn names_are_compared_without_case_and_separators() {
    assert_eq!(bare("FW-32 07/b.Ü"), "fw3207bü");
    assert_eq!(bare(" - / "), "");
}

#[test]
fn a_spelling_is_the_same_a_lookalike_a_slip_or_another_name() {
    use Nearness::*;
    let cases = [
        ("FW-3207", "fw 32.07", Some(Same)),
        ("FW-3207", "FW-32O7", Some(Lookalike)),
        ("O-101", "0-iol", Some(Lookalike)),
        ("FW-3207", "FW-3208", Some(OneCharacter)),
        ("FW-3207", "FW-327", Some(OneCharacter)),
        ("FW-3207", "FW-32071", Some(OneCharacter)),
        ("FW-3207", "FW-3270", Some(OneCharacter)),
        ("FW-3207", "WF-3207", Some(OneCharacter)),
        ("FW-3207", "FW-3702", None),
        ("FW-3207", "FW-3298", None),
        ("FW-3207", "FW-32", None),
        ("FW-3207", "FW-32O8", None),
        // Two characters are too short for a slip, not for a lookalike.
        ("Q1", "Q2", None),
        ("Q1", "QI", Some(Lookalike)),
        ("Q", "QQ", None),
        ("Ferrowick", "Ferowick", Some(OneCharacter)),
        ("Ferrowick", "Tarnholt", None),
    ];
    for (one, other, near) in cases {
        assert_eq!(nearness(one, other), near, "{one} {other}");
        assert_eq!(nearness(other, one), near, "{other} {one}");
    }
    assert!(Same < Lookalike && Lookalike < OneCharacter);
}

#[test]
fn lookalikes_are_all_spellings_up_to_a_number() {
    let mut spellings = lookalikes("q0l", 512);
    spellings.sort();
    assert_eq!(spellings, ["q01", "q0i", "q0l", "qo1", "qoi", "qol"]);
    assert_eq!(lookalikes("fw32", 512), ["fw32"]);
    let many = lookalikes("o".repeat(40).as_str(), 512);
    assert_eq!(many.len(), 512);
    assert!(many.contains(&"o".repeat(40)), "itself among them");
}
