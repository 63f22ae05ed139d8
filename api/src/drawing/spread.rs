//! Labels that would cover each other, moved apart.

/// Places for labels that want to stand at `wanted` (rising), at least `apart` from each other and within the
/// room, so that the squares of how far they are moved sum up to the least: pooled, as in isotonic regression.
///
/// Where the room is too small for all they run beyond its end.
pub fn spread(wanted: &[f64], apart: f64, room: [f64; 2]) -> Vec<f64> {
    // Without the distance that each keeps from the first, they only have to rise.
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (place, want) in wanted.iter().enumerate() {
        pools.push((want - place as f64 * apart, 1));
        while let [.., (before, n), (last, m)] = pools[..] {
            if before <= last {
                break;
            }
            pools.truncate(pools.len() - 2);
            let mean = (before * n as f64 + last * m as f64) / (n + m) as f64;
            pools.push((mean, n + m));
        }
    }
    let [low, high] = room;
    let most = (high - wanted.len().saturating_sub(1) as f64 * apart).max(low);
    let even = pools
        .into_iter()
        .flat_map(|(at, count)| std::iter::repeat_n(at.clamp(low, most), count));
    even.enumerate()
        .map(|(place, at)| at + place as f64 * apart)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::spread;

    #[test]
    fn labels_move_only_where_they_would_cover_each_other() {
        let room = [0.0, 100.0];
        assert_eq!(spread(&[10.0, 30.0, 50.0], 12.0, room), [10.0, 30.0, 50.0]);
        assert_eq!(spread(&[50.0, 50.0], 12.0, room), [44.0, 56.0], "a tie");
        assert_eq!(
            spread(&[40.0, 50.0, 60.0, 90.0], 12.0, room),
            [38.0, 50.0, 62.0, 90.0]
        );
        assert_eq!(
            spread(&[0.0, 2.0], 12.0, room),
            [0.0, 12.0],
            "the room ends"
        );
        assert_eq!(spread(&[99.0, 100.0], 12.0, room), [88.0, 100.0]);
        assert!(spread(&[], 12.0, room).is_empty());
    }
}
