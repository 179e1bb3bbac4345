//! What every place was like after each event of the plan that is being changed, so that a trial begins where it differs.

/// No entry.
const NONE: u32 = u32::MAX;

/// One state of one place.
#[derive(Clone, Copy, Debug)]
struct Entry<T> {
    /// Event that left it so.
    event: u32,
    place: u32,
    /// The entry of the same place before it.
    before: u32,
    state: T,
}

/// States of places in the order of events.
#[derive(Clone, Debug)]
pub(super) struct History<T> {
    entries: Vec<Entry<T>>,
    /// Last entry of each place.
    last: Vec<u32>,
}

impl<T: Copy> History<T> {
    /// Nothing has happened at so many places.
    pub fn new(places: usize) -> Self {
        History { entries: Vec::new(), last: vec![NONE; places] }
    }

    /// Forgets an event and all after it.
    pub fn cut(&mut self, event: u32) {
        while let Some(&Entry { place, before, .. }) = self.entries.last().filter(|e| e.event >= event) {
            self.last[place as usize] = before;
            self.entries.pop();
        }
    }

    /// Takes in what an event, no earlier than the last one taken in, left at a place.
    #[inline]
    pub fn push(&mut self, event: u32, place: u32, state: T) {
        let before = std::mem::replace(&mut self.last[place as usize], self.entries.len() as u32);
        self.entries.push(Entry { event, place, before, state });
    }

    /// State of a place before an event; `None` if nothing had happened to it.
    #[inline]
    pub fn before(&self, event: u32, place: u32) -> Option<&T> {
        if event == 0 {
            return None;
        }
        let mut at = self.last[place as usize];
        while at != NONE {
            let entry = &self.entries[at as usize];
            if entry.event < event {
                return Some(&entry.state);
            }
            at = entry.before;
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_past_is_found_and_forgotten() {
        let mut history = History::new(3);
        for (event, place, state) in [(0, 1, 'a'), (2, 1, 'b'), (2, 2, 'c'), (5, 1, 'd')] {
            history.push(event, place, state);
        }
        let at = |history: &History<char>, event| history.before(event, 1).copied();
        assert_eq!(
            [0, 1, 2, 3, 6].map(|e| at(&history, e)),
            [None, Some('a'), Some('a'), Some('b'), Some('d')]
        );
        assert_eq!(history.before(9, 0), None);
        history.cut(2);
        assert_eq!(at(&history, 9), Some('a'));
        assert_eq!(history.before(9, 2), None);
    }
}
