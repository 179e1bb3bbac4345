//! How fast somebody may go on asking: so many at once, then one more each so often.

use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};

/// Those who are remembered; beyond that the one who waited longest is forgotten.
const REMEMBERED_MOST: usize = 4096;

/// What is left to somebody.
#[derive(Clone, Copy, Debug)]
struct Left {
    count: f64,
    at_ms: i64,
}

/// What is left to everybody, by who they are.
pub struct Pace<K> {
    at_once: f64,
    each_s: f64,
    all: Mutex<BTreeMap<K, Left>>,
}

impl<K: Ord + Clone> Pace<K> {
    /// So many at once, then one more each `each_s` seconds.
    pub fn new(at_once: u32, each_s: f64) -> Pace<K> {
        Pace { at_once: f64::from(at_once), each_s, all: Mutex::new(BTreeMap::new()) }
    }

    /// Takes one from somebody; or gives the seconds that they must wait, and takes nothing.
    pub fn take(&self, who: &K, now_ms: i64) -> Result<(), u64> {
        let mut all = self.all.lock().unwrap_or_else(PoisonError::into_inner);
        let known = all.get(who).copied().unwrap_or(Left { count: self.at_once, at_ms: now_ms });
        let passed_s = (now_ms - known.at_ms).max(0) as f64 / 1000.0;
        let count = (known.count + passed_s / self.each_s).min(self.at_once);
        if !all.contains_key(who) && all.len() >= REMEMBERED_MOST {
            let oldest = all.iter().min_by_key(|(_, left)| left.at_ms).map(|(who, _)| who.clone());
            oldest.map(|who| all.remove(&who));
        }
        let is_enough = count >= 1.0;
        all.insert(who.clone(), Left { count: if is_enough { count - 1.0 } else { count }, at_ms: now_ms });
        if is_enough { Ok(()) } else { Err(((1.0 - count) * self.each_s).ceil().max(1.0) as u64) }
    }

    /// Gives somebody everything back.
    pub fn forgive(&self, who: &K) {
        self.all.lock().unwrap_or_else(PoisonError::into_inner).remove(who);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn everybody_has_a_pace_of_their_own() {
        let pace: Pace<u32> = Pace::new(20, 6.0);
        assert_eq!((0..40).filter(|_| pace.take(&1, 1000).is_ok()).count(), 20);
        assert_eq!((pace.take(&1, 1000), pace.take(&2, 1000)), (Err(6), Ok(())));
        assert_eq!(pace.take(&1, 7100), Ok(()), "nobody waits for long");
        assert!(
            pace.take(&1, 7100).is_err() && pace.take(&1, -9000).is_err(),
            "a clock set back gives nothing"
        );
        pace.forgive(&1);
        assert_eq!(pace.take(&1, 7100), Ok(()));
        (0..10_000).for_each(|who| assert_eq!(pace.take(&(10 + who), 8000), Ok(())));
        assert!(pace.all.lock().unwrap().len() <= REMEMBERED_MOST);
    }
}
