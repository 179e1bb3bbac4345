//! Words with keys: `landmark=Raft ago=2min under`, or the same as a JSON object.

use std::collections::BTreeMap;
use water::{Place, Problem};

/// Keys and values of one row, with what is wrong with them gathered on the way.
#[derive(Clone, Debug)]
pub struct Fields {
    values: BTreeMap<String, String>,
    place: Place,
    /// Problems found so far.
    pub problems: Vec<Problem>,
}

impl Fields {
    /// Reads `key=value` words; a value runs to the next known key, so that names may hold blanks.
    ///
    /// # Inputs
    /// - `text`: the row · `known`: keys with a value · `flags`: words without one · `place`: where it stands
    pub fn words(text: &str, known: &[&str], flags: &[&str], place: Place) -> Fields {
        let mut fields = Fields { values: BTreeMap::new(), place, problems: Vec::new() };
        let mut open: Option<String> = None;
        for word in text.split_whitespace() {
            if let Some((key, value)) = word.split_once('=') {
                let key = key.to_ascii_lowercase();
                if !known.contains(&key.as_str()) {
                    fields.unknown(&key, known, flags);
                    open = None;
                    continue;
                }
                fields.put(&key, value);
                open = Some(key);
            } else if flags.contains(&word.to_ascii_lowercase().as_str()) {
                fields.put(&word.to_ascii_lowercase(), "yes");
                open = None;
            } else if let Some(key) = &open {
                let value = fields.values.entry(key.clone()).or_default();
                value.push(' ');
                value.push_str(word);
            } else {
                fields.unknown(word, known, flags);
            }
        }
        fields
    }

    /// Reads the words of a sighting.
    pub fn seen(text: &str, place: Place) -> Fields {
        Fields::words(text, &super::seen::KEYS, &super::seen::FLAGS, place)
    }

    /// Reads a JSON object; numbers and truth values become their text, lists are joined by commas.
    pub fn object(
        object: &serde_json::Map<String, serde_json::Value>,
        known: &[&str],
        place: Place,
    ) -> Fields {
        let mut fields = Fields { values: BTreeMap::new(), place, problems: Vec::new() };
        for (key, value) in object {
            if !known.contains(&key.as_str()) {
                fields.unknown(key, known, &[]);
                continue;
            }
            match plain(value) {
                Some(text) if value != &serde_json::Value::Bool(false) => fields.put(key, &text),
                Some(_) => {}
                None => {
                    let what = format!("{key} is {value}; it takes a word, a number or a list of them");
                    fields.refuse("A101", what, "write it as a plain value");
                }
            }
        }
        fields
    }

    fn put(&mut self, key: &str, value: &str) {
        if self.values.insert(key.to_owned(), value.trim_matches(['"', '\'']).to_owned()).is_some() {
            self.refuse("A102", format!("{key} is given twice"), "give it once");
        }
    }

    fn unknown(&mut self, word: &str, known: &[&str], flags: &[&str]) {
        let all: Vec<&str> = known.iter().chain(flags).copied().collect();
        let what = format!("{word:?} is not a word that belongs here");
        self.refuse("A103", what, &format!("use one of: {}", all.join(", ")));
    }

    /// Notes a problem that keeps the row from being used.
    pub fn refuse(&mut self, code: &str, what: String, remedy: &str) {
        let problem = Problem {
            code: code.into(),
            fatal: true,
            place: self.place.clone(),
            what,
            remedy: remedy.into(),
        };
        self.problems.push(problem);
    }

    /// The text of a key, blanks trimmed; `None` when absent or empty.
    pub fn text(&self, key: &str) -> Option<String> {
        self.values.get(key).map(|value| value.trim().to_owned()).filter(|value| !value.is_empty())
    }

    /// Whether a flag is set.
    pub fn flag(&self, key: &str) -> bool {
        self.text(key).is_some_and(|value| !matches!(value.as_str(), "no" | "false" | "0"))
    }

    /// A number within `low..=high`, in the unit named; a trailing unit in the text is allowed.
    pub fn number(&mut self, key: &str, unit: &str, low: f64, high: f64) -> Option<f64> {
        let text = self.text(key)?;
        let bare = text.strip_suffix(unit).unwrap_or(&text).trim();
        match bare.parse::<f64>() {
            Ok(value) if value >= low && value <= high => Some(value),
            Ok(value) => {
                let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
                let what = format!("{key} is {value}{unit}; it must lie between {low} and {high}{unit}");
                self.refuse("A104", what, "correct the number");
                None
            }
            Err(_) => {
                self.refuse(
                    "A104",
                    format!("{key} is {text:?}, not a number"),
                    &match unit {
                        "" => format!("give a number, such as {key}={low}"),
                        _ => format!("give it in {unit}, such as {key}={low}"),
                    },
                );
                None
            }
        }
    }

    /// A count within `low..=high`: half a head is a slip, not a head fewer.
    pub fn count(&mut self, key: &str, low: f64, high: f64) -> Option<usize> {
        let number = self.number(key, "", low, high)?;
        if number.fract() != 0.0 {
            self.refuse("A104", format!("{key} is {number}, not a whole number"), "count in ones");
            return None;
        }
        Some(number as usize)
    }

    /// Names in a comma list.
    pub fn names(&self, key: &str) -> Vec<String> {
        let text = self.text(key).unwrap_or_default();
        text.split(',').map(|name| name.trim().to_owned()).filter(|name| !name.is_empty()).collect()
    }
}

fn plain(value: &serde_json::Value) -> Option<String> {
    match value {
        serde_json::Value::String(text) => Some(text.clone()),
        serde_json::Value::Number(number) => Some(number.to_string()),
        serde_json::Value::Bool(yes) => Some(if *yes { "yes" } else { "no" }.to_owned()),
        serde_json::Value::Array(items) => {
            items.iter().map(plain).collect::<Option<Vec<_>>>().map(|all| all.join(","))
        }
        serde_json::Value::Null => Some(String::new()),
        serde_json::Value::Object(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_runs_to_the_next_key() {
        let fields = Fields::words(
            "landmark=Jetty end ago=2min under",
            &["landmark", "ago"],
            &["under"],
            Place::default(),
        );
        assert_eq!(fields.text("landmark").as_deref(), Some("Jetty end"));
        assert!(fields.flag("under") && fields.problems.is_empty());
    }

    #[test]
    fn unknown_and_repeated_words_are_named() {
        let fields = Fields::words("where=x ago=1s ago=2s stray", &["ago"], &[], Place::default());
        assert_eq!(fields.problems.len(), 2, "{:?}", fields.problems);
        assert!(fields.problems[0].what.contains("where"));
    }
}
