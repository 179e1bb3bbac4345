//! A desk of the release program in a folder of its own, and phones that joined it.

#[path = "../../crates/fathomline/tests/phones/wire.rs"]
#[allow(dead_code)] // the tests use the rest
pub mod wire;

use serde_json::{Value, json};
use std::io::{BufRead, BufReader};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};

const WORD: &str = "bench-word-7";

/// A desk at work; ended, and its folder gone, when it goes out of scope.
pub struct Desk {
    child: Child,
    pub port: u16,
    data: PathBuf,
}

impl Desk {
    /// Starts the program on a site of `data/sites`, with everybody here at any hour: a bench by night measures the same.
    pub fn start(program: &str, site: &str) -> Desk {
        let data = std::env::temp_dir().join(format!("fathomline-bench-{site}-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&data);
        let folder = format!("data/sites/{site}");
        let day = std::fs::read_to_string(format!("{folder}/day.toml"))
            .expect("run it from the root of the checkout");
        let lines: Vec<&str> = day.lines().filter(|line| !line.starts_with("hours")).collect();
        let day = data.with_extension("day.toml");
        std::fs::write(&day, lines.join("\n")).expect("the folder takes files");
        let mut command = Command::new(program);
        command.args(["serve", "--site", &folder, "--day"]).arg(day);
        command.args(["--listen", "127.0.0.1:0", "--word", WORD, "--data"]);
        let mut child = command.arg(&data).stdout(Stdio::piped()).spawn().expect("the desk starts");
        let mut lines = BufReader::new(child.stdout.take().expect("piped")).lines();
        let address = |line: String| {
            line.trim().strip_prefix("phones go to").and_then(|a| a.rsplit(':').next()?.trim().parse().ok())
        };
        let port = lines.by_ref().map_while(Result::ok).find_map(address).expect("the desk says its address");
        std::thread::spawn(move || lines.for_each(drop));
        Desk { child, port, data }
    }

    /// Most memory so far \[MB\].
    pub fn peak_mb(&self) -> f64 {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.child.id())).unwrap_or_default();
        let kb = status.lines().find_map(|line| line.strip_prefix("VmHWM:")).unwrap_or("0 kB");
        kb.split_whitespace().next().and_then(|kb| kb.parse::<f64>().ok()).unwrap_or(0.0) / 1000.0
    }

    /// Seconds that it has run on a core so far.
    pub fn cpu_s(&self) -> f64 {
        let stat = std::fs::read_to_string(format!("/proc/{}/stat", self.child.id())).unwrap_or_default();
        let after = stat.rsplit(')').next().unwrap_or_default();
        let ticks = |k: usize| after.split_whitespace().nth(k).and_then(|text| text.parse::<f64>().ok());
        (ticks(11).unwrap_or(0.0) + ticks(12).unwrap_or(0.0)) / 100.0
    }
}

impl Drop for Desk {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
        let _ = std::fs::remove_dir_all(&self.data);
        let _ = std::fs::remove_file(self.data.with_extension("day.toml"));
    }
}

/// One phone's cookie and word.
#[derive(Clone)]
pub struct Phone {
    cookie: String,
    csrf: String,
}

impl Phone {
    /// Joins by the word.
    pub fn join(port: u16, k: usize) -> Phone {
        let body = json!({ "device": format!("bench-phone-{k}"), "word": WORD });
        let reply = wire::request(port, "POST", "/api/join", &[], Some(&body)).expect("the desk answers");
        let cookie =
            reply.header("set-cookie").expect("a cookie").split(';').next().unwrap_or_default().to_string();
        Phone { cookie, csrf: reply.json()["csrf"].as_str().expect("a csrf word").to_string() }
    }

    pub fn headers(&self) -> [(&str, &str); 2] {
        [("cookie", &self.cookie), ("x-fathomline-csrf", &self.csrf)]
    }

    pub fn get(&self, port: u16, path: &str) -> Value {
        let reply = wire::request(port, "GET", path, &self.headers(), None).expect("the desk answers");
        if reply.status == 200 { reply.json() } else { Value::Null }
    }
}

/// Sends one report and gives its entry.
pub fn post(port: u16, phone: &Phone, id: &str, report: &Value) -> u64 {
    let body = json!({ "reports": [{ "report_id": id, "report": report }] });
    let reply =
        wire::request(port, "POST", "/api/report", &phone.headers(), Some(&body)).expect("the desk answers");
    let answer = reply.json()["answers"][0].clone();
    answer["seq"].as_u64().unwrap_or_else(|| panic!("{report}: {answer}"))
}
