//! `cargo xtask types`: the browser's types, made from the program's own OpenAPI document.
//!
//! The file is kept in the tree, so that the web app builds without Rust; a stale one fails `cargo xtask test`.

mod typescript;

use crate::shell;
use std::fs;
use std::path::PathBuf;

/// The file that the web app reads.
const FILE: &str = "web/src/generated/api.ts";

fn path() -> PathBuf {
    shell::root().join(FILE)
}

fn made(document: Option<&str>) -> Result<String, String> {
    let text = match document {
        Some(path) => fs::read_to_string(path).map_err(|error| format!("{path}: {error}"))?,
        None => shell::output(&mut shell::cargo("run --quiet --locked --package fathomline -- openapi"))?,
    };
    let document = serde_json::from_str(&text).map_err(|error| format!("fathomline openapi: {error}"))?;
    typescript::module(&document)
}

/// Writes the types: from the program as it is now, or from a document that it gave before.
pub fn run(arguments: &[String]) -> Result<(), String> {
    let text = match arguments {
        [] => made(None)?,
        [path] => made(Some(path))?,
        _ => return Err("types takes one OpenAPI document at most".into()),
    };
    let path = path();
    let folder = path.parent().ok_or("the file has no folder")?;
    fs::create_dir_all(folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    fs::write(&path, &text).map_err(|error| format!("{}: {error}", path.display()))?;
    println!("written: {FILE}, {} lines", text.lines().count());
    Ok(())
}

/// Fails if the file is not what the program gives today.
pub fn check() -> Result<(), String> {
    let kept = fs::read_to_string(path()).unwrap_or_default();
    if kept == made(None)? { Ok(()) } else { Err(format!("{FILE} is stale; run `cargo xtask types`")) }
}
