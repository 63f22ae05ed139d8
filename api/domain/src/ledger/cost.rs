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

/// The same where more may come than the total was for: those cost as the first ones do, again and
/// again, so that every whole round of them adds up to the total.
pub fn share_beyond(total_minor: i64, received: i64, gone: i64, quantity: i64) -> i64 {
    // Rounds that are over change nothing in what comes next.
    let gone = gone % received;
    let first = |plugs: i64| {
        let (rounds, rest) = (plugs / received, plugs % received);
        rounds * total_minor + share(total_minor, received, 0, rest)
    };
    first(gone + quantity) - first(gone)
}

/// Its part for so many of some plugs that all cost the same, by largest remainder between those
/// that go and those that stay: the nearest whole unit, of two that are as near the greater. What
/// stays has the rest, so that the last of them takes whatever is left.
///
/// Money in whole minor units; `plugs` is at least 1, `quantity` at most that.
pub fn portion(total_minor: i64, plugs: i64, quantity: i64) -> i64 {
    let (total, all) = (i128::from(total_minor), i128::from(plugs));
    let nearest = (2 * total * i128::from(quantity) + all).div_euclid(2 * all);
    // Never more than the total, as the quantity is never more than all.
    i64::try_from(nearest).unwrap_or(total_minor)
}
