//! What lies dead: since the last issue, but no longer than what is there has been there.

use chrono::{DateTime, TimeDelta, Utc};
use plugwell_domain::report::dead_stock::InStock;
use uuid::Uuid;

fn day(number: i64) -> DateTime<Utc> {
    DateTime::UNIX_EPOCH + TimeDelta::days(20_000 + number)
}

fn in_stock(received: i64, issued: Option<i64>) -> InStock {
    InStock {
        plug_id: Uuid::nil(),
        on_hand: 4,
        received_at: day(received),
        last_issue_at: issued.map(day),
    }
}

#[test]
fn stock_is_dead_from_the_day_on() {
    for (received, issued, idle) in [
        (0, Some(100), 100),
        (0, None, 200),
        // Sold out once and received anew: what is there has not been there for longer.
        (150, Some(20), 50),
        (150, None, 50),
        (199, Some(199), 1),
    ] {
        let part = in_stock(received, issued);
        assert_eq!(part.idle_days(day(200)), idle, "{part:?}");
        for days in [1, 49, 50, 51, 99, 100, 101, 200, 201] {
            let dead = part.is_dead(days, day(200));
            assert_eq!(dead, i64::from(days) <= idle, "{days} days: {part:?}");
        }
    }
    let gone = InStock {
        on_hand: 0,
        ..in_stock(0, None)
    };
    assert!(!gone.is_dead(1, day(200)), "what is not there is not dead");
}
