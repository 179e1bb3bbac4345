//! Reads a site folder and a day file from disk and takes them through the door.
//!
//! Only the known files and those that `site.toml` names are opened, and none that is larger than the limit.

use std::io::Read;
use std::path::Path;
use water::door::{
    Checked, DAY_FILE, Photo, SITE_FILE, SiteFiles, named_files, read_day, read_photo, read_site,
};
use water::{Day, Place, Problem, Site};

/// Largest file that is read \[bytes\]: a million soundings take about 30 MB, a full raster as text about 60 MB.
const FILE_MOST: u64 = 128 * 1024 * 1024;

/// A site that came through the door, with what is to be said of it; or everything that keeps it out.
pub fn load_site(dir: &Path) -> Result<(Site, Vec<Problem>), Vec<Problem>> {
    passed(check_site(dir))
}

/// A day that came through the door, with what is to be said of it; or everything that keeps it out.
pub fn load_day(path: &Path, site: &Site) -> Result<(Day, Vec<Problem>), Vec<Problem>> {
    passed(check_day(path, site))
}

fn passed<T>(checked: Checked<T>) -> Result<(T, Vec<Problem>), Vec<Problem>> {
    match checked.value {
        Some(value) => Ok((value, checked.problems)),
        None => Err(checked.problems),
    }
}

/// Everything that is wrong with a site folder, and the site if it can be used.
pub fn check_site(dir: &Path) -> Checked<Site> {
    let mut problems = Vec::new();
    let mut files = SiteFiles::default();
    let site_toml = match read_file(&dir.join(SITE_FILE)) {
        Ok(bytes) => bytes,
        Err(problem) => return Checked { value: None, problems: vec![*problem] },
    };
    for name in named_files(&site_toml).into_iter().filter(|name| name != SITE_FILE) {
        let path = dir.join(&name);
        // A file that is not there is the door's to judge; one that cannot be read is said here.
        if std::fs::symlink_metadata(&path).is_err() {
            continue;
        }
        match read_file(&path) {
            Ok(bytes) => files.files.push((name, bytes)),
            Err(problem) => problems.push(*problem),
        }
    }
    files.files.push((SITE_FILE.to_string(), site_toml));
    let checked = read_site(&files);
    let unread = |problem: &Problem| {
        // A file that could not be opened is not also missing.
        problem.code == "W001" && problems.iter().any(|p: &Problem| p.place.file == problem.place.file)
    };
    let rest: Vec<Problem> = checked.problems.into_iter().filter(|problem| !unread(problem)).collect();
    let value = checked.value.filter(|_| problems.is_empty());
    problems.extend(rest);
    Checked { value, problems }
}

/// Everything that is wrong with a day file, and the day if it can be used.
pub fn check_day(path: &Path, site: &Site) -> Checked<Day> {
    match read_file(path) {
        Ok(bytes) => read_day(&file_name(path), &bytes, site),
        Err(problem) => Checked { value: None, problems: vec![*problem] },
    }
}

/// Everything that is wrong with a day file beside a site that cannot be used yet: all but what hangs on the site, its
/// stage, its places and its names.
pub fn check_day_alone(path: &Path) -> Vec<Problem> {
    const HANGS_ON_THE_SITE: [&str; 3] = ["W406", "W412", "W423"];
    const ANY_TOML: &str = "name = \"any\"\norigin = [0, 0]\ntime_zone = \"UTC\"\nwater_kind = \"lake\"\n";
    const ANY_MAP: &str = r#"{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"kind":"water"},"geometry":
        {"type":"Polygon","coordinates":[[[0,0],[0.001,0],[0.001,0.001],[0,0]]]}}]}"#;
    let any = SiteFiles {
        files: vec![(SITE_FILE.into(), ANY_TOML.into()), ("map.geojson".into(), ANY_MAP.into())],
    };
    let site = read_site(&any).value.expect("three corners are a water");
    let mut problems = check_day(path, &site).problems;
    problems.retain(|problem| !HANGS_ON_THE_SITE.contains(&problem.code.as_str()));
    problems
}

/// The photo of a site and its bytes, if the site has one that can be shown; what is wrong with it the check of the site says.
pub fn load_photo(dir: &Path, site: &Site) -> Option<(Photo, Vec<u8>)> {
    let site_toml = read_file(&dir.join(SITE_FILE)).ok()?;
    let mut files = SiteFiles::default();
    for name in named_files(&site_toml) {
        files.files.extend(read_file(&dir.join(&name)).ok().map(|bytes| (name, bytes)));
    }
    let photo = read_photo(&files, site)?;
    let bytes = files.files.into_iter().find(|(name, _)| *name == photo.file)?.1;
    Some((photo, bytes))
}

/// Whether a site folder holds a day file of its own.
pub fn own_day(dir: &Path) -> Option<std::path::PathBuf> {
    Some(dir.join(DAY_FILE)).filter(|path| std::fs::symlink_metadata(path).is_ok())
}

fn file_name(path: &Path) -> String {
    path.file_name().map_or_else(|| path.display().to_string(), |name| name.to_string_lossy().into_owned())
}

fn read_file(path: &Path) -> Result<Vec<u8>, Box<Problem>> {
    let problem = |code: &str, what: String, remedy: &str| {
        Box::new(Problem {
            code: code.to_string(),
            fatal: true,
            place: Place { file: file_name(path), line: None, item: None },
            what,
            remedy: remedy.to_string(),
        })
    };
    let unread = |error: std::io::Error| match error.kind() {
        std::io::ErrorKind::NotFound => problem(
            "W001",
            format!("is not there: {}", path.display()),
            "give the folder that holds it, or write it",
        ),
        _ => problem("W004", format!("cannot be read: {error}"), "look at the file and who may read it"),
    };
    // A pipe or a device could block for ever, so only plain files are opened.
    let facts = std::fs::metadata(path).map_err(unread)?;
    if !facts.is_file() {
        return Err(problem("W004", "is not a plain file".into(), "put the file itself there"));
    }
    let file = std::fs::File::open(path).map_err(unread)?;
    let mut bytes = Vec::new();
    file.take(FILE_MOST + 1).read_to_end(&mut bytes).map_err(unread)?;
    if bytes.len() as u64 > FILE_MOST {
        let megabytes = FILE_MOST / 1024 / 1024;
        let what = format!("is larger than {megabytes} MB ({} bytes)", facts.len());
        return Err(problem("W005", what, "thin the soundings, or cut the raster to the water"));
    }
    Ok(bytes)
}
