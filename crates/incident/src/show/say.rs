//! Orders to be said: what is due, what comes next, and what has begun by the clock without a word.

use super::View;
use crate::screen::{Say, Words};
use crate::state::Phase;
use crate::think::{Card, Stand};
use search::orders::Order;
use search::plan::Role as Job;

/// An order that has begun by the clock stays on the list so long \[s\].
const SAID_BY_THEN_S: f64 = 90.0;
/// Orders due so soon are on the list; of later ones the next alone \[s\].
const AHEAD_S: f64 = 90.0;

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
        for card in thought.cards.values().filter(|card| !self.is_past(card)) {
            let Some(say) = self.card(card) else { continue };
            let put_off = incident.orders.get(&card.number).is_some_and(|known| known.put_off_ms.is_some());
            all.push((put_off, incident.since_s(say.due_ms), rank(card), Say { put_off, ..say }));
        }
        all.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.2.cmp(&b.2)).then(a.3.order.cmp(&b.3.order)));
        let soon = all.iter().take_while(|(_, due_s, ..)| *due_s <= now_s + AHEAD_S).count();
        all.truncate(soon.max(1));
        // What was put off waits behind the rest.
        all.sort_by_key(|(put_off, ..)| *put_off);
        all.into_iter().map(|(.., say)| say).collect()
    }

    /// Whether an order need not be said any more.
    fn is_past(&self, card: &Card) -> bool {
        let Some(incident) = self.incident() else { return true };
        let known = incident.orders.get(&card.number);
        let done = known.is_some_and(|k| {
            k.said_ms.is_some() || k.ended_ms.is_some() || k.dives > 0 || k.metres > 0.0 || k.down.is_some()
        });
        let waits = matches!(card.stand, Stand::Waiting | Stand::Begun);
        if done || !waits || card.legs_reported > 0 {
            return true;
        }
        let due_s = card.order.as_ref().map_or(0.0, |order| order.at_s);
        self.now_s() > due_s + SAID_BY_THEN_S && (card.stand == Stand::Begun || card.run.is_none())
    }

    /// Lines that began by the clock while nobody said the order.
    pub(crate) fn unsaid(&self) -> Vec<String> {
        let (Some(incident), Some(thought)) = (self.incident(), self.thought_of_now()) else {
            return Vec::new();
        };
        if incident.phase != Phase::Searching {
            return Vec::new();
        }
        let mut all = Vec::new();
        for card in
            thought.cards.values().filter(|card| card.stand == Stand::Begun && card.legs_reported == 0)
        {
            let Some(known) = incident.orders.get(&card.number) else { continue };
            let heard =
                known.said_ms.is_some() || known.dives > 0 || known.metres > 0.0 || known.down.is_some();
            if !heard && self.is_past(card) {
                let at = super::clock(known.shown.leaves_ms, incident.day.utc_offset_s);
                all.push(format!(
                    "order {} to {} was due {at}: was it said?",
                    card.number,
                    self.line_name(known)
                ));
            }
        }
        all
    }

    /// An order as a card to be read aloud.
    pub(crate) fn card(&self, card: &Card) -> Option<Say> {
        let order = card.order.as_ref()?;
        let words = order_words(order);
        let say = |text: &String| sentence(&self.names.say(text));
        let words = Words {
            over: self.names.say(&words.over),
            lines: words.lines.iter().map(say).collect(),
            under: say(&words.under),
        };
        let why = self.thought_of_now().and_then(|thought| thought.why.get(&card.number)).cloned();
        Some(Say {
            order: card.number,
            words,
            due_ms: self.ms(order.at_s),
            brief: self.names.say(&without_number(&order.words)),
            why: why.unwrap_or_default(),
            put_off: false,
        })
    }
}

/// An order in three lines, without the number of heads.
pub(crate) fn order_words(order: &Order) -> Words {
    let line = |text: &String| sentence(&without_number(text));
    let lines: Vec<String> = order.lines.iter().skip(1).map(line).collect();
    // Of a line's four lines the first says how it stands: that is the small one below.
    let (under, lines) = match lines.len() {
        4.. => (lines[0].clone(), lines[1..4].to_vec()),
        _ => (String::new(), lines),
    };
    Words { over: order.to.clone(), lines, under }
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

/// With a capital at its head.
fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    match chars.next() {
        Some(first) => first.to_uppercase().chain(chars).collect(),
        None => String::new(),
    }
}

/// An order without the number of heads: whoever types the count reads this too.
pub(crate) fn without_number(text: &str) -> String {
    let mut words: Vec<&str> = text.split(' ').collect();
    for k in 0..words.len().saturating_sub(2) {
        let number = !words[k + 1].is_empty() && words[k + 1].bytes().all(|b| b.is_ascii_digit());
        if words[k].eq_ignore_ascii_case("count") && number && words[k + 2] == "after" {
            words[k + 1] = "heads";
        }
    }
    words.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_number_of_heads_is_left_out() {
        assert_eq!(
            without_number("Count 3 after every dive; one short, shout."),
            "Count heads after every dive; one short, shout."
        );
        assert_eq!(without_number("Go north, 20 metres, 3 dives."), "Go north, 20 metres, 3 dives.");
    }
}
