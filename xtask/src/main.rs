//! The house's own commands: `cargo xtask demo | test | tidy | types | bench | calibrate | bless`.
//!
//! Never part of the product. Each command lives in the file of its name; `shell` starts other programs.

mod bench;
mod bless;
mod calibrate;
mod demo;
mod shell;
mod test;
mod tidy;
mod types;
mod web;

use std::process::ExitCode;

const HELP: &str = "\
cargo xtask demo [--no-desk] [--half-way]
                                      build all, run the main job on Kestrel Tarn, then open the desk there for your browser and phones;
                                      --half-way joins a practice search under way; without a terminal, or with CI=true, no desk is opened
cargo xtask test                      everything that .ci/run runs
cargo xtask tidy                      the house rules alone
cargo xtask types [OPENAPI.json]      write the browser's types from the program's own document
cargo xtask bench [NAME…] [--threads N] [--rounds N] [--repeats N] [--seconds N] [--write]
                                      our core beside the peers (p1 p2 p3 p4 p5 p5sun p7), then the whole command (whole) and the desk under load (desk)
cargo xtask calibrate                 stated chances against hidden truths, in release, with the figures printed
cargo xtask web                       install what the screens need and build web/dist
cargo xtask browse                    the browser tests alone, against the real desk
cargo xtask bless                     accept today's texts as the golden ones, and show what changed";

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let (command, rest) = match arguments.split_first() {
        Some((command, rest)) => (command.as_str(), rest),
        None => ("help", &[][..]),
    };
    let outcome = match command {
        "demo" => demo::run(rest),
        "test" => test::run(),
        "tidy" => tidy::run(),
        "types" => types::run(rest),
        "bench" => bench::run(rest),
        "calibrate" => calibrate::run(),
        "bless" => bless::run(),
        "web" => web::build(),
        "browse" => web::browse(),
        "help" | "--help" | "-h" => {
            println!("{HELP}");
            Ok(())
        }
        other => Err(format!("no command is called {other:?}\n\n{HELP}")),
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(text) => {
            if !text.is_empty() {
                eprintln!("{text}");
            }
            ExitCode::FAILURE
        }
    }
}
