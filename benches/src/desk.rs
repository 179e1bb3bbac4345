//! Twenty phones on a real desk: from a report's sending to its place on every screen.
//!
//! `yardsticks desk PROGRAM [seconds]` starts the program on Kestrel Tarn with an alarm under way, sends ten reports
//! a second, and prints one JSON line: times in milliseconds, memory in MB, what went over the wire in MB.

use super::phones::{self, Desk, Phone, wire};
use serde_json::{Value, json};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::{Duration, Instant};

const PHONES: usize = 20;
const REPORTS_PER_S: u64 = 10;

/// A screen that came: phone, entry, when, and the bytes its phone had been sent by then.
type Shown = (usize, u64, Instant, usize);

/// Runs it and prints the line.
pub fn run(program: &str, seconds: u64) {
    let desk = Desk::start(program, "kestrel-tarn");
    let port = desk.port;
    let phones: Vec<Phone> = (0..PHONES).map(|k| Phone::join(port, k)).collect();
    begin(port, &phones[0]);
    let (shown, heard) = channel();
    for (k, phone) in phones.iter().cloned().enumerate() {
        let shown = shown.clone();
        std::thread::spawn(move || listen(port, (k, &phone), &shown));
    }
    std::thread::sleep(Duration::from_secs(3));
    let (cpu, since) = (desk.cpu_s(), Instant::now());
    let sent = send(port, &phones, seconds);
    std::thread::sleep(Duration::from_secs(2));
    let cores = (desk.cpu_s() - cpu) / since.elapsed().as_secs_f64();
    let mut line = summary(&sent, &heard);
    line["peak_mb"] = desk.peak_mb().into();
    line["cores"] = cores.into();
    println!("{line}");
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
        phones::post(port, phone, &format!("begin-{k}"), &report);
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

fn listen(port: u16, (k, phone): (usize, &Phone), shown: &Sender<Shown>) {
    let Ok(mut live) = wire::Live::open_packed(port, &phone.headers()) else { return };
    while let Ok(message) = live.next() {
        if let (Some(seq), "screen") = (message.id, message.event.as_str()) {
            if shown.send((k, seq, Instant::now(), live.bytes)).is_err() {
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
                let seq = phones::post(port, &phone, &format!("bench-{n}"), &report(n));
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

fn summary(sent: &[(Instant, f64, u64)], heard: &Receiver<Shown>) -> Value {
    let mut by_phone: Vec<Vec<(u64, Instant)>> = vec![Vec::new(); PHONES];
    let mut bytes = [0; PHONES];
    for (k, seq, at, so_far) in heard.try_iter() {
        by_phone[k].push((seq, at));
        bytes[k] = so_far;
    }
    let screens = by_phone.iter().map(Vec::len).sum::<usize>();
    let wire_mb = bytes.iter().sum::<usize>() as f64 / 1e6;
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
        "screens": screens, "wire_mb": wire_mb, "screen_kb": 1000.0 * wire_mb / screens.max(1) as f64,
    })
}
