//! docs/problems.md lists every code that the source uses, and no other.

use std::collections::BTreeSet;
use std::path::Path;

fn codes_in(text: &str, before: char) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for (at, _) in text.match_indices(['W', 'A']) {
        let code: String = text[at..].chars().take(4).collect();
        let is_code = code.len() == 4 && code[1..].bytes().all(|b| b.is_ascii_digit());
        if is_code && text[..at].ends_with(before) {
            found.insert(code);
        }
    }
    found
}

fn walk(dir: &Path, found: &mut BTreeSet<String>) {
    for entry in std::fs::read_dir(dir).unwrap_or_else(|e| panic!("{}: {e}", dir.display())) {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            walk(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.extend(codes_in(&std::fs::read_to_string(&path).expect("text"), '"'));
        }
    }
}

fn is_row(line: &str) -> bool {
    let code = line.strip_prefix("| ").unwrap_or_default();
    code.starts_with(['W', 'A']) && code.len() > 4 && code.as_bytes()[1..4].iter().all(u8::is_ascii_digit)
}

#[test]
fn every_code_is_listed_and_every_listed_code_is_used() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let mut used = BTreeSet::new();
    for part in ["crates/water/src", "crates/search/src/told", "crates/fathomline/src"] {
        walk(&root.join(part), &mut used);
    }
    let page = std::fs::read_to_string(root.join("docs/problems.md")).expect("docs/problems.md");
    let rows: Vec<&str> = page.lines().filter(|line| is_row(line)).collect();
    let listed: BTreeSet<String> = rows.iter().map(|row| row[2..6].to_string()).collect();
    assert_eq!(listed.len(), rows.len(), "a code is listed twice");
    let missing: Vec<_> = used.difference(&listed).collect();
    let unused: Vec<_> = listed.difference(&used).collect();
    assert!(missing.is_empty() && unused.is_empty(), "not listed: {missing:?}; not used: {unused:?}");
    assert!(
        rows.iter().all(|row| row.matches('|').count() == 5),
        "every row has code, weight, meaning, remedy"
    );
}
