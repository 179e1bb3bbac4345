//! Live updates: packed or not, whole or as changes, every phone has the same picture; and it stays through a restart.

mod phones;

use phones::wire::{Live, request};
use phones::{Desk, Folder, Phone, three_touches};
use serde_json::{Value, json};
use std::time::{Duration, Instant};

/// A stream once it shows at least an entry.
fn at(live: &mut Live, seq: u64) -> Value {
    loop {
        let message = live.next_of("screen").expect("the stream goes on");
        if message.id.is_some_and(|id| id >= seq) {
            return message.data;
        }
    }
}

/// A screen without the time it was made.
fn still(mut screen: Value) -> Value {
    screen["at_ms"] = Value::Null;
    screen
}

#[test]
fn what_a_stream_adds_up_to_is_the_screen_itself() {
    let folder = Folder::new("live-same");
    let desk = Desk::start(&folder.0, &[]);
    let mut phone = Phone::join(desk.port, "phone-aaaa");
    let mut plain = Live::open(desk.port, &phone.headers()).unwrap();
    let mut packed = Live::open_packed(desk.port, &phone.headers()).unwrap();
    three_touches(&mut phone);
    let begin = phone.screen_when(0, |screen| !screen["say"].as_array().unwrap().is_empty());
    for k in 0..12 {
        let seq = phone.recorded(json!({ "what": "note", "words": format!("remark {k}: \"[{{,}}]\" \\") }));
        at(&mut plain, seq);
        at(&mut packed, seq);
    }
    let order = begin["say"][0]["order"].clone();
    let seq = phone.recorded(json!({ "what": "said_it", "order": order }));
    let (mut one, mut other) = (at(&mut plain, seq), at(&mut packed, seq));
    // A thought, or time alone, may change the screen meanwhile: then both streams bring it within a second.
    let since = Instant::now();
    loop {
        let asked = still(phone.get("/api/screen").json());
        let (first, second) = (still(one.clone()) == asked, still(other.clone()) == asked);
        if first && second {
            break;
        }
        assert!(since.elapsed() < Duration::from_secs(20), "{one}\n{other}\n{asked}");
        if !first {
            one = plain.next_of("screen").unwrap().data;
        }
        if !second {
            other = packed.next_of("screen").unwrap().data;
        }
    }
    assert!(packed.bytes * 2 < plain.bytes, "packed {} of {} bytes", packed.bytes, plain.bytes);
}

#[test]
fn a_remark_costs_a_slow_radio_little() {
    let folder = Folder::new("live-bytes");
    let desk = Desk::start(&folder.0, &[]);
    let mut phone = Phone::join(desk.port, "phone-aaaa");
    let mut live = Live::open_packed(desk.port, &phone.headers()).unwrap();
    let seq = three_touches(&mut phone);
    phone.screen_when(seq, |screen| !screen["say"].as_array().unwrap().is_empty());
    let whole = phone.get("/api/screen").body.len();
    let seq = phone.recorded(json!({ "what": "note", "words": "before" }));
    at(&mut live, seq);
    let before = live.bytes;
    for k in 0..10 {
        let seq = phone.recorded(json!({ "what": "note", "words": format!("remark {k}") }));
        at(&mut live, seq);
    }
    let each = (live.bytes - before) / 10;
    assert!(each * 10 < whole, "{each} bytes a remark, of a screen of {whole}");
}

#[test]
fn after_a_restart_the_picture_a_phone_kept_is_not_taken_away() {
    let folder = Folder::new("live-again");
    let desk = Desk::start(&folder.0, &[]);
    let mut lead = Phone::join(desk.port, "lead-phone");
    let seq = three_touches(&mut lead);
    lead.screen_when(seq, |screen| !screen["say"].as_array().unwrap().is_empty());
    // Thinking it all again takes a while: many entries that each change the belief.
    for k in 0..12 {
        lead.recorded(json!({ "what": "sighting", "number": 2, "place": { "by": "point", "spot": { "east": -12.0 + f64::from(k), "north": 20.0 } },
            "ago": { "from_s": 60.0, "to_s": 180.0 }, "class": "companion" }));
    }
    let port = desk.kill();
    let desk = Desk::start_at(&folder.0, port, &[]);
    let headers: Vec<(&str, &str)> = lead.headers();
    // A phone that holds a picture gets the next one only with orders in it.
    let mut kept = Live::open_since(port, &headers, seq).unwrap();
    let first = kept.next_of("screen").unwrap().data;
    assert_eq!(first["stage"], "searching");
    assert!(
        !first["say"].as_array().unwrap().is_empty() && !first["map"]["lanes"].as_array().unwrap().is_empty(),
        "{first}"
    );
    // One that holds none gets what there is at once; it never reads what holds at the beginning of a search.
    let screen = request(port, "GET", "/api/screen", &headers, None).unwrap().json();
    assert_eq!(screen["orders_given"], true);
    drop(desk);
}
