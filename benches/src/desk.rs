//! Twenty phones on a real desk: from a report's sending to its place on every screen.
//!
//! `yardsticks desk PROGRAM [seconds]` starts the program on Kestrel Tarn with an alarm under way, sends ten reports
//! a second, and prints one JSON line: times in milliseconds, memory in MB.

#[path = "../../crates/fathomline/tests/phones/wire.rs"]
#[allow(dead_code)] // the tests use the rest
mod wire;

use serde_json::{Value, json};
use std::io::{BufRead, BufReader};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::{Duration, Instant};

const PHONES: usize = 20;
const REPORTS_PER_S: u64 = 10;
const WORD: &str = "bench-word-7";

/// One phone's cookie and word.
#[derive(Clone)]
struct Phone {
    cookie: String,
    csrf: String,
}

impl Phone {
    fn headers(&self) -> [(&str, &str); 2] {
        [("cookie", &self.cookie), ("x-fathomline-csrf", &self.csrf)]
    }
}

/// A screen that came: phone, entry, when.
type Shown = (usize, u64, Instant);

/// Runs it and prints the line.
pub fn run(program: &str, seconds: u64) {
    let data = std::env::temp_dir().join(format!("fathomline-bench-{}", std::process::id()));
    let _ = std::fs::remove_dir_all(&data);
    let (mut desk, port) = start(program, &data);
    let phones: Vec<Phone> = (0..PHONES).map(|k| join(port, k)).collect();
    begin(port, &phones[0]);
    let (shown, heard) = channel();
    for (k, phone) in phones.iter().cloned().enumerate() {
        let shown = shown.clone();
        std::thread::spawn(move || listen(port, (k, &phone), &shown));
    }
    std::thread::sleep(Duration::from_secs(3));
    let sent = send(port, &phones, seconds);
    std::thread::sleep(Duration::from_secs(2));
    let status = std::fs::read_to_string(format!("/proc/{}/status", desk.id())).unwrap_or_default();
    let peak_kb = status.lines().find_map(|line| line.strip_prefix("VmHWM:")).unwrap_or("0 kB");
    let peak_mb =
        peak_kb.split_whitespace().next().and_then(|kb| kb.parse::<f64>().ok()).unwrap_or(0.0) / 1000.0;
    let _ = desk.kill();
    let _ = desk.wait();
    let _ = std::fs::remove_dir_all(&data);
    println!("{}", summary(&sent, &heard, peak_mb));
}

fn start(program: &str, data: &std::path::Path) -> (Child, u16) {
    let mut command = Command::new(program);
    // Everybody is here at any hour: a bench by night measures the same.
    let day = std::fs::read_to_string("data/sites/kestrel-tarn/day.toml")
        .expect("run it from the root of the checkout");
    let lines: Vec<&str> = day.lines().filter(|line| !line.starts_with("hours")).collect();
    let day = data.with_extension("day.toml");
    std::fs::write(&day, lines.join("\n")).expect("the folder takes files");
    command.args(["serve", "--site", "data/sites/kestrel-tarn", "--day"]).arg(day);
    command.args(["--listen", "127.0.0.1:0", "--word", WORD, "--data"]);
    let mut desk = command.arg(data).stdout(Stdio::piped()).spawn().expect("the desk starts");
    let mut lines = BufReader::new(desk.stdout.take().expect("piped")).lines();
    let port = lines
        .by_ref()
        .map_while(Result::ok)
        .find_map(|line| {
            line.trim().strip_prefix("phones go to").and_then(|a| a.rsplit(':').next()?.trim().parse().ok())
        })
        .expect("the desk says its address");
    std::thread::spawn(move || lines.for_each(drop));
    (desk, port)
}

fn join(port: u16, k: usize) -> Phone {
    let body = json!({ "device": format!("bench-phone-{k}"), "word": WORD });
    let reply = wire::request(port, "POST", "/api/join", &[], Some(&body)).expect("the desk answers");
    let cookie =
        reply.header("set-cookie").expect("a cookie").split(';').next().unwrap_or_default().to_string();
    Phone { cookie, csrf: reply.json()["csrf"].as_str().expect("a csrf word").to_string() }
}

/// The alarm, and the first orders on the screen.
fn begin(port: u16, phone: &Phone) {
    for (k, report) in [
        json!({ "what": "swimmer_missing", "practice": false }),
        json!({ "what": "sighting", "number": 1, "place": { "by": "point", "spot": { "east": -12.0, "north": 14.0 } } }),
        json!({ "what": "sighting", "number": 1, "ago": { "from_s": 60.0, "to_s": 120.0 } }),
    ]
    .into_iter()
    .enumerate()
    {
        post(port, phone, &format!("begin-{k}"), &report);
    }
    let begin = Instant::now();
    while begin.elapsed() < Duration::from_secs(30) {
        let screen =
            wire::request(port, "GET", "/api/screen", &phone.headers(), None).expect("the desk answers");
        if screen.status == 200 && screen.json()["say"].as_array().is_some_and(|say| !say.is_empty()) {
            return;
        }
        std::thread::sleep(Duration::from_millis(50));
    }
    panic!("no orders within 30 s");
}

/// Sends one report and gives its entry.
fn post(port: u16, phone: &Phone, id: &str, report: &Value) -> u64 {
    let body = json!({ "reports": [{ "report_id": id, "report": report }] });
    let reply =
        wire::request(port, "POST", "/api/report", &phone.headers(), Some(&body)).expect("the desk answers");
    let answer = reply.json()["answers"][0].clone();
    answer["seq"].as_u64().unwrap_or_else(|| panic!("{report}: {answer}"))
}

fn listen(port: u16, (k, phone): (usize, &Phone), shown: &Sender<Shown>) {
    let Ok(mut live) = wire::Live::open(port, &phone.headers()) else { return };
    while let Ok(message) = live.next() {
        if let (Some(seq), "screen") = (message.id, message.event.as_str()) {
            if shown.send((k, seq, Instant::now())).is_err() {
                return;
            }
        }
    }
}

/// Reports at their moments, whatever the answers take: when each was due, how long its answer took, its entry.
fn send(port: u16, phones: &[Phone], seconds: u64) -> Vec<(Instant, f64, u64)> {
    let begin = Instant::now();
    let each: Vec<_> = (0..seconds * REPORTS_PER_S)
        .map(|n| {
            let due = begin + Duration::from_millis(n * 1000 / REPORTS_PER_S);
            std::thread::sleep(due.saturating_duration_since(Instant::now()));
            let phone = phones[n as usize % phones.len()].clone();
            std::thread::spawn(move || {
                let seq = post(port, &phone, &format!("bench-{n}"), &report(n));
                (due, due.elapsed().as_secs_f64() * 1000.0, seq)
            })
        })
        .collect();
    each.into_iter().map(|one| one.join().expect("a report is answered")).collect()
}

/// A search's mixture: remarks, looks, and once a second a witness who changes the belief.
fn report(n: u64) -> Value {
    match n % REPORTS_PER_S {
        0 => {
            json!({ "what": "sighting", "number": 2, "place": { "by": "point", "spot": { "east": -12.0 + (n % 7) as f64, "north": 14.0 } },
                     "ago": { "from_s": 60.0, "to_s": 180.0 }, "class": "companion" })
        }
        3 => json!({ "what": "surface_looked" }),
        6 => json!({ "what": "shore_checked" }),
        _ => {
            json!({ "what": "note", "words": format!("remark {n}: bubbles near the rope, looked at, weed") })
        }
    }
}

fn summary(sent: &[(Instant, f64, u64)], heard: &Receiver<Shown>, peak_mb: f64) -> Value {
    let mut by_phone: Vec<Vec<(u64, Instant)>> = vec![Vec::new(); PHONES];
    for (k, seq, at) in heard.try_iter() {
        by_phone[k].push((seq, at));
    }
    let mut shown_ms = Vec::new();
    let mut never = 0;
    for (due, _, seq) in sent {
        for screens in &by_phone {
            match screens.iter().find(|(shown, _)| shown >= seq) {
                Some((_, at)) => shown_ms.push(at.saturating_duration_since(*due).as_secs_f64() * 1000.0),
                None => never += 1,
            }
        }
    }
    let mut answered_ms: Vec<f64> = sent.iter().map(|(_, ms, _)| *ms).collect();
    shown_ms.sort_by(f64::total_cmp);
    answered_ms.sort_by(f64::total_cmp);
    let at = |all: &[f64], share: f64| {
        all.get(((all.len() as f64 * share) as usize).min(all.len().saturating_sub(1))).copied()
    };
    json!({
        "workload": "desk", "phones": PHONES, "reports": sent.len(), "never_shown": never,
        "shown_p50_ms": at(&shown_ms, 0.5), "shown_p99_ms": at(&shown_ms, 0.99), "shown_most_ms": shown_ms.last(),
        "answered_p50_ms": at(&answered_ms, 0.5), "answered_p99_ms": at(&answered_ms, 0.99),
        "screens": by_phone.iter().map(Vec::len).sum::<usize>(), "peak_mb": peak_mb,
    })
}
