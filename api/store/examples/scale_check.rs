#![allow(missing_docs)]
#[path = "../tests/made_up/mod.rs"]
mod made_up;
use made_up::*;
use plugwell_domain::attribute::*;
use plugwell_domain::ledger::*;
use plugwell_store::*;
use std::time::Instant;
fn main() {
    let target = Target::parse(&std::env::args().nth(1).unwrap()).unwrap();
    let n: usize = std::env::args().nth(2).unwrap().parse().unwrap();
    let store = Store::open(&target, &Options::default()).unwrap();
    let shop = Shop::set_up(&store);
    let t = Instant::now();
    let mut ids = vec![];
    for chunk in 0..n / 1000 {
        let plugs: Vec<_> = (0..1000)
            .map(|k| {
                let mut p = full_plug("Quillmark", &format!("Q-{}", chunk * 1000 + k));
                p.data.facts.set(Attr::Heat, Some((k % 100) as i64 * 10));
                p.retired = false;
                p
            })
            .collect();
        write(&store, |s| {
            plugs.iter().try_for_each(|p| s.insert_plug(p).map(drop))
        });
        ids.extend(plugs.iter().map(|p| p.id));
    }
    println!("insert {n} plugs: {:?}", t.elapsed());
    let t = Instant::now();
    for chunk in ids.chunks(1000) {
        write(&store, |s| {
            for plug in chunk {
                let a = lot(*plug);
                let mut r = shop.receipt(&a, 20);
                r.plug_id = *plug;
                let mut i = shop.issue(&a, 4);
                i.plug_id = *plug;
                s.apply(
                    *plug,
                    &Plan {
                        new_lots: vec![a],
                        movements: vec![r, i],
                        reservations: vec![reservation(*plug, "Job 7", 2)],
                    },
                )?;
            }
            Ok(())
        });
    }
    println!("receipt, issue and reservation each: {:?}", t.elapsed());
    let t = Instant::now();
    let all = read(&store, |s| s.all_on_shelf());
    println!("all_on_shelf {}: {:?}", all.len(), t.elapsed());
    let t = Instant::now();
    let (mut after, mut count) = (0, 0);
    loop {
        let page = read(&store, |s| s.all_plugs(after, 5000));
        if page.is_empty() {
            break;
        }
        count += page.len();
        after = i64::from(page.last().unwrap().0);
    }
    println!("all_plugs {count}: {:?}", t.elapsed());
    let some: Vec<_> = ids
        .iter()
        .step_by((ids.len() / 20).max(1))
        .take(20)
        .copied()
        .collect();
    read(&store, |s| s.plugs_by_id(&some));
    let t = Instant::now();
    for _ in 0..500 {
        read(&store, |s| s.plugs_by_id(&some));
    }
    println!("plugs_by_id 20: {:?}", t.elapsed() / 500);
    let t = Instant::now();
    for k in 0..500 {
        read(&store, |s| s.plug(ids[k * 997 % ids.len()]));
    }
    println!("plug: {:?}", t.elapsed() / 500);
    let t = Instant::now();
    for k in 0..500 {
        write(&store, |s| {
            let p = ids[k * 997 % ids.len()];
            s.shelf(p, &[])?;
            s.mark(MarkKind::Plug, p)
        });
    }
    println!("shelf + commit alone: {:?}", t.elapsed() / 500);
    let t = Instant::now();
    let f = PlugFilter {
        facts: vec![(Attr::Heat, FactFilter::Is(10))],
        ..Default::default()
    };
    let l = read(&store, |s| s.list_plugs(&f, None, 50)).len();
    println!("list_plugs {l}: {:?}", t.elapsed());
    for (name, f) in [
        (
            "plug",
            MovementFilter {
                plug_id: Some(ids[5]),
                ..Default::default()
            },
        ),
        (
            "kind",
            MovementFilter {
                kind: Some(MovementKind::Issue),
                ..Default::default()
            },
        ),
        (
            "place",
            MovementFilter {
                place_id: Some(shop.bin.id),
                ..Default::default()
            },
        ),
        (
            "job",
            MovementFilter {
                job: Some("job 7".into()),
                ..Default::default()
            },
        ),
        (
            "job+kind",
            MovementFilter {
                job: Some("job 7".into()),
                kind: Some(MovementKind::Return),
                ..Default::default()
            },
        ),
    ] {
        let t = Instant::now();
        let l = read(&store, |s| s.list_movements(&f, None, 50)).len();
        println!("list_movements by {name} {l}: {:?}", t.elapsed());
    }
    for (name, f) in [
        (
            "place",
            LevelFilter {
                place_id: Some(shop.bin.id),
                ..Default::default()
            },
        ),
        (
            "kind",
            LevelFilter {
                kind: Some(PlaceKind::Bin),
                ..Default::default()
            },
        ),
        (
            "plug",
            LevelFilter {
                plug_id: Some(ids[7]),
                ..Default::default()
            },
        ),
    ] {
        let t = Instant::now();
        let l = read(&store, |s| s.list_levels(&f, None, 50)).len();
        println!("list_levels by {name} {l}: {:?}", t.elapsed());
    }
    let t = Instant::now();
    let a = read(&store, |s| s.audit_levels());
    println!(
        "audit {} movements, {} differences: {:?}",
        a.movements,
        a.differences.len(),
        t.elapsed()
    );
    if std::env::args().count() > 3 {
        let t = Instant::now();
        let r = store
            .backup(std::path::Path::new(&format!(
                "{}/copy.db",
                std::env::args().nth(3).unwrap()
            )))
            .unwrap();
        println!("backup {} MB: {:?}", r.bytes / 1_000_000, t.elapsed());
    }
}
