//! Orders by number: a number once shown means one order and never another.
//!
//! The search numbers its waiting runs anew with every plan; people who read an order aloud cannot. Here each
//! piece of work has its number for the whole incident, and keeps its words once they may have been said.

use crate::event::ShownOrder;
use crate::report::{OrderNumber, Person};
use crate::state::Incident;
use search::course::{Course, same_run};
use search::orders::Order;
use search::plan::{Role, Run, Team};
use search::{Method, Setting};
use std::collections::BTreeMap;

/// What is due so soon may have been read aloud \[s\]: the list to be said reaches a minute and a half ahead.
const EXPOSED_S: f64 = 95.0;
/// Orders to posts are numbered from here; lanes from 1.
const POSTS_FROM: OrderNumber = 901;

/// How far an order is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stand {
    /// Waits for its time.
    Waiting,
    /// Under way, by the clock or by a report.
    Begun,
    /// At its end.
    Ended,
    /// Replaced before it began.
    Replaced,
}

/// An order with its number.
#[derive(Clone, Debug, PartialEq)]
pub struct Card {
    /// Number.
    pub number: OrderNumber,
    /// The run of a line; absent for a post.
    pub run: Option<(Run, Team)>,
    /// The post, if it sends somebody to one.
    pub post: Option<Role>,
    /// Crew indices of who must act.
    pub people: Vec<usize>,
    /// The words.
    pub order: Option<Order>,
    /// How far it is.
    pub stand: Stand,
    /// Legs whose searching is reported.
    pub legs_reported: usize,
    /// It ended before the end of its lane.
    pub stopped_short: bool,
    /// When it ended \[s since the alarm\].
    pub ended_s: Option<f64>,
    /// Somebody may have read it aloud: its number is never used for another.
    pub exposed: bool,
}

/// All orders of an incident.
#[derive(Clone, Debug, Default)]
pub struct Ledger {
    /// Orders by number.
    pub cards: BTreeMap<OrderNumber, Card>,
    /// Number of each order the search has begun.
    begun: BTreeMap<usize, OrderNumber>,
    /// Number of each run of the plan.
    planned: Vec<OrderNumber>,
    posts: OrderNumber,
}

impl Ledger {
    /// The search's own number of an order, if it still stands.
    pub fn course_number(&self, course: &Course, order: OrderNumber) -> Option<usize> {
        if let Some((number, _)) = self.begun.iter().find(|(_, mine)| **mine == order) {
            return Some(*number);
        }
        let run = self.planned.iter().position(|&mine| mine == order)?;
        course.numbers.get(run).copied()
    }

    /// The number of a run of the plan.
    pub fn of_run(&self, run: usize) -> Option<OrderNumber> {
        self.planned.get(run).copied()
    }

    /// Words of the search with the numbers that people know.
    pub fn renumbered(&self, words: &str) -> String {
        const HEAD: &str = "order ";
        let Some(at) = words.find(HEAD).map(|at| at + HEAD.len()) else { return words.to_owned() };
        let digits = words[at..].bytes().take_while(u8::is_ascii_digit).count();
        let mine = words[at..at + digits].parse().ok().and_then(|number: usize| self.begun.get(&number));
        match mine {
            Some(number) => format!("{}{number}{}", &words[..at], &words[at + digits..]),
            None => words.to_owned(),
        }
    }

    /// Keeps the number of whatever has begun since.
    pub fn note_begun(&mut self, course: &Course) {
        for begun in &course.begun {
            if self.begun.contains_key(&begun.number) {
                continue;
            }
            let same = |card: &&Card| {
                card.stand == Stand::Waiting
                    && card.run.as_ref().is_some_and(|(run, team)| {
                        same_run(run, &begun.run) && team.members == begun.team.members
                    })
            };
            let number = self.cards.values().find(same).map(|card| card.number);
            let number = number.unwrap_or_else(|| self.add(&begun.run, &begun.team));
            self.begun.insert(begun.number, number);
        }
    }

    /// Takes in a search as it is after an entry.
    pub fn update(&mut self, course: &Course, setting: &Setting) {
        self.note_begun(course);
        self.expose(course.now_s);
        self.number_plan(course);
        for begun in &course.begun {
            let Some(card) = self.begun.get(&begun.number).and_then(|n| self.cards.get_mut(n)) else {
                continue;
            };
            card.stand = if begun.ended_s.is_some() { Stand::Ended } else { Stand::Begun };
            card.run = Some((begun.run.clone(), begun.team.clone()));
            card.people.clone_from(&begun.team.members);
            card.legs_reported = begun.legs_reported;
            (card.stopped_short, card.ended_s) = (begun.stopped_short, begun.ended_s);
        }
        self.word(course, setting);
    }

    /// Marks what may have been said: whatever has begun or was on the list.
    fn expose(&mut self, now_s: f64) {
        for card in self.cards.values_mut() {
            let Some((run, _)) = &card.run else { continue };
            card.exposed |= card.stand != Stand::Waiting || run.leaves_s <= now_s + EXPOSED_S;
        }
    }

    /// Numbers for the runs of the plan: the same work keeps its number, what nobody can have heard gives its number back.
    fn number_plan(&mut self, course: &Course) {
        let plan = &course.plan;
        let mut known: Vec<Option<OrderNumber>> = Vec::with_capacity(plan.runs.len());
        for run in &plan.runs {
            let open = course.begun.iter().find(|b| b.ended_s.is_none() && same_run(&b.run, run));
            let begun = open.and_then(|b| self.begun.get(&b.number).copied());
            known.push(begun.or_else(|| self.same_work(run, &plan.teams[run.team], &known)));
        }
        for card in self.cards.values_mut().filter(|card| card.stand == Stand::Waiting && card.run.is_some())
        {
            if !known.contains(&Some(card.number)) {
                card.stand = Stand::Replaced;
            }
        }
        self.cards.retain(|_, card| card.exposed || card.run.is_none() || card.stand != Stand::Replaced);
        // What leaves first has the lowest of the free numbers.
        let mut order: Vec<usize> = (0..plan.runs.len()).collect();
        order.sort_by(|&a, &b| plan.runs[a].leaves_s.total_cmp(&plan.runs[b].leaves_s).then(a.cmp(&b)));
        let mut planned = vec![0; plan.runs.len()];
        for k in order {
            let (run, team) = (&plan.runs[k], &plan.teams[plan.runs[k].team]);
            let number = known[k].unwrap_or_else(|| self.add(run, team));
            if let Some(card) = self.cards.get_mut(&number).filter(|card| card.stand != Stand::Begun) {
                card.run = Some((run.clone(), team.clone()));
                card.stand = Stand::Waiting;
            }
            planned[k] = number;
        }
        self.planned = planned;
    }

    /// A waiting order for the same people along the same lane, whatever its times.
    fn same_work(&self, run: &Run, team: &Team, taken: &[Option<OrderNumber>]) -> Option<OrderNumber> {
        let same = |card: &&Card| {
            card.stand == Stand::Waiting
                && !taken.contains(&Some(card.number))
                && card.run.as_ref().is_some_and(|(other, others)| {
                    other.from == run.from
                        && other.to == run.to
                        && other.width_m == run.width_m
                        && others.method == team.method
                        && others.members == team.members
                        && others.lookout == team.lookout
                })
        };
        self.cards.values().find(same).map(|card| card.number)
    }

    fn add(&mut self, run: &Run, team: &Team) -> OrderNumber {
        // The lowest number that nobody can have heard for something else.
        let number = (1..POSTS_FROM)
            .find(|n| !self.cards.contains_key(n))
            .unwrap_or(POSTS_FROM + 9000 + self.cards.len());
        let card = Card {
            number,
            run: Some((run.clone(), team.clone())),
            post: None,
            people: team.members.clone(),
            order: None,
            stand: Stand::Waiting,
            legs_reported: 0,
            stopped_short: false,
            ended_s: None,
            exposed: false,
        };
        self.cards.insert(number, card);
        number
    }

    /// The words of what waits; what has begun keeps the words it was given with.
    fn word(&mut self, course: &Course, setting: &Setting) {
        let mut told: Vec<OrderNumber> = Vec::new();
        for order in course.orders(setting) {
            let number = match order.run.and_then(|run| self.of_run(run)) {
                Some(number) => number,
                None => self.post_number(&order),
            };
            if let Some(card) = self.cards.get_mut(&number).filter(|card| card.stand == Stand::Waiting) {
                card.post = order.post;
                card.people.clone_from(&order.people);
                card.order = Some(order);
            }
            told.push(number);
        }
        // Somebody with another job now need not be told the old one any more.
        for card in self.cards.values_mut().filter(|card| card.run.is_none() && card.stand == Stand::Waiting)
        {
            let role = card.post;
            let holds = |who: &usize| course.plan.jobs.iter().any(|job| job.0 == *who && Some(job.1) == role);
            if !told.contains(&card.number) && !card.people.iter().all(holds) {
                card.stand = Stand::Replaced;
            }
        }
    }

    fn post_number(&mut self, order: &Order) -> OrderNumber {
        let same = |card: &&Card| {
            card.run.is_none()
                && card.stand == Stand::Waiting
                && card.order.as_ref().is_some_and(|o| o.people == order.people && o.lines == order.lines)
        };
        if let Some(card) = self.cards.values().find(same) {
            return card.number;
        }
        self.posts += 1;
        let number = POSTS_FROM + self.posts - 1;
        let card = Card {
            number,
            run: None,
            post: order.post,
            people: order.people.clone(),
            order: Some(order.clone()),
            stand: Stand::Waiting,
            legs_reported: 0,
            stopped_short: false,
            ended_s: None,
            exposed: false,
        };
        self.cards.insert(number, card);
        number
    }
}

impl Card {
    /// The order as it goes to the log.
    pub(crate) fn shown(&self, incident: &Incident) -> Option<ShownOrder> {
        let order = self.order.as_ref();
        let person = |index: usize| incident.person_at(index);
        let people: Vec<Person> = self.people.iter().filter_map(|&k| person(k)).collect();
        let ms = |s: f64| incident.alarm_at_ms + (s * 1000.0).round() as i64;
        let words = order.map(|o| o.words.clone()).unwrap_or_default();
        let at_s = order.map_or(0.0, |o| o.at_s);
        Some(match &self.run {
            Some((run, team)) => ShownOrder {
                order: self.number,
                method: Some(team.method),
                people,
                leader: person(team.leader),
                lookout: team.lookout.and_then(person),
                from: run.from,
                to: run.to,
                width_m: run.width_m,
                legs: run.legs.len() as u32,
                leaves_ms: ms(run.leaves_s),
                ends_ms: ms(run.to_s),
                words,
            },
            None => ShownOrder {
                order: self.number,
                method: None,
                leader: None,
                lookout: None,
                people,
                from: measure::Spot::default(),
                to: measure::Spot::default(),
                width_m: 0.0,
                legs: 0,
                leaves_ms: ms(at_s),
                ends_ms: ms(at_s),
                words,
            },
        })
    }

    /// The method of its line.
    pub fn method(&self) -> Option<Method> {
        self.run.as_ref().map(|(_, team)| team.method)
    }
}
