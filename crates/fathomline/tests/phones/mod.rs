//! A real desk in a process of its own, and phones that speak to it over real sockets.
#![allow(dead_code)] // each test file uses a part

pub mod wire;

use serde_json::{Value, json};
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};
use wire::{Reply, request};

pub const WORD: &str = "test-word-7";

/// A folder of its own for one test, gone afterwards.
pub struct Folder(pub PathBuf);

impl Folder {
    pub fn new(name: &str) -> Folder {
        let path = std::env::temp_dir().join(format!("fathomline-desk-{name}-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&path);
        Folder(path)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
        let _ = std::fs::remove_file(self.0.with_extension("day.toml"));
    }
}

pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The day of Kestrel Tarn with everybody here at any hour, beside the data folder: tests run by night too.
fn day_at_any_hour(data: &Path) -> PathBuf {
    let text =
        std::fs::read_to_string(root().join("data/sites/kestrel-tarn/day.toml")).expect("the day is there");
    let lines: Vec<&str> = text.lines().filter(|line| !line.starts_with("hours")).collect();
    let path = data.with_extension("day.toml");
    std::fs::write(&path, lines.join("\n")).expect("the folder takes files");
    path
}

/// The program, with what it wants of its environment.
pub fn program() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fathomline"));
    command.current_dir(root());
    command
}

/// A desk at work; killed when it goes out of scope.
pub struct Desk {
    child: Child,
    pub port: u16,
    /// What it printed until it was ready.
    pub said: String,
}

impl Desk {
    /// Starts one on Kestrel Tarn with a small cloud, on a port of its own.
    pub fn start(data: &Path, more: &[&str]) -> Desk {
        Desk::start_at(data, 0, more)
    }

    /// Starts one on what the folder keeps alone: nothing is given that would have to be written.
    pub fn start_kept(data: &Path, port: u16) -> Desk {
        let mut command = program();
        command.args(["serve", "--data"]).arg(data).args(["--listen", &format!("127.0.0.1:{port}")]);
        Desk::spawn(command.args(["--particles", "2000", "--effort", "1"]))
    }

    /// Starts one on a port, so that phones find it where it was.
    pub fn start_at(data: &Path, port: u16, more: &[&str]) -> Desk {
        let mut command = program();
        command.args(["serve", "--data"]).arg(data).args(["--site", "data/sites/kestrel-tarn"]);
        command.arg("--day").arg(day_at_any_hour(data));
        command.args(["--listen", &format!("127.0.0.1:{port}"), "--particles", "2000", "--effort", "1"]);
        if !more.contains(&"--word") {
            command.args(["--word", WORD]);
        }
        Desk::spawn(command.args(more))
    }

    fn spawn(command: &mut Command) -> Desk {
        let mut child =
            command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("the desk starts");
        let mut said = String::new();
        let mut lines = BufReader::new(child.stdout.take().expect("piped")).lines();
        let mut port = 0;
        for line in lines.by_ref() {
            let line = line.expect("text");
            if let Some(address) = line.trim().strip_prefix("phones go to") {
                port = address.rsplit(':').next().and_then(|digits| digits.trim().parse().ok()).unwrap_or(0);
            }
            said += &line;
            said.push('\n');
            if line.starts_with("Planning aid only") {
                break;
            }
        }
        if port == 0 {
            let _ = child.kill();
            let out = child.wait_with_output().expect("it ends");
            panic!("the desk did not start: {said}{}", String::from_utf8_lossy(&out.stderr));
        }
        // Whatever else it says is read, so that it never waits for us.
        std::thread::spawn(move || lines.for_each(drop));
        Desk { child, port, said }
    }

    /// The end without a word: SIGKILL.
    pub fn kill(mut self) -> u16 {
        self.child.kill().expect("it runs");
        self.child.wait().expect("it ends");
        self.port
    }

    pub fn id(&self) -> u32 {
        self.child.id()
    }

    /// What it wrote to its error stream, after its end.
    pub fn ended(mut self) -> String {
        let _ = self.child.kill();
        let mut text = String::new();
        if let Some(mut errors) = self.child.stderr.take() {
            let _ = std::io::Read::read_to_string(&mut errors, &mut text);
        }
        text
    }
}

impl Drop for Desk {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// A phone that has joined.
#[derive(Clone, Debug)]
pub struct Phone {
    pub port: u16,
    pub device: String,
    pub cookie: String,
    pub csrf: String,
    pub sent: u64,
}

impl Phone {
    pub fn join(port: u16, device: &str) -> Phone {
        let body = json!({ "device": device, "word": WORD });
        let reply = request(port, "POST", "/api/join", &[], Some(&body)).expect("the desk answers");
        assert_eq!(reply.status, 200, "{}", reply.text());
        let cookie = reply.header("set-cookie").expect("a cookie").split(';').next().unwrap().to_string();
        let csrf = reply.json()["csrf"].as_str().expect("a csrf word").to_string();
        Phone { port, device: device.into(), cookie, csrf, sent: 0 }
    }

    pub fn headers(&self) -> Vec<(&str, &str)> {
        vec![("cookie", &self.cookie), ("x-fathomline-csrf", &self.csrf)]
    }

    pub fn get(&self, path: &str) -> Reply {
        self.try_get(path).expect("the desk answers")
    }

    pub fn try_get(&self, path: &str) -> std::io::Result<Reply> {
        request(self.port, "GET", path, &self.headers(), None)
    }

    pub fn post(&self, path: &str, body: &Value) -> std::io::Result<Reply> {
        request(self.port, "POST", path, &self.headers(), Some(body))
    }

    /// One report, sent once; gives its answer.
    pub fn report(&mut self, report: Value) -> Value {
        self.sent += 1;
        let id = format!("{}-{}", self.device, self.sent);
        self.post_reports(&[json!({ "report_id": id, "report": report })])
    }

    pub fn post_reports(&self, reports: &[Value]) -> Value {
        let reply = self.post("/api/report", &json!({ "reports": reports })).expect("the desk answers");
        assert_eq!(reply.status, 200, "{}", reply.text());
        reply.json()["answers"][0].clone()
    }

    /// A report that must be recorded.
    pub fn recorded(&mut self, report: Value) -> u64 {
        let answer = self.report(report.clone());
        assert_eq!(answer["answer"], "recorded", "{report}: {answer}");
        answer["seq"].as_u64().unwrap()
    }

    /// The screen once it shows at least entry `seq` and satisfies `wanted`.
    pub fn screen_when(&self, seq: u64, wanted: impl Fn(&Value) -> bool) -> Value {
        let begin = Instant::now();
        loop {
            let reply = self.get("/api/screen");
            let screen = if reply.status == 200 { reply.json() } else { Value::Null };
            if screen["seq"].as_u64().is_some_and(|now| now >= seq) && wanted(&screen) {
                return screen;
            }
            assert!(begin.elapsed() < Duration::from_secs(20), "no such screen: {screen}");
            std::thread::sleep(Duration::from_millis(20));
        }
    }
}

/// A first alarm with where and when.
pub fn three_touches(phone: &mut Phone) -> u64 {
    phone.recorded(json!({ "what": "swimmer_missing", "practice": false }));
    phone.recorded(json!({ "what": "sighting", "number": 1, "place": { "by": "point", "spot": { "east": -12.0, "north": 14.0 } } }));
    phone.recorded(json!({ "what": "sighting", "number": 1, "ago": { "from_s": 60.0, "to_s": 120.0 } }))
}
