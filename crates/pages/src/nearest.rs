//! The name that someone most likely meant.

/// The candidate closest to `word`, when it is close enough to be a slip of the pen: an edit distance (with
/// swapped neighbours counted once) of at most a third of the longer word's length. Ties go to the first.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    candidates
        .into_iter()
        .filter_map(|c| {
            let limit = word.chars().count().max(c.chars().count()).div_ceil(3);
            let d = distance(word, c);
            (d <= limit).then_some((d, c))
        })
        .min_by_key(|(d, _)| *d)
        .map(|(_, c)| c)
}

/// Optimal string alignment distance, three rows at a time. Words longer than 64 characters are never near.
fn distance(a: &str, b: &str) -> usize {
    let a: Vec<char> = a.chars().collect();
    let b: Vec<char> = b.chars().collect();
    if a.len() > 64 || b.len() > 64 {
        return usize::MAX;
    }
    let mut before = vec![0; b.len() + 1];
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.iter().enumerate() {
        let mut row = vec![i + 1; b.len() + 1];
        for (j, cb) in b.iter().enumerate() {
            let mut d = (last[j] + usize::from(ca != cb)).min(last[j + 1] + 1).min(row[j] + 1);
            if i > 0 && j > 0 && *ca == b[j - 1] && a[i - 1] == *cb {
                d = d.min(before[j - 1] + 1);
            }
            row[j + 1] = d;
        }
        before = std::mem::replace(&mut last, row);
    }
    last.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_slips_and_nothing_else() {
        assert_eq!(nearest("figcapton", ["figure", "figcaption", "caption"]), Some("figcaption"));
        assert_eq!(nearest("verdict-pas", ["verdict-fail", "verdict-pass"]), Some("verdict-pass"));
        assert_eq!(nearest("script", ["p", "em", "td"]), None);
        assert_eq!(nearest("tabel", ["table", "label"]), Some("table"));
    }
}
