//! `cargo xtask bench`: our core beside the peers of benches/peers, alternately, in one run on one machine.
//!
//! A time alone means nothing here; a ratio measured side by side does. Start reading at [`run`].

mod agree;
mod desk;
mod floors;
mod machine;
mod paths;
mod peers;
mod plans;
mod table;
mod whole;
mod yardsticks;

use crate::shell;
use table::Row;
use yardsticks::{Record, YARDSTICKS, Yardstick};

/// What to run and how often.
struct Options {
    names: Vec<String>,
    threads: usize,
    rounds: usize,
    repeats: usize,
    write: bool,
    seconds: usize,
}

impl Options {
    fn read(arguments: &[String]) -> Result<Options, String> {
        let mut options =
            Options { names: Vec::new(), threads: 1, rounds: 3, repeats: 5, write: false, seconds: 60 };
        let mut rest = arguments.iter();
        while let Some(word) = rest.next() {
            let number = match word.as_str() {
                "--threads" => &mut options.threads,
                "--rounds" => &mut options.rounds,
                "--repeats" => &mut options.repeats,
                "--seconds" => &mut options.seconds,
                "--write" => {
                    options.write = true;
                    continue;
                }
                name if ["whole", "desk", "plan"].contains(&name)
                    || YARDSTICKS.iter().any(|yardstick| yardstick.name == name) =>
                {
                    options.names.push(name.to_string());
                    continue;
                }
                other => {
                    return Err(format!(
                        "{other:?} is no yardstick and no option; there are p1 p2 p3 p4 p5 p5sun p6 p7 whole desk plan"
                    ));
                }
            };
            let given = rest.next().and_then(|text| text.parse().ok()).filter(|&count| count > 0);
            *number = given.ok_or(format!("{word} wants a whole number above zero"))?;
        }
        Ok(options)
    }

    fn wants(&self, name: &str) -> bool {
        self.names.is_empty() || self.names.iter().any(|wanted| wanted == name)
    }
}

/// Runs the yardsticks asked for (all of them if none is) and the whole command.
pub fn run(arguments: &[String]) -> Result<(), String> {
    let options = Options::read(arguments)?;
    let wanted: Vec<&Yardstick> =
        YARDSTICKS.iter().filter(|yardstick| options.wants(yardstick.name)).collect();
    let mut page = format!("{}\n", machine::facts());
    let (mut disagree, mut paths) = (0, String::new());
    if !wanted.is_empty() {
        let python = peers::python()?;
        let ours = shell::release("yardsticks")?;
        let mut rows = Vec::new();
        for yardstick in wanted {
            eprintln!("{} …", yardstick.name);
            let mut theirs: Vec<Record> = Vec::new();
            let mut here: Vec<Record> = Vec::new();
            for round in 0..options.rounds {
                // Whoever is first meets a colder machine: take turns.
                if round % 2 == 0 {
                    peers::measure(&python, yardstick, options.threads, options.repeats, &mut theirs)?;
                }
                yardsticks::measure(&ours, yardstick.name, options.threads, options.repeats, &mut here)?;
                if round % 2 == 1 {
                    peers::measure(&python, yardstick, options.threads, options.repeats, &mut theirs)?;
                }
            }
            rows.extend(table::rows(yardstick, &here, &theirs));
            if yardstick.name == "p6" {
                paths = paths::markdown(&here, &theirs)?;
            }
        }
        disagree = rows.iter().filter(|row: &&Row| !row.agrees()).count();
        page += &table::markdown(&rows, options.threads, options.rounds);
        page += &floors::markdown(&rows, &peers::bandwidth(&python, options.threads)?);
    }
    let mut short = String::new();
    if options.wants("whole") {
        match whole::measure(options.repeats) {
            Ok(text) => page += &text,
            // The table above took minutes: it is shown all the same.
            Err(text) => short = format!("the whole command: {text}"),
        }
    }
    if options.wants("plan") {
        match plans::measure(options.repeats) {
            Ok(text) => page += &text,
            Err(text) => short += &format!("plans: {text}"),
        }
    }
    if options.wants("desk") {
        match desk::measure(options.seconds) {
            Ok(text) => page += &text,
            Err(text) => short += &format!("the desk: {text}"),
        }
    }
    page += &machine::load();
    println!("{page}{paths}");
    if options.write && !paths.is_empty() {
        paths::write(&format!("{}{paths}{}", machine::facts(), machine::load()))?;
    }
    if options.write && options.names != ["p6"] {
        let path = shell::root().join("docs/benchmarks.md");
        let head = "# Benchmarks\n\nWritten by `cargo xtask bench --write`: our core beside the fastest peer that does the same job \
                    (benches/peers/README.md), in turns, in one run.\n\n";
        std::fs::write(&path, format!("{head}{page}")).map_err(|e| format!("{}: {e}", path.display()))?;
        println!("written: docs/benchmarks.md");
    }
    if disagree > 0 {
        short = format!("{disagree} results disagree: the ratios beside them mean nothing\n{short}");
    }
    if short.is_empty() { Ok(()) } else { Err(short.trim_end().to_string()) }
}
