//! What plugs of a lot cost: the receipt's total is what is kept, a plug's share is derived.

/// What so many plugs of a lot cost, of which some have left it before: the total of the lot over
/// all its plugs by largest remainder, the dearer shares first. The shares of a whole lot add up to
/// its total, however it is taken apart.
///
/// Money in whole minor units; `received` is at least 1.
pub fn share(total_minor: i64, received: i64, gone: i64, quantity: i64) -> i64 {
    let (each, rest) = (total_minor / received, total_minor % received);
    let first = |plugs: i64| plugs * each + plugs.min(rest);
    first(gone + quantity) - first(gone)
}
