use plugwell_domain::attribute::{ATTRIBUTES, Kind};
use plugwell_domain::build::Build;
use plugwell_domain::heat_scale::{HeatScale, HeatScaleData};
use plugwell_domain::ledger::Plan;
use plugwell_domain::plug::Plug;
use plugwell_store::{Key, Store, StoreError, Stored};

use crate::made_up::{Shop, bare_plug, full_plug, id, instant, read, reservation, write};

pub fn scale(maker: &str, name: &str) -> HeatScale {
    HeatScale {
        id: id(),
        data: HeatScaleData {
            maker: maker.into(),
            name: name.into(),
            codes: vec![],
        },
        calibrated_at: None,
        version: 1,
        created_at: instant(0),
        updated_at: instant(0),
    }
}

pub fn every_attribute_survives(store: &Store) {
    let scale = scale("Ferrowick", "rising");
    let bare = bare_plug("Ferrowick", "FW-1");
    let mut full = full_plug("Ferrowick", "FW-2");
    full.data.heat_scale_id = Some(scale.id);
    full.data.superseded_by = Some(bare.id);
    full.updated_at = instant(999_999);
    write(store, |s| {
        s.insert_scale(&scale)?;
        s.insert_plug(&bare)?;
        s.insert_plug(&full)
    });
    assert_eq!(read(store, |s| s.plug(bare.id)), Some(bare.clone()));
    assert_eq!(read(store, |s| s.plug(full.id)), Some(full.clone()));
    assert_eq!(read(store, |s| s.plug(id())), None);
    // Every listed word and both ends of every number, one attribute at a time.
    for attribute in ATTRIBUTES {
        let raws: Vec<i64> = match attribute.kind {
            Kind::Number { decimals, min, .. } => {
                vec![plugwell_domain::decimal::exact(min, decimals).unwrap(), 0]
            }
            Kind::Flag => vec![0],
            Kind::Choice(words) => (0..words.len() as i64).collect(),
        };
        for raw in raws {
            full.data.facts.set(attribute.attr, Some(raw));
            full.version += 1;
            write(store, |s| s.update_plug(&full));
            assert_eq!(
                read(store, |s| s.plug(full.id)),
                Some(full.clone()),
                "{}",
                attribute.attr
            );
        }
    }
}

pub fn names_are_unique_case_blind(store: &Store) {
    let plug = bare_plug("Ferrowick", "FW-Ü1");
    write(store, |s| s.insert_plug(&plug));
    let twin = bare_plug("FERROWICK", "fw-ü1");
    let refused: Result<u32, StoreError> = store.write(|s| s.insert_plug(&twin));
    assert_eq!(
        refused,
        Err(StoreError::Duplicate {
            what: Key::PlugName
        })
    );
    let mut same_id = bare_plug("Ferrowick", "FW-2");
    same_id.id = plug.id;
    let refused: Result<u32, StoreError> = store.write(|s| s.insert_plug(&same_id));
    assert_eq!(refused, Err(StoreError::Duplicate { what: Key::Id }));
    let mut other = bare_plug("Quillmark", "FW-Ü1");
    write(store, |s| s.insert_plug(&other));
    other.data.maker = "ferrowick".into();
    other.version = 2;
    let refused: Result<(), StoreError> = store.write(|s| s.update_plug(&other));
    assert_eq!(
        refused,
        Err(StoreError::Duplicate {
            what: Key::PlugName
        })
    );
    assert_eq!(
        read(store, |s| s.plug_named("ferroWICK", "fw-Ü1")),
        Some(plug)
    );
    assert_eq!(read(store, |s| s.plug_named("ferrowick", "fw")), None);
}

pub fn parts_are_found(store: &Store) {
    let scale = scale("Ferrowick", "rising");
    let mut plugs: Vec<Plug> = (0..30)
        .map(|n| bare_plug("Ferrowick", &format!("FW-{n}")))
        .collect();
    plugs[4].data.gtin = Some("2000000000015".parse().unwrap());
    plugs[7].data.gtin = Some("2000000000015".parse().unwrap());
    plugs[9].data.heat_scale_id = Some(scale.id);
    write(store, |s| {
        s.insert_scale(&scale)?;
        plugs
            .iter()
            .try_for_each(|plug| s.insert_plug(plug).map(drop))
    });
    let ids = [plugs[20].id, id(), plugs[3].id, plugs[29].id];
    assert_eq!(
        read(store, |s| s.plugs_by_id(&ids)),
        [plugs[20].clone(), plugs[3].clone(), plugs[29].clone()]
    );
    assert_eq!(read(store, |s| s.plugs_by_id(&[])), []);
    assert_eq!(
        read(store, |s| s.plug_with_gtin("2000000000015")),
        [plugs[4].clone(), plugs[7].clone()]
    );
    assert_eq!(read(store, |s| s.plug_with_gtin("2000000000022")), []);
    assert_eq!(
        read(store, |s| s.plugs_of_scale(scale.id)),
        [plugs[9].clone()]
    );
    assert_eq!(read(store, |s| s.count_plugs()), 30);
}

pub fn ordinals_run_on(store: &Store) {
    let plugs: Vec<Plug> = (0..5)
        .map(|n| bare_plug("Ferrowick", &format!("FW-{n}")))
        .collect();
    let given: Vec<u32> = write(store, |s| {
        plugs.iter().map(|plug| s.insert_plug(plug)).collect()
    });
    assert_eq!(given, [1, 2, 3, 4, 5]);
    assert_eq!(read(store, |s| s.ordinal_of(plugs[2].id)), Some(3));
    assert_eq!(read(store, |s| s.ordinal_of(id())), None);
    let all = read(store, |s| s.all_plugs(2, 2));
    assert_eq!(all, [(3, plugs[2].clone()), (4, plugs[3].clone())]);
    // A number is not given to another part.
    assert!(write(store, |s| s.delete_plug(plugs[4].id)));
    assert_eq!(
        write(store, |s| s.insert_plug(&bare_plug("Ferrowick", "FW-9"))),
        6
    );
}

pub fn edits_and_deletes(store: &Store) {
    let mut plug = bare_plug("Ferrowick", "FW-1");
    write(store, |s| s.insert_plug(&plug));
    plug = Plug {
        id: plug.id,
        version: 2,
        updated_at: instant(5),
        ..full_plug("Quillmark", "Q 9")
    };
    write(store, |s| s.update_plug(&plug));
    assert_eq!(read(store, |s| s.plug(plug.id)), Some(plug.clone()));
    assert_eq!(
        read(store, |s| s.plug_named("quillmark", "q 9")),
        Some(plug.clone())
    );
    assert!(write(store, |s| s.delete_plug(plug.id)));
    assert!(!write(store, |s| s.delete_plug(plug.id)));
    assert_eq!(read(store, |s| s.plug(plug.id)), None);
}

pub fn a_stale_edit_is_not_written(store: &Store) {
    let mut plug = bare_plug("Ferrowick", "FW-1");
    write(store, |s| s.insert_plug(&plug));
    plug.version = 3;
    let refused: Result<(), StoreError> = store.write(|s| s.update_plug(&plug));
    assert!(
        matches!(refused, Err(StoreError::Busy | StoreError::Fault(_))),
        "{refused:?}"
    );
    assert_eq!(read(store, |s| s.plug(plug.id)).unwrap().version, 1);
}

pub fn history_shows(store: &Store) {
    let shop = Shop::set_up(store);
    let others: Vec<Plug> = (0..4)
        .map(|n| bare_plug("Quillmark", &format!("Q-{n}")))
        .collect();
    let mut pointing = bare_plug("Quillmark", "old");
    pointing.data.superseded_by = Some(others[1].id);
    let build: Build = serde_json::from_value(serde_json::json!({
        "head": {"thread": "M14x1.25", "reach_mm": 19.0, "seat": "gasket"}, "base_plug_id": others[2].id,
        "cylinders": 8, "induction": "supercharged", "use": "street"
    }))
    .unwrap();
    write(store, |s| {
        others
            .iter()
            .try_for_each(|plug| s.insert_plug(plug).map(drop))?;
        s.insert_plug(&pointing)?;
        s.insert_build(&Stored {
            id: id(),
            version: 1,
            created_at: instant(0),
            updated_at: instant(0),
            data: build.clone(),
        })?;
        let reservations = vec![reservation(others[3].id, "Job 7", 2)];
        s.apply(
            others[3].id,
            &Plan {
                reservations,
                ..Plan::default()
            },
        )
    });
    shop.stocked(store, 4);
    let history = |plug: &Plug| read(store, |s| s.plug_has_history(plug.id));
    assert_eq!(
        others.iter().map(history).collect::<Vec<_>>(),
        [false, true, true, true]
    );
    assert!(history(&shop.plug));
    assert!(!history(&pointing));
    // Who does not ask first is refused all the same.
    let refused: Result<bool, StoreError> = store.write(|s| s.delete_plug(shop.plug.id));
    assert!(matches!(refused, Err(StoreError::Fault(_))), "{refused:?}");
    assert!(write(store, |s| s.delete_plug(others[0].id)));
}
