//! The screens: installed, built, checked and tested, each only when its sources changed.
//!
//! Never part of the product: the program carries what is built here inside it.

use crate::shell;
use std::ffi::OsStr;
use std::fs;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::{Path, PathBuf};
use std::process::Command;

/// Where Debian and others put the browser that the tests drive.
const BROWSERS: [&str; 3] = ["/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"];
/// What the page is built from, beside `web/src` and `web/public`.
const SOURCES: [&str; 6] = [
    "package.json",
    "package-lock.json",
    "vite.config.ts",
    "svelte.config.js",
    "tsconfig.json",
    "index.html",
];

fn folder() -> PathBuf {
    shell::root().join("web")
}

/// Npm, working in the folder of the screens.
fn npm(arguments: &str) -> Command {
    let mut command = shell::program("npm");
    command.current_dir(folder()).args(arguments.split_whitespace());
    command
}

/// Installs what the lock file names and builds `web/dist`, unless both are as the sources want them.
pub fn build() -> Result<(), String> {
    install()?;
    let dist = folder().join("dist");
    let mark = shell::root().join("target").join("web-built");
    let digest = digest()?;
    if dist.join("index.html").exists() && read(&mark) == digest {
        println!("the screens are built already");
        return Ok(());
    }
    shell::run(&mut npm("run build --silent"))?;
    write(&mark, &digest)
}

/// Installs the libraries of the lock file, unless they are there.
fn install() -> Result<(), String> {
    if !shell::found("npm", "--version") {
        return Err(
            "npm is not here: install node 20.19 or later, which brings it, then run this again".into()
        );
    }
    let lock = folder().join("package-lock.json");
    let mark = folder().join("node_modules").join(".installed");
    let wanted = fs::read_to_string(&lock).map_err(|e| format!("{}: {e}", lock.display()))?;
    let wanted = hashed(&[wanted.as_bytes()]);
    if read(&mark) == wanted {
        return Ok(());
    }
    shell::run(&mut npm("ci --no-audit --no-fund --no-progress"))?;
    write(&mark, &wanted)
}

/// Types of the screens, then their unit tests.
pub fn check() -> Result<(), String> {
    install()?;
    shell::run(&mut npm("run check --silent"))?;
    shell::run(&mut npm("run test --silent"))
}

/// The browser tests, against the program that was built last for the tests.
pub fn browse() -> Result<(), String> {
    browser()?;
    build()?;
    shell::run(&mut shell::cargo("build --locked --package fathomline"))?;
    let mut tests: Vec<PathBuf> = fs::read_dir(shell::root().join("tests/browser"))
        .map_err(|e| format!("tests/browser: {e}"))?
        .filter_map(|entry| entry.ok().map(|entry| entry.path()))
        .filter(|path| path.to_string_lossy().ends_with(".test.mjs"))
        .collect();
    tests.sort();
    let mut node = shell::program("node");
    node.args(["--test", "--test-concurrency=1", "--test-reporter=spec"]).args(tests);
    shell::run(&mut node)
}

/// A browser to test with; fetched where that can be done without asking anybody.
fn browser() -> Result<(), String> {
    let named = std::env::var_os("FATHOMLINE_BROWSER");
    if named.is_some_and(|path| Path::new(&path).exists())
        || BROWSERS.iter().any(|path| Path::new(path).exists())
    {
        return Ok(());
    }
    let way_out = "install the package chromium, or name a browser in FATHOMLINE_BROWSER";
    let root = shell::output(shell::program("id").arg("-u")).is_ok_and(|id| id.trim() == "0");
    if !shell::found("apt-get", "--version") || !(root || shell::found("sudo", "--version")) {
        return Err(format!("there is no chromium to test with; {way_out}"));
    }
    println!("fetching chromium for the browser tests");
    let apt = |arguments: &[&str]| {
        let mut command = if root { shell::program("apt-get") } else { shell::program("sudo") };
        if !root {
            command.args(["-n", "apt-get"]);
        }
        command.args(arguments).env("DEBIAN_FRONTEND", "noninteractive");
        shell::run(&mut command)
    };
    // Lists may be stale or missing on a lean machine; a failed update shows itself in the install.
    let _ = apt(&["update", "-qq"]);
    apt(&["install", "-y", "-qq", "--no-install-recommends", "chromium"])
        .map_err(|e| format!("{e}; {way_out}"))
}

/// What the sources are, in one line.
fn digest() -> Result<String, String> {
    let web = folder();
    let mut files: Vec<PathBuf> = SOURCES.iter().map(|name| web.join(name)).collect();
    for name in ["src", "public"] {
        gather(&web.join(name), &mut files)?;
    }
    files.sort();
    let mut parts: Vec<Vec<u8>> = Vec::new();
    for file in files {
        parts.push(file.as_os_str().as_encoded_bytes().to_vec());
        parts.push(fs::read(&file).map_err(|e| format!("{}: {e}", file.display()))?);
    }
    Ok(hashed(&parts))
}

fn gather(folder: &Path, files: &mut Vec<PathBuf>) -> Result<(), String> {
    let entries = fs::read_dir(folder).map_err(|e| format!("{}: {e}", folder.display()))?;
    for entry in entries {
        let path = entry.map_err(|e| e.to_string())?.path();
        if path.is_dir() {
            gather(&path, files)?;
        } else if path.file_name() != Some(OsStr::new(".DS_Store")) {
            files.push(path);
        }
    }
    Ok(())
}

/// A short mark of some bytes: tells whether they changed, nothing more.
fn hashed<T: AsRef<[u8]>>(parts: &[T]) -> String {
    let mut hasher = DefaultHasher::new();
    for part in parts {
        part.as_ref().hash(&mut hasher);
    }
    format!("{:016x}", hasher.finish())
}

fn read(path: &Path) -> String {
    fs::read_to_string(path).unwrap_or_default()
}

fn write(path: &Path, text: &str) -> Result<(), String> {
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder).map_err(|e| format!("{}: {e}", folder.display()))?;
    }
    fs::write(path, text).map_err(|e| format!("{}: {e}", path.display()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_mark_tells_what_changed() {
        assert_eq!(hashed(&["a", "b"]), hashed(&["a", "b"]));
        assert_ne!(hashed(&["a", "b"]), hashed(&["ab"]));
        assert_ne!(hashed(&["a"]), hashed(&["b"]));
    }
}
