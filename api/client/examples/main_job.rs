//! The main job against a running shop: match, reserve, issue, scrap one, and listen.
//!
//! ```sh
//! PLUGWELL_URL=http://127.0.0.1:8717 PLUGWELL_TOKEN=… cargo run -p plugwell-client --example main_job
//! ```

use std::time::Duration;

use plugwell_client::webhook::{self, Signed};
use plugwell_client::{
    Build, Client, Code, Electronics, Engine, Error, Fit, Head, HeatIndex, Induction, Issue,
    Length, Match, Matched, Plug, Reserve, ScrapReason, Scrapping, Seat, StreamExt, Thread, Use,
};

/// The job that the plugs are for.
const JOB: &str = "J-7001";

#[tokio::main]
async fn main() -> Result<(), Error> {
    let told = |name: &str| std::env::var(name).unwrap_or_else(|_| panic!("{name} is not set"));
    let client = Client::builder(&told("PLUGWELL_URL"), &told("PLUGWELL_TOKEN"))
        .timeout(Duration::from_secs(20))
        .attempts(4)
        .build()?;
    let first = client.list::<Plug>().limit(1).page(None).await?;
    println!("signed in, {} part on the page", first.items.len());

    let matched = find(&client).await?;
    let best = matched.fits.first().expect("something fits");
    take(&client, best, matched.quantity).await?;
    scrap(&client, best).await?;
    refused(&client, best).await?;
    iridium(&client).await?;
    delivered();
    Ok(())
}

/// A number that is exact to the last place that is kept.
fn mm(value: f64) -> Length {
    Length::exact(value).expect("no finer than 0.0001 mm")
}

async fn find(client: &Client) -> Result<Matched, Error> {
    let head = Head {
        hex_max_mm: Some(mm(16.0)),
        projection_min_mm: Some(mm(2.0)),
        projection_max_mm: Some(mm(4.0)),
        heat_index: HeatIndex::exact(50.0).ok(),
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
    let question = Match::build(Build::of(head, engine)).limit(3);
    let matched = client.matches(&question).await?;
    let best = matched.fits.first().map(|fit| fit.plug.name());
    let (parts, set) = (matched.totals.fits_in_stock, matched.quantity);
    println!("in stock: {parts} parts; best: {best:?}, a set is {set}");
    if let Some(caution) = matched.cautions.first() {
        println!("mind: {}", caution.text);
    }
    Ok(matched)
}

async fn take(client: &Client, best: &Fit, set: i64) -> Result<(), Error> {
    let kept = client.reserve(&Reserve::of(best.plug.id, set, JOB)).await?;
    println!("reserved: {}, {}", kept.open_quantity, kept.state);

    let issue = Issue {
        reservation_id: Some(kept.id),
        gap_mm: best.set_gap_mm,
        ..Issue::of(best.plug.id, set, JOB)
    };
    let keyed = client.clone().under_key(&format!("issue-{}", kept.id))?;
    let issued = keyed.issue(&issue).await?;
    let out: i64 = issued.movements.iter().map(|one| one.quantity).sum();
    println!("issued: {out} to {JOB}");

    let again = keyed.issue(&issue).await?;
    println!("the same answer: {}", again == issued);
    Ok(())
}

async fn scrap(client: &Client, best: &Fit) -> Result<(), Error> {
    let mut feed = client.changes(Some("now")).wait(Duration::ZERO);
    feed.next_page().await?;
    let dropped = Scrapping::from_job(best.plug.id, JOB, 1, ScrapReason::Dropped);
    let scrapped = client.scrap(&dropped).await?;
    println!("scrapped: {}", scrapped.movements[0].quantity);

    let feed = feed.of_type("plugwell.movement.booked.v1");
    let mut events = feed.wait(Duration::from_secs(10)).stream();
    if let Some(event) = events.next().await {
        // Keep the cursor with your own data once the event is dealt with.
        let (event, cursor) = event?;
        let (kind, quantity) = (&event.data["kind"], &event.data["quantity"]);
        println!(
            "{}: {kind}, {quantity}; go on: {}",
            event.kind,
            cursor.is_some()
        );
    }
    Ok(())
}

async fn refused(client: &Client, best: &Fit) -> Result<(), Error> {
    let too_many = Issue::of(best.plug.id, 1_000_000, JOB);
    match client.issue(&too_many).await {
        Err(Error::Refused(problem)) if problem.code() == Code::NotEnoughStock => {
            println!("{}, available: {:?}", problem.word(), problem.available());
        }
        other => println!("not expected: {other:?}"),
    }

    if let Err(error) = client.list::<Plug>().limit(201).page(None).await {
        let faults = error.problem().map(|problem| problem.errors.as_slice());
        println!(
            "{:?} at {}",
            error.code(),
            faults.unwrap_or_default()[0].pointer
        );
    }
    Ok(())
}

async fn iridium(client: &Client) -> Result<(), Error> {
    let list = client
        .list::<Plug>()
        .filter("electrode", "iridium")
        .limit(20);
    let (mut plugs, mut parts) = (list.stream(), 0);
    while let Some(plug) = plugs.next().await {
        plug?;
        parts += 1;
    }
    println!("iridium in the catalogue: {parts} parts");
    Ok(())
}

fn delivered() {
    let secret = "whsec_MDEyMzQ1Njc4OWFiY2RlZjAxMjM0NTY3ODlhYmNkZWY=";
    let signed = Signed {
        id: "0195d1a0-0000-7000-8000-000000000001",
        timestamp: "1790000000",
        signature: "v1,DmDSPjIIpvGq04zy5SdfYcx43OTo5Hh1UsadcKOslUM=",
    };
    let body = br#"{"type":"plugwell.movement.booked.v1"}"#;
    // In a receiver: `chrono::Utc::now()`.
    let now = chrono::DateTime::from_timestamp(1_790_000_010, 0).expect("a time");
    println!("{:?}", webhook::verify(secret, signed, body, now));
    println!("{:?}", webhook::verify(secret, signed, b"{}", now));
}
