//! The desk under load: twenty phones, ten reports a second, from a report to every screen; what the disk alone costs;
//! and from the third touch of an alarm to orders on twenty phones.

use crate::shell;
use serde_json::Value;
use std::path::Path;

const MOST_MS: f64 = 150.0;
const MOST_MB: f64 = 300.0;
/// From the third touch to orders on every phone.
const ORDERS_WITHIN_MS: f64 = 1000.0;
/// Waters on which alarms are raised.
const WATERS: [&str; 3] = ["kestrel-tarn", "pleasant-lake", "plainfield-lake"];
/// Alarms on each.
const ALARMS: usize = 8;

/// Runs the load and the peer for the disk, and says both.
pub fn measure(seconds: usize) -> Result<String, String> {
    let desk = shell::release("fathomline")?;
    let load = shell::release("yardsticks")?;
    let reports = (seconds * 10).to_string();
    let mut peer = shell::program("python3");
    peer.args(["benches/peers/desk_append.py", &reports]);
    let disk =
        if shell::found("python3", "--version") { Some(line(&shell::output(&mut peer)?)?) } else { None };
    let mut command = shell::program(&load);
    command.arg("desk").arg(&desk).arg(seconds.to_string());
    let ours = line(&shell::output(&mut command)?)?;
    let number = |of: &Value, key: &str| of[key].as_f64().unwrap_or(f64::NAN);
    let word = |met: bool| if met { "met" } else { "not met" };
    let (p99, mb) = (number(&ours, "shown_p99_ms"), number(&ours, "peak_mb"));
    let mut text = format!(
        "\nThe desk: {} phones, {} reports at ten a second, {} screens sent. From a report to every screen: half within {:.0} ms, 99 % within {p99:.0} ms \
         (target {MOST_MS:.0} ms {}), the slowest {:.0} ms; acknowledged: half within {:.1} ms, 99 % within {:.1} ms; {:.1} kB over the air for a screen, {:.2} of a core, \
         at most {mb:.0} MB of memory (target {MOST_MB:.0} MB {}).\n",
        ours["phones"],
        ours["reports"],
        ours["screens"],
        number(&ours, "shown_p50_ms"),
        word(p99 <= MOST_MS),
        number(&ours, "shown_most_ms"),
        number(&ours, "answered_p50_ms"),
        number(&ours, "answered_p99_ms"),
        number(&ours, "screen_kb"),
        number(&ours, "cores"),
        word(mb <= MOST_MB)
    );
    if let Some(disk) = disk {
        text += &format!(
            "\nThe disk alone, the same rows one a transaction by Python's sqlite3 with the same pragmas: half within {:.1} ms, 99 % within {:.1} ms; \
             an acknowledged report takes {:.1} times as long at the half.\n",
            number(&disk, "append_p50_ms"),
            number(&disk, "append_p99_ms"),
            number(&ours, "answered_p50_ms") / number(&disk, "append_p50_ms")
        );
    }
    text += &touches(&load, &desk)?;
    match ours["never_shown"].as_u64() {
        Some(0) => Ok(text),
        other => Err(format!("{text}{other:?} screens never showed their report")),
    }
}

/// Three touches on each water: a table.
fn touches(load: &Path, desk: &Path) -> Result<String, String> {
    let mut text = String::from(
        "\nThree touches: from the sending of the third to orders on the last of 20 joined phones, the morning's cards made.\n\n\
         | water | alarms | half within, ms | the slowest, ms | on a core, ms | target 1 s |\n|---|---|---|---|---|---|\n",
    );
    for water in WATERS {
        let mut command = shell::program(load);
        command.arg("touches").arg(desk).arg(water).arg(ALARMS.to_string());
        let row = line(&shell::output(&mut command)?)?;
        let number = |key: &str| row[key].as_f64().unwrap_or(f64::NAN);
        text += &format!(
            "| {water} | {} | {:.0} | {:.0} | {:.0} | {} |\n",
            row["alarms"],
            number("p50_ms"),
            number("most_ms"),
            number("core_p50_ms"),
            if number("most_ms") <= ORDERS_WITHIN_MS { "met" } else { "not met" }
        );
    }
    Ok(text)
}

fn line(text: &str) -> Result<Value, String> {
    serde_json::from_str(text.lines().last().unwrap_or_default()).map_err(|error| format!("{error}: {text}"))
}
