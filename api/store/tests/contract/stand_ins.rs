use plugwell_domain::stand_in::{Direction, PartName, StandIn, StandInData};
use plugwell_store::{Key, MarkKind, StandInFilter, Store, StoreError};

use crate::made_up::{id, instant, read, write};

/// A statement of somebody that one part, `maker/number`, stands in for another.
fn statement(part: &str, other: &str, who: &str) -> StandIn {
    let name = |text: &str| {
        let (maker, number) = text.split_once('/').unwrap();
        PartName::new(maker, number)
    };
    StandIn {
        id: id(),
        data: StandInData {
            part: name(part),
            stands_in_for: name(other),
            direction: Direction::Both,
            who: who.into(),
            source: Some("sheet “4”, Ω".into()),
            note: None,
        },
        recorded_by: "test clerk".into(),
        version: StandIn::VERSION,
        created_at: instant(7),
    }
}

pub fn statements_come_and_go(store: &Store) {
    let stand_in = statement("Ferrowick/FW-1", "Quellmar/Q1", "Odo");
    let position = write(store, |s| {
        s.insert_stand_in(&stand_in)?;
        Ok(s.position())
    });
    assert!(position.is_some());
    assert_eq!(
        read(store, |s| s.stand_in(stand_in.id)),
        Some(stand_in.clone())
    );
    assert_eq!(read(store, |s| s.stand_in(id())), None);
    let marks = write(store, |s| s.mark(MarkKind::StandIn, stand_in.id));
    assert!(Some(marks) >= position, "a kind of mark that is read back");
    assert!(write(store, |s| s.delete_stand_in(stand_in.id)));
    assert!(!write(store, |s| s.delete_stand_in(stand_in.id)));
    assert_eq!(read(store, |s| s.stand_in(stand_in.id)), None);
    // What is withdrawn can be stated again.
    write(store, |s| s.insert_stand_in(&stand_in));
}

pub fn one_says_it_once(store: &Store) {
    let stand_in = statement("Ferrowick/FW-Ü1", "Quellmar/Q1", "Ödo");
    write(store, |s| s.insert_stand_in(&stand_in));
    for (part, other, who) in [
        ("FERROWICK/fw-ü1", "quellmar/q1", "öDO"),
        ("Quellmar/Q1", "Ferrowick/FW-Ü1", "Ödo"),
    ] {
        let again = statement(part, other, who);
        let refused: Result<(), StoreError> = store.write(|s| s.insert_stand_in(&again));
        let what = Key::StandIn;
        assert_eq!(
            refused,
            Err(StoreError::Duplicate { what }),
            "{part} {other}"
        );
    }
    let mut same_id = statement("Ferrowick/FW-2", "Quellmar/Q1", "Ödo");
    same_id.id = stand_in.id;
    let refused: Result<(), StoreError> = store.write(|s| s.insert_stand_in(&same_id));
    assert_eq!(refused, Err(StoreError::Duplicate { what: Key::Id }));
    // Another who says the same, and makers and numbers that only look the same put together.
    for (part, other, who) in [
        ("Ferrowick/FW-Ü1", "Quellmar/Q1", "Sela"),
        ("Ferrowick/FW-Ü1Q", "uellmar/Q1", "Ödo"),
    ] {
        write(store, |s| s.insert_stand_in(&statement(part, other, who)));
    }
}

pub fn statements_are_found_from_either_side(store: &Store) {
    let all = [
        statement("Ferrowick/FW-1", "Quellmar/Q1", "Odo"),
        statement("Tarnholt/Q1", "Ferrowick/FW-1", "Sela"),
        statement("Quellmar/FW-1", "Tarnholt/T1", "Odo"),
        statement("Tarnholt/T2", "Quellmar/Q2", "Odo"),
    ];
    write(store, |s| {
        all.iter().try_for_each(|one| s.insert_stand_in(one))
    });
    let of = |maker: &str, number: &str| {
        let name = PartName::new(maker, number);
        places(&all, &read(store, |s| s.stand_ins_of(&name)))
    };
    assert_eq!(of("ferroWICK", "fw-1"), [0, 1]);
    assert_eq!(of("Quellmar", "FW-1"), [2]);
    assert_eq!(of("Ferrowick", "FW-9"), [0; 0]);
    let list = |maker: Option<&str>, number: Option<&str>, who: Option<&str>| {
        let filter = StandInFilter {
            maker: maker.map(str::to_owned),
            part_number: number.map(str::to_owned),
            who: who.map(str::to_owned),
        };
        places(&all, &read(store, |s| s.list_stand_ins(&filter, None, 9)))
    };
    assert_eq!(list(None, None, None), [0, 1, 2, 3]);
    assert_eq!(list(Some("QUELLMAR"), None, None), [0, 2, 3]);
    assert_eq!(list(None, Some("fw-1"), None), [0, 1, 2]);
    // Maker and number of the same side: there is a Quellmar and a T1 in the third, but no Quellmar T1.
    assert_eq!(list(Some("quellmar"), Some("T1"), None), [0; 0]);
    assert_eq!(list(Some("tarnholt"), Some("t1"), None), [2]);
    assert_eq!(list(Some("Ferrowick"), None, Some("sela")), [1]);
    let page = read(store, |s| {
        s.list_stand_ins(&StandInFilter::default(), Some(all[1].id), 1)
    });
    assert_eq!(places(&all, &page), [2]);
}

pub fn statements_are_found_by_bare_spellings(store: &Store) {
    let all = [
        statement("Hollinbeck/HB 20-471", "Quellmar/Q-1", "Odo"),
        statement("Tarnholt/T.1", "Quellmar/hb/20.471", "Sela"),
        statement("Tarnholt/HB20471", "Quellmar/Q1", "Odo"),
        statement("Tarnholt/Ü 7\"", "Ferrowick/FW-2", "Odo"),
    ];
    write(store, |s| {
        all.iter().try_for_each(|one| s.insert_stand_in(one))
    });
    let of = |bare: &[&str]| {
        let bare: Vec<String> = bare.iter().map(|text| (*text).to_owned()).collect();
        places(&all, &read(store, |s| s.stand_ins_spelled(&bare)))
    };
    assert_eq!(of(&["hb20471"]), [0, 1, 2]);
    assert_eq!(of(&["hb20471", "q1"]), [0, 1, 2], "each once");
    assert_eq!(of(&["ü7", "t1"]), [1, 3]);
    assert_eq!(of(&["hb 20-471", "hb2047"]), [0; 0]);
    assert_eq!(of(&[]), [0; 0]);
}

fn places(all: &[StandIn], found: &[StandIn]) -> Vec<usize> {
    let place = |one: &StandIn| all.iter().position(|known| known == one).unwrap();
    found.iter().map(place).collect()
}
