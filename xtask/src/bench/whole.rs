//! The whole command: from typing it to the printed orders, on the demo site, with the memory it took.

use crate::{demo, shell};
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const MOST_S: f64 = 1.0;
const MOST_MB: f64 = 300.0;

/// Runs the demo's alarm a few times and says how long it took and how much memory.
pub fn measure(repeats: usize) -> Result<String, String> {
    let program = shell::release("fathomline")?;
    let (mut times, mut most_mb) = (Vec::new(), 0.0_f64);
    for _ in 0..repeats.max(3) {
        let mut command = demo::plan(&program)?;
        let begin = Instant::now();
        let mb = peak_mb(command.stdout(Stdio::null()))?;
        times.push(begin.elapsed().as_secs_f64());
        most_mb = most_mb.max(mb);
    }
    times.sort_by(f64::total_cmp);
    let word = |met: bool| if met { "met" } else { "not met" };
    let median = times[times.len() / 2];
    Ok(format!(
        "\nFrom the command to the printed orders on Kestrel Tarn: {median:.2} s (fastest {:.2} s, slowest {:.2} s; target {MOST_S:.0} s {}), \
         at most {most_mb:.0} MB of memory (target {MOST_MB:.0} MB {}).\n",
        times[0],
        times[times.len() - 1],
        word(median <= MOST_S),
        word(most_mb <= MOST_MB)
    ))
}

/// Runs a command to its end and gives the most memory that it held \[MB\].
fn peak_mb(command: &mut Command) -> Result<f64, String> {
    if Path::new("/usr/bin/time").exists() {
        return peak_by_time(command);
    }
    let mut child =
        command.spawn().map_err(|e| format!("{} cannot be started: {e}", shell::typed(command)))?;
    let status_file = format!("/proc/{}/status", child.id());
    let mut most_kb = 0.0_f64;
    loop {
        let text = fs::read_to_string(&status_file).unwrap_or_default();
        most_kb = most_kb.max(kilobytes(&text, "VmHWM:").unwrap_or(0.0));
        if let Some(status) = child.try_wait().map_err(|e| e.to_string())? {
            return if status.success() {
                Ok(most_kb / 1000.0)
            } else {
                Err(format!("{} failed", shell::typed(command)))
            };
        }
        std::thread::sleep(Duration::from_millis(2));
    }
}

/// The same by the system's own account, which misses nothing.
fn peak_by_time(command: &Command) -> Result<f64, String> {
    let mut timed = shell::program("/usr/bin/time");
    timed.arg("-v").arg(command.get_program()).args(command.get_args());
    let done = timed.stdout(Stdio::null()).output().map_err(|e| e.to_string())?;
    let said = String::from_utf8_lossy(&done.stderr);
    if !done.status.success() {
        return Err(format!("{} failed:\n{said}", shell::typed(command)));
    }
    kilobytes(&said, "Maximum resident set size (kbytes):")
        .map(|kb| kb / 1000.0)
        .ok_or_else(|| "time -v names no resident set size".to_string())
}

fn kilobytes(text: &str, key: &str) -> Option<f64> {
    let line = text.lines().find_map(|line| line.trim_start().strip_prefix(key))?;
    line.split_whitespace().next()?.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::kilobytes;

    #[test]
    fn both_accounts_are_read() {
        assert_eq!(kilobytes("VmPeak:\t 99 kB\nVmHWM:\t   7123 kB\n", "VmHWM:"), Some(7123.0));
        let said = "\tMaximum resident set size (kbytes): 81234\n";
        assert_eq!(kilobytes(said, "Maximum resident set size (kbytes):"), Some(81234.0));
    }
}
