//! Near misses in spelling, and the writing of lists and long values in problems.

/// The nearest of `valid` to `given`, if it is near enough to be meant.
pub fn nearest<'a>(given: &str, valid: &[&'a str]) -> Option<&'a str> {
    let given: Vec<char> = given.to_lowercase().chars().take(64).collect();
    valid
        .iter()
        .map(|word| (edits(&given, &word.chars().collect::<Vec<_>>()), *word))
        .min()
        .filter(|(edits, word)| *edits <= 2.max(word.len() / 3))
        .map(|(_, word)| word)
}

/// Letters added, dropped or changed to come from `a` to `b`.
fn edits(a: &[char], b: &[char]) -> usize {
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.iter().enumerate() {
        let mut corner = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let here = (corner + usize::from(x != y)).min(row[j] + 1).min(row[j + 1] + 1);
            corner = std::mem::replace(&mut row[j + 1], here);
        }
    }
    row[b.len()]
}

/// The remedy for a word that is not among the valid ones.
pub fn choose(given: &str, valid: &[&str]) -> String {
    match nearest(given, valid) {
        Some(word) => format!("write \"{word}\" if that is meant; valid are {}", valid.join(", ")),
        None => format!("valid are {}", valid.join(", ")),
    }
}

/// A value as shown in a problem: one line, at most 40 letters.
pub fn short(value: &str) -> String {
    let clean: String = value.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let mut cut: String = clean.chars().take(40).collect();
    if clean.chars().count() > 40 {
        cut.push('…');
    }
    cut
}

/// Numbers in a row, at most twelve of them: `1, 2, 3 and 40 more`.
pub fn list(items: impl Iterator<Item = String>) -> String {
    let all: Vec<String> = items.collect();
    let shown = all.iter().take(12).cloned().collect::<Vec<_>>().join(", ");
    if all.len() > 12 { format!("{shown} and {} more", all.len() - 12) } else { shown }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_near_miss_is_named_and_a_far_one_is_not() {
        for (given, expect) in [
            ("time_zome", Some("time_zone")),
            ("Orign", Some("origin")),
            ("timezone", Some("time_zone")),
            ("weather", None),
            ("", None),
        ] {
            assert_eq!(nearest(given, &["origin", "time_zone", "name_of_it"]), expect, "{given}");
        }
    }

    #[test]
    fn long_lists_and_values_are_cut() {
        assert_eq!(list((1..=14).map(|n| n.to_string())), "1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12 and 2 more");
        assert_eq!(short(&"x".repeat(50)).chars().count(), 41);
        assert_eq!(short("a\nb"), "a b");
    }
}
