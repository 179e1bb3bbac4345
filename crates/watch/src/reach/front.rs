//! The front of a march: places waiting for their time, the earliest first.

/// Slots of time by which places wait; beyond the last of them they wait in one pile.
const SLOTS: usize = 1024;

/// Places waiting for their time.
///
/// Each is (time, place) packed in one word. The time is kept in 32 bits: that is enough to say who comes next, and equal
/// times go to the lower place, so that the order never depends on chance. The exact time stays with the caller.
/// A march never goes back, so words are thrown unsorted into slots of time, and only the slot that is due is sorted.
pub(super) struct Front {
    /// Slots a second.
    per_s: f64,
    /// Number of the slot that is due, from one; none is at first.
    due: u64,
    /// Its words, the earliest last.
    next: Vec<u64>,
    /// Words of the slots after it, by the number of the slot; how many there are.
    slots: Vec<Vec<u64>>,
    waiting: usize,
    /// Words of still later slots.
    later: Vec<u64>,
}

/// Bits of a time that is not negative, in the order of the times.
#[inline]
fn key(time_s: f64) -> u32 {
    (time_s as f32).to_bits()
}

impl Front {
    /// A front that walks over cells of which the fastest takes `step_s` to cross.
    ///
    /// A sixteenth of that is a slot: few words to sort, and few slots that nobody waits in. Any width gives the same order.
    pub(super) fn new(step_s: f64) -> Self {
        let per_s = 16.0 / step_s;
        let per_s = if per_s.is_finite() && per_s > 0.0 { per_s } else { 16.0 };
        let slots = vec![Vec::new(); SLOTS];
        Front { per_s, due: 0, next: Vec::new(), slots, waiting: 0, later: Vec::new() }
    }

    #[inline]
    fn slot(&self, bits: u32) -> u64 {
        ((f64::from(f32::from_bits(bits)) * self.per_s) as u64).saturating_add(1)
    }

    /// Puts a place with its time.
    #[inline]
    pub(super) fn push(&mut self, time_s: f64, place: u32) {
        let bits = key(time_s);
        let (slot, word) = (self.slot(bits), u64::from(bits) << 32 | u64::from(place));
        if slot <= self.due {
            let at = self.next.partition_point(|&other| other > word);
            self.next.insert(at, word);
        } else if slot - self.due < SLOTS as u64 {
            self.slots[slot as usize % SLOTS].push(word);
            self.waiting += 1;
        } else {
            self.later.push(word);
        }
    }

    /// Takes the earliest place with the bits of its time; see [`Front::is_of`].
    #[inline]
    pub(super) fn pop(&mut self) -> Option<(u32, u32)> {
        if self.next.is_empty() && !self.turn() {
            return None;
        }
        self.next.pop().map(|word| ((word >> 32) as u32, word as u32))
    }

    /// Makes the next slot that somebody waits in the one that is due; whether there is one.
    fn turn(&mut self) -> bool {
        if self.waiting == 0 && !self.bring_near() {
            return false;
        }
        loop {
            self.due += 1;
            // What was too late for a slot may not be any longer; looked at before anybody of this slot goes, or it would be missed.
            if self.due % (SLOTS as u64 / 2) == 0 {
                self.sort_in();
            }
            let slot = &mut self.slots[self.due as usize % SLOTS];
            if !slot.is_empty() {
                std::mem::swap(slot, &mut self.next);
                self.waiting -= self.next.len();
                self.next.sort_unstable_by(|a, b| b.cmp(a));
                return true;
            }
        }
    }

    /// Goes on to just before the earliest of the late words, of which the near ones get their slots; whether there is one.
    fn bring_near(&mut self) -> bool {
        let Some(first) = self.later.iter().min() else { return false };
        self.due = self.slot((first >> 32) as u32) - 1;
        self.sort_in();
        true
    }

    /// Gives late words that have become near their slots.
    fn sort_in(&mut self) {
        for word in std::mem::take(&mut self.later) {
            let slot = self.slot((word >> 32) as u32);
            if slot - self.due < SLOTS as u64 {
                self.slots[slot as usize % SLOTS].push(word);
                self.waiting += 1;
            } else {
                self.later.push(word);
            }
        }
    }

    /// Whether bits that came from [`Front::pop`] belong to this time; if not, the place has been put again since.
    #[inline]
    pub(super) fn is_of(bits: u32, time_s: f64) -> bool {
        bits == key(time_s)
    }
}

#[cfg(test)]
mod tests {
    use super::Front;

    #[test]
    fn nobody_waits_too_long_while_every_slot_is_taken() {
        // A place in every slot, and one far ahead of each: none may be told after a later one.
        let mut front = Front::new(16.0);
        (0..1500u32).for_each(|k| front.push(f64::from(k) + 0.5, k));
        let (mut last, mut told) = (0, 0);
        while let Some((bits, place)) = front.pop() {
            assert!(bits >= last, "{place}");
            (last, told) = (bits, told + 1);
            if told < 3000 && place < 100_000 {
                front.push(f64::from(f32::from_bits(bits)) + 1300.0, 100_000 + told);
            }
        }
        assert_eq!(told, 3000);
    }

    #[test]
    fn the_earliest_comes_first_and_ties_go_to_the_lower_place() {
        for step_s in [0.001, 0.4, 30.0, 1e9, 0.0, f64::NAN] {
            let mut front = Front::new(step_s);
            let mut told: Vec<(f64, u32)> =
                (0..500u32).map(|k| (f64::from((k * 7919) % 97) * 0.5, (k * 31) % 500)).collect();
            told.iter().for_each(|&(time, place)| front.push(time, place));
            told.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            for (time, place) in told {
                let (bits, found) = front.pop().unwrap();
                assert!(Front::is_of(bits, time) && found == place);
            }
            assert!(front.pop().is_none());
        }
    }

    #[test]
    fn what_is_put_while_others_are_taken_comes_in_its_turn() {
        let mut draws = measure::Seed(3).stream("front").draws();
        for step_s in [1e-5, 0.01, 1.0] {
            let (mut front, mut waiting) = (Front::new(step_s), std::collections::BTreeSet::new());
            let mut now_s = 0.0;
            for place in 0..4_000u32 {
                let ahead_s = if place % 50 == 0 { 500.0 } else { 2.0 };
                let time_s = f64::from((now_s + draws.between(0.0, ahead_s)) as f32);
                front.push(time_s, place);
                waiting.insert((time_s.to_bits(), place));
                if place % 3 > 0 {
                    let first = waiting.pop_first().unwrap();
                    let (bits, found) = front.pop().unwrap();
                    now_s = f64::from_bits(first.0);
                    assert!(Front::is_of(bits, now_s) && found == first.1, "{place} of {step_s}");
                }
            }
            while let Some((_, place)) = waiting.pop_first() {
                assert_eq!(front.pop().unwrap().1, place);
            }
            assert!(front.pop().is_none());
        }
    }
}
