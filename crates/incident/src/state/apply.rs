//! Taking one entry into an incident.

use super::incident::{Incident, Known, PersonSoFar, Phase, ShortCount};
use crate::event::{Entry, Event, ShownOrder};
use crate::report::{CareStep, OrderNumber, Person};
use std::sync::Arc;

impl Incident {
    /// Takes in the next entry; what it does not know it keeps.
    pub(crate) fn apply(&mut self, entry: &Arc<Entry>) {
        self.entries.push(entry.clone());
        let at_ms = entry.happened_at_ms;
        match &entry.event {
            Event::SightingGiven { .. } | Event::AlarmKindTold { .. } | Event::MissingDescribed { .. } => {
                self.told(&entry.event);
            }
            Event::OrdersShown { orders, withdrawn, .. } => {
                self.shown(orders, withdrawn, entry.recorded_at_ms);
            }
            Event::HeadcountTaken { .. }
            | Event::CountCameShort { .. }
            | Event::FaceSeen { .. }
            | Event::ShortCountLifted { .. }
            | Event::DiveBegan { .. } => self.counted(&entry.event, at_ms),
            Event::OrderGiven { .. }
            | Event::OrderPutOff { .. }
            | Event::MetresWalked { .. }
            | Event::LaneWalked { .. }
            | Event::LaneStoppedShort { .. }
            | Event::LaneBrokenOff { .. } => self.lane(&entry.event, at_ms),
            Event::PeopleCame { .. } | Event::PeopleLeft { .. } | Event::SearchersCountedOut { .. } => {
                self.people_changed(&entry.event, at_ms);
            }
            _ => self.turned(&entry.event, at_ms),
        }
    }

    fn told(&mut self, event: &Event) {
        match event {
            Event::SightingGiven {
                number,
                place,
                between_ms,
                class,
                stood,
                went_under,
                talked_with,
                missing,
            } => {
                let so_far = self.sightings.entry(*number).or_default();
                // What is said again replaces what was said; what is not said stays.
                so_far.place = place.clone().or(so_far.place.take());
                so_far.between_ms = between_ms.or(so_far.between_ms);
                so_far.class = class.or(so_far.class);
                so_far.stood = stood.clone().or(so_far.stood.take());
                so_far.went_under = went_under.or(so_far.went_under);
                so_far.missing = missing.or(so_far.missing);
                if let Some(talked) = talked_with {
                    so_far.talked_with = talked.clone();
                }
                if self.phase == Phase::Asking && self.is_told() {
                    self.phase = Phase::Searching;
                }
            }
            Event::AlarmKindTold { kind } => self.kind = Some(*kind),
            Event::MissingDescribed { missing, height_m, swimmer, .. } => {
                let so_far = self.missing.entry(*missing).or_default();
                so_far.height_m = height_m.or(so_far.height_m);
                so_far.swimmer = swimmer.or(so_far.swimmer);
                // One more is missing after the first was brought up: the search goes on for them.
                if self.phase == Phase::Found && self.still_missing() > 0 {
                    self.turn(self.going_on());
                }
            }
            _ => {}
        }
    }

    fn shown(&mut self, orders: &[ShownOrder], withdrawn: &[OrderNumber], at_ms: i64) {
        for number in withdrawn {
            if let Some(known) = self.orders.get_mut(number) {
                known.withdrawn = true;
            }
        }
        for shown in orders {
            let fresh = Known {
                shown: shown.clone(),
                withdrawn: false,
                said_ms: None,
                put_off_ms: None,
                dives: 0,
                metres: 0.0,
                down: None,
                ended_ms: None,
                stopped_short: false,
                other_until_ms: None,
            };
            match self.orders.get_mut(&shown.order) {
                // The number of an order that was replaced before anybody can have heard it goes to another.
                Some(known) if known.is_unheard() && !same_lane(&known.shown, shown) => {
                    *known = Known { other_until_ms: Some(at_ms), ..fresh };
                }
                Some(known) => {
                    known.shown = shown.clone();
                    known.withdrawn = false;
                }
                None => {
                    self.orders.insert(shown.order, fresh);
                }
            }
        }
    }

    fn counted(&mut self, event: &Event, at_ms: i64) {
        match event {
            Event::DiveBegan { order, down } => {
                if let Some(known) = self.orders.get_mut(order) {
                    known.down = Some((at_ms, down.clone()));
                }
                self.set_in_water(down, true);
            }
            Event::HeadcountTaken { order, up, down } => {
                let short = self.short.iter().any(|short| short.order == *order);
                if let Some(known) = self.orders.get_mut(order) {
                    let whole = up.is_some_and(|up| up >= *down);
                    if !short && whole {
                        known.dives += 1;
                        if known.shown.method == Some(search::Method::Dive) && known.dives >= known.shown.legs
                        {
                            known.ended_ms = known.ended_ms.or(Some(at_ms));
                        }
                    }
                    if up.is_some() {
                        known.down = None;
                    }
                }
            }
            Event::CountCameShort { order, down, .. } => {
                if let Some(known) = self.orders.get_mut(order) {
                    known.down = None;
                }
                if !self.short.iter().any(|short| short.order == *order) {
                    let seen = std::collections::BTreeSet::new();
                    self.short.push(ShortCount { order: *order, since_ms: at_ms, down: down.clone(), seen });
                }
            }
            Event::FaceSeen { person, seen } => {
                for short in &mut self.short {
                    if short.down.contains(person) {
                        if *seen {
                            short.seen.insert(*person)
                        } else {
                            short.seen.remove(person)
                        };
                    }
                }
            }
            Event::ShortCountLifted { order, .. } => self.short.retain(|short| short.order != *order),
            _ => {}
        }
    }

    fn lane(&mut self, event: &Event, at_ms: i64) {
        let (Event::OrderGiven { order }
        | Event::OrderPutOff { order }
        | Event::MetresWalked { order, .. }
        | Event::LaneWalked { order }
        | Event::LaneStoppedShort { order, .. }
        | Event::LaneBrokenOff { order }) = event
        else {
            return;
        };
        let Some(known) = self.orders.get_mut(order) else { return };
        let length_m = known.shown.from.distance(known.shown.to);
        let mut wet = known.shown.method.is_some();
        match event {
            Event::OrderGiven { .. } => known.said_ms = known.said_ms.or(Some(at_ms)),
            Event::OrderPutOff { .. } => {
                known.put_off_ms = Some(at_ms);
                wet = false;
            }
            Event::MetresWalked { metres, .. } => known.metres = known.metres.max(*metres),
            Event::LaneWalked { .. } => {
                known.metres = length_m;
                known.ended_ms = known.ended_ms.or(Some(at_ms));
            }
            Event::LaneStoppedShort { metres, .. } => {
                known.metres = metres.unwrap_or(known.metres);
                known.ended_ms = known.ended_ms.or(Some(at_ms));
                known.stopped_short = true;
            }
            _ => {
                known.ended_ms = known.ended_ms.or(Some(at_ms));
                known.stopped_short = true;
            }
        }
        if wet {
            let people = known.shown.people.clone();
            self.set_in_water(&people, true);
        }
    }

    fn people_changed(&mut self, event: &Event, at_ms: i64) {
        match event {
            Event::PeopleCame { people } => {
                for arrival in people {
                    match self.people.iter_mut().find(|p| p.person == arrival.person) {
                        Some(known) => {
                            (known.left, known.came_ms) = (None, at_ms);
                        }
                        None => self.people.push(PersonSoFar {
                            person: arrival.person,
                            came: Some(arrival.clone()),
                            came_ms: at_ms,
                            left: None,
                            in_water: false,
                            counted_out_ms: None,
                        }),
                    }
                }
            }
            Event::PeopleLeft { people, why } => {
                for known in self.people.iter_mut().filter(|p| people.contains(&p.person)) {
                    known.left = Some((at_ms, *why));
                    known.in_water = false;
                }
            }
            Event::SearchersCountedOut { people } => {
                self.set_in_water(people, false);
                for known in self.people.iter_mut().filter(|p| people.contains(&p.person)) {
                    known.counted_out_ms = Some(at_ms);
                }
                // Practice that became real: once everybody is counted the search goes on by itself.
                if self.phase == Phase::CountFirst && self.in_water().is_empty() {
                    self.turn(self.going_on());
                }
                self.end_if_all_is_done(at_ms);
            }
            _ => {}
        }
    }

    fn turned(&mut self, event: &Event, at_ms: i64) {
        match event {
            Event::ShoreLooked { place: Some(place) } => {
                self.shore.insert(place.clone(), at_ms);
            }
            Event::ShoreLooked { place: None } => self.shore_all_ms = Some(at_ms),
            Event::SurfaceLooked => self.surface_ms = Some(at_ms),
            Event::AllCalledOut { why } => {
                self.hold_lines(at_ms);
                self.turn(Phase::Out(*why));
            }
            Event::SearchResumed => self.turn(self.going_on()),
            Event::SearchWidened => self.widened_ms.push(at_ms),
            Event::PersonFound { missing } => self.found(*missing, at_ms),
            Event::FoundSomebodyElse => self.not_them(),
            Event::CareGiven { step, done } => {
                if *done {
                    self.care.insert(*step, at_ms);
                } else {
                    self.care.remove(step);
                    if *step == CareStep::HandedOver {
                        self.ended_at_ms = None;
                    }
                }
                self.end_if_all_is_done(at_ms);
            }
            Event::FoundAshore { missing, place } => {
                let so_far = self.missing.entry(*missing).or_default();
                (so_far.found_ms, so_far.ashore) = (Some(at_ms), true);
                if self.still_missing() == 0 {
                    self.ending = Some(place.clone().unwrap_or_else(|| "found ashore".into()));
                    self.end(at_ms);
                }
            }
            Event::StoodDown { reason } => {
                self.ending = Some(reason.clone());
                self.end(at_ms);
            }
            Event::CommandPassed => {
                self.hold_lines(at_ms);
                self.passed_ms = Some(at_ms);
                self.phase = Phase::Passed;
            }
            Event::ServicesCalled => self.called_ms = self.called_ms.or(Some(at_ms)),
            Event::ServicesArrived => self.here_ms = self.here_ms.or(Some(at_ms)),
            Event::PracticeEnded { in_water } => {
                (self.practice, self.real_ms) = (false, Some(at_ms));
                if !in_water.is_empty() {
                    self.hold_lines(at_ms);
                    self.set_in_water(in_water, true);
                    self.phase = Phase::CountFirst;
                }
            }
            _ => {}
        }
    }

    /// The phase in which a search that goes on is.
    fn going_on(&self) -> Phase {
        if self.is_told() { Phase::Searching } else { Phase::Asking }
    }

    fn found(&mut self, missing: Option<u32>, at_ms: i64) {
        let only = if self.missing.len() == 1 { self.missing.keys().next().copied() } else { None };
        match missing.or(only).and_then(|number| self.missing.get_mut(&number)) {
            Some(so_far) => so_far.found_ms = Some(at_ms),
            None => self.found_unnamed += 1,
        }
        self.found_at_ms = Some(at_ms);
        self.care.clear();
        if self.still_missing() == 0 {
            self.hold_lines(at_ms);
        }
        if self.still_missing() == 0 {
            self.turn(Phase::Found);
        }
    }

    /// The last one brought up was somebody else: the missing person is missing still.
    fn not_them(&mut self) {
        if self.found_unnamed > 0 {
            self.found_unnamed -= 1;
        } else if let Some(last) =
            self.missing.values_mut().filter(|m| !m.ashore).max_by_key(|m| m.found_ms.unwrap_or(i64::MIN))
        {
            last.found_ms = None;
        }
        self.found_at_ms = self.missing.values().filter(|m| !m.ashore).filter_map(|m| m.found_ms).max();
        self.care.clear();
        if self.phase == Phase::Found {
            self.turn(self.going_on());
        }
    }

    /// Goes over to a phase; once command has passed, nothing but the end changes that.
    fn turn(&mut self, phase: Phase) {
        if self.phase != Phase::Passed {
            self.phase = phase;
        }
    }

    /// Handed over, nobody missing, nobody in the water: the incident is at its end.
    fn end_if_all_is_done(&mut self, at_ms: i64) {
        let handed = self.care.contains_key(&CareStep::HandedOver);
        if handed && self.still_missing() == 0 && self.phase == Phase::Found {
            self.ended_at_ms = self.ended_at_ms.or(Some(at_ms));
            if self.in_water().is_empty() {
                self.phase = Phase::Ended;
            }
        }
    }

    /// Every line comes to its end where it is: whoever may be in the water is to be counted out.
    fn hold_lines(&mut self, at_ms: i64) {
        let wet = self.in_water_at(at_ms);
        self.set_in_water(&wet, true);
        for known in self.orders.values_mut().filter(|known| known.is_open_at(at_ms)) {
            (known.ended_ms, known.stopped_short) = (Some(at_ms), true);
        }
    }

    fn end(&mut self, at_ms: i64) {
        self.hold_lines(at_ms);
        self.phase = Phase::Ended;
        self.ended_at_ms = Some(at_ms);
    }

    fn set_in_water(&mut self, people: &[Person], in_water: bool) {
        for known in self.people.iter_mut().filter(|p| people.contains(&p.person)) {
            known.in_water = in_water && known.left.is_none();
        }
    }
}

/// Whether two orders are the same lane: a line that closes up is the same line.
fn same_lane(a: &ShownOrder, b: &ShownOrder) -> bool {
    (a.method, a.from, a.to, a.width_m) == (b.method, b.from, b.to, b.width_m)
}
