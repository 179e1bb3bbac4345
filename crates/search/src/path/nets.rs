//! The ceiling of a standing: look prices, and a net for every searcher.
//!
//! Start reading at [`Ceiling::retune`], then [`Ceiling::deepen`].

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
    /// Last moves of the longest paths, in the order of play; a candidate search for nothing.
    pub longest: Vec<u32>,
    /// Longest paths of the last rounds, laid out the same way.
    pub recent: Vec<Vec<u32>>,
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
            longest: Vec::new(),
            recent: Vec::new(),
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

    /// Walks the longest paths and counts which looks they use; notes which of them had been made, if wished for.
    fn trace(&mut self, field: &Field, wishing: bool) {
        let searchers = self.nets.of.len();
        self.longest.clear();
        self.longest.resize(field.length() - self.nets.made, 0);
        let (mut path, mut whole) = (Vec::new(), 0);
        for searcher in 0..searchers {
            let net = self.nets.of(searcher);
            let first = net.first;
            net.longest(&mut path);
            whole += usize::from(first + path.len() == field.steps());
            for (step, &kind) in (first..).zip(&path) {
                self.longest[step * searchers + searcher - self.nets.made] = self.memory.place_of_kind(kind);
                for &(piece, known) in self.memory.kind(kind) {
                    let number = usize::from(self.nets.looked[piece as usize]) + usize::from(known);
                    let (_, which) = self.prices.best_look(field, (piece, number), step);
                    if which != usize::MAX {
                        self.prices.used(which, step);
                    }
                }
            }
            if wishing {
                self.wish(field, first, &path);
            }
        }
        if whole != searchers {
            self.longest.clear();
        } else if wishing {
            self.recent.push(self.longest.clone());
        }
    }

    /// Notes the looks of a path that it had made before, and where they would have to be remembered.
    fn wish(&mut self, field: &Field, first: usize, path: &[u32]) {
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
                *self.wishes.entry((piece, gap)).or_insert(0.0) += loss;
            }
        }
    }

    /// Lowers the ceiling by changing the prices, and leaves the tables at the best prices met.
    ///
    /// # Inputs
    /// - `target`: value already in hand; stops once the ceiling is at or below it, and what cannot beat it is cut out
    /// - `rounds`: price changes to try
    ///
    /// # Gives
    /// The lowest ceiling met.
    ///
    /// # Source
    /// Lagrangian relaxation solved by a smoothed subgradient with Polyak's step; textbook.
    pub fn retune(&mut self, field: &Field, target: f64, rounds: usize) -> f64 {
        self.longest.clear();
        self.recent.clear();
        self.wishes.clear();
        let mut ceiling = self.sweep(field);
        let mut kept = self.prices.kept();
        let (mut pace, mut stalls, mut latest, mut cut) = (1.0, 0, ceiling, 0);
        for round in 0..rounds {
            if ceiling <= target + super::CLOSE {
                break;
            }
            self.trace(field, round + WISHING >= rounds);
            self.prices.adjust(pace * (latest - target).max(0.0));
            latest = self.sweep(field);
            if latest < ceiling - 1e-12 {
                stalls = 0;
                ceiling = latest;
                kept = self.prices.kept();
                if round >= cut + CUTTING {
                    self.cut(ceiling, target);
                    cut = round;
                }
            } else {
                stalls += 1;
                if stalls == STALLS {
                    pace *= 0.7;
                    stalls = 0;
                }
            }
        }
        if latest > ceiling {
            self.prices.take_up(&kept);
            ceiling = self.sweep(field).min(ceiling);
        }
        self.cut(ceiling, target);
        ceiling
    }

    /// As [`Ceiling::retune`], with the longest paths offered and the work counted.
    pub fn lower(&mut self, field: &Field, best: &mut Best, (rounds, tried): (usize, &mut u64)) -> f64 {
        let weighed = self.weighed;
        let ceiling = self.retune(field, best.value, rounds);
        *tried += super::moves_for(self.weighed - weighed);
        if self.longest.len() == field.length() {
            best.offer(field, &self.longest);
        }
        ceiling
    }

    /// Cuts out what cannot beat `target`, the tables being those of `ceiling`.
    pub fn cut(&mut self, ceiling: f64, target: f64) {
        if ceiling <= target + super::CLOSE {
            return;
        }
        self.weighed += 2 * self.nets.size() as u64;
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
const BUILDING: u64 = 40;
/// The same for a kind of arrival at new prices.
const KIND: u64 = 4;
/// The same for a move of a mindset worked out.
const WORKING_OUT: u64 = 220;
/// How often a memory that does not fit is tried again with a third of the wishes.
const ATTEMPTS: u32 = 2;
/// Last rounds whose longest paths say what to remember.
const WISHING: usize = 20;
/// Share of the most wanted wish below which a wish is left out.
const WORTH_IT: f64 = 0.2;
/// Rounds between two cuts.
const CUTTING: usize = 10;
/// Rounds without a lower ceiling before the pace is cut.
const STALLS: usize = 8;
