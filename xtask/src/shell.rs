//! Starting other programs from the root of the checkout, and reading what they say.

use std::ffi::OsStr;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// The root of the checkout: the folder above this crate.
pub fn root() -> PathBuf {
    let here = std::env::var("CARGO_MANIFEST_DIR").unwrap_or_else(|_| env!("CARGO_MANIFEST_DIR").to_string());
    Path::new(&here).parent().map_or_else(|| PathBuf::from("."), Path::to_path_buf)
}

/// A program to be started in the root, with nothing on its standard input.
pub fn program(name: impl AsRef<OsStr>) -> Command {
    let mut command = Command::new(name);
    command.current_dir(root()).stdin(Stdio::null());
    command
}

/// The cargo that started us, with its arguments separated by blanks.
pub fn cargo(arguments: &str) -> Command {
    let mut command = program(std::env::var("CARGO").unwrap_or_else(|_| "cargo".to_string()));
    command.args(arguments.split_whitespace());
    command
}

/// The command as one would type it.
pub fn typed(command: &Command) -> String {
    let program = Path::new(command.get_program()).file_name().unwrap_or(command.get_program());
    let mut text = program.to_string_lossy().into_owned();
    for argument in command.get_args() {
        let argument = argument.to_string_lossy();
        let quoted = argument.contains([' ', '\'']);
        text += &if quoted { format!(" '{argument}'") } else { format!(" {argument}") };
    }
    text
}

/// Runs to the end, its words going to ours.
pub fn run(command: &mut Command) -> Result<(), String> {
    let status = command.status().map_err(|e| format!("{} cannot be started: {e}", typed(command)))?;
    if status.success() { Ok(()) } else { Err(format!("{} failed ({status})", typed(command))) }
}

/// Runs to the end and gives its standard output; standard error goes to ours.
pub fn output(command: &mut Command) -> Result<String, String> {
    let done = command
        .stdout(Stdio::piped())
        .stderr(Stdio::inherit())
        .output()
        .map_err(|e| format!("{} cannot be started: {e}", typed(command)))?;
    if !done.status.success() {
        return Err(format!("{} failed ({})", typed(command), done.status));
    }
    String::from_utf8(done.stdout).map_err(|e| format!("{} prints what is not UTF-8: {e}", typed(command)))
}

/// Runs to the end, showing each line of standard output to `look` as it comes; gives whether it succeeded.
pub fn watch(command: &mut Command, mut look: impl FnMut(&str)) -> Result<bool, String> {
    let mut child = command
        .stdout(Stdio::piped())
        .spawn()
        .map_err(|e| format!("{} cannot be started: {e}", typed(command)))?;
    if let Some(out) = child.stdout.take() {
        for line in BufReader::new(out).split(b'\n') {
            let line = line.map_err(|e| e.to_string())?;
            look(&String::from_utf8_lossy(&line));
        }
    }
    child.wait().map(|status| status.success()).map_err(|e| e.to_string())
}

/// Whether a program can be started at all.
pub fn found(name: &str, argument: &str) -> bool {
    program(name)
        .arg(argument)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .is_ok_and(|status| status.success())
}

/// Git, also where the checkout belongs to another user than the one who runs it.
pub fn git(arguments: &str) -> Command {
    let mut command = program("git");
    command.args(["-c", "safe.directory=*"]).args(arguments.split_whitespace());
    command
}

/// What cargo knows of this workspace; `all` also takes in every dependency.
pub fn metadata(all: bool) -> Result<serde_json::Value, String> {
    let mut command = cargo("metadata --format-version 1 --locked");
    if all {
        // Only what this machine builds: the libraries of other platforms need not even be fetched.
        let about = output(program("rustc").arg("-vV"))?;
        let host = about.lines().find_map(|line| line.strip_prefix("host: ")).unwrap_or_default();
        command.args(["--filter-platform", host]);
    } else {
        command.arg("--no-deps");
    }
    serde_json::from_str(&output(&mut command)?).map_err(|e| format!("cargo metadata: {e}"))
}

/// Whether the workspace has a package of this name.
pub fn has_package(metadata: &serde_json::Value, name: &str) -> bool {
    metadata["packages"].as_array().is_some_and(|all| all.iter().any(|package| package["name"] == name))
}

/// Builds a package in release and gives the path of its program.
pub fn release(package: &str) -> Result<PathBuf, String> {
    run(cargo("build --release --locked --package").arg(package))?;
    let metadata = metadata(false)?;
    let folder = metadata["target_directory"].as_str().ok_or("cargo metadata names no target directory")?;
    Ok(Path::new(folder).join("release").join(format!("{package}{}", std::env::consts::EXE_SUFFIX)))
}
