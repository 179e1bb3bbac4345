//! What a relaxed path remembers of its own looks.
//!
//! A longest path that remembers nothing walks round a block of places and takes their first looks again and again;
//! one that remembers everything is a search itself, and too long to find. Here every piece has places at which looks
//! at it are remembered: a path that leaves them forgets. Real paths forget nothing, so every ceiling stays true, and
//! memory is added where it lowers the ceiling most (PA-5).
//! Start reading at [`Memory::onward`].

use super::field::Field;
use std::collections::BTreeMap;

/// Numbers given to keys in the order they are first met: an open table, never walked through.
#[derive(Default)]
struct Numbers {
    /// Numbers by mixed key, `UNKNOWN` where free; a power of two, at most half full.
    slots: Vec<u32>,
    /// Where each key begins in `words`.
    begin: Vec<u32>,
    words: Vec<u32>,
}

impl Numbers {
    /// Number of `key`, and whether it is new.
    fn of(&mut self, key: &[u32]) -> (u32, bool) {
        if self.slots.len() < 2 * (self.begin.len() + 1) {
            self.grow();
        }
        let mut slot = self.slot(key);
        while self.slots[slot] != UNKNOWN {
            let number = self.slots[slot];
            if self.key(number) == key {
                return (number, false);
            }
            slot = (slot + 1) & (self.slots.len() - 1);
        }
        let number = self.begin.len() as u32;
        self.slots[slot] = number;
        self.begin.push(self.words.len() as u32);
        self.words.extend_from_slice(key);
        (number, true)
    }

    fn key(&self, number: u32) -> &[u32] {
        let begin = self.begin[number as usize] as usize;
        let end = self.begin.get(number as usize + 1).map_or(self.words.len(), |&end| end as usize);
        &self.words[begin..end]
    }

    fn slot(&self, key: &[u32]) -> usize {
        let mix = |mixed: u64, &word: &u32| {
            (mixed.rotate_left(5) ^ u64::from(word)).wrapping_mul(0x9e37_79b9_7f4a_7c15)
        };
        let mixed = key.iter().fold(key.len() as u64, mix);
        (mixed ^ (mixed >> 31)) as usize & (self.slots.len() - 1)
    }

    fn grow(&mut self) {
        let slots = (self.slots.len() * 4).max(256);
        self.slots.clear();
        self.slots.resize(slots, UNKNOWN);
        for number in 0..self.begin.len() as u32 {
            let mut slot = self.slot(self.key(number));
            while self.slots[slot] != UNKNOWN {
                slot = (slot + 1) & (slots - 1);
            }
            self.slots[slot] = number;
        }
    }

    fn clear(&mut self) {
        self.slots.fill(UNKNOWN);
        self.begin.clear();
        self.words.clear();
    }
}

/// What one arrival looks at: pieces, and how many earlier looks at each are remembered.
#[derive(Default)]
struct Kinds {
    numbers: Numbers,
    begin: Vec<u32>,
    items: Vec<(u32, u16)>,
    place: Vec<u32>,
}

/// Where looks are remembered, and the mindsets (a place, and the looks remembered there) met so far.
pub struct Memory {
    relation: Relation,
    /// Mindsets: numbered by place, then piece and looks remembered in turn.
    numbers: Numbers,
    place: Vec<u32>,
    begin: Vec<u32>,
    items: Vec<(u32, u32)>,
    /// Per mindset, where its moves begin in `onward`.
    moves: Vec<u32>,
    /// Number of the arrival that each move leads to.
    onward: Vec<u32>,
    arrivals: Vec<Arrival>,
    /// Per mindset, the arrival that was met last of those that end in it.
    latest: Vec<u32>,
    kinds: Kinds,
    key: Vec<u32>,
    held: Vec<(u32, u32)>,
    /// Moves of mindsets worked out so far.
    pub worked_out: u64,
}

/// How a move ends.
#[derive(Clone, Copy)]
pub struct Arrival {
    /// The mindset after it.
    pub mindset: u32,
    /// Its kind.
    pub kind: u32,
    /// Another arrival that ends in the mindset.
    earlier: u32,
}

/// Where looks are remembered beside the places they are made from, and how many of them.
#[derive(Clone, Default)]
pub struct Relation {
    /// Per place, the pieces looks at which are remembered there, rising.
    kept_at: Vec<Vec<u32>>,
    /// Per piece, looks remembered beside the first.
    more: BTreeMap<u32, u32>,
}

/// Not yet worked out.
const UNKNOWN: u32 = u32::MAX;

impl Memory {
    /// A look is remembered only where it can be made: staying is seen through, nothing else.
    pub fn short() -> Self {
        Memory {
            relation: Relation::default(),
            numbers: Numbers::default(),
            place: Vec::new(),
            begin: Vec::new(),
            items: Vec::new(),
            moves: Vec::new(),
            onward: Vec::new(),
            arrivals: Vec::new(),
            latest: Vec::new(),
            kinds: Kinds::default(),
            key: Vec::new(),
            held: Vec::new(),
            worked_out: 0,
        }
    }

    /// Whether looks at `piece` are remembered at `place`.
    pub fn keeps(&self, field: &Field, piece: u32, place: u32) -> bool {
        let kept = self.relation.kept_at.get(place as usize);
        kept.is_some_and(|kept| kept.binary_search(&piece).is_ok())
            || field.looks.row(place as usize).contains(&piece)
    }

    /// Most looks at `piece` that are remembered.
    pub fn most(&self, piece: u32) -> u32 {
        1 + self.relation.more.get(&piece).copied().unwrap_or(0)
    }

    /// Looks at `piece` are remembered at `places` too; without places, one look more is. Mindsets are forgotten.
    pub fn extend(&mut self, piece: u32, places: &[u32]) {
        for &place in places {
            let kept_at = &mut self.relation.kept_at;
            kept_at.resize(kept_at.len().max(place as usize + 1), Vec::new());
            let kept = &mut kept_at[place as usize];
            if let Err(at) = kept.binary_search(&piece) {
                kept.insert(at, piece);
            }
        }
        if places.is_empty() {
            *self.relation.more.entry(piece).or_insert(0) += 1;
        }
        self.forget();
    }

    /// Where looks are remembered, to be taken up again by [`Memory::back_to`].
    pub fn relation(&self) -> &Relation {
        &self.relation
    }

    /// Goes back to an earlier relation.
    pub fn back_to(&mut self, relation: &Relation) {
        self.relation.clone_from(relation);
        self.forget();
    }

    /// Forgets the mindsets met so far; kinds of arrival stay what they are.
    fn forget(&mut self) {
        self.numbers.clear();
        for list in [&mut self.place, &mut self.begin, &mut self.moves, &mut self.onward, &mut self.latest] {
            list.clear();
        }
        self.items.clear();
        self.arrivals.clear();
    }

    /// Mindset of somebody at `place` who remembers nothing.
    pub fn fresh(&mut self, field: &Field, place: u32) -> u32 {
        self.key.clear();
        self.key.push(place);
        self.number(field)
    }

    fn number(&mut self, field: &Field) -> u32 {
        let (number, new) = self.numbers.of(&self.key);
        if new {
            self.place.push(self.key[0]);
            self.begin.push(self.items.len() as u32);
            self.items.extend(self.key[1..].chunks_exact(2).map(|pair| (pair[0], pair[1])));
            self.moves.push(self.onward.len() as u32);
            let moves = field.moves.row(self.key[0] as usize).len();
            self.onward.resize(self.onward.len() + moves, UNKNOWN);
            self.latest.push(UNKNOWN);
        }
        number
    }

    fn remembered(&self, mindset: u32) -> &[(u32, u32)] {
        let begin = self.begin[mindset as usize] as usize;
        let end = self.begin.get(mindset as usize + 1).map_or(self.items.len(), |&end| end as usize);
        &self.items[begin..end]
    }

    /// Place of a mindset.
    pub fn place(&self, mindset: u32) -> u32 {
        self.place[mindset as usize]
    }

    /// Place that an arrival of this kind is at.
    pub fn place_of_kind(&self, kind: u32) -> u32 {
        self.kinds.place[kind as usize]
    }

    /// Pieces an arrival of this kind looks at, each with the earlier looks remembered.
    #[inline]
    pub fn kind(&self, kind: u32) -> &[(u32, u16)] {
        let begin = self.kinds.begin[kind as usize] as usize;
        let end = self.kinds.begin.get(kind as usize + 1).map_or(self.kinds.items.len(), |&end| end as usize);
        &self.kinds.items[begin..end]
    }

    /// Number of the arrival after move number `index` from `mindset`, and the arrival.
    #[inline]
    pub fn onward(&mut self, field: &Field, mindset: u32, index: usize) -> (u32, Arrival) {
        let at = self.moves[mindset as usize] as usize + index;
        if self.onward[at] == UNKNOWN {
            self.onward[at] = self.work_out(field, mindset, index);
        }
        (self.onward[at], self.arrivals[self.onward[at] as usize])
    }

    fn work_out(&mut self, field: &Field, mindset: u32, index: usize) -> u32 {
        self.worked_out += 1;
        let place = field.moves.row(self.place(mindset) as usize)[index];
        let looks = field.looks.row(place as usize);
        let mut held = std::mem::take(&mut self.held);
        held.clear();
        let mut kept =
            self.relation.kept_at.get(place as usize).map_or(&[][..], Vec::as_slice).iter().peekable();
        for &(piece, count) in self.remembered(mindset) {
            while kept.next_if(|&&other| other < piece).is_some() {}
            if kept.peek() == Some(&&piece) || looks.contains(&piece) {
                held.push((piece, count));
            }
        }
        self.key.clear();
        self.key.push(place);
        for &piece in looks {
            let looks = field.gains.row(piece as usize).len() as u32;
            let at = held.binary_search_by_key(&piece, |&(piece, _)| piece);
            let count = at.map_or(0, |at| held[at].1);
            self.key.push(count);
            match at {
                Ok(at) => held[at].1 = (count + 1).min(self.most(piece)).min(looks),
                Err(at) if looks > 0 => held.insert(at, (piece, 1)),
                Err(_) => {}
            }
        }
        let (kind, new) = self.kinds.numbers.of(&self.key);
        if new {
            self.kinds.place.push(place);
            self.kinds.begin.push(self.kinds.items.len() as u32);
            let looks = looks.iter().zip(&self.key[1..]);
            self.kinds.items.extend(looks.map(|(&piece, &count)| (piece, count as u16)));
        }
        self.key.truncate(1);
        self.key.extend(held.iter().flat_map(|&(piece, count)| [piece, count]));
        self.held = held;
        let mindset = self.number(field);
        self.arrival(mindset, kind)
    }

    fn arrival(&mut self, mindset: u32, kind: u32) -> u32 {
        let latest = &mut self.latest[mindset as usize];
        let mut known = *latest;
        while known != UNKNOWN {
            let arrival = &self.arrivals[known as usize];
            if arrival.kind == kind {
                return known;
            }
            known = arrival.earlier;
        }
        self.arrivals.push(Arrival { mindset, kind, earlier: *latest });
        *latest = self.arrivals.len() as u32 - 1;
        *latest
    }
}
