//! The morning's cards through real sockets: pushed to phones, held at the alarm, said on every screen, in the log once.

mod phones;

use phones::{Desk, Folder, Phone, program};
use serde_json::{Value, json};
use std::time::{Duration, Instant};

/// The cards, once those of the zones are there.
fn cards(phone: &Phone) -> Value {
    let begin = Instant::now();
    loop {
        let zero = phone.get("/api/zero").json();
        if zero["made_at_ms"].is_i64() {
            return zero;
        }
        assert!(begin.elapsed() < Duration::from_secs(60), "no cards: {zero}");
        std::thread::sleep(Duration::from_millis(50));
    }
}

/// Whether every order of a card is said as it stands on it; times of day stand as seconds on a card.
fn is_said(card: &Value, screen: &Value) -> bool {
    let say: Vec<&Value> = screen["say"].as_array().unwrap().iter().map(|say| &say["words"]).collect();
    let alike = |a: &Value, b: &Value| a == b || b.as_str().unwrap().contains(" seconds after the alarm ");
    card.as_array().unwrap().iter().all(|order| {
        say.iter().any(|words| {
            let (said, read) = (words["lines"].as_array().unwrap(), order["lines"].as_array().unwrap());
            words["over"] == order["over"]
                && said.len() == read.len()
                && said.iter().zip(read).all(|(a, b)| alike(a, b))
        })
    })
}

// shows: PL-19
#[test]
fn a_card_that_was_pushed_is_what_is_ordered_or_every_screen_says_that_it_differs() {
    let folder = Folder::new("zero");
    let desk = Desk::start(&folder.0, &[]);
    let mut phone = Phone::join(desk.port, "phone-aaaa");
    let other = Phone::join(desk.port, "phone-bbbb");
    let zero = cards(&phone);
    let zone = &zero["zones"][0];
    assert!(zone["cards"].as_array().unwrap().len() > 3, "{zone}");
    for order in zone["cards"].as_array().unwrap() {
        let lines = order["lines"].as_array().unwrap();
        assert!((1..=3).contains(&lines.len()) && !order["over"].as_str().unwrap().is_empty(), "{order}");
        assert!(lines.iter().all(|line| line != &order["over"]), "the name is said once: {order}");
    }
    let mut stood = false;
    for _ in 0..6 {
        phone.recorded(json!({ "what": "swimmer_missing", "practice": false }));
        phone.recorded(
            json!({ "what": "sighting", "number": 1, "place": { "by": "area", "name": zone["name"] } }),
        );
        let seq = phone
            .recorded(json!({ "what": "sighting", "number": 1, "ago": { "from_s": 100.0, "to_s": 140.0 } }));
        let screen = phone.screen_when(seq, |screen| !screen["say"].as_array().unwrap().is_empty());
        let words = screen["order_zero"].as_str().expect("the screen says how the card stands").to_string();
        assert_eq!(other.screen_when(seq, |screen| screen["order_zero"].is_string())["order_zero"], words);
        if words.starts_with("The first orders are those of the morning's card") {
            assert!(is_said(&zone["cards"], &screen), "{}\n{}", zone["cards"], screen["say"]);
            stood = true;
            break;
        }
        assert!(
            words.starts_with("Differs from the morning's card") && words.contains("Call back"),
            "{words}"
        );
        phone.recorded(json!({ "what": "stood_down", "reason": "the card is tried again" }));
    }
    assert!(stood, "no card stood where nothing but the zone is known");
    // A start in the same folder makes the same cards: they are in the log already.
    let before = logged(&folder.0);
    assert!(before >= 1);
    let port = desk.kill();
    let again = Desk::start_kept(&folder.0, port);
    assert!(again.said.contains("phones go to"));
    std::thread::sleep(Duration::from_millis(500));
    assert_eq!(logged(&folder.0), before);
}

fn logged(data: &std::path::Path) -> usize {
    let out = program().args(["records", "export", "--data"]).arg(data).output().unwrap();
    String::from_utf8(out.stdout).unwrap().matches("\"event\":\"cards_made\"").count()
}
