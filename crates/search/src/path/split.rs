//! Where to split a part of all searches: by where a searcher is at some step.
//!
//! Longest paths that trade looks with each other (one stays in the near hump, one in the far, each at half weight) are
//! kept apart best where they stand furthest from each other.

use super::field::Field;
use super::nets::Ceiling;
use std::collections::BTreeMap;

/// Two parts: `searcher` is near after `step` steps, or not.
pub struct Split {
    /// Whose place decides.
    pub searcher: usize,
    /// After how many steps.
    pub step: usize,
    /// Per place, whether it counts as near.
    pub near: Vec<bool>,
}

/// Moves from one place to all others, kept from split to split.
#[derive(Default)]
pub struct Splits {
    away: BTreeMap<u32, Vec<u16>>,
}

impl Splits {
    fn from(&mut self, field: &Field, place: u32, weighed: &mut u64) -> &[u16] {
        let places = field.moves.count();
        if self.away.len() * places > MOST {
            self.away.clear();
        }
        self.away.entry(place).or_insert_with(|| {
            *weighed += field.moves.items() as u64;
            let mut away = vec![u16::MAX; places];
            away[place as usize] = 0;
            let mut edge = vec![place];
            let mut moves = 0u16;
            while !edge.is_empty() && usize::from(moves) < field.steps() {
                moves += 1;
                let mut next = Vec::new();
                for &place in &edge {
                    for &to in field.moves.row(place as usize) {
                        if away[to as usize] == u16::MAX {
                            away[to as usize] = moves;
                            next.push(to);
                        }
                    }
                }
                edge = next;
            }
            away
        })
    }

    /// Splits where the longest paths of the last rounds stand furthest from each other; where they all agree,
    /// one place off the others at the first step that leaves a choice.
    ///
    /// # Inputs
    /// - `ceiling`: tuned
    /// - `tried`: moves tried, added to
    ///
    /// # Gives
    /// The split; nothing where only one search is left.
    pub fn choose(&mut self, field: &Field, ceiling: &Ceiling, tried: &mut u64) -> Option<Split> {
        let searchers = field.starts.len();
        let mixed = &ceiling.mixed;
        let mut weighed = (field.length() * mixed.len() * mixed.len()) as u64;
        let (mut most, mut chosen) = (0.0, None);
        for at in 0..field.length() {
            let mut there: BTreeMap<u32, f64> = BTreeMap::new();
            for (share, path) in mixed {
                *there.entry(path[at]).or_insert(0.0) += share;
            }
            let left = ceiling.nets.of(at % searchers).places(at / searchers + 1);
            there.retain(|place, _| left.contains(place));
            let (mut sum, mut widest) = (0.0, (0.0, (0, 0)));
            for (&a, &paths) in &there {
                let away = self.from(field, a, &mut weighed);
                for (&b, &others) in there.range(a + 1..) {
                    let apart = paths * others * f64::from(away[b as usize]);
                    sum += apart;
                    if apart > widest.0 {
                        widest = (apart, (a, b));
                    }
                }
            }
            if sum > most {
                (most, chosen) = (sum, Some((at, widest.1)));
            }
        }
        *tried += super::moves_for(weighed);
        if let Some((at, (a, b))) = chosen {
            let from_a = self.from(field, a, &mut weighed).to_vec();
            let from_b = self.from(field, b, &mut weighed);
            let near = from_a.iter().zip(from_b).map(|(a, b)| a <= b).collect();
            return Some(Split { searcher: at % searchers, step: at / searchers + 1, near });
        }
        let places = |at: usize| ceiling.nets.of(at % searchers).places(at / searchers + 1);
        let at = (0..field.length()).find(|&at| places(at).iter().any(|&place| place != places(at)[0]))?;
        let near = (0..field.moves.count() as u32).map(|place| place == places(at)[0]).collect();
        Some(Split { searcher: at % searchers, step: at / searchers + 1, near })
    }
}

/// Distances kept.
const MOST: usize = 4_000_000;
