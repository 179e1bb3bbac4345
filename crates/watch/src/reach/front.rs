//! The front of a march: places waiting for their time, the earliest first.

/// A heap of four children a node over (time, place) packed in one word.
///
/// The time is kept in 32 bits: that is enough to say who comes next, and equal times go to the lower place, so
/// that the order never depends on chance. The exact time stays with the caller.
#[derive(Default)]
pub(super) struct Front {
    words: Vec<u64>,
}

/// Bits of a time that is not negative, in the order of the times.
#[inline]
fn key(time_s: f64) -> u32 {
    (time_s as f32).to_bits()
}

impl Front {
    /// Puts a place with its time.
    #[inline]
    pub(super) fn push(&mut self, time_s: f64, place: u32) {
        let word = u64::from(key(time_s)) << 32 | u64::from(place);
        let mut at = self.words.len();
        self.words.push(word);
        while at > 0 {
            let parent = (at - 1) / 4;
            if self.words[parent] <= word {
                break;
            }
            self.words[at] = self.words[parent];
            at = parent;
        }
        self.words[at] = word;
    }

    /// Takes the earliest place with the bits of its time; see [`Front::is_of`].
    #[inline]
    pub(super) fn pop(&mut self) -> Option<(u32, u32)> {
        let first = *self.words.first()?;
        let last = self.words.pop()?;
        let count = self.words.len();
        if count > 0 {
            let mut at = 0;
            loop {
                let child = 4 * at + 1;
                if child >= count {
                    break;
                }
                let mut least = child;
                for other in child + 1..(child + 4).min(count) {
                    if self.words[other] < self.words[least] {
                        least = other;
                    }
                }
                if self.words[least] >= last {
                    break;
                }
                self.words[at] = self.words[least];
                at = least;
            }
            self.words[at] = last;
        }
        Some(((first >> 32) as u32, first as u32))
    }

    /// Whether bits that came from [`Front::pop`] belong to this time; if not, the place has been put again since.
    #[inline]
    pub(super) fn is_of(bits: u32, time_s: f64) -> bool {
        bits == key(time_s)
    }

    /// Forgets everything.
    pub(super) fn clear(&mut self) {
        self.words.clear();
    }
}

#[cfg(test)]
mod tests {
    use super::Front;

    #[test]
    fn the_earliest_comes_first_and_ties_go_to_the_lower_place() {
        let mut front = Front::default();
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
