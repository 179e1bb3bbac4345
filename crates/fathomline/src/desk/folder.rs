//! The data folder: a copy of site and day as they were when the log began, so that a replay needs nothing else.

use crate::site_folder::{load_day, load_site};
use sha2::{Digest, Sha256};
use std::path::{Path, PathBuf};
use water::door::{DAY_FILE, SITE_FILE, named_files};
use water::{Day, Problem, Site};

/// Where the copy lies in the data folder.
const COPY: &str = "site";

/// Site and day of a desk.
pub struct Waters {
    /// The site.
    pub site: Site,
    /// The day.
    pub day: Day,
    /// What the door said of both.
    pub problems: Vec<Problem>,
    /// Digest of every file that was read.
    pub digest: String,
}

/// The copy of the site in a data folder.
pub fn copy(data: &Path) -> PathBuf {
    data.join(COPY)
}

/// Site and day of a data folder, copied into it first if it is new.
///
/// # Inputs
/// - `data`: data folder · `site`: site folder, needed by a new data folder · `day`: day file; without it the site
///   folder's own
///
/// # Gives
/// Site and day from the copy; or everything that is wrong, one problem a line.
pub fn waters(data: &Path, site: Option<&Path>, day: Option<&Path>) -> Result<Waters, String> {
    let copy = copy(data);
    if !copy.is_dir() {
        let site = site.ok_or_else(|| {
            format!("{} is new: say which water it is for, with --site DIR and --day FILE", data.display())
        })?;
        let day = day.map_or_else(|| site.join(DAY_FILE), Path::to_path_buf);
        // Looked at before it is copied: a site that cannot be used makes no folder.
        read(site, &day)?;
        copy_whole(site, &day, &copy)?;
    } else if let Some(site) = site {
        let day = day.map_or_else(|| site.join(DAY_FILE), Path::to_path_buf);
        let same = digest(site, &day)
            .is_ok_and(|given| digest(&copy, &copy.join(DAY_FILE)).is_ok_and(|d| d == given));
        if !same {
            return Err(format!(
                "{} holds the log of another site or day; give each day its own folder, or leave --site and --day out to go on with this one",
                data.display()
            ));
        }
    }
    read(&copy, &copy.join(DAY_FILE))
}

fn read(site_dir: &Path, day_file: &Path) -> Result<Waters, String> {
    let said =
        |problems: Vec<Problem>| problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n");
    let (site, mut problems) = load_site(site_dir).map_err(said)?;
    let (day, more) = load_day(day_file, &site).map_err(said)?;
    problems.extend(more);
    Ok(Waters { site, day, problems, digest: digest(site_dir, day_file)? })
}

/// Names and bytes of every file that a site is read from.
fn digest(site_dir: &Path, day_file: &Path) -> Result<String, String> {
    let mut hash = Sha256::new();
    for (name, path) in files(site_dir, day_file)? {
        let bytes = std::fs::read(&path).map_err(|error| format!("{}: {error}", path.display()))?;
        hash.update((name.len() as u64).to_be_bytes());
        hash.update(name.as_bytes());
        hash.update((bytes.len() as u64).to_be_bytes());
        hash.update(&bytes);
    }
    Ok(hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect())
}

/// Files of a site folder that are read, and the day file under its usual name; by name.
fn files(site_dir: &Path, day_file: &Path) -> Result<Vec<(String, PathBuf)>, String> {
    let settings = site_dir.join(SITE_FILE);
    let text = std::fs::read(&settings).map_err(|error| format!("{}: {error}", settings.display()))?;
    let mut all: Vec<(String, PathBuf)> = named_files(&text)
        .into_iter()
        .chain([SITE_FILE.to_string()])
        .filter(|name| name != DAY_FILE)
        .map(|name| (name.clone(), site_dir.join(name)))
        .filter(|(_, path)| path.is_file())
        .collect();
    all.push((DAY_FILE.to_string(), day_file.to_path_buf()));
    all.sort();
    all.dedup();
    Ok(all)
}

/// Copies under another name first: a copy that was cut short is never taken for whole.
fn copy_whole(site_dir: &Path, day_file: &Path, copy: &Path) -> Result<(), String> {
    let part = copy.with_extension("part");
    let said = |path: &Path, error: std::io::Error| format!("{}: {error}", path.display());
    if part.is_dir() {
        std::fs::remove_dir_all(&part).map_err(|error| said(&part, error))?;
    }
    std::fs::create_dir_all(&part).map_err(|error| said(&part, error))?;
    for (name, path) in files(site_dir, day_file)? {
        std::fs::copy(&path, part.join(name)).map_err(|error| said(&path, error))?;
    }
    std::fs::rename(&part, copy).map_err(|error| said(copy, error))
}
