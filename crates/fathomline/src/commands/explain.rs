//! `fathomline explain`: the list of models, the page of one, or its evaluation.

use super::BAD_INPUT;
use fathomline::explain;
use std::io::{Read, Write};
use std::process::ExitCode;

/// Longest input read: a hundred thousand cells of several numbers fit.
const LONGEST_BYTES: u64 = 64 << 20;

/// Every number by hand calculator.
#[derive(clap::Args)]
pub struct Explain {
    /// Model to explain; without it the models are listed.
    model: Option<String>,
    /// Inputs as one JSON object, or `-` to read them from standard input: evaluates the model.
    #[arg(long, value_name = "OBJECT", allow_hyphen_values = true)]
    json: Option<String>,
}

impl Explain {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        match self.answer() {
            // A reader that has seen enough may close the pipe: no reason to complain.
            Ok(text) => match std::io::stdout().write_all(text.as_bytes()) {
                Ok(()) => ExitCode::SUCCESS,
                Err(_) => ExitCode::FAILURE,
            },
            Err(problems) => {
                for problem in problems {
                    eprintln!("{problem}");
                }
                ExitCode::from(BAD_INPUT)
            }
        }
    }

    fn answer(self) -> Result<String, Vec<String>> {
        let Some(name) = self.model else {
            return match self.json {
                None => Ok(explain::list()),
                Some(_) => Err(vec!["--json needs a model; `fathomline explain` lists them".into()]),
            };
        };
        let model = explain::model(&name).map_err(|problem| vec![problem])?;
        match self.json {
            None => Ok(explain::page(model)),
            Some(text) => {
                let text = if text == "-" { from_input()? } else { text };
                explain::evaluate(model, &text).map(|answer| format!("{answer}\n"))
            }
        }
    }
}

/// All of standard input as text.
fn from_input() -> Result<String, Vec<String>> {
    let mut bytes = Vec::new();
    let read = std::io::stdin().take(LONGEST_BYTES + 1).read_to_end(&mut bytes);
    read.map_err(|e| vec![format!("standard input cannot be read: {e}; give the object after --json")])?;
    if bytes.len() as u64 > LONGEST_BYTES {
        return Err(vec![format!("standard input is longer than {LONGEST_BYTES} bytes; give fewer entries")]);
    }
    String::from_utf8(bytes)
        .map_err(|e| vec![format!("standard input is not UTF-8 text: {e}; save it as UTF-8")])
}
