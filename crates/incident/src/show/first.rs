//! First words: what this person does next.

use super::View;
use super::clock::{clock, span};
use crate::report::{Person, Role, WhyOut};
use crate::screen::{Say, Short, Stage, Words};
use crate::state::{Incident, Known, Phase};
use measure::parameters::value;

/// An order due later than this is not to be said yet \[ms\].
const SOON_MS: i64 = 15_000;

/// Words of at most three lines.
pub(super) fn words(over: impl Into<String>, lines: &[&str], under: impl Into<String>) -> Words {
    let lines = lines.iter().filter(|line| !line.is_empty()).take(3).map(|line| line.to_string()).collect();
    Words { over: over.into(), lines, under: under.into() }
}

impl View<'_> {
    /// The largest words of this device.
    pub(crate) fn first_words(&self, say: &[Say], short: Option<&Short>) -> Words {
        if let Some(short) = short {
            return short.words.clone();
        }
        let Some(incident) = self.incident() else { return self.quiet() };
        match self.stage() {
            Stage::Quiet => self.quiet(),
            Stage::Asking => self.asking(),
            Stage::Searching => self.searching(incident, say),
            Stage::AllOut => self.called_out(incident),
            Stage::Found => self.found(incident),
            Stage::Ended => self.ended(incident),
            Stage::CommandPassed => self.passed(incident),
            Stage::CountShort => Words::default(),
        }
    }

    fn asking(&self) -> Words {
        let emergency = self.emergency();
        match self.sender.role {
            Role::Gate => words(
                "Swimmer missing",
                &[&format!("Call {emergency}."), "Then the gate: nobody leaves uncounted."],
                "Ask those who leave whom they miss.",
            ),
            Role::LineLeader => words(
                "Swimmer missing",
                &["Everyone out of the water.", "Bring masks, fins, tubes. Wait for your order."],
                "",
            ),
            _ => {
                let told = self.incident().and_then(|incident| incident.sightings.get(&1));
                let place = told.is_some_and(|s| s.place.is_some());
                let time = told.is_some_and(|s| s.between_ms.is_some());
                let lines = [if place { "" } else { "Where last seen?" }, if time { "" } else { "When?" }];
                words("Swimmer missing", &lines, "The later of the two gives the orders.")
            }
        }
    }

    pub(crate) fn emergency(&self) -> String {
        let number = self.state.day.as_ref().map_or("", |day| day.emergency.trim());
        if number.is_empty() { "the emergency number".into() } else { number.into() }
    }

    fn searching(&self, incident: &Incident, say: &[Say]) -> Words {
        match self.sender.role {
            Role::Gate => self.gate(incident),
            Role::LineLeader => self.leads(incident).unwrap_or_else(|| self.says(incident, say)),
            Role::Recorder => {
                let count = self.count_asked(incident, self.overdue_count(incident).or(self.down(incident)));
                count.unwrap_or_else(|| self.records(incident, say))
            }
            Role::Lead | Role::Deputy => match self.overdue_count(incident) {
                Some(known) => self.count_asked(incident, Some(known)).unwrap_or_default(),
                None => self.says(incident, say),
            },
            Role::Viewer => {
                let sentence =
                    self.thought_of_now().map(|thought| thought.sentence.clone()).unwrap_or_default();
                words("The search goes on", &[&sentence], "You look on.")
            }
        }
    }

    /// What the lead says next.
    fn says(&self, incident: &Incident, say: &[Say]) -> Words {
        let offset_s = incident.day.utc_offset_s;
        match say.first() {
            Some(next) if next.due_ms <= self.now_ms + SOON_MS => {
                Words { over: format!("Say next, to {}", next.words.over), ..next.words.clone() }
            }
            Some(next) => words(
                format!("Nothing to say until {}", clock(next.due_ms, offset_s)),
                &[&format!(
                    "Then to {}: {}",
                    next.words.over,
                    next.words.lines.first().cloned().unwrap_or_default()
                )],
                "Watch. Type what is called.",
            ),
            // Whoever starts the desk again in the middle of a search must not read what holds at its beginning.
            None if self.thought_of_now().is_none() && !incident.orders.is_empty() => words(
                "The desk was started again",
                &["Orders given stand.", "Go on, and report."],
                "It works the search out of its log; new orders come in a moment.",
            ),
            None => words("Nothing to say now", &["Watch the lines.", "Type what is called."], ""),
        }
    }

    fn records(&self, incident: &Incident, say: &[Say]) -> Words {
        let running: Vec<String> =
            self.strips().into_iter().map(|strip| format!("{}, {}", strip.words, strip.progress)).collect();
        let lines: Vec<&str> = running.iter().map(String::as_str).collect();
        if lines.is_empty() {
            return self.says(incident, say);
        }
        words("Type what is called", &lines, "Count, metres, contact, lane walked.")
    }

    /// The line leader's own line.
    fn leads(&self, incident: &Incident) -> Option<Words> {
        let order = self.own_order()?;
        let known = incident.orders.get(&order)?;
        if let Some(words) = known.down.as_ref().and_then(|_| self.count_asked(incident, Some(known))) {
            return Some(words);
        }
        let thought = self.thought_of_now()?;
        let card = thought.cards.get(&order)?;
        let say = self.card(card)?;
        let over = match self.progress(card) {
            (done, of, _) if known.shown.method == Some(search::Method::Dive) => {
                format!(
                    "Read to {}, lane {order}: dive {} of {of}",
                    self.line_name(known),
                    (done + 1).min(of)
                )
            }
            (.., progress) => format!("Read to {}, lane {order}: {progress}", self.line_name(known)),
        };
        Some(Words { over, ..say.words })
    }

    fn gate(&self, incident: &Incident) -> Words {
        if incident.called_ms.is_none() {
            let call = format!("Call {}.", self.emergency());
            return words(
                "Gate and phone",
                &[&call, "Nobody leaves unseen."],
                "Touch Called when it is done.",
            );
        }
        let open = self.ashore().into_iter().find(|place| place.looked_ms.is_none());
        match open {
            Some(place) => {
                let look = format!("Look: {}.", place.name);
                words(
                    "Gate and phone",
                    &["Nobody leaves unseen.", &look],
                    "Look for them ashore; touch each place as it is looked at.",
                )
            }
            None => words(
                "Gate and phone",
                &["Nobody leaves unseen.", "Meet the ambulance at the gate."],
                "Look again where somebody could have come since.",
            ),
        }
    }

    /// A line that is down longer than a dive may last.
    pub(crate) fn overdue_count<'b>(&self, incident: &'b Incident) -> Option<&'b Known> {
        let limit_ms = (1000.0 * value("dive_warn_time_s")) as i64;
        let late =
            |known: &&Known| known.down.as_ref().is_some_and(|(at_ms, _)| self.now_ms > at_ms + limit_ms);
        incident.orders.values().filter(late).min_by_key(|known| known.down.as_ref().map(|(at_ms, _)| *at_ms))
    }

    fn down<'b>(&self, incident: &'b Incident) -> Option<&'b Known> {
        incident.orders.values().find(|known| known.down.is_some())
    }

    /// Asks for the count of a line, without a number.
    fn count_asked(&self, incident: &Incident, known: Option<&Known>) -> Option<Words> {
        let known = known?;
        let (since_ms, _) = known.down.as_ref()?;
        let caller = known.shown.lookout.map_or("the lookout".to_string(), |p| self.names.person(p));
        let over = format!("{}, dive {}", self.line_name(known), known.dives + 1);
        let late = self.overdue_count(incident).is_some_and(|other| other.shown.order == known.shown.order);
        let ask = format!("What number does {caller} call?");
        let under = format!("down {}", span(self.now_ms - since_ms));
        Some(if late {
            words(format!("COUNT OVERDUE: {over}"), &[&ask, "No count: shout, look, count faces."], under)
        } else {
            words(over, &[&ask], under)
        })
    }

    /// What a line is called.
    pub(crate) fn line_name(&self, known: &Known) -> String {
        match known.shown.leader {
            Some(leader) if known.shown.people.len() > 1 => format!("{}'s line", self.names.person(leader)),
            Some(leader) => self.names.person(leader),
            None => format!("order {}", known.shown.order),
        }
    }

    fn called_out(&self, incident: &Incident) -> Words {
        let still = self.named(&incident.in_water_at(self.now_ms));
        let (over, first) = match incident.phase {
            Phase::CountFirst => ("THIS IS REAL", "Practice is over. Count every searcher first."),
            Phase::Out(WhyOut::Thunder) => {
                ("ALL OUT: thunder", "Everybody out of the water, away from the shore.")
            }
            Phase::Out(WhyOut::Cold) => ("ALL OUT: cold", "Everybody out of the water and warm."),
            _ => ("ALL OUT", "Everybody out of the water."),
        };
        let count = if still.is_empty() {
            "Every searcher is counted out.".to_string()
        } else {
            format!("Not counted out yet: {still}.")
        };
        let under = "The clock and the drift run on. Back in when whoever is in charge says so.";
        words(over, &[first, &count], under)
    }

    fn found(&self, incident: &Incident) -> Words {
        let still = self.named(&incident.in_water_at(self.now_ms));
        let out = format!("Not counted out yet: {still}.");
        match self.sender.role {
            Role::Gate => {
                words("Found", &["Bring the defibrillator.", "Lead the ambulance in from the gate."], "")
            }
            Role::LineLeader if !still.is_empty() => {
                words("Found", &["Lines: out of the water, slowly.", "Count your line out by name."], out)
            }
            _ => {
                let next =
                    self.care().and_then(|care| care.steps.into_iter().find(|step| step.at_ms.is_none()));
                match next {
                    Some(step) => words(
                        "Found. Next:",
                        &[&step.title, &step.note],
                        if still.is_empty() { String::new() } else { out },
                    ),
                    None if still.is_empty() => words("Handed over", &["Write down who saw what."], ""),
                    None => words("Handed over", &[&out], ""),
                }
            }
        }
    }

    fn ended(&self, incident: &Incident) -> Words {
        let still = self.named(&incident.in_water_at(self.now_ms));
        let count = if still.is_empty() { String::new() } else { format!("Count out: {still}.") };
        let ashore = incident.missing.values().any(|m| m.ashore);
        let over = match (&incident.ending, ashore) {
            (Some(place), true) => format!("Found ashore: {place}"),
            (Some(reason), false) => format!("Stood down: {reason}"),
            (None, _) => "Handed over".into(),
        };
        words(over, &[&count, "Keep the log. Write down who saw what."], "")
    }

    fn passed(&self, incident: &Incident) -> Words {
        let at = incident.passed_ms.map(|ms| clock(ms, incident.day.utc_offset_s)).unwrap_or_default();
        let to = self.names.command(incident.number).unwrap_or("the services");
        let still = self.named(&incident.in_water_at(self.now_ms));
        let count = if still.is_empty() {
            "Every searcher is counted out.".to_string()
        } else {
            format!("Count out before divers or boats go in: {still}.")
        };
        words(
            format!("Command passed to {to}, {at}"),
            &[&count, "Go on recording."],
            "Orders come from whoever is in command.",
        )
    }

    /// Names in a row.
    pub(crate) fn named(&self, people: &[Person]) -> String {
        people.iter().map(|&person| self.names.person(person)).collect::<Vec<_>>().join(", ")
    }

    /// Shouts that stay on top while where and when are asked.
    pub(crate) fn shouts(&self) -> Vec<String> {
        if self.stage() != Stage::Asking {
            return Vec::new();
        }
        let first = if self.incident().is_some_and(|i| i.practice) {
            vec!["This is practice.".to_string()]
        } else {
            Vec::new()
        };
        let rest = [
            "Everyone out of the water. Count them.".to_string(),
            format!("Call {}, then gate.", self.emergency()),
            "Nearest guard: tube, to the spot.".into(),
            "Nobody enters alone.".into(),
        ];
        first.into_iter().chain(rest).collect()
    }
}
