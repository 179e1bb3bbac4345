//! The desk under load: twenty phones, ten reports a second, from a report to every screen; and what the disk alone costs.

use crate::shell;
use serde_json::Value;

const MOST_MS: f64 = 150.0;
const MOST_MB: f64 = 300.0;

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
         (target {MOST_MS:.0} ms {}), the slowest {:.0} ms; acknowledged: half within {:.1} ms, 99 % within {:.1} ms; at most {mb:.0} MB of memory (target {MOST_MB:.0} MB {}).\n",
        ours["phones"],
        ours["reports"],
        ours["screens"],
        number(&ours, "shown_p50_ms"),
        word(p99 <= MOST_MS),
        number(&ours, "shown_most_ms"),
        number(&ours, "answered_p50_ms"),
        number(&ours, "answered_p99_ms"),
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
    match ours["never_shown"].as_u64() {
        Some(0) => Ok(text),
        other => Err(format!("{text}{other:?} screens never showed their report")),
    }
}

fn line(text: &str) -> Result<Value, String> {
    serde_json::from_str(text.lines().last().unwrap_or_default()).map_err(|error| format!("{error}: {text}"))
}
