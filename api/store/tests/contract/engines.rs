use plugwell_domain::build::{Build, Head};
use plugwell_domain::heat_scale::{HeatCode, HeatScale, HeatScaleData};
use plugwell_domain::plug::Plug;
use plugwell_store::{BuildFilter, Key, Store, StoreError, Stored};
use serde_json::json;

use crate::made_up::{bare_plug, id, instant, read, write};

fn stored<T>(data: T) -> Stored<T> {
    Stored {
        id: id(),
        version: 1,
        created_at: instant(0),
        updated_at: instant(1),
        data,
    }
}

fn head(name: &str) -> Stored<Head> {
    stored(
        serde_json::from_value(json!({
            "name": name, "thread": "M14x1.25", "reach_mm": 19.0, "reach_tolerance_mm": 0.3, "seat": "gasket",
            "hex_max_mm": 16.0, "heat_index": 50, "tight_gap": true
        }))
        .unwrap(),
    )
}

pub fn heads(store: &Store) {
    let heads: Vec<Stored<Head>> = (0..3).map(|n| head(&format!("Head {n}"))).collect();
    write(store, |s| {
        heads.iter().try_for_each(|head| s.insert_head(head))
    });
    assert_eq!(read(store, |s| s.head(heads[1].id)), Some(heads[1].clone()));
    assert_eq!(read(store, |s| s.head(id())), None);
    assert_eq!(read(store, |s| s.list_heads(None, 2)), heads[..2]);
    assert_eq!(
        read(store, |s| s.list_heads(Some(heads[1].id), 2)),
        heads[2..]
    );
    let mut edited = heads[1].clone();
    edited.data.name = None;
    edited.version = 2;
    edited.updated_at = instant(9);
    write(store, |s| s.update_head(&edited));
    assert_eq!(read(store, |s| s.head(edited.id)), Some(edited.clone()));
    edited.version = 4;
    assert!(store.write(|s| s.update_head(&edited)).is_err());
    assert!(write(store, |s| s.delete_head(edited.id)));
    assert!(!write(store, |s| s.delete_head(edited.id)));
    assert_eq!(read(store, |s| s.list_heads(None, 9)).len(), 2);
    let refused = store.write(|s| s.insert_head(&heads[0]));
    assert_eq!(refused, Err(StoreError::Duplicate { what: Key::Id }));
}

/// A build over a stored head and one over a head of its own.
fn two(head: &Stored<Head>, plug: &Plug) -> [Stored<Build>; 2] {
    let over_stored: Build = serde_json::from_value(json!({
        "name": "street car", "head_id": head.id, "base_plug_id": plug.id, "cylinders": 8,
        "induction": "supercharged", "use": "street", "power_kw": 500.25, "electronics": ["radio"]
    }))
    .unwrap();
    let inline: Build = serde_json::from_value(json!({
        "head": {"thread": "M12x1.25", "reach_mm": 26.5, "seat": "conical", "heat_index": 60}, "cylinders": 4,
        "induction": "turbocharged", "use": "track", "gap_mm": 0.6
    }))
    .unwrap();
    [stored(over_stored), stored(inline)]
}

/// The two builds of [`two`], with the head and the plug that they name.
fn stored_builds(store: &Store) -> (Stored<Head>, [Stored<Build>; 2], Plug) {
    let (head, plug) = (head("Head"), bare_plug("Ferrowick", "FW-1"));
    let builds = two(&head, &plug);
    write(store, |s| {
        s.insert_head(&head)?;
        s.insert_plug(&plug)?;
        builds.iter().try_for_each(|build| s.insert_build(build))
    });
    (head, builds, plug)
}

pub fn builds_are_listed(store: &Store) {
    let (head, builds, plug) = stored_builds(store);
    assert_eq!(
        read(store, |s| s.build(builds[0].id)),
        Some(builds[0].clone())
    );
    let list = |filter, after| read(store, |s| s.list_builds(&filter, after, 10));
    assert_eq!(list(BuildFilter::default(), None), builds);
    assert_eq!(
        list(BuildFilter::default(), Some(builds[0].id)),
        builds[1..]
    );
    assert_eq!(
        list(
            BuildFilter {
                head_id: Some(head.id),
                ..BuildFilter::default()
            },
            None
        ),
        builds[..1]
    );
    assert_eq!(
        list(
            BuildFilter {
                base_plug_id: Some(plug.id),
                ..BuildFilter::default()
            },
            None
        ),
        builds[..1]
    );
}

pub fn builds_change_and_go(store: &Store) {
    let (head, builds, _) = stored_builds(store);
    assert!(read(store, |s| s.head_in_use(head.id)));
    // Who does not ask first is refused all the same.
    assert!(matches!(
        store.write(|s| s.delete_head(head.id)),
        Err(StoreError::Fault(_))
    ));
    let edited = Stored {
        id: builds[0].id,
        version: 2,
        ..builds[1].clone()
    };
    write(store, |s| s.update_build(&edited));
    assert_eq!(
        read(store, |s| s.build(edited.id)),
        Some(Stored {
            created_at: builds[0].created_at,
            ..edited
        })
    );
    assert!(!read(store, |s| s.head_in_use(head.id)));
    assert!(write(store, |s| s.delete_build(builds[0].id)));
    assert!(!write(store, |s| s.delete_build(builds[0].id)));
    assert!(write(store, |s| s.delete_head(head.id)));
}

fn scale(maker: &str, name: &str) -> HeatScale {
    HeatScale {
        id: id(),
        data: HeatScaleData {
            maker: maker.into(),
            name: name.into(),
            codes: serde_json::from_value::<Vec<HeatCode>>(json!([
                {"code": "5", "heat_index": 50}, {"code": "6", "heat_index": 60.5}
            ]))
            .unwrap(),
        },
        calibrated_at: None,
        version: 1,
        created_at: instant(0),
        updated_at: instant(0),
    }
}

pub fn scales(store: &Store) {
    let scales = [
        scale("Ferrowick", "rising"),
        scale("Ferrowick", "old"),
        scale("Quillmark", "rising"),
    ];
    write(store, |s| {
        scales.iter().try_for_each(|scale| s.insert_scale(scale))
    });
    assert_eq!(
        read(store, |s| s.scale(scales[0].id)),
        Some(scales[0].clone())
    );
    assert_eq!(
        read(store, |s| s.scale_named("FERROWICK", "Old")),
        Some(scales[1].clone())
    );
    assert_eq!(read(store, |s| s.list_scales(None, None, 9)), scales);
    assert_eq!(
        read(store, |s| s.list_scales(None, Some(scales[0].id), 1)),
        scales[1..2]
    );
    assert_eq!(
        read(store, |s| s.list_scales(Some("ferrowick"), None, 9)),
        scales[..2]
    );
    let refused = store.write(|s| s.insert_scale(&scale("ferrowick", "RISING")));
    assert_eq!(
        refused,
        Err(StoreError::Duplicate {
            what: Key::ScaleName
        })
    );
    let mut edited = scales[0].clone();
    edited.data.codes.pop();
    edited.data.name = "Old".into();
    edited.calibrated_at = Some(instant(3));
    edited.version = 2;
    let refused = store.write(|s| s.update_scale(&edited));
    assert_eq!(
        refused,
        Err(StoreError::Duplicate {
            what: Key::ScaleName
        })
    );
    edited.data.name = "newer".into();
    write(store, |s| s.update_scale(&edited));
    assert_eq!(read(store, |s| s.scale(edited.id)), Some(edited.clone()));
    assert!(!read(store, |s| s.scale_in_use(edited.id)));
    let mut plug = bare_plug("Ferrowick", "FW-1");
    plug.data.heat_scale_id = Some(edited.id);
    write(store, |s| s.insert_plug(&plug));
    assert!(read(store, |s| s.scale_in_use(edited.id)));
    assert!(store.write(|s| s.delete_scale(edited.id)).is_err());
    assert!(write(store, |s| s.delete_scale(scales[1].id)));
    assert!(!write(store, |s| s.delete_scale(scales[1].id)));
}
