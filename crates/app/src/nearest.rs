//! The nearest known word to a mistyped one.

/// The candidate that `word` was most likely meant to be; `None` when none is near.
pub(crate) fn nearest<'a>(word: &str, candidates: &[&'a str]) -> Option<&'a str> {
    // A third of the letters wrong is still a slip; more is another word.
    let most = word.chars().count().div_ceil(3).max(1);
    candidates
        .iter()
        .map(|candidate| (distance(&word.to_lowercase(), candidate), *candidate))
        .filter(|(distance, _)| *distance <= most)
        .min()
        .map(|(_, candidate)| candidate)
}

/// Letters to insert, remove, replace or swap with their neighbour (restricted Damerau-Levenshtein distance).
fn distance(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let mut rows = vec![vec![0; b.len() + 1]; a.len() + 1];
    for i in 0..=a.len() {
        for j in 0..=b.len() {
            rows[i][j] = if i == 0 || j == 0 {
                i + j
            } else {
                let change = usize::from(a[i - 1] != b[j - 1]);
                let mut best = (rows[i - 1][j] + 1)
                    .min(rows[i][j - 1] + 1)
                    .min(rows[i - 1][j - 1] + change);
                if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                    best = best.min(rows[i - 2][j - 2] + 1);
                }
                best
            };
        }
    }
    rows[a.len()][b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_are_recognised_and_other_words_are_not() {
        let keys = ["photos", "print_scale", "check", "camera"];
        assert_eq!(nearest("phtoos", &keys), Some("photos"));
        assert_eq!(nearest("printscale", &keys), Some("print_scale"));
        assert_eq!(nearest("Camera", &keys), Some("camera"));
        assert_eq!(nearest("weather", &keys), None);
        assert_eq!(nearest("x", &keys), None);
    }

    #[test]
    fn distances_of_known_pairs() {
        assert_eq!(distance("kitten", "sitting"), 3);
        assert_eq!(distance("ab", "ba"), 1);
        assert_eq!(distance("", "abc"), 3);
    }
}
