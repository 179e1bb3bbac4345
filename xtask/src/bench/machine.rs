//! What the figures were measured on.

use std::fs;

/// Processor and cores, as far as this machine tells.
pub fn facts() -> String {
    let about = fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    let model = about
        .lines()
        .find_map(|line| line.strip_prefix("model name"))
        .map_or("unknown processor", |rest| rest.trim_start_matches([' ', '\t', ':']));
    let cores = std::thread::available_parallelism().map_or(0, usize::from);
    format!("Machine: {model}, {cores} cores, {} {}.\n", std::env::consts::OS, std::env::consts::ARCH)
}

/// How busy the machine was, at the end.
pub fn load() -> String {
    match fs::read_to_string("/proc/loadavg") {
        Ok(text) => {
            let three: Vec<&str> = text.split_whitespace().take(3).collect();
            format!("\nLoad average at the end, over 1, 5 and 15 minutes: {}.\n", three.join(", "))
        }
        Err(_) => String::new(),
    }
}
