//! The main job against a running shop: match, reserve, issue, scrap one, and listen.
//!
//! ```sh
//! PLUGWELL_URL=http://127.0.0.1:8717 PLUGWELL_TOKEN=… cargo run -p plugwell-client --example main_job
//! ```

use std::time::Duration;

use plugwell_client::{
    Build, Client, Code, Electronics, Engine, Error, Head, HeatIndex, Induction, Issue, Length,
    Match, MovementKind, Plug, Reserve, ScrapReason, Scrapping, Seat, StreamExt, Thread, Use,
};

/// The job that the plugs are for.
const JOB: &str = "J-7001";

/// A number that is exact to the last place that is kept.
fn mm(value: f64) -> Length {
    Length::exact(value).expect("no finer than 0.0001 mm")
}

#[tokio::main]
async fn main() -> Result<(), Error> {
    let told = |name: &str| std::env::var(name).unwrap_or_else(|_| panic!("{name} is not set"));

    let client = Client::builder(&told("PLUGWELL_URL"), &told("PLUGWELL_TOKEN"))
        .timeout(Duration::from_secs(20))
        .attempts(4)
        .build()?;

    // What happens from now on is listened to at the end.
    let mut feed = client.changes(Some("now")).wait(Duration::ZERO);
    feed.next_page().await?;

    let head = Head {
        hex_max_mm: Some(mm(16.0)),
        projection_min_mm: Some(mm(2.0)),
        projection_max_mm: Some(mm(4.0)),
        heat_index: Some(HeatIndex::exact(50.0).expect("a tenth at the finest")),
        ..Head::of(Thread::M14x125, mm(19.0), Seat::Gasket)
    };
    let engine = Engine {
        base_power_kw: Some(320.0),
        power_kw: Some(522.0),
        boost_kpa: Some(55.0),
        compression_ratio: Some(9.5),
        coil_kv: Some(34.0),
        electronics: Some(vec![Electronics::FuelInjection]),
        ..Engine::of(8, Induction::Supercharged, Use::Street)
    };
    let matched = client
        .matches(&Match::build(Build::of(head, engine)).limit(3))
        .await?;
    let best = matched.fits.first().expect("something fits");
    println!(
        "{} parts fit and are there; best: {}, {} available",
        matched.totals.fits_in_stock,
        best.plug.name(),
        best.available
    );
    for caution in &matched.cautions {
        println!("mind: {}", caution.text);
    }

    let kept = client
        .reserve(&Reserve::of(best.plug.id, matched.quantity, JOB))
        .await?;
    println!("reserved: {} for {}", kept.open_quantity, kept.job);

    let issue = Issue {
        reservation_id: Some(kept.id),
        gap_mm: best.set_gap_mm,
        ..Issue::of(best.plug.id, matched.quantity, JOB)
    };
    let issued = client.issue(&issue).await?;
    let out: i64 = issued
        .movements
        .iter()
        .map(|movement| movement.quantity)
        .sum();
    println!("issued: {out} to {JOB}");

    let dropped = Scrapping::from_job(best.plug.id, JOB, 1, ScrapReason::Dropped);
    let scrapped = client.scrap(&dropped).await?;
    println!("scrapped: {}, for good", scrapped.movements[0].quantity);

    // Sent twice under one key, done once.
    let keyed = client
        .clone()
        .under_key(&format!("scrap {}", kept.id).replace(' ', "-"))?;
    let (once, again) = (keyed.scrap(&dropped).await?, keyed.scrap(&dropped).await?);
    println!(
        "under one key: the same movement, {}",
        once.movements[0].id == again.movements[0].id
    );

    match client.issue(&Issue::of(best.plug.id, 1_000_000, JOB)).await {
        Err(Error::Refused(problem)) if problem.code() == Code::NotEnoughStock => {
            println!(
                "refused: {}; available {:?}",
                problem.word(),
                problem.available()
            );
        }
        other => println!("unexpected: {other:?}"),
    }

    let mut iridium = client
        .list::<Plug>()
        .filter("electrode", "iridium")
        .limit(20)
        .stream();
    let mut parts = 0;
    while let Some(plug) = iridium.next().await {
        plug?;
        parts += 1;
    }
    println!("iridium in the catalogue: {parts} parts");

    let after = feed.cursor().map(str::to_owned);
    let mut events = client
        .changes(after.as_deref())
        .of_type("plugwell.movement.booked.v1")
        .wait(Duration::from_secs(5))
        .stream();
    while let Some(event) = events.next().await {
        let (event, _cursor) = event?;
        println!(
            "happened: {} of {}",
            event.data["kind"], event.data["quantity"]
        );
        if event.data["kind"] == MovementKind::Scrapping.word() {
            break;
        }
    }
    Ok(())
}
