//! An odometer never runs backwards.

use plugwell_domain::fault::FaultCode;
use plugwell_domain::fitted::{backwards, latest_odometer};

use crate::sets::issue_at;

#[test]
fn the_latest_reading_is_the_greatest_that_anybody_told() {
    let issues = [
        issue_at(Some(9_000)),
        issue_at(Some(12_000)),
        issue_at(None),
    ];
    assert_eq!(latest_odometer(None, &issues), Some(12_000));
    assert_eq!(latest_odometer(Some(15_000), &issues), Some(15_000));
    assert_eq!(latest_odometer(Some(11_000), &issues), Some(12_000));
    assert_eq!(latest_odometer(Some(11_000), &[]), Some(11_000));
    assert_eq!(latest_odometer(None, &issues[2..]), None);
}

#[test]
fn only_a_reading_below_the_latest_is_a_fault() {
    assert_eq!(backwards(12_000, Some(12_000)), None);
    assert_eq!(backwards(12_001, Some(12_000)), None);
    assert_eq!(backwards(0, None), None);
    let fault = backwards(11_999, Some(12_000)).expect("it ran backwards");
    assert_eq!(
        (fault.pointer.as_str(), fault.code),
        ("#/odometer_km", FaultCode::Contradiction)
    );
    assert!(
        fault.detail.contains("11999") && fault.detail.contains("12000"),
        "{}",
        fault.detail
    );
}
