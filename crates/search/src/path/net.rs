//! Everything one searcher may still do, unrolled in time: mindsets in layers, moves between them.
//!
//! Moves through which no path can beat the search in hand are cut out for good; what is left serves every set of
//! prices, and as a guide when the net is built again with a longer memory (PA-5).
//! Start reading at [`Net::build`].

use super::field::Field;
use super::memory::Memory;
use std::ops::Range;

/// How moves end: several of a layer's moves end alike.
#[derive(Clone, Copy)]
struct End {
    /// Node of the next layer.
    to: u32,
    /// Which of the layer's kinds of arrival it is.
    slot: u32,
}

/// Nodes after a number of steps, and the moves from them.
///
/// A sweep reads one number a move, and the ends, five to ten times fewer than moves, stay near.
#[derive(Clone, Default)]
struct Layer {
    /// Per node, the place it is at.
    place: Vec<u32>,
    /// Per node, where its moves begin; one more at the end.
    begin: Vec<u32>,
    /// Per move, its end.
    moves: Vec<u32>,
    /// Per move, which of the place's moves it is.
    index: Vec<u16>,
    ends: Vec<End>,
    /// Per end, best still to be had by a move that ends so.
    promise: Vec<f64>,
    /// Kinds of arrival that the moves end in.
    kinds: Vec<u32>,
    /// Worth of each kind at the prices swept last.
    worth: Vec<f64>,
    /// Best still to be had from each node.
    to_go: Vec<f64>,
    /// Best had by those who come to each node.
    so_far: Vec<f64>,
}

impl Layer {
    /// Where the moves of a node lie.
    fn row(&self, node: usize) -> Range<usize> {
        self.begin[node] as usize..self.begin[node + 1] as usize
    }
}

/// What one searcher may still do.
#[derive(Clone)]
pub struct Net {
    /// Steps made at the first layer.
    pub first: usize,
    layers: Vec<Layer>,
}

/// An earlier net that shows which moves are left, and what they promise at the same prices.
#[derive(Clone, Copy)]
pub struct Guide<'a> {
    /// The earlier net.
    pub net: &'a Net,
    /// Its node where the new net begins.
    pub node: u32,
    /// Moves that promise no more than this are left out; minus infinity keeps all.
    pub floor: f64,
}

/// Slots, nodes and ends of a layer being built, found by kind, mindset and arrival.
#[derive(Default)]
struct Found {
    stamp: u32,
    slot: Vec<(u32, u32)>,
    nodes: Met,
    ends: Met,
}

impl Found {
    fn number(list: &mut Vec<(u32, u32)>, stamp: u32, of: u32, next: usize) -> (usize, bool) {
        if list.len() <= of as usize {
            list.resize(of as usize + 1, (0, 0));
        }
        let entry = &mut list[of as usize];
        let new = entry.0 != stamp;
        if new {
            *entry = (stamp, next as u32);
        }
        (entry.1 as usize, new)
    }
}

/// What was met in a layer, several of a kind.
#[derive(Default)]
struct Met {
    stamp: u32,
    /// Per kind, in which layer one was met last, and which.
    latest: Vec<(u32, u32)>,
    /// Per one met, the one of its kind before it.
    before: Vec<u32>,
}

impl Met {
    /// Begins a layer.
    fn begin(&mut self) {
        self.stamp += 1;
        self.before.clear();
    }

    /// Those of a kind, the latest first.
    fn known(&self, kind: u32) -> impl Iterator<Item = u32> + '_ {
        let latest = self.latest.get(kind as usize).filter(|entry| entry.0 == self.stamp);
        let before = |&one: &u32| Some(self.before[one as usize]).filter(|&one| one != NONE);
        std::iter::successors(latest.map(|entry| entry.1), before)
    }

    /// Number of a new one.
    fn meet(&mut self, kind: u32) -> u32 {
        if self.latest.len() <= kind as usize {
            self.latest.resize(kind as usize + 1, (0, NONE));
        }
        let number = self.before.len() as u32;
        let (stamp, before) = std::mem::replace(&mut self.latest[kind as usize], (self.stamp, number));
        self.before.push(if stamp == self.stamp { before } else { NONE });
        number
    }
}

/// A layer while it is reached: its nodes, the node of the guide behind each, and what each remembers.
#[derive(Default)]
struct Reached {
    layer: Layer,
    guided: Vec<u32>,
    mindsets: Vec<u32>,
}

impl Reached {
    /// The node of a mindset that the guide sees at `seen`, reached with `so_far`: what the guide keeps apart stays apart.
    fn node(&mut self, met: &mut Met, memory: &Memory, (mindset, seen): (u32, u32), so_far: f64) -> u32 {
        let known = met.known(mindset).find(|&node| self.guided[node as usize] == seen);
        if let Some(node) = known {
            let before = &mut self.layer.so_far[node as usize];
            *before = before.max(so_far);
            return node;
        }
        self.layer.place.push(memory.place(mindset));
        self.layer.so_far.push(so_far);
        self.mindsets.push(mindset);
        self.guided.push(seen);
        met.meet(mindset)
    }
}

/// No node, no end.
const NONE: u32 = u32::MAX;

impl Net {
    /// Unrolls everything that can be done from `place` after `first` steps.
    ///
    /// # Inputs
    /// - `guide`: only moves of its net are taken
    /// - `worth`: of an arrival of a kind in a step
    /// - `most`: moves that the net may hold
    ///
    /// # Gives
    /// The net, tables not yet filled; nothing where it would hold more than `most` moves.
    pub fn build(
        (field, memory): (&Field, &mut Memory),
        (first, place): (usize, u32),
        guide: Option<Guide>,
        worth: impl Fn(&Memory, usize, u32) -> f64,
        most: usize,
    ) -> Option<Net> {
        let mut net = Net { first, layers: Vec::with_capacity(field.steps() + 1 - first) };
        let mut layer = Layer { place: vec![place], so_far: vec![0.0], ..Layer::default() };
        let mut mindsets = vec![memory.fresh(field, place)];
        let mut guided = vec![guide.map_or(0, |guide| guide.node)];
        let (mut found, mut held) = (Found::default(), 0);
        for step in first..field.steps() {
            found.stamp += 1;
            found.nodes.begin();
            found.ends.begin();
            let mut next = Reached::default();
            let shown = guide.map(|guide| &guide.net.layers[step - guide.net.first]);
            for node in 0..layer.place.len() {
                layer.begin.push(layer.moves.len() as u32);
                let mindset = mindsets[node];
                let row = shown.map_or(0..0, |shown| shown.row(guided[node] as usize));
                let count = match guide {
                    Some(_) => row.len(),
                    None => field.moves.row(memory.place(mindset) as usize).len(),
                };
                for way in 0..count {
                    let (index, seen) = shown.map_or((way, 0), |shown| {
                        let at = row.start + way;
                        (usize::from(shown.index[at]), shown.ends[shown.moves[at] as usize].to)
                    });
                    let (number, arrival) = memory.onward(field, mindset, index);
                    let (slot, new) =
                        Found::number(&mut found.slot, found.stamp, arrival.kind, layer.kinds.len());
                    if new {
                        layer.kinds.push(arrival.kind);
                        layer.worth.push(worth(memory, step, arrival.kind));
                    }
                    let so_far = layer.so_far[node] + layer.worth[slot];
                    if guide.is_some_and(|g| so_far + g.net.to_go(step + 1, seen) <= g.floor) {
                        continue;
                    }
                    let to = next.node(&mut found.nodes, memory, (arrival.mindset, seen), so_far);
                    let same = |&end: &u32| layer.ends[end as usize].to == to;
                    let known = found.ends.known(number).find(same);
                    let end = known.unwrap_or_else(|| {
                        layer.ends.push(End { to, slot: slot as u32 });
                        found.ends.meet(number)
                    });
                    layer.moves.push(end);
                    layer.index.push(index as u16);
                }
            }
            layer.begin.push(layer.moves.len() as u32);
            held += layer.moves.len();
            if held > most {
                return None;
            }
            net.layers.push(std::mem::replace(&mut layer, next.layer));
            (guided, mindsets) = (next.guided, next.mindsets);
        }
        layer.begin = vec![0; layer.place.len() + 1];
        net.layers.push(layer);
        for layer in &mut net.layers {
            layer.to_go = vec![0.0; layer.place.len()];
            layer.promise = vec![0.0; layer.ends.len()];
        }
        Some(net)
    }

    /// Moves the net holds.
    pub fn size(&self) -> usize {
        self.layers.iter().map(|layer| layer.moves.len()).sum()
    }

    /// Kinds of arrival in all layers, each of which is weighed once a sweep.
    pub fn kinds(&self) -> usize {
        self.layers.iter().map(|layer| layer.kinds.len()).sum()
    }

    /// Best still to be had after `step` steps from a node of that layer.
    #[inline]
    pub fn to_go(&self, step: usize, node: u32) -> f64 {
        self.layers[step - self.first].to_go[node as usize]
    }

    /// Moves from a node after `step` steps: where to, and the node there.
    #[inline]
    pub fn onward(&self, step: usize, node: u32) -> impl Iterator<Item = (u32, u32)> + '_ {
        let layer = &self.layers[step - self.first];
        let next = &self.layers[step + 1 - self.first];
        let to = |&end: &u32| layer.ends[end as usize].to;
        layer.moves[layer.row(node as usize)].iter().map(to).map(|to| (next.place[to as usize], to))
    }

    /// Fills the tables from the last step back.
    ///
    /// # Inputs
    /// - `worth`: of an arrival of a kind in a step
    pub fn fill(&mut self, worth: impl Fn(usize, u32) -> f64) {
        for at in (0..self.layers.len() - 1).rev() {
            let layer = &mut self.layers[at];
            for (slot, &kind) in layer.kinds.iter().enumerate() {
                layer.worth[slot] = worth(self.first + at, kind);
            }
            self.fill_layer(at);
        }
    }

    fn fill_layer(&mut self, at: usize) {
        let (now, later) = self.layers.split_at_mut(at + 1);
        let (layer, next) = (&mut now[at], &later[0]);
        for (promise, end) in layer.promise.iter_mut().zip(&layer.ends) {
            *promise = layer.worth[end.slot as usize] + next.to_go[end.to as usize];
        }
        let promise = &layer.promise[..];
        let mut begin = 0;
        for (to_go, &end) in layer.to_go.iter_mut().zip(&layer.begin[1..]) {
            let row = &layer.moves[begin..end as usize];
            *to_go = row.iter().fold(f64::NEG_INFINITY, |best, &end| {
                let ahead = promise[end as usize];
                if ahead > best { ahead } else { best }
            });
            begin = end as usize;
        }
    }

    /// The longest path: the kind of each arrival.
    pub fn longest(&self) -> Vec<u32> {
        self.walk(|layer, row, _| {
            let mut best = (f64::NEG_INFINITY, None);
            for &end in row {
                if layer.promise[end as usize] > best.0 {
                    best = (layer.promise[end as usize], Some(layer.ends[end as usize]));
                }
            }
            best.1
        })
    }

    /// The path along these places: the kind of each arrival, as far as its moves are left.
    pub fn along(&self, mut places: impl Iterator<Item = u32>) -> Vec<u32> {
        self.walk(|layer, row, next| {
            let place = places.next()?;
            let mut ends = row.iter().map(|&end| layer.ends[end as usize]);
            ends.find(|end| next.place[end.to as usize] == place)
        })
    }

    /// The kinds of arrival where `choose` takes one of a layer's moves after the other.
    fn walk(&self, mut choose: impl FnMut(&Layer, &[u32], &Layer) -> Option<End>) -> Vec<u32> {
        let (mut kinds, mut node) = (Vec::new(), 0);
        for (layer, next) in self.layers.iter().zip(&self.layers[1..]) {
            let Some(end) = choose(layer, &layer.moves[layer.row(node)], next) else { break };
            kinds.push(layer.kinds[end.slot as usize]);
            node = end.to as usize;
        }
        kinds
    }

    /// Places one may be at after `step` steps.
    pub fn places(&self, step: usize) -> &[u32] {
        &self.layers[step - self.first].place
    }

    /// Rules out the places for which `keep` is false after `step` steps; to be followed by [`Net::cut`].
    pub fn restrict(&mut self, step: usize, keep: impl Fn(u32) -> bool) {
        let layer = &mut self.layers[step - self.first];
        for (node, &place) in layer.place.iter().enumerate() {
            if !keep(place) {
                layer.to_go[node] = f64::NEG_INFINITY;
            }
        }
        for at in (0..step - self.first).rev() {
            self.fill_layer(at);
        }
    }

    /// Cuts out every move through which nothing above `floor` can be had, tables being filled.
    pub fn cut(&mut self, floor: f64) {
        let mut kept = vec![true];
        self.layers[0].so_far[0] = 0.0;
        for at in 0..self.layers.len() - 1 {
            let (now, later) = self.layers.split_at_mut(at + 1);
            let (layer, next) = (&mut now[at], &mut later[0]);
            let reach = layer.cut_moves(&kept, floor);
            kept.clear();
            kept.resize(next.place.len(), false);
            next.so_far.fill(f64::NEG_INFINITY);
            for (end, reach) in layer.ends.iter().zip(reach) {
                let so_far = &mut next.so_far[end.to as usize];
                *so_far = so_far.max(reach + layer.worth[end.slot as usize]);
                kept[end.to as usize] = true;
            }
            let count = |before: &mut u32, &keep: &bool| {
                *before += u32::from(keep);
                Some(*before - u32::from(keep))
            };
            let numbers: Vec<u32> = kept.iter().scan(0, count).collect();
            layer.ends.iter_mut().for_each(|end| end.to = numbers[end.to as usize]);
            layer.shed_kinds();
        }
        let last = self.layers.last_mut().expect("a net has a last layer");
        retain(&mut last.place, &kept);
        retain(&mut last.so_far, &kept);
        retain(&mut last.to_go, &kept);
        last.begin.truncate(last.place.len() + 1);
    }
}

fn retain<T: Copy>(list: &mut Vec<T>, kept: &[bool]) {
    let mut kept = kept.iter();
    list.retain(|_| kept.next() == Some(&true));
}

impl Layer {
    /// Keeps the nodes asked for, and of their moves those that promise more than `floor`.
    ///
    /// # Gives
    /// Per end that is left, best had before a move that ends so.
    fn cut_moves(&mut self, kept: &[bool], floor: f64) -> Vec<f64> {
        let mut numbers = vec![u32::MAX; self.ends.len()];
        let (mut ends, mut promise, mut reach) = (Vec::new(), Vec::new(), Vec::new());
        let (mut nodes, mut moves, mut begin) = (0, 0, 0);
        for node in 0..kept.len() {
            let row = begin..self.begin[node + 1] as usize;
            begin = row.end;
            if !kept[node] {
                continue;
            }
            let so_far = self.so_far[node];
            for at in row {
                let end = self.moves[at] as usize;
                if so_far + self.promise[end] <= floor {
                    continue;
                }
                let number = &mut numbers[end];
                if *number == u32::MAX {
                    *number = ends.len() as u32;
                    ends.push(self.ends[end]);
                    promise.push(self.promise[end]);
                    reach.push(so_far);
                } else {
                    let reach = &mut reach[*number as usize];
                    *reach = so_far.max(*reach);
                }
                (self.moves[moves], self.index[moves]) = (*number, self.index[at]);
                moves += 1;
            }
            (self.place[nodes], self.so_far[nodes], self.to_go[nodes]) =
                (self.place[node], so_far, self.to_go[node]);
            nodes += 1;
            self.begin[nodes] = moves as u32;
        }
        self.place.truncate(nodes);
        self.so_far.truncate(nodes);
        self.to_go.truncate(nodes);
        self.begin.truncate(nodes + 1);
        self.moves.truncate(moves);
        self.index.truncate(moves);
        (self.ends, self.promise) = (ends, promise);
        reach
    }

    /// Forgets kinds that no move ends in any more.
    fn shed_kinds(&mut self) {
        let mut numbers = vec![u32::MAX; self.kinds.len()];
        let (mut kinds, mut worth) = (Vec::new(), Vec::new());
        for end in &mut self.ends {
            let number = &mut numbers[end.slot as usize];
            if *number == u32::MAX {
                *number = kinds.len() as u32;
                kinds.push(self.kinds[end.slot as usize]);
                worth.push(self.worth[end.slot as usize]);
            }
            end.slot = *number;
        }
        (self.kinds, self.worth) = (kinds, worth);
    }
}
