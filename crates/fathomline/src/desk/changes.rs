//! What of a screen is new to a stream: a report changes a few parts of it, and the radio of a hut is slow.
//!
//! A stream begins with a whole screen. After it go the fields that are not as they were sent last, those of the map
//! each by itself. Nothing is assumed of the other end but that it has what the same stream brought before.

use incident::Screen;
use std::collections::BTreeMap;
use std::fmt::Write;

/// The field that is looked into: most of a screen's bytes are the map's, and most reports move none of its dots.
const PARTED: &str = "map";
/// Fields that go with every change.
const ALWAYS: [&str; 2] = ["seq", "at_ms"];

/// What a stream has sent so far.
#[derive(Default)]
pub struct Sent(BTreeMap<String, String>);

/// A message of the stream.
#[derive(Debug, PartialEq, Eq)]
pub enum News {
    /// A whole screen as JSON: the first of a stream.
    Screen(String),
    /// The fields that changed, as JSON.
    Change(String),
}

impl Sent {
    /// What is to be sent so that the other end has this screen.
    ///
    /// # Inputs
    /// - `screen`: of the stream's device
    ///
    /// # Gives
    /// Nothing when it has it already, but for the time it was made.
    pub fn news(&mut self, screen: &Screen) -> Option<News> {
        let whole = serde_json::to_string(screen).expect("a screen is plain data");
        let is_first = self.0.is_empty();
        let (mut all, mut inner, mut is_news) = (String::new(), String::new(), is_first);
        for (name, text) in fields(&whole) {
            if name == PARTED {
                for (name, text) in fields(text) {
                    if self.is_new(&format!("{PARTED}.{name}"), text) {
                        add(&mut inner, name, text);
                    }
                }
            } else {
                // Its time alone is no news.
                let is_new = name != "at_ms" && self.is_new(name, text);
                is_news |= is_new;
                if is_new || ALWAYS.contains(&name) {
                    add(&mut all, name, text);
                }
            }
        }
        if !inner.is_empty() {
            is_news = true;
            add(&mut all, PARTED, &format!("{{{inner}}}"));
        }
        let news = if is_first { News::Screen(whole) } else { News::Change(format!("{{{all}}}")) };
        is_news.then_some(news)
    }

    /// Whether nothing was sent yet.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Whether a part is not as it was sent last; from now on it is.
    fn is_new(&mut self, name: &str, text: &str) -> bool {
        match self.0.get_mut(name) {
            Some(before) if before == text => false,
            Some(before) => {
                text.clone_into(before);
                true
            }
            None => {
                self.0.insert(name.into(), text.into());
                true
            }
        }
    }
}

fn add(object: &mut String, name: &str, text: &str) {
    let comma = if object.is_empty() { "" } else { "," };
    let _ = write!(object, "{comma}\"{name}\":{text}");
}

/// The fields of an object as its text has them: name, and text of the value. The text is our own, without spaces.
fn fields(object: &str) -> Vec<(&str, &str)> {
    let (mut found, mut depth, mut in_words, mut escaped) = (Vec::new(), 0, false, false);
    let (mut from, mut colon) = (1, None);
    for (k, byte) in object.bytes().enumerate() {
        match byte {
            _ if escaped => escaped = false,
            b'\\' if in_words => escaped = true,
            b'"' => in_words = !in_words,
            _ if in_words => {}
            b'{' | b'[' => depth += 1,
            b':' if depth == 1 && colon.is_none() => colon = Some(k),
            b',' | b'}' | b']' => {
                depth -= i32::from(byte != b',');
                let ends = if byte == b',' { depth == 1 } else { depth == 0 };
                if let Some(at) = colon.filter(|_| ends) {
                    found.push((object[from..at].trim_matches('"'), &object[at + 1..k]));
                    (from, colon) = (k + 1, None);
                }
            }
            _ => {}
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use incident::{Names, Sender, State, Thought};
    use proptest::prelude::*;
    use serde_json::{Map, Value};

    fn screen() -> Screen {
        let sender = Sender { device: "a".into(), role: incident::report::Role::Lead, person: None };
        incident::screen(&State::default(), &Thought::default(), &sender, &Names::default(), 1_000)
    }

    /// As every page does it.
    fn taken(before: &Value, change: &str) -> Value {
        let mut now = before.clone();
        for (name, value) in serde_json::from_str::<Map<String, Value>>(change).unwrap() {
            match name.as_str() {
                PARTED => value.as_object().unwrap().iter().for_each(|(k, v)| now[PARTED][k] = v.clone()),
                _ => now[name] = value,
            }
        }
        now
    }

    #[test]
    fn the_same_is_not_sent_twice_and_a_change_goes_alone() {
        let (mut sent, mut screen) = (Sent::default(), screen());
        let whole = serde_json::to_string(&screen).unwrap();
        assert_eq!(sent.news(&screen), Some(News::Screen(whole.clone())));
        screen.at_ms += 1_000;
        assert_eq!(sent.news(&screen), None, "time alone is no news");
        screen.said.push("a \"quoted, [odd] {remark}: \\".into());
        screen.seq += 1;
        let Some(News::Change(change)) = sent.news(&screen) else { panic!("a change") };
        let names: Vec<String> =
            serde_json::from_str::<Map<String, Value>>(&change).unwrap().keys().cloned().collect();
        assert_eq!(names, ["seq", "at_ms", "said"], "{change}");
        screen.map.sentence = "most likely near the raft".into();
        let Some(News::Change(change)) = sent.news(&screen) else { panic!("a change") };
        assert!(change.contains("{\"sentence\":\"most likely near the raft\"}"), "{change}");
        assert!(!change.contains("dots"), "{change}");
        screen.short = None;
        assert_eq!(sent.news(&screen), None);
    }

    proptest! {
        #[test]
        fn whatever_changes_the_other_end_has_the_same_screen(
            steps in prop::collection::vec((0_usize..8, ".{0,12}", -1e6_f32..1e6), 1..20)
        ) {
            let (mut sent, mut screen) = (Sent::default(), screen());
            let Some(News::Screen(first)) = sent.news(&screen) else { panic!("a screen") };
            let mut theirs: Value = serde_json::from_str(&first).unwrap();
            for (what, words, number) in steps {
                screen.seq += 1;
                match what {
                    0 => screen.said.push(words),
                    1 => screen.shouts = vec![words],
                    2 => screen.map.dots.push([number, -number]),
                    3 => screen.map.current = Some((f64::from(number), 0.5)),
                    4 => screen.map.current = None,
                    5 => screen.order_zero = Some(words),
                    6 => screen.order_zero = None,
                    _ => screen.you.name = Some(words),
                }
                if let Some(news) = sent.news(&screen) {
                    let News::Change(change) = news else { panic!("{news:?}") };
                    theirs = taken(&theirs, &change);
                    let ours: Value = serde_json::from_str(&serde_json::to_string(&screen).unwrap()).unwrap();
                    prop_assert_eq!(&theirs, &ours);
                }
            }
        }
    }
}
