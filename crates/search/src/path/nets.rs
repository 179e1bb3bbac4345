//! The ceiling of a standing: look prices, and a net for every searcher.
//!
//! Start reading at [`Ceiling::retune`], then [`Ceiling::deepen`].

use super::bundle::{Bundle, Plane};
use super::exact::Best;
use super::field::{Field, Standing};
use super::memory::Memory;
use super::net::{Guide, Net};
use super::prices::Prices;
use std::collections::BTreeMap;

/// What every searcher may still do from a standing.
#[derive(Clone)]
pub struct Nets {
    /// One for each group of searchers who stand together.
    nets: Vec<Net>,
    /// Per searcher, which net is its own.
    of: Vec<usize>,
    looked: Vec<u16>,
    value: f64,
    /// Moves made.
    made: usize,
}

impl Nets {
    /// No nets at all.
    pub fn none() -> Self {
        Nets { nets: Vec::new(), of: Vec::new(), looked: Vec::new(), value: 0.0, made: 0 }
    }

    /// Net of a searcher.
    #[inline]
    pub fn of(&self, searcher: usize) -> &Net {
        &self.nets[self.of[searcher]]
    }

    /// Moves held by all nets.
    pub fn size(&self) -> usize {
        self.nets.iter().map(Net::size).sum()
    }

    /// Sum of what every searcher may still have at the tables' prices.
    pub fn ahead(&self) -> f64 {
        self.of.iter().map(|&net| self.nets[net].to_go(self.nets[net].first, 0)).sum()
    }

    /// The first place of every layer, in the order of play: the search, where only one is left.
    pub fn only(&self, field: &Field) -> Vec<u32> {
        let searchers = self.of.len();
        let place = |at: usize| self.of(at % searchers).places(at / searchers + 1)[0];
        (self.made..field.length()).map(place).collect()
    }

    /// Whether two searchers have the same start and nothing but the same is asked of them: they may swap their
    /// futures where they meet.
    #[inline]
    pub fn alike(&self, one: usize, other: usize) -> bool {
        self.of[one] == self.of[other]
    }

    /// The part of these searches in which `searcher`, or one like it who may take its name, is at a place for which
    /// `near` is true after `step` steps.
    pub fn with(&self, (searcher, step): (usize, usize), near: impl Fn(u32) -> bool) -> Nets {
        let mut part = self.clone();
        let mut own = self.of[searcher];
        if part.of.iter().filter(|&&of| of == own).count() > 1 {
            part.nets.push(self.nets[own].clone());
            own = part.nets.len() - 1;
            part.of[searcher] = own;
        }
        part.nets[own].restrict(step, near);
        part
    }

    /// The part of these searches in which neither `searcher` nor one like it is at such a place then.
    pub fn without(&self, (searcher, step): (usize, usize), near: impl Fn(u32) -> bool) -> Nets {
        let mut part = self.clone();
        part.nets[self.of[searcher]].restrict(step, |place| !near(place));
        part
    }
}

/// Paths of all searchers with their shares, each in the order of play.
pub type Mixed = Vec<(f64, Vec<u32>)>;

/// Prices, memory and nets together: what bounds a search from a standing.
pub struct Ceiling {
    /// Prices of looks.
    pub prices: Prices,
    /// Where looks are remembered.
    pub memory: Memory,
    /// What every searcher may still do.
    pub nets: Nets,
    /// Moves weighed on the nets so far.
    pub weighed: u64,
    /// Longest paths that the ceiling mixes, with their shares, in the order of play: candidate searches for nothing.
    pub mixed: Mixed,
    bundle: Bundle,
    /// Looks the longest paths took although they had made them, with what that brought: piece, and the places
    /// where it would have to be remembered (none where one look more would have to be).
    wishes: BTreeMap<(u32, Vec<u32>), f64>,
}

/// Worth above price of an arrival.
fn worth(field: &Field, prices: &Prices, looked: &[u16], kind: &[(u32, u16)], step: usize) -> f64 {
    let look = |&(piece, known): &(u32, u16)| {
        let first = usize::from(looked[piece as usize]) + usize::from(known);
        prices.best_look(field, (piece, first), step).0
    };
    kind.iter().map(look).sum()
}

impl Ceiling {
    /// No prices, the shortest memory, everything still possible.
    pub fn begin(field: &Field, standing: &Standing) -> Self {
        let nets = Nets::none();
        let mut ceiling = Ceiling {
            prices: Prices::none(field, &standing.looked),
            memory: Memory::short(),
            nets,
            weighed: 0,
            mixed: Vec::new(),
            bundle: Bundle::default(),
            wishes: BTreeMap::new(),
        };
        ceiling.stand(field, standing);
        ceiling
    }

    fn stand(&mut self, field: &Field, standing: &Standing) {
        let (first, turn) = standing.turn();
        let mut keys: Vec<(usize, u32)> = Vec::new();
        let (mut nets, mut of) = (Vec::new(), Vec::new());
        for (searcher, &place) in standing.at.iter().enumerate() {
            let key = (first + usize::from(searcher < turn), place);
            if let Some(known) = keys.iter().position(|&known| known == key) {
                of.push(known);
                continue;
            }
            let Self { memory, prices, .. } = self;
            let looked = &standing.looked;
            let worth = |memory: &Memory, step, kind| worth(field, prices, looked, memory.kind(kind), step);
            let net = Net::build((field, memory), key, None, worth, usize::MAX);
            of.push(nets.len());
            keys.push(key);
            nets.push(net.expect("no limit was set"));
        }
        self.nets = Nets {
            nets,
            of,
            looked: standing.looked.clone(),
            value: standing.value,
            made: standing.moves.len(),
        };
        self.weighed += BUILDING * self.nets.size() as u64 + WORKING_OUT * self.memory.worked_out;
        self.memory.worked_out = 0;
    }

    /// Fills the nets' tables at the prices.
    ///
    /// # Gives
    /// A ceiling on what any continuation of the standing can be worth in all (PA-5), true for every set of prices
    /// (of what has not been cut out).
    pub fn sweep(&mut self, field: &Field) -> f64 {
        let Self { prices, memory, nets, .. } = self;
        for net in &mut nets.nets {
            net.fill(|step, kind| worth(field, prices, &nets.looked, memory.kind(kind), step));
        }
        let kinds: usize = self.nets.nets.iter().map(Net::kinds).sum();
        self.weighed += self.nets.size() as u64 + KIND * kinds as u64;
        self.top()
    }

    /// The ceiling of the tables as they are.
    pub fn top(&self) -> f64 {
        self.nets.value + self.prices.unused() + self.nets.ahead()
    }

    /// The plane of the longest paths; nothing where none is left.
    fn trace(&self, field: &Field) -> Option<Plane> {
        let searchers = self.nets.of.len();
        self.plane(field, (0..searchers).map(|searcher| self.nets.of(searcher).longest()).collect())
    }

    /// The plane of paths met before, if they are still left.
    fn revive(&self, field: &Field, places: &[u32]) -> Option<Plane> {
        let searchers = self.nets.of.len();
        let of = |searcher: usize| {
            let net = self.nets.of(searcher);
            let first = net.first * searchers + searcher - self.nets.made;
            net.along(places[first..].iter().step_by(searchers).copied())
        };
        self.plane(field, (0..searchers).map(of).collect())
    }

    /// What the best uses at the present prices make of paths, told as kinds of arrival; nothing where one is too short.
    fn plane(&self, field: &Field, kinds: Vec<Vec<u32>>) -> Option<Plane> {
        let searchers = self.nets.of.len();
        let mut plane = Plane { places: vec![0; field.length() - self.nets.made], ..Plane::default() };
        for (searcher, path) in kinds.iter().enumerate() {
            let first = self.nets.of(searcher).first;
            if first + path.len() != field.steps() {
                return None;
            }
            for (step, &kind) in (first..).zip(path) {
                plane.places[step * searchers + searcher - self.nets.made] = self.memory.place_of_kind(kind);
                for &(piece, known) in self.memory.kind(kind) {
                    let number = usize::from(self.nets.looked[piece as usize]) + usize::from(known);
                    let (_, which) = self.prices.best_look(field, (piece, number), step);
                    if which != usize::MAX {
                        let number = which - field.gains.begin(piece as usize);
                        plane.worth += field.weight[step] * field.gains.row(piece as usize)[number];
                        plane.uses.push((which as u32, step as u16));
                    }
                }
            }
        }
        plane.worth += self.nets.value;
        plane.uses.sort_unstable();
        plane.kinds = kinds;
        Some(plane)
    }

    /// Takes over what the lowest ceiling mixes, and notes what its paths should have remembered.
    fn take_stock(&mut self, field: &Field) {
        let bundle = std::mem::take(&mut self.bundle);
        for (share, plane) in bundle.mixed() {
            self.mixed.push((share, plane.places.clone()));
            for (searcher, kinds) in plane.kinds.iter().enumerate() {
                self.wish(field, self.nets.of(searcher).first, share, kinds);
            }
        }
        self.bundle = bundle;
    }

    /// Notes the looks of a path that it had made before, and where they would have to be remembered.
    fn wish(&mut self, field: &Field, first: usize, share: f64, path: &[u32]) {
        let places: Vec<u32> = path.iter().map(|&kind| self.memory.place_of_kind(kind)).collect();
        let looks = |at: usize, piece: u32| field.looks.row(places[at] as usize).contains(&piece);
        for (at, &kind) in path.iter().enumerate() {
            for &(piece, known) in self.memory.kind(kind) {
                let made: Vec<usize> = (0..at).filter(|&earlier| looks(earlier, piece)).collect();
                let counted = usize::from(self.nets.looked[piece as usize]);
                let known = usize::from(known);
                if made.len() <= known {
                    continue;
                }
                let worth = |known| self.prices.best_look(field, (piece, counted + known), first + at).0;
                let loss = worth(known) - worth(made.len());
                if loss <= super::CLOSE {
                    continue;
                }
                // The latest gap in the memory of this piece.
                let gap = made.iter().rev().scan(at, |until, &from| {
                    let missing = (from + 1..std::mem::replace(until, from)).map(|at| places[at]);
                    let mut missing: Vec<u32> =
                        missing.filter(|&place| !self.memory.keeps(field, piece, place)).collect();
                    missing.sort_unstable();
                    missing.dedup();
                    Some(missing)
                });
                let remembered = self.memory.most(piece) as usize;
                let gap = gap.take(remembered).find(|missing| !missing.is_empty()).unwrap_or_default();
                *self.wishes.entry((piece, gap)).or_insert(0.0) += share * loss;
            }
        }
    }

    /// Lowers the ceiling by changing the prices, and leaves the tables at the best prices met.
    ///
    /// # Inputs
    /// - `target`: value already in hand; stops once the ceiling is at or below it, and what cannot beat it is cut out
    /// - `rounds`: price changes to try
    /// - `most`: moves that may be weighed before another is tried
    ///
    /// # Gives
    /// The lowest ceiling met.
    ///
    /// # Source
    /// Lagrangian relaxation solved by a proximal bundle method; textbook.
    pub fn retune(&mut self, field: &Field, target: f64, (rounds, most): (usize, u64)) -> f64 {
        let begun = self.weighed;
        self.wishes.clear();
        let mut ceiling = self.sweep(field);
        self.bundle.begin(&self.prices.kept(), ceiling);
        for (share, places) in std::mem::take(&mut self.mixed) {
            if let Some(plane) = self.revive(field, &places) {
                self.bundle.meet(&self.prices, (share, plane), target);
            }
        }
        let (mut cut, mut held) = (0, true);
        for round in 0..rounds {
            let weighed = self.weighed - begun + self.bundle.worked / WORKING;
            if ceiling <= target + super::CLOSE || weighed > most {
                break;
            }
            let Some(plane) = self.trace(field) else { break };
            self.bundle.meet(&self.prices, (0.0, plane), target);
            let next = self.bundle.aim();
            self.prices.take_up(&next);
            let height = self.sweep(field);
            held = self.bundle.judge(height);
            if held {
                ceiling = height;
            }
            if self.bundle.settled(target) {
                break;
            }
            if held && round >= cut + CUTTING {
                self.cut(ceiling, target);
                cut = round;
            }
        }
        if !held {
            self.prices.take_up(&self.bundle.kept());
            ceiling = self.sweep(field).min(ceiling);
        }
        self.weighed += std::mem::take(&mut self.bundle.worked) / WORKING;
        self.take_stock(field);
        self.cut(ceiling, target);
        ceiling
    }

    /// As [`Ceiling::retune`], with the paths it mixes offered and the work counted.
    ///
    /// # Inputs
    /// - `effort`, `tried`: moves that may be tried in all, and those tried so far, added to
    pub fn lower(
        &mut self,
        field: &Field,
        best: &mut Best,
        rounds: usize,
        (effort, tried): (u64, &mut u64),
    ) -> f64 {
        let (weighed, most) = (self.weighed, super::WEIGHED * effort.saturating_sub(*tried));
        let ceiling = self.retune(field, best.value, (rounds, most));
        *tried += super::moves_for(self.weighed - weighed);
        for (_, moves) in &self.mixed {
            if moves.len() == field.length() {
                best.offer(field, moves);
            }
        }
        ceiling
    }

    /// Cuts out what cannot beat `target`, the tables being those of `ceiling`.
    pub fn cut(&mut self, ceiling: f64, target: f64) {
        if ceiling <= target + super::CLOSE {
            return;
        }
        self.weighed += CUT_OUT * self.nets.size() as u64;
        for net in &mut self.nets.nets {
            let root = net.to_go(net.first, 0);
            net.cut(target + super::CLOSE - (ceiling - root));
        }
    }

    /// Remembers more where the longest paths forgot, and builds the nets of the start again.
    ///
    /// # Inputs
    /// - `ceiling`: of the tables as they are
    /// - `target`: value in hand
    /// - `most`: moves the nets may hold
    ///
    /// # Gives
    /// Whether anything could be added.
    pub fn deepen(&mut self, field: &Field, (ceiling, target): (f64, f64), most: usize) -> bool {
        let wishes = std::mem::take(&mut self.wishes);
        let mut wishes: Vec<((u32, Vec<u32>), f64)> = wishes.into_iter().collect();
        wishes.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
        let worst = wishes.first().map_or(0.0, |wish| wish.1);
        wishes.retain(|wish| wish.1 > worst * WORTH_IT);
        for _ in 0..ATTEMPTS {
            if wishes.is_empty() {
                break;
            }
            let before = self.memory.relation().clone();
            for ((piece, places), _) in &wishes {
                self.memory.extend(*piece, places);
            }
            if let Some(nets) = self.longer(field, (ceiling, target), most) {
                self.nets.nets = nets;
                return true;
            }
            self.memory.back_to(&before);
            wishes.truncate(wishes.len() / 3);
        }
        false
    }

    /// The nets of the start built again with the memory there is now.
    fn longer(&mut self, field: &Field, (ceiling, target): (f64, f64), most: usize) -> Option<Vec<Net>> {
        let mut longer: Vec<Net> = Vec::new();
        let Self { memory, prices, nets, weighed, .. } = self;
        let mut left = most;
        for net in &nets.nets {
            let root = net.to_go(net.first, 0);
            let guide = Guide { net, node: 0, floor: target + super::CLOSE - (ceiling - root) };
            let worth =
                |memory: &Memory, step, kind| worth(field, prices, &nets.looked, memory.kind(kind), step);
            let place = net.places(net.first)[0];
            let built = Net::build((field, memory), (net.first, place), Some(guide), worth, left);
            *weighed += BUILDING * built.as_ref().map_or(left, Net::size) as u64;
            *weighed += WORKING_OUT * std::mem::take(&mut memory.worked_out);
            let built = built?;
            left -= built.size();
            longer.push(built);
        }
        Some(longer)
    }
}

/// Moves weighed that one move built counts for.
const BUILDING: u64 = 27;
/// The same for a kind of arrival at new prices.
const KIND: u64 = 3;
/// The same for a move of a mindset worked out.
const WORKING_OUT: u64 = 150;
/// How often a memory that does not fit is tried again with a third of the wishes.
const ATTEMPTS: u32 = 2;
/// Multiplications of the bundle that count as a move weighed.
const WORKING: u64 = 3;
/// Moves weighed that cutting one move counts for.
const CUT_OUT: u64 = 6;
/// Share of the most wanted wish below which a wish is left out.
const WORTH_IT: f64 = 0.2;
/// Rounds between two cuts.
const CUTTING: usize = 20;
