//! The walk of a trial over its cells, begun where the plan differs from the one that is being changed.

use super::{Aside, Cell, Event, Trial, contact, history::History};
use crate::plan::fill::LEAST_GAIN;

/// Most lines of a plan.
const LINES_MOST: usize = 16;

/// The plan that is being changed, as it was walked.
#[derive(Clone, Debug)]
pub(super) struct Kept {
    /// Whether there is one.
    pub any: bool,
    pub events: Vec<Vec<Event>>,
    /// Mass found by each event of each line, and by each piece.
    pub gains: Vec<Vec<f64>>,
    pub pieces: Vec<f64>,
    pub cells: History<Cell>,
    pub aside: History<Aside>,
}

impl Kept {
    /// None yet, of so many lines over so many cells.
    pub fn new(lines: usize, cells: usize) -> Self {
        Kept {
            any: false,
            events: vec![Vec::new(); lines],
            gains: vec![Vec::new(); lines],
            pieces: Vec::new(),
            cells: History::new(cells),
            aside: History::new(cells),
        }
    }
}

impl Trial<'_> {
    /// Until when the plan scheduled is the one kept \[s\].
    pub(super) fn alike(&self) -> f64 {
        if !self.kept.any {
            return f64::NEG_INFINITY;
        }
        let first = |(new, old): (&Vec<Event>, &Vec<Event>)| {
            let same = |(a, b): &(&Event, &Event)| a.leg == b.leg && a.at_s == b.at_s;
            let k = new.iter().zip(old).take_while(same).count();
            let at_s = |events: &Vec<Event>| events.get(k).map_or(f64::INFINITY, |event| event.at_s);
            at_s(new).min(at_s(old))
        };
        self.events.iter().zip(&self.kept.events).map(first).fold(f64::INFINITY, f64::min)
    }

    /// Walks pieces and legs in the order they end; gives the weighted mass found. Up to `from_s` all is as in the plan
    /// kept, and taken from there; with `keep` this becomes the plan kept.
    pub(super) fn walk(&mut self, from_s: f64, keep: bool) -> f64 {
        self.number = self.number.wrapping_add(1);
        if self.number == 0 {
            // Marks of four thousand million trials ago must not be taken for ours.
            self.cells.clone_from(&self.base);
            self.aside.clone_from(&self.base_aside);
            self.number = 1;
        }
        let (mut next, mut piece, mut worth) = self.resume(from_s);
        let mut number = self.done;
        if keep {
            self.forget(&next, piece);
        }
        while let Some((at_s, line)) = self.coming(&next, piece) {
            let weight = self.problem.weight.at(at_s);
            let gain = match line {
                None => {
                    let gain = self.piece(piece);
                    worth += weight * gain;
                    piece += 1;
                    gain
                }
                Some(line) => {
                    let event = self.events[line][next[line]];
                    next[line] += 1;
                    let gain = self.leg(line, event.leg);
                    let row = &mut self.gains[event.run];
                    row.0 += gain;
                    row.1 += gain * weight;
                    gain
                }
            };
            if keep {
                self.note(number, (line.map(|line| (line, next[line] - 1)), piece), gain);
            }
            number += 1;
        }
        let least = LEAST_GAIN * self.problem.cells.total;
        worth + self.gains.iter().filter(|g| g.0 >= least).map(|g| g.1).sum::<f64>()
    }

    /// What comes next: when, and of which line; `None` for a piece.
    fn coming(&self, next: &[usize; LINES_MOST], piece: usize) -> Option<(f64, Option<usize>)> {
        let mut first: Option<(f64, Option<usize>)> = self.pieces.get(piece).map(|p| (p.0, None));
        for (line, events) in self.events.iter().enumerate().take(LINES_MOST) {
            if let Some(event) = events.get(next[line])
                && first.is_none_or(|(at_s, _)| event.at_s < at_s)
            {
                first = Some((event.at_s, Some(line)));
            }
        }
        first
    }

    /// Takes what the plan kept found before `from_s`; gives the next event of each line, the next piece, and the worth of pieces.
    fn resume(&mut self, from_s: f64) -> ([usize; LINES_MOST], usize, f64) {
        self.gains.clear();
        self.gains.resize(self.runs.len(), (0.0, 0.0));
        let (mut next, mut piece, mut worth) = ([0_usize; LINES_MOST], 0, 0.0);
        while piece < self.kept.pieces.len() && self.pieces[piece].0 < from_s {
            worth += self.problem.weight.at(self.pieces[piece].0) * self.kept.pieces[piece];
            piece += 1;
        }
        for (line, events) in self.events.iter().enumerate().take(LINES_MOST) {
            for (event, &gain) in events.iter().zip(&self.kept.gains[line]) {
                if event.at_s >= from_s {
                    break;
                }
                let row = &mut self.gains[event.run];
                row.0 += gain;
                row.1 += gain * self.problem.weight.at(event.at_s);
                next[line] += 1;
            }
        }
        self.done = (next.iter().sum::<usize>() + piece) as u32;
        (next, piece, worth)
    }

    /// Forgets of the plan kept what the walk does not take over.
    fn forget(&mut self, next: &[usize; LINES_MOST], piece: usize) {
        self.kept.any = true;
        self.kept.cells.cut(self.done);
        self.kept.aside.cut(self.done);
        self.kept.pieces.truncate(piece);
        for (line, events) in self.events.iter().enumerate() {
            self.kept.events[line].clone_from(events);
            self.kept.gains[line].truncate(next.get(line).copied().unwrap_or(0));
        }
    }

    /// Keeps what an event found and left: the event of a line, or else the piece before `done.1`.
    fn note(&mut self, number: u32, done: (Option<(usize, usize)>, usize), gain: f64) {
        let (line, piece) = done;
        let mut place = |cell: u32, by_contact: bool| {
            self.kept.cells.push(number, cell, self.cells[cell as usize]);
            if !by_contact {
                self.kept.aside.push(number, cell, self.aside[cell as usize]);
            }
        };
        match line {
            Some((line, event)) => {
                let catalogue = self.field.catalogues[line];
                let by_contact = contact(catalogue.shape.method).is_some();
                let leg = self.events[line][event].leg;
                catalogue.cells_of(leg).iter().for_each(|&(cell, _)| place(cell, by_contact));
                self.kept.gains[line].push(gain);
            }
            None => {
                let (_, method, cells) = &self.pieces[piece - 1];
                let by_contact = contact(*method).is_some();
                cells.iter().for_each(|&(cell, ..)| place(cell, by_contact));
                self.kept.pieces.push(gain);
            }
        }
    }
}
