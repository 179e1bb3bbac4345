//! What a model of the hand calculator is made of.

use super::Form;
use measure::Standing;
use serde_json::{Map, Value};

/// The word for a formula that follows from its own statement.
pub const DERIVED: &str = "derived here";

/// One model.
pub struct Model {
    /// Name on the command line.
    pub name: &'static str,
    /// What it gives, in one line.
    pub summary: &'static str,
    /// Page `docs/models/PAGE.md` with a section of the model's name.
    pub page: &'static str,
    /// What it takes.
    pub inputs: &'static [Input],
    /// Register parameters that its own code reads, beside the defaults of its inputs.
    pub constants: &'static [&'static str],
    /// What it gives: name and unit.
    pub results: &'static [(&'static str, &'static str)],
    /// How well the formula is known.
    pub basis: Basis,
    /// Source ids in data/sources.toml.
    pub sources: &'static [&'static str],
    /// A worked example.
    pub example: &'static str,
    /// From checked inputs to results; `None` after saying why.
    pub evaluate: fn(&mut Form) -> Option<Answer>,
}

/// How well a formula is known.
#[derive(Clone, Copy, Debug)]
pub enum Basis {
    /// It follows from the assumptions on its page.
    Derived,
    /// It is known as well as this.
    Known(Standing),
}

/// One input of a model.
#[derive(Clone, Copy, Debug)]
pub struct Input {
    /// Key in the JSON object.
    pub name: &'static str,
    /// What is written there.
    pub shape: Shape,
    /// What each number may be.
    pub range: Range,
    /// Unit.
    pub unit: &'static str,
    /// What stands for it when it is not given.
    pub fallback: Fallback,
    /// What it is.
    pub what: &'static str,
}

/// What is written for an input.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// A number.
    Number,
    /// A whole number.
    Whole,
    /// A list of numbers.
    Numbers,
    /// A list of whole numbers.
    Wholes,
    /// A list of lists of numbers.
    Rows,
    /// Two numbers.
    Pair,
    /// A list of pairs.
    Pairs,
    /// A number, or two.
    NumberOrPair,
    /// A list of float runs `{"from": [e, n], "to": [e, n], "seconds": s}`.
    Runs,
    /// A searcher-path instance: the whole object, in any of its forms.
    Instance,
    /// A moment with its offset from UTC.
    Time,
    /// One of these words.
    Word(&'static [&'static str]),
}

impl Shape {
    /// The shape in words.
    pub fn words(self) -> &'static str {
        match self {
            Shape::Number => "a number",
            Shape::Whole => "a whole number",
            Shape::Numbers => "a list of numbers",
            Shape::Wholes => "a list of whole numbers",
            Shape::Rows => "a list of lists of numbers",
            Shape::Pair => "two numbers [a, b]",
            Shape::Pairs => "a list of pairs [a, b]",
            Shape::NumberOrPair => "a number, or two [a, b]",
            Shape::Runs => "a list of runs {\"from\": [e, n], \"to\": [e, n], \"seconds\": s}",
            Shape::Instance => "the whole object",
            Shape::Time => "a moment in quotes such as \"2026-07-08T18:30:00+01:00\"",
            Shape::Word(_) => "a word in quotes",
        }
    }
}

/// What stands for an input that is not given.
#[derive(Clone, Copy, Debug)]
pub enum Fallback {
    /// Nothing: it must be given.
    Required,
    /// Nothing: the model does without, or has another way.
    Optional,
    /// The register's parameter of that name.
    Register(&'static str),
    /// This value.
    Value(f64),
}

/// Limits of a number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
    /// Whether the lower limit itself is refused.
    pub low_open: bool,
    /// Whether the upper limit itself is refused.
    pub high_open: bool,
}

impl Range {
    /// Any finite number.
    pub const ANY: Range = Range::closed(f64::NEG_INFINITY, f64::INFINITY);
    /// Zero or more.
    pub const FROM_0: Range = Range::closed(0.0, f64::INFINITY);
    /// More than zero.
    pub const ABOVE_0: Range = Range { low_open: true, ..Range::FROM_0 };
    /// A share, 0 to 1.
    pub const SHARE: Range = Range::closed(0.0, 1.0);
    /// A bearing, 0 to 360 degrees.
    pub const BEARING: Range = Range::closed(0.0, 360.0);

    /// From `low` to `high`, both allowed.
    pub const fn closed(low: f64, high: f64) -> Range {
        Range { low, high, low_open: false, high_open: false }
    }

    /// Whether a number is within.
    pub fn holds(&self, x: f64) -> bool {
        let above = if self.low_open { x > self.low } else { x >= self.low };
        let below = if self.high_open { x < self.high } else { x <= self.high };
        x.is_finite() && above && below
    }

    /// The range in words; empty for any number.
    pub fn words(&self) -> String {
        let low = match (self.low.is_finite(), self.low_open) {
            (false, _) => String::new(),
            (true, true) => format!("above {}", self.low),
            (true, false) => format!("at least {}", self.low),
        };
        let high = match (self.high.is_finite(), self.high_open) {
            (false, _) => String::new(),
            (true, true) => format!("below {}", self.high),
            (true, false) => format!("at most {}", self.high),
        };
        if low.is_empty() || high.is_empty() { low + &high } else { format!("{low} and {high}") }
    }
}

impl Input {
    /// An input that must be given.
    pub const fn new(
        name: &'static str,
        shape: Shape,
        range: Range,
        unit: &'static str,
        what: &'static str,
    ) -> Self {
        Input { name, shape, range, unit, fallback: Fallback::Required, what }
    }

    /// A number that must be given.
    pub const fn number(name: &'static str, range: Range, unit: &'static str, what: &'static str) -> Self {
        Input::new(name, Shape::Number, range, unit, what)
    }

    /// A list of numbers that must be given.
    pub const fn numbers(name: &'static str, range: Range, unit: &'static str, what: &'static str) -> Self {
        Input::new(name, Shape::Numbers, range, unit, what)
    }

    /// The same input, falling back on the register.
    pub const fn or(self, parameter: &'static str) -> Self {
        Input { fallback: Fallback::Register(parameter), ..self }
    }

    /// The same input, falling back on a value.
    pub const fn or_value(self, value: f64) -> Self {
        Input { fallback: Fallback::Value(value), ..self }
    }

    /// The same input, which may be left out.
    pub const fn optional(self) -> Self {
        Input { fallback: Fallback::Optional, ..self }
    }
}

/// Results of one evaluation.
#[derive(Debug, Default)]
pub struct Answer {
    /// Results by name.
    pub results: Map<String, Value>,
    /// What must be said beside them, lower case.
    pub notes: Vec<String>,
    beyond: Vec<String>,
}

impl Answer {
    /// No results yet.
    pub fn new() -> Self {
        Answer::default()
    }

    /// With a number.
    pub fn with(mut self, name: &str, x: f64) -> Self {
        let value = self.number(name, x);
        self.results.insert(name.into(), value);
        self
    }

    /// With a list of numbers.
    pub fn with_list(mut self, name: &str, list: &[f64]) -> Self {
        let values = list.iter().map(|x| self.number(name, *x)).collect();
        self.results.insert(name.into(), Value::Array(values));
        self
    }

    /// With any other value, or null where there is none.
    pub fn with_value(mut self, name: &str, value: Value) -> Self {
        self.results.insert(name.into(), value);
        self
    }

    /// With something to be said beside the results.
    pub fn with_note(mut self, note: impl Into<String>) -> Self {
        self.notes.push(note.into());
        self
    }

    /// Names of results that are no finite numbers.
    pub fn beyond(&self) -> Vec<String> {
        self.beyond.clone()
    }

    fn number(&mut self, name: &str, x: f64) -> Value {
        if !x.is_finite() && !self.beyond.iter().any(|n| n == name) {
            self.beyond.push(name.into());
        }
        // Adding zero turns −0 into 0, which nobody wants to read.
        Value::from(x + 0.0)
    }
}
