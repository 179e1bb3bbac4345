//! `cargo xtask demo`: the main job, from nothing to orders, on the invented site Kestrel Tarn.

use crate::{shell, web};
use serde::Deserialize;
use std::fs;
use std::io::IsTerminal;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

const SITE: &str = "data/sites/kestrel-tarn";

/// The alarm of the demo: options of `fathomline alarm plan`, word for word.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct DemoAlarm {
    at: String,
    kind: String,
    missing: String,
    seen: Vec<String>,
    seed: u64,
}

/// Builds all, shows the water, plans the alarm, writes the map picture, and opens the desk.
pub fn run(arguments: &[String]) -> Result<(), String> {
    let options = Options::read(arguments)?;
    if options.desk {
        screens()?;
    }
    let program = shell::release("fathomline")?;
    let out = shell::root().join("out");
    fs::create_dir_all(&out).map_err(|e| format!("{}: {e}", out.display()))?;

    let mut show = shell::program(&program);
    show.args(["water", "show", SITE]);
    println!("$ {}\n", shell::typed(&show));
    shell::run(&mut show)?;

    let mut plan = plan(&program)?;
    plan.args(["--map", "out/kestrel-tarn.svg"]);
    println!("\n$ {}\n", shell::typed(&plan));
    let begin = Instant::now();
    shell::run(&mut plan)?;
    let took = begin.elapsed().as_secs_f64();

    let mut again = self::plan(&program)?;
    shell::run(again.args(["--map", "out/kestrel-tarn.png"]).stdout(Stdio::null()))?;
    println!("\nFrom the command to the printed orders and the picture: {took:.2} s.");
    for name in ["kestrel-tarn.svg", "kestrel-tarn.png"] {
        let path = out.join(name);
        let size = fs::metadata(&path).map_err(|e| format!("{}: {e}", path.display()))?.len();
        println!("Map: {} ({} kB)", path.display(), size.div_ceil(1000));
    }
    if options.desk { desk(&program, options.half_way) } else { Ok(()) }
}

/// What the demo goes on to.
struct Options {
    desk: bool,
    half_way: bool,
}

impl Options {
    /// The desk is opened where somebody sits who can end it.
    fn read(arguments: &[String]) -> Result<Options, String> {
        let in_ci = std::env::var("CI").is_ok_and(|value| value == "true" || value == "1");
        let mut options = Options { desk: !in_ci && std::io::stdout().is_terminal(), half_way: false };
        for word in arguments {
            match word.as_str() {
                "--no-desk" => options.desk = false,
                "--half-way" => options.half_way = true,
                other => {
                    return Err(format!(
                        "{other:?} is no option of the demo; there are --no-desk and --half-way"
                    ));
                }
            }
        }
        Ok(options)
    }
}

/// Builds the screens if node is there; the desk opens without them and says so.
fn screens() -> Result<(), String> {
    if !shell::found("npm", "--version") {
        println!(
            "the screens are not built: that takes npm (node 20.19 or later). The desk opens without them.\n"
        );
        return Ok(());
    }
    web::build()
}

/// Opens the desk in a fresh folder until it is ended with Ctrl-C.
fn desk(program: &Path, half_way: bool) -> Result<(), String> {
    let data = std::env::temp_dir().join(format!("fathomline-demo-{}", std::process::id()));
    let mut serve = shell::program(program);
    serve.args(["serve", "--data"]).arg(&data).args([
        "--site",
        SITE,
        "--word",
        "kestrel",
        "--day",
        "out/demo-day.toml",
    ]);
    // The demo runs at any hour, so everybody is here at any hour.
    let day = shell::root().join(SITE).join("day.toml");
    let text = fs::read_to_string(&day).map_err(|e| format!("{}: {e}", day.display()))?;
    let lines: Vec<&str> = text.lines().filter(|line| !line.starts_with("hours")).collect();
    let copy = shell::root().join("out/demo-day.toml");
    fs::write(&copy, lines.join("\n")).map_err(|e| format!("{}: {e}", copy.display()))?;
    if half_way {
        serve.args(["--practice", "--half-way"]);
        println!("\nA practice search is under way: it began four minutes ago.");
    }
    println!("\n$ {}\n\nOpen the address in a browser; Ctrl-C ends the desk.\n", shell::typed(&serve));
    let outcome = shell::run(&mut serve);
    println!("\nThe log of this demo is in {}", data.display());
    outcome
}

/// `fathomline alarm plan` for the demo's alarm, without any file to write.
pub fn plan(program: &Path) -> Result<Command, String> {
    let path = shell::root().join(SITE).join("alarm.toml");
    let text = fs::read_to_string(&path).map_err(|e| format!("{}: {e}", path.display()))?;
    let alarm: DemoAlarm = toml::from_str(&text).map_err(|e| format!("{}: {e}", path.display()))?;
    let mut command = shell::program(program);
    command.args(["alarm", "plan", "--site", SITE, "--day"]).arg(format!("{SITE}/day.toml"));
    command.args(["--at", &alarm.at, "--kind", &alarm.kind, "--missing", &alarm.missing]);
    for seen in &alarm.seen {
        command.args(["--seen", seen]);
    }
    command.arg("--seed").arg(alarm.seed.to_string());
    Ok(command)
}
