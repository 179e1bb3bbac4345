//! `cargo xtask demo`: the main job, from nothing to orders, on the invented site Kestrel Tarn.

use crate::shell;
use serde::Deserialize;
use std::fs;
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

/// Builds the program, shows the water, plans the alarm, and writes the map picture.
pub fn run() -> Result<(), String> {
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
    Ok(())
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
