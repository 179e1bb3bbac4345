//! Orders to be said: what waits, and what has begun by the clock without a word.

use super::View;
use crate::screen::{Say, Words};
use crate::state::Phase;
use crate::think::{Card, Stand};
use search::plan::Role as Job;

/// An order that has begun by the clock stays on the list so long \[s\].
const SAID_BY_THEN_S: f64 = 60.0;

impl View<'_> {
    /// Orders to be said, the next first.
    pub(crate) fn say(&self) -> Vec<Say> {
        let (Some(incident), Some(thought)) = (self.incident(), self.thought_of_now()) else {
            return Vec::new();
        };
        if incident.phase != Phase::Searching || !incident.short.is_empty() {
            return Vec::new();
        }
        let now_s = self.now_s();
        let mut all: Vec<(bool, f64, u8, Say)> = Vec::new();
        for card in thought.cards.values() {
            let known = incident.orders.get(&card.number);
            if known.is_some_and(|known| known.said_ms.is_some() || known.ended_ms.is_some()) {
                continue;
            }
            let Some(say) = self.card(card) else { continue };
            let due_s = incident.since_s(say.due_ms);
            let begun = card.stand == Stand::Begun;
            let stale = now_s > due_s + SAID_BY_THEN_S && (begun || card.run.is_none());
            if card.legs_reported > 0 || stale || !matches!(card.stand, Stand::Waiting | Stand::Begun) {
                continue;
            }
            let put_off = known.is_some_and(|known| known.put_off_ms.is_some());
            all.push((put_off, due_s, rank(card), Say { put_off, ..say }));
        }
        all.sort_by(|a, b| {
            a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.cmp(&b.2)).then(a.3.order.cmp(&b.3.order))
        });
        all.into_iter().map(|(.., say)| say).collect()
    }

    /// An order as a card to be read aloud.
    pub(crate) fn card(&self, card: &Card) -> Option<Say> {
        let order = card.order.as_ref()?;
        let say = |text: &str| self.names.say(&without_number(text));
        let lines: Vec<String> = order.lines.iter().skip(1).map(|line| say(line)).collect();
        // Of a line's four lines the first says how it stands: that is the small one below.
        let (under, lines) = match lines.len() {
            4.. => (lines[0].clone(), lines[1..4].to_vec()),
            _ => (String::new(), lines),
        };
        let due_s = match &card.run {
            Some((run, _)) => run.leaves_s.min(order.at_s),
            None => order.at_s,
        };
        Some(Say {
            order: card.number,
            words: Words { over: say(&order.to), lines, under },
            due_ms: self.ms(due_s),
            brief: say(&order.words),
            why: String::new(),
            put_off: false,
        })
    }
}

/// Orders of the same moment in the order of the trade.
fn rank(card: &Card) -> u8 {
    match card.post {
        Some(Job::First) => 0,
        Some(Job::Lead) => 1,
        Some(Job::Lookout) => 2,
        Some(Job::Gate) => 3,
        Some(Job::Standby) => 5,
        _ => 4,
    }
}

/// An order without the number of heads: whoever types the count reads this too.
fn without_number(text: &str) -> String {
    let words: Vec<&str> = text.split(' ').collect();
    let count = words.windows(3).position(|w| {
        w[0].ends_with("Count")
            && w[1].bytes().all(|b| b.is_ascii_digit())
            && !w[1].is_empty()
            && w[2] == "after"
    });
    match count {
        Some(at) => {
            let mut words = words;
            words[at + 1] = "heads";
            words.join(" ")
        }
        None => text.to_owned(),
    }
}
