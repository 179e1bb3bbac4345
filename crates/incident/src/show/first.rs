//! First words: what this person does next.

use super::View;
use crate::report::Role;
use crate::screen::{Say, Short, Stage, Words};

fn words(over: &str, lines: &[String], under: &str) -> Words {
    Words { over: over.into(), lines: lines.iter().take(3).cloned().collect(), under: under.into() }
}

impl View<'_> {
    /// The largest words of this device.
    pub(crate) fn first_words(&self, say: &[Say], short: Option<&Short>) -> Words {
        if let Some(short) = short {
            return short.words.clone();
        }
        match self.stage() {
            Stage::Quiet | Stage::Ended => words("", &["Nobody is reported missing.".into()], ""),
            Stage::Asking => words(
                "Swimmer missing",
                &["Where last seen?".into(), "When?".into()],
                "The later of the two gives the orders.",
            ),
            Stage::Searching => self.searching(say),
            Stage::AllOut => words(
                "ALL OUT",
                &["Everybody out of the water.".into(), "Count every searcher, by name.".into()],
                "The clock and the drift run on.",
            ),
            Stage::Found => {
                words("Found", &["Bring them up, face out.".into(), "Count every searcher out.".into()], "")
            }
            Stage::CommandPassed => words(
                "Command has passed",
                &["Count every searcher out.".into(), "Record what happens.".into()],
                "Orders come from whoever is in command.",
            ),
            Stage::CountShort => Words::default(),
        }
    }

    fn searching(&self, say: &[Say]) -> Words {
        match self.sender.role {
            Role::Gate => {
                words("Gate", &["Nobody leaves unseen.".into(), "Look for them ashore.".into()], "")
            }
            _ => match say.first() {
                Some(next) => {
                    let over = format!("Say next, to {}", next.words.over);
                    words(&over, &next.words.lines, &next.words.under)
                }
                None => words("", &["Watch. Type what is called.".into()], ""),
            },
        }
    }

    /// Shouts that stay on top while where and when are asked.
    pub(crate) fn shouts(&self) -> Vec<String> {
        if self.stage() != Stage::Asking {
            return Vec::new();
        }
        let emergency = self.state.day.as_ref().map_or("", |day| day.emergency.as_str());
        let number = if emergency.is_empty() { "the emergency number" } else { emergency };
        vec![
            "Everyone out of the water.".into(),
            format!("Call {number}, then gate."),
            "Nearest guard: to the spot.".into(),
            "Nobody enters alone.".into(),
        ]
    }
}
