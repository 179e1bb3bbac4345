//! Seeded mutation of good input against every parser, on stable Rust.
//!
//! `cargo run -p fuzz --release -- PARSER COUNT|SECONDSs SEED [FIRST_CASE]`; PARSER may be `all`.
//! A panic or a hang prints seed, case and the command that repeats it, and ends with exit code 1.
//! Parsers are in [`parsers::PARSERS`]; add a line there for a new one.

mod mutate;
mod parsers;

use measure::chance::Seed;
use parsers::{PARSERS, Parser};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::process::ExitCode;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

/// A case that takes longer than this is a hang \[s\].
const HANG_S: u64 = 20;

/// How long to go on.
#[derive(Clone, Copy)]
enum Effort {
    Cases(u64),
    Seconds(u64),
}

struct Arguments {
    parser: String,
    effort: Effort,
    seed: u64,
    first: u64,
}

fn arguments() -> Option<Arguments> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let effort = words.get(1)?;
    Some(Arguments {
        parser: words.first()?.clone(),
        effort: match effort.strip_suffix('s') {
            Some(seconds) => Effort::Seconds(seconds.parse().ok()?),
            None => Effort::Cases(effort.parse().ok()?),
        },
        seed: words.get(2)?.parse().ok()?,
        first: words.get(3).map_or(Some(0), |w| w.parse().ok())?,
    })
}

fn main() -> ExitCode {
    let Some(arguments) = arguments() else {
        let names: Vec<&str> = PARSERS.iter().map(|p| p.name).collect();
        eprintln!("use: PARSER COUNT|SECONDSs SEED [FIRST_CASE]; parsers: all {}", names.join(" "));
        return ExitCode::from(2);
    };
    let chosen: Vec<&Parser> =
        PARSERS.iter().filter(|p| arguments.parser == "all" || arguments.parser == p.name).collect();
    if chosen.is_empty() {
        eprintln!("no parser is called {}", arguments.parser);
        return ExitCode::from(2);
    }
    for parser in chosen {
        match run(parser, &arguments) {
            Ok(cases) => println!("{}: {cases} cases, none panicked or hung", parser.name),
            Err(case) => {
                repeat(parser.name, arguments.seed, case);
                return ExitCode::FAILURE;
            }
        }
    }
    ExitCode::SUCCESS
}

fn repeat(name: &str, seed: u64, case: u64) {
    eprintln!("{name}: seed {seed}, case {case}");
    eprintln!("repeat: cargo run -p fuzz --release -- {name} 1 {seed} {case}");
}

/// Runs one parser; an error is the case that panicked.
fn run(parser: &'static Parser, arguments: &Arguments) -> Result<u64, u64> {
    let seeds = (parser.seeds)();
    let (seed, start) = (arguments.seed, Instant::now());
    let now = Arc::new((AtomicU64::new(arguments.first), Mutex::new(Instant::now())));
    let done = watch(parser.name, seed, Arc::clone(&now));
    let mut case = arguments.first;
    let outcome = loop {
        let over = match arguments.effort {
            Effort::Cases(count) => case - arguments.first >= count,
            Effort::Seconds(seconds) => start.elapsed().as_secs() >= seconds,
        };
        if over {
            break Ok(case - arguments.first);
        }
        now.0.store(case, Ordering::SeqCst);
        *now.1.lock().unwrap_or_else(|e| e.into_inner()) = Instant::now();
        let mut draws = Seed(seed).stream(&format!("{} {case}", parser.name)).draws();
        let bytes = mutate::case(&seeds, &mut draws);
        if catch_unwind(AssertUnwindSafe(|| (parser.read)(&bytes))).is_err() {
            break Err(case);
        }
        case += 1;
    };
    done.store(1, Ordering::SeqCst);
    outcome
}

/// Ends the program when one case takes too long; gives the mark that says that all is done.
fn watch(name: &'static str, seed: u64, now: Arc<(AtomicU64, Mutex<Instant>)>) -> Arc<AtomicU64> {
    let done = Arc::new(AtomicU64::new(0));
    let mark = Arc::clone(&done);
    std::thread::spawn(move || {
        while mark.load(Ordering::SeqCst) == 0 {
            std::thread::sleep(Duration::from_millis(200));
            let begun = *now.1.lock().unwrap_or_else(|e| e.into_inner());
            if mark.load(Ordering::SeqCst) == 0 && begun.elapsed().as_secs() >= HANG_S {
                eprintln!("a case takes longer than {HANG_S} s");
                repeat(name, seed, now.0.load(Ordering::SeqCst));
                std::process::exit(1);
            }
        }
    });
    done
}

#[cfg(test)]
mod tests {
    use super::*;

    static WEAK: Parser = Parser {
        name: "weak",
        seeds: || vec![b"abc".to_vec()],
        read: |bytes| assert!(!bytes.contains(&b'"')),
    };

    fn arguments(first: u64) -> Arguments {
        Arguments { parser: String::new(), effort: Effort::Cases(500), seed: 3, first }
    }

    #[test]
    fn a_panic_is_found_and_its_case_repeats_it() {
        let case = run(&WEAK, &arguments(0)).expect_err("a quotation mark is put in before long");
        assert_eq!(run(&WEAK, &arguments(case)), Err(case));
    }

    #[test]
    fn every_parser_stands_a_short_run_and_reads_its_own_seeds() {
        for parser in PARSERS {
            (parser.seeds)().iter().for_each(|seed| (parser.read)(seed));
            let short = Arguments { effort: Effort::Cases(40), ..arguments(0) };
            assert_eq!(run(parser, &short), Ok(40), "{}", parser.name);
        }
    }
}
