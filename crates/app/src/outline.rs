//! The outline around points.

/// The corners of the convex outline around points, in order (Andrew's monotone chain).
pub(crate) fn outline(points: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    sorted.dedup();
    if sorted.len() < 3 {
        return sorted;
    }
    let mut half = chain(sorted.iter());
    let other = chain(sorted.iter().rev());
    half.pop();
    half.extend(&other[..other.len() - 1]);
    half
}

fn chain<'a>(points: impl Iterator<Item = &'a [f64; 2]>) -> Vec<[f64; 2]> {
    let mut kept: Vec<[f64; 2]> = Vec::new();
    for &p in points {
        while let [.., a, b] = kept[..]
            && (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) <= 0.0
        {
            kept.pop();
        }
        kept.push(p);
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::outline;

    #[test]
    fn inner_points_are_left_out() {
        let points = [
            [0.0, 0.0],
            [4.0, 0.0],
            [4.0, 3.0],
            [0.0, 3.0],
            [2.0, 1.0],
            [2.0, 0.0],
        ];
        let around = outline(&points);
        assert_eq!(around.len(), 4, "{around:?}");
        assert!(!around.contains(&[2.0, 1.0]) && !around.contains(&[2.0, 0.0]));
    }

    #[test]
    fn few_points_are_their_own_outline() {
        assert_eq!(outline(&[[1.0, 2.0], [1.0, 2.0]]), vec![[1.0, 2.0]]);
        assert!(outline(&[]).is_empty());
    }
}
