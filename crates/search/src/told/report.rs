//! Reports from the water, one JSON object a line.

use super::Fields;
use super::seen::{self, sighting};
use super::times::{clock_gap_s, clock_s};
use crate::Sighting;
use measure::parameters::value;
use water::{Member, Place, Problem, Site};

/// What a report says.
#[derive(Clone, Debug, PartialEq)]
pub enum Happening {
    /// The lane of an order was searched to its end and nobody was found.
    LaneWalked {
        /// Order number.
        order: usize,
    },
    /// One dive of a line is over.
    DiveMade {
        /// Order number.
        order: usize,
        /// Heads counted at the surface; `None` when the count was not told with it.
        up: Option<usize>,
    },
    /// A lane ended early.
    StoppedHere {
        /// Order number.
        order: usize,
        /// Metres searched from its start; `None`: what was reported dive by dive, or by the clock.
        metres: Option<f64>,
    },
    /// Something was felt or seen, and looked at: not the person.
    Contact {
        /// Order number, if it belongs to one.
        order: Option<usize>,
        /// What it was.
        note: String,
    },
    /// Gate, changing rooms and shore were checked and nobody was there.
    ShoreChecked,
    /// The surface was looked over and nobody was there.
    SurfaceLooked,
    /// A sighting, new or corrected.
    Witness(Sighting),
    /// People joined the crew.
    PeopleCame(Vec<Newcomer>),
    /// People dropped out.
    PeopleLeft(Vec<String>),
    /// Everybody out of the water.
    AllOut {
        /// Why, as told.
        reason: String,
    },
    /// The search goes on.
    BackIn,
    /// The person was found.
    Found,
}

/// Somebody who joined.
#[derive(Clone, Debug, PartialEq)]
pub struct Newcomer {
    /// As a member of the crew.
    pub member: Member,
    /// Where they came from, if a mark was named.
    pub at: Option<String>,
}

/// One report.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    /// When it happened \[s since the alarm\].
    pub at_s: f64,
    /// What.
    pub happening: Happening,
    /// Line in the file, for words.
    pub line: usize,
}

const COMMON: [&str; 2] = ["at", "report"];

/// Reads a file of reports; times as `"at": "14:36:10"`, never decreasing.
///
/// # Inputs
/// - `file`: name for problems · `text` · `site` · `alarm_clock_s`: time of day of the alarm
///
/// # Gives
/// The reports in order, or every problem at once.
pub fn reports(file: &str, text: &str, site: &Site, alarm_clock_s: f64) -> Result<Vec<Report>, Vec<Problem>> {
    let mut all = Vec::new();
    let mut problems = Vec::new();
    let mut last_s = f64::NEG_INFINITY;
    for (index, line) in text.trim_start_matches('\u{feff}').lines().enumerate() {
        if line.trim().is_empty() {
            continue;
        }
        let place = Place { file: file.into(), line: Some(index + 1), item: None };
        match one(line, site, alarm_clock_s, place.clone()) {
            Ok(mut report) => {
                report.line = index + 1;
                if report.at_s < last_s {
                    let what = "this report happened before the one above it".into();
                    let remedy = "put the lines in the order of their times".into();
                    problems.push(Problem { code: "A130".into(), fatal: true, place, what, remedy });
                }
                last_s = last_s.max(report.at_s);
                all.push(report);
            }
            Err(more) => problems.extend(more),
        }
    }
    if problems.is_empty() { Ok(all) } else { Err(problems) }
}

fn one(line: &str, site: &Site, alarm_clock_s: f64, place: Place) -> Result<Report, Vec<Problem>> {
    let refuse = |what: String, remedy: &str| {
        vec![Problem { code: "A131".into(), fatal: true, place: place.clone(), what, remedy: remedy.into() }]
    };
    let object = match serde_json::from_str::<serde_json::Value>(line) {
        Ok(serde_json::Value::Object(object)) => object,
        Ok(other) => {
            return Err(refuse(
                format!("{other} is not an object"),
                "write one {\"at\":…, \"report\":…} a line",
            ));
        }
        Err(error) => return Err(refuse(format!("not JSON: {error}"), "write one JSON object a line")),
    };
    let word = |key: &str| object.get(key).and_then(|value| value.as_str()).map(str::to_owned);
    let Some(at_s) =
        word("at").and_then(|text| clock_s(&text)).map(|clock| clock_gap_s(alarm_clock_s, clock))
    else {
        return Err(refuse("no time of day under \"at\"".into(), "add \"at\": \"14:36:10\""));
    };
    if at_s < 0.0 {
        return Err(refuse(
            "it happened before the alarm".into(),
            "check the time, or the time of the alarm",
        ));
    }
    let kind = word("report").unwrap_or_default();
    let Some(keys) = keys_of(&kind) else {
        let known: Vec<&str> = KINDS.iter().map(|(name, _)| *name).collect();
        return Err(refuse(
            format!("report {kind:?} is not known"),
            &format!("use one of: {}", known.join(", ")),
        ));
    };
    let known: Vec<&str> = if kind == "witness" {
        COMMON.iter().chain(&seen::KEYS).chain(&seen::FLAGS).chain(&["seen_at"]).copied().collect()
    } else {
        COMMON.iter().chain(keys).copied().collect()
    };
    let mut rest = object.clone();
    let people = if kind == "people came" { rest.remove("people") } else { None };
    if kind == "witness" {
        rest.remove("at");
        rest.remove("report");
        if let Some(seen_at) = rest.remove("seen_at") {
            rest.insert("at".into(), seen_at);
        }
    }
    let fields = Fields::object(&rest, &known, place);
    let happening = happening(&kind, fields, people, (site, at_s, alarm_clock_s))?;
    Ok(Report { at_s, happening, line: 0 })
}

const KINDS: [(&str, &[&str]); 12] = [
    ("lane walked", &["order"]),
    ("dive made", &["order", "up"]),
    ("stopped here", &["order", "metres"]),
    ("contact", &["order", "note"]),
    ("shore checked", &[]),
    ("surface looked", &[]),
    ("witness", &[]),
    ("people came", &["people"]),
    ("people left", &["names"]),
    ("all out", &["reason"]),
    ("back in", &[]),
    ("found", &[]),
];

fn keys_of(kind: &str) -> Option<&'static [&'static str]> {
    KINDS.iter().find(|(name, _)| *name == kind).map(|(_, keys)| *keys)
}

fn happening(
    kind: &str,
    mut fields: Fields,
    people: Option<serde_json::Value>,
    (site, at_s, alarm_clock_s): (&Site, f64, f64),
) -> Result<Happening, Vec<Problem>> {
    let order = |fields: &mut Fields| {
        let number = fields.count("order", 1.0, 100_000.0);
        if number.is_none() && fields.problems.is_empty() {
            fields.refuse("A132", "it names no order".into(), "add \"order\": and the number on the order");
        }
        number.unwrap_or(1)
    };
    let told = match kind {
        "lane walked" => Happening::LaneWalked { order: order(&mut fields) },
        "dive made" => {
            let order = order(&mut fields);
            Happening::DiveMade { order, up: fields.count("up", 0.0, 200.0) }
        }
        "stopped here" => {
            let order = order(&mut fields);
            Happening::StoppedHere { order, metres: fields.number("metres", "m", 0.0, 10_000.0) }
        }
        "contact" => {
            let order = fields.count("order", 1.0, 100_000.0);
            Happening::Contact { order, note: fields.text("note").unwrap_or_default() }
        }
        "shore checked" => Happening::ShoreChecked,
        "surface looked" => Happening::SurfaceLooked,
        "witness" => return sighting(fields, site, at_s, alarm_clock_s).map(Happening::Witness),
        "people came" => Happening::PeopleCame(newcomers(&mut fields, people)),
        "people left" => Happening::PeopleLeft(fields.names("names")),
        "all out" => Happening::AllOut { reason: fields.text("reason").unwrap_or_default() },
        "back in" => Happening::BackIn,
        _ => Happening::Found,
    };
    if fields.problems.is_empty() { Ok(told) } else { Err(fields.problems) }
}

/// One entry of the list, as written.
#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Told {
    name: String,
    height_m: Option<f64>,
    #[serde(default)]
    wade: bool,
    dive_m: Option<f64>,
    #[serde(default)]
    board: bool,
    #[serde(default)]
    lookout: bool,
    #[serde(default)]
    lead: bool,
    #[serde(default)]
    volunteer: bool,
    at: Option<String>,
}

/// Reads `[{"name":…, "height_m":…, "wade":true, "dive_m":3, …}]`.
fn newcomers(fields: &mut Fields, people: Option<serde_json::Value>) -> Vec<Newcomer> {
    let Some(people) = people else {
        fields.refuse(
            "A133",
            "nobody is named under \"people\"".into(),
            "add \"people\": [{\"name\": …, \"wade\": true}]",
        );
        return Vec::new();
    };
    let told: Vec<Told> = match serde_json::from_value(people) {
        Ok(told) => told,
        Err(error) => {
            fields.refuse(
                "A133",
                format!("people: {error}"),
                "each takes name, height_m, wade, dive_m, board, lookout, lead, volunteer, at",
            );
            return Vec::new();
        }
    };
    if told.is_empty() {
        let remedy = "name them: \"people\": [{\"name\": …, \"wade\": true}]";
        fields.refuse("A133", "the list \"people\" is empty".into(), remedy);
    }
    let mut all = Vec::new();
    for person in told {
        let height_m = person.height_m.unwrap_or(value("height_guard_m"));
        // The same limits as in the day file.
        let dive_ok = person.dive_m.is_none_or(|depth| (0.0..=10.0).contains(&depth));
        if person.name.trim().is_empty() || !(1.2..=2.3).contains(&height_m) || !dive_ok {
            let dive = person.dive_m.map_or(String::new(), |depth| format!(", dives to {depth} m"));
            fields.refuse(
                "A134",
                format!("{:?}, height {height_m} m{dive}", person.name),
                "a name, a height from 1.2 to 2.3 m and a dive limit from 0 to 10 m are needed",
            );
            continue;
        }
        let member = Member {
            name: person.name.trim().to_owned(),
            height_m,
            wade: person.wade || person.volunteer,
            dive_m: person.dive_m.filter(|_| !person.volunteer),
            board: person.board && !person.volunteer,
            lookout: person.lookout && !person.volunteer,
            lead: person.lead && !person.volunteer,
            volunteer: person.volunteer,
            post: String::new(),
            hours: Vec::new(),
        };
        all.push(Newcomer { member, at: person.at });
    }
    all
}
