//! Points with depths: CSV, XYZ and GeoJSON, read row by row; a row that cannot be read is said and left out.

use crate::formats::features::{self, Position};
use crate::formats::words::{choose, list, short};
use std::borrow::Cow;

/// One row as written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// Line, or feature of a GeoJSON file, from 1.
    pub line: usize,
    /// Longitude, or easting in the file's coordinates.
    pub x: f64,
    /// Latitude, or northing.
    pub y: f64,
    /// Depth or height, as the file has it.
    pub value: f64,
    /// Whether the value is named as a depth below the water, whatever the file's other values are.
    pub is_depth: bool,
}

/// Something wrong with a row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Line, or feature, from 1.
    pub line: usize,
    /// What, lower case.
    pub what: String,
    /// The way out.
    pub remedy: String,
}

/// All rows of a file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rows {
    /// Rows that could be read.
    pub rows: Vec<Row>,
    /// Newest date in the file, empty if none.
    pub newest: String,
    /// The first twenty rows that could not be read.
    pub faults: Vec<Fault>,
    /// How many could not be read.
    pub fault_count: usize,
    /// What keeps the file from being read at all.
    pub refused: Option<Fault>,
    /// Name of the column of depths in the header of a table, lower case; empty where there is none.
    pub value_name: String,
}

impl Rows {
    fn refuse(line: usize, what: impl Into<String>, remedy: impl Into<String>) -> Rows {
        let fault = Fault { line, what: what.into(), remedy: remedy.into() };
        Rows { refused: Some(fault), ..Rows::default() }
    }

    fn fault(&mut self, line: usize, what: String, remedy: &str) {
        self.fault_count += 1;
        if self.faults.len() < 20 {
            self.faults.push(Fault { line, what, remedy: remedy.to_string() });
        }
    }
}

/// Names of the columns of a CSV file; an empty name is looked for among the usual ones.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Columns {
    /// Longitude or easting.
    pub x: String,
    /// Latitude or northing.
    pub y: String,
    /// Depth or height.
    pub value: String,
    /// Date of the sounding.
    pub date: String,
}

/// Usual names of a column, the documented one first.
const X_NAMES: [&str; 6] = ["lon", "longitude", "lng", "x", "easting", "east"];
const Y_NAMES: [&str; 5] = ["lat", "latitude", "y", "northing", "north"];
const VALUE_NAMES: [&str; 8] =
    ["depth_m", "depth", "z", "value", "level_m", "level", "elevation_m", "elevation"];
const DATE_NAMES: [&str; 2] = ["date", "day"];

/// Whether a text is a date of the calendar, `YYYY-MM-DD`.
pub fn is_date(text: &str) -> bool {
    text.len() == 10 && text.parse::<jiff::civil::Date>().is_ok()
}

/// A text whose lines end as on very old machines, with the usual ends in their place; any other as it is.
fn old_ends(text: &str) -> Cow<'_, str> {
    if text.contains('\r') && !text.contains('\n') {
        Cow::Owned(text.replace('\r', "\n"))
    } else {
        Cow::Borrowed(text)
    }
}

/// The day of a date with a time behind it, `2026-07-08T09:30:00Z`; any other text as it is.
fn day_of(text: &str) -> &str {
    match (text.get(..10), text.as_bytes().get(10)) {
        (Some(day), Some(b'T' | b' ')) => day,
        _ => text,
    }
}

/// A finite number, or why it is none.
fn number(text: &str) -> Result<f64, (String, &'static str)> {
    let text = text.trim();
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(value),
        _ if text.is_empty() => Err(("an empty field".into(), "fill it in or take the row out")),
        _ if text.contains(',') && text.replacen(',', ".", 1).parse::<f64>().is_ok() => Err((
            format!("\"{}\" has a decimal comma", short(text)),
            "write decimal points: export the table again with the point as decimal mark",
        )),
        _ => Err((
            format!("\"{}\" is not a number", short(text)),
            "write a plain number in metres or degrees, or take the row out",
        )),
    }
}

/// Where the wanted columns stand.
struct Where {
    x: usize,
    y: usize,
    value: usize,
    date: Option<usize>,
}

fn find_columns(header: &[String], columns: &Columns) -> Result<Where, (String, String)> {
    let place = |named: &str, usual: &[&str], role: &str| -> Result<usize, (String, String)> {
        let names: Vec<&str> = if named.is_empty() { usual.to_vec() } else { vec![named] };
        let hits: Vec<usize> =
            (0..header.len()).filter(|c| names.iter().any(|n| header[*c].eq_ignore_ascii_case(n))).collect();
        match hits.as_slice() {
            [one] => Ok(*one),
            [] => {
                let headers: Vec<&str> = header.iter().map(String::as_str).collect();
                let remedy = format!(
                    "name it \"{}\", or say in site.toml which it is: columns = {{ {role} = \"...\" }}; {}",
                    names[0],
                    choose(names[0], &headers)
                );
                Err((format!("no column \"{}\" in the header", short(names[0])), remedy))
            }
            several => Err((
                format!(
                    "columns {} could all be the {role}",
                    list(several.iter().map(|c| header[*c].clone()))
                ),
                format!("say in site.toml which it is: columns = {{ {role} = \"...\" }}"),
            )),
        }
    };
    let date = match place(&columns.date, &DATE_NAMES, "date") {
        Ok(column) => Some(column),
        Err(_) if columns.date.is_empty() => None,
        Err(problem) => return Err(problem),
    };
    Ok(Where {
        x: place(&columns.x, &X_NAMES, "x")?,
        y: place(&columns.y, &Y_NAMES, "y")?,
        value: place(&columns.value, &VALUE_NAMES, "value")?,
        date,
    })
}

/// Reads a table with a header line, parted by comma, semicolon or tab; `#` starts a comment line.
///
/// # Inputs
/// - `text`: the file
/// - `columns`: names of the columns, where they are not the usual ones
///
/// # Gives
/// All rows that could be read, and what is wrong with the others.
pub fn csv(text: &str, columns: &Columns) -> Rows {
    let text = &*old_ends(text);
    let first = text.lines().find(|l| !l.trim().is_empty() && !l.starts_with('#')).unwrap_or("");
    let count = |mark: u8| first.bytes().filter(|b| *b == mark).count();
    // The semicolon is asked first: tables with decimal commas are parted by it.
    let mark = [b';', b'\t', b','].into_iter().max_by_key(|m| (count(*m), *m == b';')).unwrap_or(b',');
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(mark)
        .flexible(true)
        .has_headers(false)
        .comment(Some(b'#'))
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let mut record = csv::StringRecord::new();
    if !matches!(reader.read_record(&mut record), Ok(true)) {
        return Rows::refuse(1, "has no header line", "begin with a line such as lon,lat,depth_m");
    }
    let header: Vec<String> = record.iter().map(str::to_string).collect();
    if header.iter().all(|field| number(field).is_ok()) {
        return Rows::refuse(1, "begins with numbers, not with a header line", "put lon,lat,depth_m on top");
    }
    let at = match find_columns(&header, columns) {
        Ok(at) => at,
        Err((what, remedy)) => return Rows::refuse(1, what, remedy),
    };
    let mut out = Rows { value_name: header[at.value].to_ascii_lowercase(), ..Rows::default() };
    let mut lines = Lines::of(text);
    loop {
        match reader.read_record(&mut record) {
            Ok(true) => {}
            Ok(false) => break,
            Err(error) => {
                out.fault(0, format!("cannot be read: {error}"), "mend the quotes of the table");
                break;
            }
        }
        let line = record.position().map_or(0, |p| lines.at(p.byte() as usize));
        take_record(&record, line, (&at, header.len()), &mut out);
    }
    out
}

/// Counts lines up to where a record of a table begins: the reader's own count is one behind where lines end in two
/// marks, and does not pass over blank and comment lines.
struct Lines<'a> {
    bytes: &'a [u8],
    at: usize,
    line: usize,
}

impl Lines<'_> {
    fn of(text: &str) -> Lines<'_> {
        Lines { bytes: text.as_bytes(), at: 0, line: 1 }
    }

    /// The line, from 1, of the record that begins at or after a byte; bytes are asked for in rising order.
    fn at(&mut self, byte: usize) -> usize {
        while self.at < byte.min(self.bytes.len()) {
            self.step();
        }
        let mut comment = false;
        while let Some(&b) = self.bytes.get(self.at) {
            comment |= b == b'#';
            if !comment && !b.is_ascii_whitespace() {
                break;
            }
            comment &= !matches!(b, b'\n' | b'\r');
            self.step();
        }
        self.line
    }

    fn step(&mut self) {
        let next = self.bytes.get(self.at + 1);
        match self.bytes[self.at] {
            b'\n' => self.line += 1,
            b'\r' if next != Some(&b'\n') => self.line += 1,
            _ => {}
        }
        self.at += 1;
    }
}

fn take_record(record: &csv::StringRecord, line: usize, (at, width): (&Where, usize), out: &mut Rows) {
    if record.len() != width {
        let what = format!("has {} fields, the header has {width}", record.len());
        out.fault(line, what, "mend the row; fields with decimal commas must be written with points");
        return;
    }
    let mut values = [0.0; 3];
    for (value, column) in values.iter_mut().zip([at.x, at.y, at.value]) {
        match number(&record[column]) {
            Ok(number) => *value = number,
            Err((what, remedy)) => return out.fault(line, what, remedy),
        }
    }
    if let Some(date) = at.date.map(|column| day_of(&record[column])).filter(|date| !date.is_empty()) {
        if !is_date(date) {
            let what = format!("\"{}\" is not a date", short(date));
            return out.fault(line, what, "write dates as YYYY-MM-DD");
        }
        if *date > *out.newest {
            out.newest = date.to_string();
        }
    }
    out.rows.push(Row { line, x: values[0], y: values[1], value: values[2], is_depth: false });
}

/// Reads rows of three numbers with blanks between them; a first line of words is passed over, `#` starts a comment.
pub fn xyz(text: &str) -> Rows {
    let text = &*old_ends(text);
    let mut out = Rows::default();
    let mut first = true;
    for (n, line) in text.lines().enumerate() {
        let line = line.split('#').next().unwrap_or("").trim();
        if line.is_empty() {
            continue;
        }
        let mut fields = line.split_whitespace();
        let mut values = [0.0; 3];
        let mut wrong = None;
        for value in &mut values {
            match fields.next().map(number) {
                Some(Ok(number)) => *value = number,
                Some(Err(why)) => wrong = wrong.or(Some(why)),
                None => {
                    wrong = wrong.or(Some((
                        format!("\"{}\" has fewer than three numbers", short(line)),
                        "write x y depth with blanks between; a table with commas is format = \"csv\"",
                    )))
                }
            }
        }
        if wrong.is_none() && fields.next().is_some() {
            wrong = Some((
                format!("\"{}\" has more than three numbers", short(line)),
                "keep x, y and depth only; a table with more columns is format = \"csv\"",
            ));
        }
        match wrong {
            None => {
                let [x, y, value] = values;
                out.rows.push(Row { line: n + 1, x, y, value, is_depth: false });
            }
            // Words without any digit on the first line are a heading.
            Some(_) if first && !line.bytes().any(|b| b.is_ascii_digit()) => {}
            Some((what, remedy)) => out.fault(n + 1, what, remedy),
        }
        first = false;
    }
    out
}

/// Reads points of a GeoJSON file: depth from the property `depth_m`, else from the third coordinate (height, negative down).
pub fn geojson(text: &str) -> Rows {
    let collection = match features::collection(text) {
        Ok(collection) => collection,
        Err(why) => return Rows::refuse(why.line.unwrap_or(1), why.what, why.remedy),
    };
    let mut out = Rows::default();
    for (n, feature) in collection.iter().enumerate() {
        let depth = feature.pointer("/properties/depth_m");
        if let Some(date) = feature.pointer("/properties/date").and_then(|d| d.as_str()).map(day_of) {
            if !is_date(date) {
                let what = format!("\"{}\" is not a date", short(date));
                out.fault(n + 1, what, "write dates as YYYY-MM-DD");
                continue;
            }
            if *date > *out.newest {
                out.newest = date.to_string();
            }
        }
        match features::points(feature) {
            Ok(points) => {
                for Position { lon, lat, height } in points {
                    let given = match depth {
                        Some(value) => value.as_f64().map(|v| (v, true)),
                        None => height.map(|v| (v, false)),
                    };
                    match given {
                        Some((value, is_depth)) => {
                            out.rows.push(Row { line: n + 1, x: lon, y: lat, value, is_depth })
                        }
                        None => out.fault(
                            n + 1,
                            "has neither a number depth_m nor a third coordinate".into(),
                            "give every point a property depth_m",
                        ),
                    }
                }
            }
            Err((what, remedy)) => out.fault(n + 1, what, &remedy),
        }
    }
    out
}

#[cfg(test)]
mod tests;
