//! What a path search knows of its water: places, moves between them, looks made on arriving, weight of each step.
//!
//! A grid gives one place a cell and one look a place. A lane planner gives one place a point on a leg (a leg of
//! several steps is a chain of places) and, where a leg ends, the looks at every piece of bottom it swept.
//! Never: knows of grids, JSON or people.

/// Rows of unequal length in one block.
#[derive(Clone, Debug)]
pub struct Rows<T> {
    begin: Vec<u32>,
    items: Vec<T>,
}

impl<T> Rows<T> {
    /// Packs the rows one behind the other.
    ///
    /// # Inputs
    /// - `rows`: in order
    ///
    /// # Gives
    /// The packed rows.
    pub fn pack(rows: Vec<Vec<T>>) -> Self {
        let mut packed = Rows { begin: vec![0], items: Vec::new() };
        for row in rows {
            packed.items.extend(row);
            packed.begin.push(packed.items.len() as u32);
        }
        packed
    }

    /// Row `index`.
    #[inline]
    pub fn row(&self, index: usize) -> &[T] {
        &self.items[self.begin[index] as usize..self.begin[index + 1] as usize]
    }

    /// Where row `index` begins in the block.
    #[inline]
    pub fn begin(&self, index: usize) -> usize {
        self.begin[index] as usize
    }

    /// Number of rows.
    pub fn count(&self) -> usize {
        self.begin.len() - 1
    }

    /// Number of items in all rows.
    pub fn items(&self) -> usize {
        self.items.len()
    }
}

/// Looks, moves and time of a path search. Every searcher makes one move a step, then looks where it arrives (PA-1).
#[derive(Clone, Debug)]
pub struct Field {
    /// Weight of what is found at each step; its length is the number of steps.
    pub weight: Vec<f64>,
    /// Place of each searcher before its first move.
    pub starts: Vec<u32>,
    /// Per place: where one move leads.
    pub moves: Rows<u32>,
    /// Per place: pieces looked at on arriving, each at most once.
    pub looks: Rows<u32>,
    /// Per piece: mass newly found by the first, second, ... look; never rising, left out where negligible (PA-2).
    pub gains: Rows<f64>,
}

impl Field {
    /// Steps of the search.
    pub fn steps(&self) -> usize {
        self.weight.len()
    }

    /// Moves of a whole search, all searchers together.
    pub fn length(&self) -> usize {
        self.weight.len() * self.starts.len()
    }

    /// Weighted mass found by moves told in the order they are made (step by step, searcher by searcher).
    pub fn value(&self, moves: &[u32]) -> f64 {
        let mut standing = Standing::at_start(self);
        for &place in moves {
            standing.arrive(self, place);
        }
        standing.value
    }
}

/// How far a search has come: who stands where, what has been looked at, what that was worth.
#[derive(Clone, Debug)]
pub struct Standing {
    /// Moves made so far, in order.
    pub moves: Vec<u32>,
    /// Place of each searcher.
    pub at: Vec<u32>,
    /// Looks made at each piece.
    pub looked: Vec<u16>,
    /// Weighted mass found.
    pub value: f64,
}

impl Standing {
    /// Before the first move.
    pub fn at_start(field: &Field) -> Self {
        Standing {
            moves: Vec::with_capacity(field.length()),
            at: field.starts.clone(),
            looked: vec![0; field.gains.count()],
            value: 0.0,
        }
    }

    /// After `moves`.
    pub fn after(field: &Field, moves: &[u32]) -> Self {
        let mut standing = Self::at_start(field);
        for &place in moves {
            standing.arrive(field, place);
        }
        standing
    }

    /// Step and searcher of the next move.
    #[inline]
    pub fn turn(&self) -> (usize, usize) {
        (self.moves.len() / self.at.len(), self.moves.len() % self.at.len())
    }

    /// The next searcher moves to `place` and looks.
    pub fn arrive(&mut self, field: &Field, place: u32) {
        let (step, searcher) = self.turn();
        for &piece in field.looks.row(place as usize) {
            let seen = &mut self.looked[piece as usize];
            if let Some(gain) = field.gains.row(piece as usize).get(usize::from(*seen)) {
                self.value += field.weight[step] * gain;
            }
            *seen += 1;
        }
        self.at[searcher] = place;
        self.moves.push(place);
    }

    /// Takes the last move back; `value` is what it was before that move.
    pub fn retreat(&mut self, field: &Field, value: f64) {
        let place = self.moves.pop().expect("a move to take back");
        let (_, searcher) = self.turn();
        for &piece in field.looks.row(place as usize) {
            self.looked[piece as usize] -= 1;
        }
        self.at[searcher] = self.before(field, searcher);
        self.value = value;
    }

    /// Where `searcher` stood before its move of this step, or stands if it has not moved yet.
    fn before(&self, field: &Field, searcher: usize) -> u32 {
        let (step, _) = self.turn();
        match step {
            0 => field.starts[searcher],
            _ => self.moves[(step - 1) * self.at.len() + searcher],
        }
    }

    /// Lowest place the next searcher need try. Two who stand together may swap their futures, so that only one
    /// of the two orders is searched (PA-8).
    pub fn lowest(&self, field: &Field) -> u32 {
        let (_, searcher) = self.turn();
        if searcher > 0 && self.before(field, searcher - 1) == self.at[searcher] {
            self.at[searcher - 1]
        } else {
            0
        }
    }
}
