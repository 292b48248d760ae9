//! Rows of labels that do not run into each other.

/// Gap between two labels of a row, mm.
pub(super) const GAP: f64 = 2.0;

/// Middles of labels of these `widths` in one row, in the order given, apart by [`GAP`]
/// and within `from..=to`, so that the sum of the squared distances from where they want
/// to be is least. `wanted` must ascend; the row must be long enough ([`row_width`]).
///
/// # References
/// Taking from each place what the labels before it need leaves an isotonic regression;
/// solved by pooling adjacent violators (Barlow, Bartholomew, Bremner & Brunk,
/// *Statistical Inference under Order Restrictions*, 1972; from memory). Clamping its
/// result is the solution within bounds.
pub(super) fn spread(wanted: &[f64], widths: &[f64], from: f64, to: f64) -> Vec<f64> {
    let mut offsets = Vec::with_capacity(widths.len());
    let mut offset = 0.0;
    for (i, w) in widths.iter().enumerate() {
        if i > 0 {
            offset += 0.5 * (widths[i - 1] + w) + GAP;
        }
        offsets.push(offset);
    }
    let (Some(first), Some(last)) = (widths.first(), widths.last()) else {
        return Vec::new();
    };
    // Pools of labels pressed against each other: sum of their places, and how many.
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (w, o) in wanted.iter().zip(&offsets) {
        pools.push((w - o, 1));
        while let [.., a, b] = pools[..] {
            if a.0 / a.1 as f64 <= b.0 / b.1 as f64 {
                break;
            }
            pools.pop();
            pools.pop();
            pools.push((a.0 + b.0, a.1 + b.1));
        }
    }
    let (low, high) = (from + 0.5 * first, to - 0.5 * last - offset);
    pools
        .iter()
        .flat_map(|&(sum, n)| std::iter::repeat_n((sum / n as f64).max(low).min(high), n))
        .zip(&offsets)
        .map(|(place, o)| place + o)
        .collect()
}

/// Length of a row that holds labels of these widths.
pub(super) fn row_width(widths: &[f64]) -> f64 {
    let gaps = widths.len().saturating_sub(1) as f64 * GAP;
    widths.iter().sum::<f64>() + gaps
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_with_room_stay_where_they_want_to_be() {
        let wanted = [20.0, 50.0, 90.0];
        assert_eq!(spread(&wanted, &[10.0; 3], 0.0, 100.0), wanted);
    }

    #[test]
    fn crowded_labels_spread_evenly_about_their_middle() {
        let placed = spread(&[49.0, 50.0, 51.0], &[10.0; 3], 0.0, 100.0);
        assert_eq!(placed, [38.0, 50.0, 62.0]);
    }

    #[test]
    fn a_row_keeps_within_its_bounds() {
        let placed = spread(&[0.0, 1.0], &[10.0, 20.0], 0.0, 100.0);
        assert_eq!(placed, [5.0, 22.0]);
        let placed = spread(&[99.0, 100.0], &[10.0, 20.0], 0.0, 100.0);
        assert_eq!(placed, [73.0, 90.0]);
        assert_eq!(spread(&[], &[], 0.0, 1.0), Vec::<f64>::new());
    }
}
