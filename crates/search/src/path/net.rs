//! Everything one searcher may still do, unrolled in time: mindsets in layers, moves between them.
//!
//! Moves through which no path can beat the search in hand are cut out for good; what is left serves every set of
//! prices, and as a guide when the net is built again with a longer memory (PA-5).
//! Start reading at [`Net::build`].

use super::field::Field;
use super::memory::Memory;

/// One move: to a node of the next layer.
#[derive(Clone, Copy)]
pub struct Move {
    /// Node of the next layer.
    pub to: u32,
    /// Which of the layer's kinds of arrival it is.
    slot: u32,
    /// Which of the place's moves it is.
    index: u32,
}

/// Nodes after a number of steps, and the moves from them.
#[derive(Clone, Default)]
struct Layer {
    /// Per node, the place it is at.
    place: Vec<u32>,
    /// Per node, where its moves begin; one more at the end.
    begin: Vec<u32>,
    moves: Vec<Move>,
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
    fn moves(&self, node: usize) -> &[Move] {
        &self.moves[self.begin[node] as usize..self.begin[node + 1] as usize]
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

/// Slots and nodes of a layer being built, found by kind and by mindset.
#[derive(Default)]
struct Found {
    stamp: u32,
    slot: Vec<(u32, u32)>,
    node: Vec<(u32, u32)>,
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
            let mut next = Layer::default();
            let (mut next_guided, mut next_mindsets): (Vec<u32>, Vec<u32>) = (Vec::new(), Vec::new());
            for node in 0..layer.place.len() {
                layer.begin.push(layer.moves.len() as u32);
                let mindset = mindsets[node];
                let shown = guide.map(|guide| &guide.net.layers[step - guide.net.first]);
                let row = shown.map_or(&[][..], |shown| shown.moves(guided[node] as usize));
                let count = if guide.is_some() {
                    row.len()
                } else {
                    field.moves.row(memory.place(mindset) as usize).len()
                };
                for way in 0..count {
                    let (index, seen) = row.get(way).map_or((way, 0), |m| (m.index as usize, m.to));
                    let (mindset_there, kind) = memory.onward(field, mindset, index);
                    let (slot, new) = Found::number(&mut found.slot, found.stamp, kind, layer.kinds.len());
                    if new {
                        layer.kinds.push(kind);
                        layer.worth.push(worth(memory, step, kind));
                    }
                    let so_far = layer.so_far[node] + layer.worth[slot];
                    let promise = guide.map_or(0.0, |g| g.net.to_go(step + 1, seen));
                    if guide.is_some_and(|guide| so_far + promise <= guide.floor) {
                        continue;
                    }
                    let (to, new) =
                        Found::number(&mut found.node, found.stamp, mindset_there, next.place.len());
                    if new {
                        next.place.push(memory.place(mindset_there));
                        next_mindsets.push(mindset_there);
                        next.so_far.push(so_far);
                        next_guided.push(seen);
                    } else {
                        next.so_far[to] = next.so_far[to].max(so_far);
                        if guide.is_some_and(|g| promise < g.net.to_go(step + 1, next_guided[to])) {
                            next_guided[to] = seen;
                        }
                    }
                    layer.moves.push(Move { to: to as u32, slot: slot as u32, index: index as u32 });
                }
            }
            layer.begin.push(layer.moves.len() as u32);
            held += layer.moves.len();
            if held > most {
                return None;
            }
            net.layers.push(std::mem::replace(&mut layer, next));
            (guided, mindsets) = (next_guided, next_mindsets);
        }
        layer.begin = vec![0; layer.place.len() + 1];
        net.layers.push(layer);
        for layer in &mut net.layers {
            layer.to_go = vec![0.0; layer.place.len()];
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
    pub fn onward<'a>(
        &'a self,
        field: &'a Field,
        step: usize,
        (node, place): (u32, u32),
    ) -> impl Iterator<Item = (u32, u32)> + 'a {
        let row = field.moves.row(place as usize);
        self.layers[step - self.first].moves(node as usize).iter().map(|m| (row[m.index as usize], m.to))
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
        for node in 0..layer.place.len() {
            let row = &layer.moves[layer.begin[node] as usize..layer.begin[node + 1] as usize];
            let mut best = f64::NEG_INFINITY;
            for m in row {
                let ahead = layer.worth[m.slot as usize] + next.to_go[m.to as usize];
                best = if ahead > best { ahead } else { best };
            }
            layer.to_go[node] = best;
        }
    }

    /// The longest path: the kind of each arrival.
    pub fn longest(&self, path: &mut Vec<u32>) {
        path.clear();
        let mut node = 0;
        for (layer, next) in self.layers.iter().zip(&self.layers[1..]) {
            let (mut best, mut chosen) = (f64::NEG_INFINITY, None);
            for m in layer.moves(node) {
                let ahead = layer.worth[m.slot as usize] + next.to_go[m.to as usize];
                if ahead > best {
                    (best, chosen) = (ahead, Some(m));
                }
            }
            let Some(chosen) = chosen else { return };
            path.push(layer.kinds[chosen.slot as usize]);
            node = chosen.to as usize;
        }
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
        let mut kept: Vec<u32> = vec![0]; // new numbers of the layer's nodes
        self.layers[0].so_far[0] = 0.0;
        for at in 0..self.layers.len() - 1 {
            let (now, later) = self.layers.split_at_mut(at + 1);
            let (layer, next) = (&mut now[at], &mut later[0]);
            let mut numbers = vec![u32::MAX; next.place.len()];
            let (mut nodes, mut moves) = (Vec::new(), Vec::with_capacity(layer.moves.len()));
            let mut begin = vec![0];
            next.so_far.fill(f64::NEG_INFINITY);
            for &node in &kept {
                for m in layer.moves(node as usize) {
                    let so_far = layer.so_far[node as usize] + layer.worth[m.slot as usize];
                    if so_far + next.to_go[m.to as usize] <= floor {
                        continue;
                    }
                    let number = &mut numbers[m.to as usize];
                    if *number == u32::MAX {
                        *number = nodes.len() as u32;
                        nodes.push(m.to);
                    }
                    let best = &mut next.so_far[m.to as usize];
                    *best = best.max(so_far);
                    moves.push(Move { to: *number, ..*m });
                }
                begin.push(moves.len() as u32);
            }
            let pick = |list: &[f64]| kept.iter().map(|&node| list[node as usize]).collect();
            (layer.to_go, layer.so_far) = (pick(&layer.to_go), pick(&layer.so_far));
            layer.place = kept.iter().map(|&node| layer.place[node as usize]).collect();
            (layer.begin, layer.moves) = (begin, moves);
            layer.shed_kinds();
            kept = nodes;
        }
        let last = self.layers.last_mut().expect("a net has a last layer");
        last.place = kept.iter().map(|&node| last.place[node as usize]).collect();
        last.so_far = kept.iter().map(|&node| last.so_far[node as usize]).collect();
        last.to_go = vec![0.0; kept.len()];
        last.begin = vec![0; kept.len() + 1];
    }
}

impl Layer {
    /// Forgets kinds that no move ends in any more.
    fn shed_kinds(&mut self) {
        let mut numbers = vec![u32::MAX; self.kinds.len()];
        let (mut kinds, mut worth) = (Vec::new(), Vec::new());
        for m in &mut self.moves {
            let number = &mut numbers[m.slot as usize];
            if *number == u32::MAX {
                *number = kinds.len() as u32;
                kinds.push(self.kinds[m.slot as usize]);
                worth.push(self.worth[m.slot as usize]);
            }
            m.slot = *number;
        }
        (self.kinds, self.worth) = (kinds, worth);
    }
}
