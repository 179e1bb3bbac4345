//! The invented sites beside the tests.

#![allow(dead_code)] // each test file uses its own part

use water::door::{Checked, SiteFiles, named_files, read_day, read_site};
use water::{Day, Problem, Site};

/// A file of an invented site.
pub fn file(site: &str, name: &str) -> Vec<u8> {
    let path = format!("{}/tests/sites/{site}/{name}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read(&path).unwrap_or_else(|e| panic!("{path}: {e}"))
}

/// All files of an invented site.
pub fn files(site: &str) -> SiteFiles {
    let names = named_files(&file(site, "site.toml"));
    let has = |name: &String| {
        std::path::Path::new(&format!("{}/tests/sites/{site}/{name}", env!("CARGO_MANIFEST_DIR"))).exists()
    };
    SiteFiles { files: names.into_iter().filter(has).map(|n| (n.clone(), file(site, &n))).collect() }
}

/// The files with one file's text replaced.
pub fn with(files: &SiteFiles, name: &str, text: impl Into<Vec<u8>>) -> SiteFiles {
    let mut files = files.clone();
    files.files.retain(|(file, _)| file != name);
    files.files.push((name.to_string(), text.into()));
    files
}

/// The text of one file.
pub fn text(files: &SiteFiles, name: &str) -> String {
    let (_, bytes) = files.files.iter().find(|(file, _)| file == name).expect("a file of the site");
    String::from_utf8(bytes.clone()).expect("UTF-8")
}

/// The site, which must come through.
pub fn site(files: &SiteFiles) -> Site {
    let checked = read_site(files);
    checked.value.unwrap_or_else(|| panic!("{}", said(&checked.problems)))
}

/// A day at Alder Pond.
pub fn day(text: &str) -> Checked<Day> {
    read_day("day.toml", text.as_bytes(), &site(&files("alder-pond")))
}

/// All problems as text.
pub fn said(problems: &[Problem]) -> String {
    problems.iter().map(|p| format!("{}{p}\n", if p.fatal { "! " } else { "- " })).collect()
}

/// Checks that a problem of this code is there, fatal (`!`) or not (`-`), and says `words`.
pub fn check(name: &str, problems: &[Problem], expect: (&str, &str)) {
    let (code, words) = expect;
    let text = said(problems);
    let line = text.lines().find(|line| line.starts_with(code) && line.contains(words));
    assert!(line.is_some(), "{name}: expected {code} with \"{words}\", got\n{text}");
    for problem in problems {
        assert!(
            !problem.what.is_empty() && !problem.remedy.is_empty() && !problem.place.file.is_empty(),
            "{name}"
        );
    }
}
