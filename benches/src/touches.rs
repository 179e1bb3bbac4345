//! Three touches to orders: from the sending of the third touch to the first orders on every one of twenty phones.
//!
//! `yardsticks touches PROGRAM SITE [alarms] [seconds]` starts the program on a site, waits for the morning's cards (at most so many seconds), raises alarms at
//! different places one after the other, and prints one JSON line, times in milliseconds.

use super::phones::{self, Desk, Phone, wire};
use serde_json::{Value, json};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::{Duration, Instant};

const PHONES: usize = 20;
/// Between two touches: a hand that knows where.
const TOUCH: Duration = Duration::from_millis(800);
/// Longer than this is as good as never.
const WITHIN: Duration = Duration::from_secs(30);

/// A screen that came: phone, when, whether it holds orders.
type Shown = (usize, Instant, bool);

/// Runs it and prints the line.
pub fn run(program: &str, site: &str, alarms: usize, cards_within: Duration) {
    let desk = Desk::start(program, site);
    let port = desk.port;
    let phones: Vec<Phone> = (0..PHONES).map(|k| Phone::join(port, k)).collect();
    let cards = cards_made(port, &phones[0], cards_within);
    let (shown, heard) = channel();
    for (k, phone) in phones.iter().cloned().enumerate() {
        let shown = shown.clone();
        std::thread::spawn(move || listen(port, (k, &phone), &shown));
    }
    let places = places(&phones[0].get(port, "/api/site"));
    let (mut all_ms, mut core_ms): (Vec<f64>, Vec<f64>) =
        (0..alarms).map(|n| alarm(&desk, &phones[0], (n, &places[n % places.len()]), &heard)).unzip();
    all_ms.sort_by(f64::total_cmp);
    core_ms.sort_by(f64::total_cmp);
    println!(
        "{}",
        json!({
            "workload": "touches", "site": site, "phones": PHONES, "alarms": all_ms.len(), "squares_with_cards": cards,
            "p50_ms": all_ms[all_ms.len() / 2], "most_ms": all_ms.last(), "core_p50_ms": core_ms[core_ms.len() / 2],
            "core_most_ms": core_ms.last(), "peak_mb": desk.peak_mb(),
        })
    );
}

/// Waits for the morning's cards; gives how many squares of water have one.
fn cards_made(port: u16, phone: &Phone, within: Duration) -> usize {
    let begin = Instant::now();
    loop {
        let squares = phone.get(port, "/api/zero")["cells"].as_array().map_or(0, Vec::len);
        if squares > 0 || begin.elapsed() > within {
            return squares;
        }
        std::thread::sleep(Duration::from_millis(200));
    }
}

/// Places in the water: corners of the bathing areas drawn towards their middles, and the areas by name.
fn places(chart: &Value) -> Vec<Value> {
    let mut all = Vec::new();
    for area in chart["areas"].as_array().into_iter().flatten() {
        let corner = |place: &Value| -> Option<[f64; 2]> {
            match place {
                Value::Array(two) => Some([two.first()?.as_f64()?, two.get(1)?.as_f64()?]),
                other => Some([other["east"].as_f64()?, other["north"].as_f64()?]),
            }
        };
        let ring: Vec<[f64; 2]> =
            area["rings"][0].as_array().into_iter().flatten().filter_map(corner).collect();
        let count = ring.len().max(1) as f64;
        let middle = [0, 1].map(|axis| ring.iter().map(|place| place[axis]).sum::<f64>() / count);
        for share in [0.0, 0.5] {
            for place in ring.iter().step_by(if share > 0.0 { 1 } else { 1000 }) {
                let spot = [0, 1].map(|axis| middle[axis] + share * (place[axis] - middle[axis]));
                all.push(json!({ "by": "point", "spot": { "east": spot[0], "north": spot[1] } }));
            }
        }
        all.push(json!({ "by": "area", "name": area["name"] }));
    }
    assert!(!all.is_empty(), "the chart names no bathing area: {}", chart["areas"]);
    all
}

fn listen(port: u16, (k, phone): (usize, &Phone), shown: &Sender<Shown>) {
    let Ok(mut live) = wire::Live::open_packed(port, &phone.headers()) else { return };
    while let Ok(message) = live.next_of("screen") {
        let has_orders = message.data["say"].as_array().is_some_and(|say| !say.is_empty());
        if shown.send((k, Instant::now(), has_orders)).is_err() {
            return;
        }
    }
}

/// One alarm from its first touch to its end; gives the milliseconds from the third touch to the last phone with orders,
/// and those of them that the desk ran on a core, which neighbours on a busy machine stretch least.
fn alarm(desk: &Desk, phone: &Phone, (n, place): (usize, &Value), heard: &Receiver<Shown>) -> (f64, f64) {
    let port = desk.port;
    let touch = |part: &str, report: Value| phones::post(port, phone, &format!("touch-{n}-{part}"), &report);
    touch("1", json!({ "what": "swimmer_missing", "practice": false }));
    std::thread::sleep(TOUCH);
    touch("2", json!({ "what": "sighting", "number": 1, "place": place }));
    std::thread::sleep(TOUCH);
    // Screens of the alarm before, and of the touches before.
    heard.try_iter().for_each(drop);
    let (third, core_s) = (Instant::now(), desk.cpu_s());
    touch("3", json!({ "what": "sighting", "number": 1, "ago": { "from_s": 60.0, "to_s": 120.0 } }));
    let mut last = [None; PHONES];
    while last.iter().any(Option::is_none) {
        let left = WITHIN.saturating_sub(third.elapsed());
        let Ok((k, at, has_orders)) = heard.recv_timeout(left) else { break };
        if has_orders {
            last[k].get_or_insert(at);
        }
    }
    let core_ms = (desk.cpu_s() - core_s) * 1000.0;
    touch("4", json!({ "what": "stood_down", "reason": "bench" }));
    std::thread::sleep(TOUCH);
    let all = last.iter().map(|at| at.map_or(WITHIN, |at| at - third).as_secs_f64() * 1000.0);
    (all.fold(0.0, f64::max), core_ms)
}
