use plugwell_store::{Store, TableRead};

use crate::made_up::{Shop, id, instant, lot, moves, read, write};

pub fn a_table_that_was_read_is_found_by_its_digest(store: &Store) {
    let reading = |who: &str, at| TableRead {
        rows: 3,
        read_by: who.into(),
        read_at: instant(at),
    };
    write(store, |s| {
        s.insert_table_read(id(), "a1", &reading("Odo", 1))?;
        s.insert_table_read(id(), "a1", &reading("Ödo", 5))?;
        s.insert_table_read(id(), "b2", &reading("Odo", 3))
    });
    let reads = |digest, limit| read(store, |s| s.table_reads(digest, limit));
    assert_eq!(reads("a1", 10), [reading("Ödo", 5), reading("Odo", 1)]);
    assert_eq!(reads("a1", 1), [reading("Ödo", 5)]);
    assert_eq!(reads("c3", 10), []);
}

pub fn lots_are_found_as_they_were_received(store: &Store) {
    let shop = Shop::set_up(store);
    let mut received = Vec::new();
    for (quantity, note) in [(8, Some("note 1")), (8, None), (4, Some("note 2"))] {
        let lot = plugwell_domain::ledger::Lot {
            quantity_received: quantity,
            ..lot(shop.plug.id)
        };
        let mut receipt = shop.receipt(&lot, quantity);
        receipt.note = note.map(str::to_owned);
        let mut plan = moves(vec![receipt]);
        plan.new_lots.push(lot.clone());
        shop.apply(store, &plan);
        received.push(lot);
    }
    let found = |quantity, but_at| -> Vec<_> {
        let lots = read(store, |s| s.lots_received(shop.plug.id, quantity, but_at));
        lots.into_iter().map(|(lot, note)| (lot.id, note)).collect()
    };
    let [one, two, three] = [0, 1, 2].map(|n| received[n].id);
    let never = instant(-1);
    assert_eq!(
        found(8, never),
        [(one, Some("note 1".to_owned())), (two, None)]
    );
    assert_eq!(found(4, never), [(three, Some("note 2".to_owned()))]);
    assert_eq!(found(4, received[2].received_at), []);
    assert_eq!(found(5, never), []);
    let mut references = read(store, |s| s.references_of(&[one, two, three]));
    references.sort();
    let mut wanted = vec![(one, "note 1".to_owned()), (three, "note 2".to_owned())];
    wanted.sort();
    assert_eq!(references, wanted);
}
