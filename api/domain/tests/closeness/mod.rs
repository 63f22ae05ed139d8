//! How near a figure has to be to an outside one.

/// Equal to the last decimal that was printed.
#[track_caller]
pub fn assert_printed(got: f64, want: f64, decimals: i32) {
    let half_a_digit = 0.500_001 * 10f64.powi(-decimals);
    assert!(
        (got - want).abs() <= half_a_digit,
        "{got} is not {want} to {decimals} decimals"
    );
}

/// Whether two figures differ by at most this share.
pub fn within(share: f64, got: f64, want: f64) -> bool {
    (got / want - 1.0).abs() <= share
}
