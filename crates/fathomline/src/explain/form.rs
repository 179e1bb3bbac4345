//! Checked inputs of one evaluation: every problem is noted with value, rule and way out, none stops the reading.

use super::model::{Fallback, Input, Model, Shape};
use measure::{Spot, parameters};
use serde_json::{Map, Value, json};

/// Most entries of a list: far more than anybody checks by hand.
const LONGEST: usize = 100_000;
/// Shares may add to more than one by rounding of what was typed.
const SUM_SLACK: f64 = 1e-9;

/// The inputs of a model as they are read.
pub struct Form {
    model: &'static [Input],
    name: &'static str,
    constants: &'static [&'static str],
    object: Map<String, Value>,
    echo: Map<String, Value>,
    defaults: Vec<&'static str>,
    problems: Vec<String>,
}

/// One number of an input, for messages: `p[2]`, `rate[0][1]`.
struct Spotted<'a> {
    input: &'a Input,
    place: String,
}

impl Form {
    /// The form of `model` filled in with `object`; keys that the model does not know are problems.
    pub fn new(model: &Model, object: Map<String, Value>) -> Self {
        let mut form = Form {
            model: model.inputs,
            name: model.name,
            constants: model.constants,
            object,
            echo: Map::new(),
            defaults: Vec::new(),
            problems: Vec::new(),
        };
        // An instance brings keys of its own: whoever reads it names what is wrong with them.
        let own = model.inputs.iter().any(|i| i.shape == Shape::Instance);
        for key in form.object.keys().filter(|_| !own) {
            if !model.inputs.iter().any(|i| i.name == key) {
                let near = nearest(key, model.inputs.iter().map(|i| i.name));
                form.problems
                    .push(format!("{key:?} is not an input of {}; did you mean {near:?}?", model.name));
            }
        }
        form
    }

    /// Inputs as used (in the model's order), names of register defaults used, problems.
    pub fn close(mut self) -> (Map<String, Value>, Vec<&'static str>, Vec<String>) {
        let mut inputs = Map::new();
        for input in self.model {
            if let Some(value) = self.echo.remove(input.name) {
                inputs.insert(input.name.into(), value);
            }
        }
        (inputs, self.defaults, self.problems)
    }

    /// Whether an input was written.
    pub fn given(&self, name: &str) -> bool {
        self.object.contains_key(name)
    }

    /// Whether anything was wrong so far.
    pub fn troubled(&self) -> bool {
        !self.problems.is_empty()
    }

    /// Notes a problem.
    pub fn problem(&mut self, text: impl Into<String>) {
        self.problems.push(text.into());
    }

    /// Notes a value that the model itself put for an input left out, taken from the register.
    pub fn put(&mut self, name: &str, value: f64, parameter: &'static str) {
        self.put_derived(name, value);
        self.defaults.push(parameter);
    }

    /// Notes a register value that the model's own code reads.
    ///
    /// # Panics
    /// If the model does not name it among its constants.
    pub fn used(&mut self, parameter: &'static str) {
        assert!(self.constants.contains(&parameter), "{} does not name its constant {parameter}", self.name);
        self.defaults.push(parameter);
    }

    /// Notes a value that follows from the other inputs.
    pub fn put_derived(&mut self, name: &str, value: f64) {
        self.echo.insert(name.into(), json!(value));
    }

    /// The whole object, for a model that takes it as one input; its id, if any, is echoed.
    pub fn instance(&mut self, name: &str) -> Value {
        let input = self.input(name, Shape::Instance);
        let id = self.object.get("id").cloned().unwrap_or(Value::Null);
        self.echo.insert(input.name.into(), id);
        Value::Object(self.object.clone())
    }

    fn input(&self, name: &str, shape: Shape) -> &'static Input {
        let input = self.model.iter().find(|i| i.name == name);
        let input = input.unwrap_or_else(|| panic!("{} has no input {name}", self.name));
        assert_eq!(input.shape, shape, "{} {name}", self.name);
        input
    }

    /// The value written for an input, echoed; a missing one is a problem unless it may be missing.
    fn take(&mut self, input: &'static Input) -> Option<Value> {
        if let Some(value) = self.object.get(input.name).cloned() {
            self.echo.insert(input.name.into(), value.clone());
            return Some(value);
        }
        match input.fallback {
            Fallback::Required => {
                let range = input.range.words();
                let rule = if range.is_empty() { String::new() } else { format!(", {range}") };
                self.problem(format!(
                    "{} is missing: {} [{}]; add \"{}\" as {}{rule}",
                    input.name,
                    input.what,
                    input.unit,
                    input.name,
                    input.shape.words()
                ));
                None
            }
            Fallback::Optional => None,
            Fallback::Register(parameter) => {
                self.put(input.name, parameters::value(parameter), parameter);
                self.echo.get(input.name).cloned()
            }
            Fallback::Value(value) => {
                self.put_derived(input.name, value);
                Some(json!(value))
            }
        }
    }

    /// A number.
    pub fn number(&mut self, name: &str) -> Option<f64> {
        let input = self.input(name, Shape::Number);
        let value = self.take(input)?;
        self.one(&Spotted { input, place: name.into() }, &value)
    }

    /// A moment \[s since 1970, UTC\].
    pub fn time(&mut self, name: &str) -> Option<f64> {
        let input = self.input(name, Shape::Time);
        let value = self.take(input)?;
        let read = value.as_str().and_then(|text| text.trim().parse::<jiff::Timestamp>().ok());
        if read.is_none() {
            self.problem(format!("{name}: {} is not a moment; write {}", short(&value), Shape::Time.words()));
        }
        read.map(|moment| moment.as_millisecond() as f64 * 1e-3)
    }

    /// One of the words of the input.
    pub fn word(&mut self, name: &str) -> Option<&'static str> {
        let input = self.model.iter().find(|i| i.name == name);
        let input = input.unwrap_or_else(|| panic!("{} has no input {name}", self.name));
        let Shape::Word(words) = input.shape else { panic!("{} {name} is no word", self.name) };
        let value = self.take(input)?;
        let found = words.iter().find(|word| value.as_str() == Some(**word)).copied();
        if found.is_none() {
            let (given, known) = (short(&value), words.join("\" or \""));
            self.problem(format!("{name}: {given} is not known; write \"{known}\""));
        }
        found
    }

    /// A whole number; 6.0 counts as one.
    pub fn whole(&mut self, name: &str) -> Option<u64> {
        let input = self.input(name, Shape::Whole);
        let value = self.take(input)?;
        self.whole_one(&Spotted { input, place: name.into() }, &value)
    }

    /// A list of numbers, not empty.
    pub fn numbers(&mut self, name: &str) -> Option<Vec<f64>> {
        let input = self.input(name, Shape::Numbers);
        let value = self.take(input)?;
        self.row(&Spotted { input, place: name.into() }, &value)
    }

    /// A list of whole numbers, not empty.
    pub fn wholes(&mut self, name: &str) -> Option<Vec<u64>> {
        let input = self.input(name, Shape::Wholes);
        let value = self.take(input)?;
        let list = self.list(&Spotted { input, place: name.into() }, &value)?;
        let read = list
            .iter()
            .enumerate()
            .map(|(k, v)| self.whole_one(&Spotted { input, place: format!("{name}[{k}]") }, v));
        all(read.collect())
    }

    /// A list of lists of numbers, neither empty.
    pub fn rows(&mut self, name: &str) -> Option<Vec<Vec<f64>>> {
        let input = self.input(name, Shape::Rows);
        let value = self.take(input)?;
        let list = self.list(&Spotted { input, place: name.into() }, &value)?;
        let read = list
            .iter()
            .enumerate()
            .map(|(k, v)| self.row(&Spotted { input, place: format!("{name}[{k}]") }, v));
        all(read.collect())
    }

    /// Two numbers.
    pub fn pair(&mut self, name: &str) -> Option<[f64; 2]> {
        let input = self.input(name, Shape::Pair);
        let value = self.take(input)?;
        self.two(&Spotted { input, place: name.into() }, &value)
    }

    /// A list of pairs, as places.
    pub fn spots(&mut self, name: &str) -> Option<Vec<Spot>> {
        let input = self.input(name, Shape::Pairs);
        let value = self.take(input)?;
        let list = self.list(&Spotted { input, place: name.into() }, &value)?;
        let read = list.iter().enumerate().map(|(k, v)| {
            self.two(&Spotted { input, place: format!("{name}[{k}]") }, v).map(|[e, n]| Spot::new(e, n))
        });
        all(read.collect())
    }

    /// One number for both axes, or one for each.
    pub fn axes(&mut self, name: &str) -> Option<[f64; 2]> {
        let input = self.input(name, Shape::NumberOrPair);
        let value = self.take(input)?;
        let at = Spotted { input, place: name.into() };
        if value.is_array() {
            if value.as_array().is_some_and(|list| list.len() == 1) {
                return self.one(&at, &value[0]).map(|x| [x, x]);
            }
            return self.two(&at, &value);
        }
        self.one(&at, &value).map(|x| [x, x])
    }

    /// Float runs, not empty.
    pub fn runs(&mut self, name: &str) -> Option<Vec<water::FloatRun>> {
        let input = self.input(name, Shape::Runs);
        let value = self.take(input)?;
        let list = self.list(&Spotted { input, place: name.into() }, &value)?;
        let read = list.iter().enumerate().map(|(k, run)| self.run(input, &format!("{name}[{k}]"), run));
        all(read.collect())
    }

    fn run(&mut self, input: &'static Input, place: &str, value: &Value) -> Option<water::FloatRun> {
        const KEYS: [&str; 3] = ["from", "to", "seconds"];
        let Some(run) = value.as_object() else {
            self.problem(format!("{place}: {} is not a run; write {}", short(value), Shape::Runs.words()));
            return None;
        };
        for key in run.keys().filter(|key| !KEYS.contains(&key.as_str())) {
            let near = nearest(key, KEYS.into_iter());
            self.problem(format!("{place}: {key:?} is not part of a run; did you mean {near:?}?"));
        }
        let mut part = |key: &str| {
            let found = run.get(key);
            if found.is_none() {
                self.problem(format!("{place}: {key:?} is missing; write {}", Shape::Runs.words()));
            }
            found
        };
        let (from, to, seconds) = (part("from"), part("to"), part("seconds"));
        let at = |key: &str| Spotted { input, place: format!("{place}.{key}") };
        let from = from.and_then(|v| self.two(&at("from"), v));
        let to = to.and_then(|v| self.two(&at("to"), v));
        let seconds = seconds.and_then(|v| self.one(&at("seconds"), v));
        if seconds.is_some_and(|s| s <= 0.0) {
            self.problem(format!(
                "{place}.seconds: a run takes time; give the seconds between the two places, above 0"
            ));
            return None;
        }
        let (from, to) = (from?, to?);
        Some(water::FloatRun {
            from: Spot::new(from[0], from[1]),
            to: Spot::new(to[0], to[1]),
            seconds: seconds?,
        })
    }

    fn one(&mut self, at: &Spotted, value: &Value) -> Option<f64> {
        let Some(x) = value.as_f64() else {
            let (place, unit, what) = (&at.place, at.input.unit, at.input.what);
            self.problem(format!(
                "{place}: {} is not a number; give a plain number [{unit}] for the {what}",
                short(value)
            ));
            return None;
        };
        if !at.input.range.holds(x) {
            self.problem(format!(
                "{}: {} is out of range; the {} [{}] must be {}",
                at.place,
                short(value),
                at.input.what,
                at.input.unit,
                at.input.range.words()
            ));
            return None;
        }
        Some(x)
    }

    fn whole_one(&mut self, at: &Spotted, value: &Value) -> Option<u64> {
        let x = self.one(at, value)?;
        // Past 2^53 neighbouring whole numbers are no longer apart.
        if x.fract() != 0.0 || !(0.0..9.0e15).contains(&x) {
            self.problem(format!("{}: {} is not a whole number; count in ones", at.place, short(value)));
            return None;
        }
        Some(x as u64)
    }

    fn list<'v>(&mut self, at: &Spotted, value: &'v Value) -> Option<&'v Vec<Value>> {
        let place = &at.place;
        let Some(list) = value.as_array() else {
            self.problem(format!(
                "{place}: {} is not a list; write {}",
                short(value),
                at.input.shape.words()
            ));
            return None;
        };
        if list.is_empty() {
            self.problem(format!(
                "{place}: the list is empty; give at least one entry for the {}",
                at.input.what
            ));
            return None;
        }
        if list.len() > LONGEST {
            self.problem(format!("{place}: {} entries are more than {LONGEST}; give fewer", list.len()));
            return None;
        }
        Some(list)
    }

    fn row(&mut self, at: &Spotted, value: &Value) -> Option<Vec<f64>> {
        let list = self.list(at, value)?;
        let read = list
            .iter()
            .enumerate()
            .map(|(k, v)| self.one(&Spotted { input: at.input, place: format!("{}[{k}]", at.place) }, v));
        all(read.collect())
    }

    fn two(&mut self, at: &Spotted, value: &Value) -> Option<[f64; 2]> {
        let place = &at.place;
        match value.as_array().map(Vec::as_slice) {
            Some([a, b]) => {
                let a = self.one(&Spotted { input: at.input, place: format!("{place}[0]") }, a);
                let b = self.one(&Spotted { input: at.input, place: format!("{place}[1]") }, b);
                Some([a?, b?])
            }
            _ => {
                self.problem(format!("{place}: {} is not a pair; write two numbers [a, b]", short(value)));
                None
            }
        }
    }

    /// Notes lists that should be as long as the first and are not.
    pub fn same_length(&mut self, first: (&str, Option<usize>), others: &[(&str, Option<usize>)]) {
        let (name, Some(length)) = first else { return };
        for (other, found) in others {
            if found.is_some_and(|found| found != length) {
                self.problem(format!(
                    "{other} has {} entries and {name} has {length}; give one of each for every one of the other",
                    found.unwrap_or(0)
                ));
            }
        }
    }

    /// Notes shares that add to more than one.
    pub fn shares(&mut self, name: &str, shares: &[f64], rest: f64) {
        let sum = shares.iter().sum::<f64>() + rest;
        if sum > 1.0 + SUM_SLACK {
            self.problem(format!(
                "{name}: the shares add to {sum}, which is above 1; divide each by their sum"
            ));
        }
    }
}

/// All entries, or none if one of them is missing.
fn all<T>(read: Vec<Option<T>>) -> Option<Vec<T>> {
    read.into_iter().collect()
}

/// A value as text short enough for a message.
pub fn short(value: &Value) -> String {
    let text = value.to_string();
    if text.chars().count() <= 40 { text } else { text.chars().take(37).chain("...".chars()).collect() }
}

/// The name nearest to `wrong` by single-letter changes; ties go to the first.
pub fn nearest<'n>(wrong: &str, names: impl Iterator<Item = &'n str>) -> &'n str {
    names.min_by_key(|name| changes(&wrong.to_lowercase(), name)).unwrap_or("")
}

/// Letters to change, add or drop to come from one word to the other.
fn changes(from: &str, to: &str) -> usize {
    // A key longer than any name is far from all of them alike: its beginning decides.
    let from: Vec<char> = from.chars().take(64).collect();
    let mut row: Vec<usize> = (0..=from.len()).collect();
    for (j, letter) in to.chars().enumerate() {
        let mut before = row[0];
        row[0] = j + 1;
        for i in 0..from.len() {
            let kept = before + usize::from(from[i] != letter);
            before = row[i + 1];
            row[i + 1] = kept.min(row[i] + 1).min(before + 1);
        }
    }
    row[from.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_name_is_found() {
        let names = ["depth_m", "surface_mps", "sink_mps"];
        for (wrong, near) in [("depth", "depth_m"), ("surface", "surface_mps"), ("sinking_mps", "sink_mps")] {
            assert_eq!(nearest(wrong, names.into_iter()), near);
        }
        assert_eq!(changes("kitten", "sitting"), 3);
        assert_eq!(nearest(&"x".repeat(1_000_000), names.into_iter()), "depth_m");
    }

    #[test]
    fn long_values_are_cut_by_letters_not_bytes() {
        assert!(short(&json!("ä".repeat(100))).chars().count() == 40);
    }
}
