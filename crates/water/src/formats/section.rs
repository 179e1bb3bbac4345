//! A table of a TOML file, read key by key, with every wrong key, kind and range said at its line.

use crate::formats::text::line_of;
use crate::formats::words::{choose, short};
use crate::problem::{At, Report};
use std::collections::BTreeSet;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// The codes one file uses for what can be wrong with any key.
#[derive(Clone, Copy)]
pub struct Codes {
    /// Not TOML.
    pub syntax: &'static str,
    /// A key nobody reads.
    pub unknown: &'static str,
    /// Text where a number belongs and the like.
    pub kind: &'static str,
    /// A key that must be there is not.
    pub missing: &'static str,
    /// A value outside its range, or a word that is not valid.
    pub range: &'static str,
}

/// The least and the greatest a number may be.
#[derive(Clone, Copy)]
pub struct Range {
    pub low: f64,
    pub high: f64,
    pub unit: &'static str,
}

impl Range {
    /// From `low` to `high`, both allowed.
    pub const fn new(low: f64, high: f64, unit: &'static str) -> Range {
        Range { low, high, unit }
    }
}

/// The whole file; syntax errors are reported, and what could be read is given all the same.
pub fn parse<'t>(text: &'t str, codes: Codes, report: &mut Report) -> Spanned<DeTable<'t>> {
    let (table, errors) = DeTable::parse_recoverable(text);
    for error in errors.iter().take(20) {
        let at = error.span().map_or_else(At::file, |span| At::line(line_of(text, span.start)));
        let what = format!("is not TOML here: {}", error.message().replace('\n', ", "));
        report.fatal(codes.syntax, at, what, "mend the line: key = value, texts in \"quotes\"");
    }
    table
}

/// One table and which of its keys were asked for.
pub struct Section<'t> {
    text: &'t str,
    codes: Codes,
    name: String,
    line: usize,
    table: &'t DeTable<'t>,
    known: BTreeSet<&'static str>,
}

impl<'t> Section<'t> {
    /// The top table of a file.
    pub fn top(text: &'t str, codes: Codes, table: &'t DeTable<'t>) -> Self {
        Section { text, codes, name: String::new(), line: 1, table, known: BTreeSet::new() }
    }

    /// Where this table starts.
    pub fn at(&self) -> At {
        if self.name.is_empty() { At::file() } else { At::both(self.line, self.name.clone()) }
    }

    /// Calls the table by a better name in problems, once that is known.
    pub fn call(&mut self, name: String) {
        self.name = name;
    }

    /// Where a key of this table stands.
    pub fn at_key(&self, key: &str) -> At {
        let line = self
            .table
            .iter()
            .find(|(k, _)| k.get_ref().as_ref() == key)
            .map_or(self.line, |(k, _)| line_of(self.text, k.span().start));
        At::both(line, self.dotted(key))
    }

    fn dotted(&self, key: &str) -> String {
        if self.name.is_empty() { key.to_string() } else { format!("{}, {key}", self.name) }
    }

    /// Whether a key is written, without reading it.
    pub fn has(&self, key: &str) -> bool {
        self.table.iter().any(|(k, _)| k.get_ref().as_ref() == key)
    }

    /// The value as it stands.
    pub fn get(&mut self, key: &'static str) -> Option<&'t Spanned<DeValue<'t>>> {
        self.known.insert(key);
        self.table.iter().find(|(k, _)| k.get_ref().as_ref() == key).map(|(_, value)| value)
    }

    /// Says that a key must be there.
    pub fn missing(&self, key: &str, remedy: &str, report: &mut Report) {
        let what = format!("\"{key}\" is missing");
        report.fatal(self.codes.missing, self.at(), what, remedy);
    }

    /// Says that a key has the wrong kind of value.
    pub fn wrong_kind(&self, key: &str, wanted: &str, report: &mut Report) {
        let found = self
            .table
            .iter()
            .find(|(k, _)| k.get_ref().as_ref() == key)
            .map_or("nothing", |(_, value)| value.get_ref().type_str());
        let what = format!("\"{key}\" is {found} and must be {wanted}");
        report.fatal(self.codes.kind, self.at_key(key), what, format!("write {key} as {wanted}"));
    }

    /// A text.
    pub fn string(&mut self, key: &'static str, report: &mut Report) -> Option<String> {
        match self.get(key)?.get_ref() {
            DeValue::String(text) => Some(text.trim().to_string()),
            DeValue::Datetime(date) => Some(date.to_string()),
            _ => {
                self.wrong_kind(key, "a text in quotes", report);
                None
            }
        }
    }

    /// Yes or no.
    pub fn flag(&mut self, key: &'static str, report: &mut Report) -> Option<bool> {
        let value = self.get(key)?.get_ref().as_bool();
        if value.is_none() {
            self.wrong_kind(key, "true or false", report);
        }
        value
    }

    /// A finite number within its range.
    pub fn number(&mut self, key: &'static str, range: Range, report: &mut Report) -> Option<f64> {
        let Some(value) = number_of(self.get(key)?.get_ref()) else {
            self.wrong_kind(key, "a number without quotes", report);
            return None;
        };
        if value.is_finite() && value >= range.low && value <= range.high {
            return Some(value);
        }
        let Range { low, high, unit } = range;
        report.fatal(
            self.codes.range,
            self.at_key(key),
            format!("{key} is {value} and must lie from {low} to {high} {unit}"),
            format!("write it in {unit}, measured; leave the line out if it is not known"),
        );
        None
    }

    /// A whole number from 0 to `high`.
    pub fn count(&mut self, key: &'static str, high: u32, report: &mut Report) -> Option<u32> {
        let value = self.number(key, Range::new(0.0, f64::from(high), "pieces"), report)?;
        if value.fract() == 0.0 {
            return Some(value as u32);
        }
        self.wrong_kind(key, "a whole number", report);
        None
    }

    /// One word of a fixed set.
    pub fn word<T: Copy>(
        &mut self,
        key: &'static str,
        valid: &[(&'static str, T)],
        report: &mut Report,
    ) -> Option<T> {
        let given = self.string(key, report)?;
        let found = valid.iter().find(|(word, _)| word.eq_ignore_ascii_case(&given));
        if found.is_none() {
            let words: Vec<&str> = valid.iter().map(|(word, _)| *word).collect();
            let what = format!("{key} is \"{}\", which is not known", short(&given));
            report.fatal(self.codes.range, self.at_key(key), what, choose(&given, &words));
        }
        found.map(|(_, value)| *value)
    }

    /// A table inside this one.
    pub fn table(&mut self, key: &'static str, report: &mut Report) -> Option<Section<'t>> {
        let value = self.get(key)?;
        let Some(table) = value.get_ref().as_table() else {
            self.wrong_kind(key, "a table", report);
            return None;
        };
        Some(self.inner(table, self.dotted(key), value.span().start))
    }

    /// The tables of a list `[[key]]`.
    pub fn tables(&mut self, key: &'static str, report: &mut Report) -> Vec<Section<'t>> {
        let Some(value) = self.get(key) else { return Vec::new() };
        let items = value.get_ref().as_array();
        let tables: Option<Vec<_>> = items.and_then(|items| {
            let table = |item: &'t Spanned<DeValue<'t>>| Some((item.get_ref().as_table()?, item.span()));
            items.iter().map(table).collect()
        });
        let Some(tables) = tables else {
            self.wrong_kind(key, &format!("a list of tables [[{key}]]"), report);
            return Vec::new();
        };
        let named = |(n, (table, span)): (usize, (&'t DeTable<'t>, std::ops::Range<usize>))| {
            self.inner(table, format!("{} {}", self.dotted(key), n + 1), span.start)
        };
        tables.into_iter().enumerate().map(named).collect()
    }

    fn inner(&self, table: &'t DeTable<'t>, name: String, offset: usize) -> Section<'t> {
        let line = line_of(self.text, offset);
        Section { text: self.text, codes: self.codes, name, line, table, known: BTreeSet::new() }
    }

    /// All keys with text values, for tables whose keys are the site's own words.
    pub fn own_words(&self, report: &mut Report) -> Vec<(String, String)> {
        let mut found = Vec::new();
        for (key, value) in self.table {
            match value.get_ref() {
                DeValue::String(text) => found.push((key.get_ref().to_string(), text.trim().to_string())),
                _ => self.wrong_kind(key.get_ref(), "a text in quotes", report),
            }
        }
        found
    }

    /// Says which keys nobody asked for, each with the nearest valid one.
    pub fn finish(self, report: &mut Report) {
        let valid: Vec<&str> = self.known.iter().copied().collect();
        for (key, _) in self.table {
            let key = key.get_ref().as_ref();
            if !self.known.contains(key) {
                let what = format!("key \"{}\" is not known here", short(key));
                report.fatal(self.codes.unknown, self.at_key(key), what, choose(key, &valid));
            }
        }
    }
}

/// A number, whole or not; `None` for anything else.
pub fn number_of(value: &DeValue) -> Option<f64> {
    match value {
        DeValue::Float(float) => float.as_str().parse().ok(),
        DeValue::Integer(whole) if whole.radix() == 10 => whole.as_str().parse().ok(),
        DeValue::Integer(whole) => i64::from_str_radix(whole.as_str(), whole.radix()).ok().map(|n| n as f64),
        _ => None,
    }
}

/// A pair of finite numbers `[a, b]`.
pub fn pair_of(value: &DeValue) -> Option<(f64, f64)> {
    let items = value.as_array()?;
    let mut numbers = items.iter().map(|item| number_of(item.get_ref()).filter(|n| n.is_finite()));
    let pair = (numbers.next()??, numbers.next()??);
    (items.len() == 2).then_some(pair)
}
