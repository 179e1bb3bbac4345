//! `fathomline records`: verify a log, write it out, delete the names.

use super::BAD_INPUT;
use crate::desk::store::Store;
use incident::chain;
use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;

/// Commands of the Records room.
#[derive(clap::Subcommand)]
pub enum Records {
    /// Walk the chain of digests from the first entry to the last.
    Verify {
        /// Data folder.
        #[arg(long, value_name = "DIR")]
        data: PathBuf,
        /// Head code that was read over the radio, printed, or kept by a phone: must stand at the end or on the way.
        #[arg(long, value_name = "CODE")]
        head: Option<String>,
    },
    /// Write the log out, one JSON line an entry, as the digests are made over it.
    Export {
        /// Data folder.
        #[arg(long, value_name = "DIR")]
        data: PathBuf,
        /// File to write; without it the log is printed.
        #[arg(long, value_name = "FILE")]
        to: Option<PathBuf>,
    },
    /// Delete every name; the log and its digests stay whole.
    Forget {
        /// Data folder; the desk must not be running on it.
        #[arg(long, value_name = "DIR")]
        data: PathBuf,
    },
}

impl Records {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        let outcome = match self {
            Records::Verify { data, head } => lines(&data).and_then(|lines| verify(&lines, head.as_deref())),
            Records::Export { data, to } => lines(&data).and_then(|lines| export(&lines, to)),
            Records::Forget { data } => forget(&data),
        };
        match outcome {
            Ok(text) => {
                // A reader that goes away early, such as `head`, is no failure.
                let _ = std::io::stdout().write_all(text.as_bytes());
                ExitCode::SUCCESS
            }
            Err(what) => {
                eprintln!("{what}");
                ExitCode::from(BAD_INPUT)
            }
        }
    }
}

fn lines(data: &std::path::Path) -> Result<Vec<String>, String> {
    Store::read(data).and_then(|store| store.lines_after(0)).map_err(|error| error.to_string())
}

fn verify(lines: &[String], code: Option<&str>) -> Result<String, String> {
    let head = chain::verify(lines.iter().map(String::as_str)).map_err(|broken| broken.to_string())?;
    let mut text = format!(
        "{} entries, each follows from the one before; head code {}\ndigest of the last entry: {}\n",
        head.seq,
        chain::head_code(&head.digest),
        head.digest.hex()
    );
    if let Some(code) = code {
        let plain = |code: &str| code.replace(['-', ' '], "").to_uppercase();
        let at = lines.iter().rposition(|line| plain(&chain::head_code(&chain::digest(line))) == plain(code));
        let at = at.ok_or_else(|| {
            format!("no entry has the head code {code}: this is not the log that code was taken from, or it was altered")
        })?;
        text += &format!("{code} is the head code after entry {} of {}\n", at + 1, lines.len());
    }
    Ok(text)
}

fn export(lines: &[String], to: Option<PathBuf>) -> Result<String, String> {
    let text: String = lines.iter().map(|line| format!("{line}\n")).collect();
    match to {
        None => Ok(text),
        Some(path) => std::fs::write(&path, text)
            .map(|()| format!("{} entries written to {}\n", lines.len(), path.display()))
            .map_err(|error| format!("{}: {error}", path.display())),
    }
}

fn forget(data: &std::path::Path) -> Result<String, String> {
    // A folder that holds no log is not made into one.
    Store::read(data).map_err(|error| error.to_string())?;
    let mut store = Store::open(data, None).map_err(|error| error.to_string())?;
    let gone = store.forget().map_err(|error| error.to_string())?;
    let lines = store.lines_after(0).map_err(|error| error.to_string())?;
    Ok(format!("{gone} names deleted, every device must join again; {}", verify(&lines, None)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_empty_log_holds_and_an_altered_one_does_not() {
        assert!(verify(&[], None).is_ok());
        assert!(verify(&[], Some("K7-41-QD")).is_err());
        assert!(verify(&["{}".to_string()], None).is_err());
        assert!(lines(std::path::Path::new("/nowhere")).is_err());
        assert!(forget(std::path::Path::new("/nowhere")).is_err());
    }
}
