//! Reading of searcher-path instances: three written forms, every problem named at once (PA-3).

use super::instance::{Instance, Telling, Wandering};
use serde_json::{Map, Value};

/// Cells x steps x searchers above this are refused: the tables would not fit.
const MOST: usize = 1_000_000;
/// Moves of one search above this are refused.
const LONGEST: usize = 10_000;
/// Steps after a moving target above this are refused: they would be walked one inside the other.
const LONGEST_AFTER_MOVING: usize = 500;

/// Reads an instance in any of the three forms told in docs/models/path.md (PA-3).
///
/// The forms: `p`, `V`, `starts` (one path per searcher); `weights`, `objective`, `start` (one path, start
/// told); the 3x3 moving-target table's object, with `start`. Any of them may lie under `instance`; a
/// collection (`instances`) needs an `id`.
///
/// # Inputs
/// - `json`: the object
///
/// # Gives
/// The instance, or every problem found.
pub fn from_json(json: &Value) -> Result<Instance, Vec<String>> {
    let Some(object) = json.as_object() else {
        return Err(vec!["the instance is not a JSON object; give one object with rows, cols, T ...".into()]);
    };
    if let Some(list) = object.get("instances") {
        return from_json(chosen(list, object.get("id"))?);
    }
    if let Some(inner) = object.get("instance") {
        return from_json(inner);
    }
    if let Some(inner) = object.get("eagle1984").and_then(Value::as_object) {
        let mut inner = inner.clone();
        inner.extend(object.get("start").map(|start| ("start".to_string(), start.clone())));
        return from_json(&Value::Object(inner));
    }
    let mut door = Door { object, problems: Vec::new() };
    let instance = if object.contains_key("grid") { door.moving() } else { door.standing() };
    match instance {
        Some(instance) if door.problems.is_empty() => Ok(instance),
        _ => Err(door.problems),
    }
}

/// The named one of a collection, or its only one.
fn chosen<'a>(list: &'a Value, id: Option<&Value>) -> Result<&'a Value, Vec<String>> {
    let name = |item: &'a Value| item.get("instance").unwrap_or(item).get("id").and_then(Value::as_str);
    let list = list.as_array().map(Vec::as_slice).unwrap_or_default();
    let found = match id.and_then(Value::as_str) {
        Some(id) => list.iter().find(|item| name(item) == Some(id)),
        None if list.len() == 1 => list.first(),
        None => None,
    };
    let names: Vec<&str> = list.iter().filter_map(name).collect();
    found.ok_or_else(|| {
        vec![format!("which instance? put \"id\" beside \"instances\", one of: {}", names.join(", "))]
    })
}

struct Door<'a> {
    object: &'a Map<String, Value>,
    problems: Vec<String>,
}

impl Door<'_> {
    fn problem<T>(&mut self, text: String) -> Option<T> {
        self.problems.push(text);
        None
    }

    fn whole(&mut self, name: &str) -> Option<usize> {
        let found = self.object.get(name).and_then(Value::as_u64).and_then(|n| usize::try_from(n).ok());
        found.or_else(|| self.problem(format!("{name} is missing or not a whole number from 0")))
    }

    fn flag(&mut self, name: &str, otherwise: bool) -> bool {
        match self.object.get(name) {
            None | Some(Value::Null) => otherwise,
            Some(Value::Bool(flag)) => *flag,
            Some(other) => {
                self.problem::<()>(format!("{name} is {other}; it must be true or false"));
                otherwise
            }
        }
    }

    /// `count` numbers within bounds; one number stands for all where `one_for_all`.
    fn numbers(
        &mut self,
        name: &str,
        count: usize,
        (low, high): (f64, f64),
        one_for_all: bool,
    ) -> Option<Vec<f64>> {
        let found: Option<Vec<f64>> = match self.object.get(name) {
            Some(Value::Array(list)) => list.iter().map(Value::as_f64).collect(),
            Some(Value::Number(one)) if one_for_all => Some(vec![one.as_f64().unwrap_or(f64::NAN); count]),
            _ => None,
        };
        let Some(found) = found else {
            return self.problem(format!("{name} is missing or not a list of numbers"));
        };
        if found.len() != count {
            return self.problem(format!("{name} has {} numbers; it needs {count}", found.len()));
        }
        match found.iter().position(|x| !(low..=high).contains(x)) {
            Some(at) => {
                self.problem(format!("{name}[{at}] is {}; it must lie between {low} and {high}", found[at]))
            }
            None => Some(found),
        }
    }

    fn cells_of(&mut self, name: &str, cells: usize) -> Option<Vec<usize>> {
        let list = match self.object.get(name) {
            Some(Value::Array(list)) => list.clone(),
            Some(one @ Value::Number(_)) => vec![one.clone()],
            _ => return self.problem(format!("{name} is missing or not a list of cells")),
        };
        let mut found = Vec::new();
        for item in list {
            match item.as_u64() {
                Some(cell) if (cell as usize) < cells => found.push(cell as usize),
                _ => {
                    let last = cells.saturating_sub(1);
                    self.problem::<()>(format!("{name} has {item}; cells run from 0 to {last}"));
                }
            }
        }
        Some(found)
    }

    /// Either of the two forms with a target that stands still.
    fn standing(&mut self) -> Option<Instance> {
        let (rows, cols, steps) = (self.whole("rows"), self.whole("cols"), self.whole("T"));
        let (rows, cols, steps) = (rows?, cols?, steps?);
        let cells = rows.saturating_mul(cols);
        if cells == 0 || cells.saturating_mul(steps.max(1)) > MOST {
            return self.problem(format!(
                "{rows} rows x {cols} cols x {steps} steps; there must be a cell, and at most {MOST} in all"
            ));
        }
        let told_from_start = self.object.contains_key("weights");
        let prior = if told_from_start { self.shares(cells) } else { self.chances(cells) };
        let contact = self.numbers("q", cells, (0.0, 1.0), true);
        let weight = if told_from_start { self.objective(steps) } else { self.weights_in_time(steps) };
        let starts = self.cells_of(if told_from_start { "start" } else { "starts" }, cells);
        let blocked = if told_from_start { self.blocked_cells(cells) } else { self.blocked_flags(cells) };
        let stay = self.flag("stay_allowed", !told_from_start);
        let king = self.flag("king", false);
        let instance = Instance {
            id: self.object.get("id").and_then(Value::as_str).unwrap_or_default().to_string(),
            rows,
            cols,
            prior: prior?,
            contact: contact?,
            weight: weight?,
            starts: starts?,
            blocked: blocked?,
            king,
            stay,
            wandering: None,
            telling: if told_from_start { Telling::FromStart } else { Telling::PerSearcher },
        };
        self.check_starts(&instance);
        Some(instance)
    }

    fn check_starts(&mut self, instance: &Instance) {
        let starts = instance.starts.len();
        if starts == 0 || starts.saturating_mul(instance.weight.len().max(1) * instance.cells()) > MOST {
            self.problem::<()>(format!(
                "starts names {starts} searchers; there must be one, and searchers x cells x steps at most {MOST}"
            ));
        }
        if starts.saturating_mul(instance.weight.len()) > LONGEST {
            self.problem::<()>(format!("{starts} searchers x T is above {LONGEST} moves; shorten T"));
        }
        if instance.telling == Telling::FromStart && starts > 1 {
            self.problem::<()>("start names more than one cell; this form has one searcher".into());
        }
        for &start in &instance.starts {
            if instance.blocked[start] {
                self.problem::<()>(format!("start {start} is blocked; a searcher must stand in open water"));
            } else if instance.moves(start).is_empty() {
                self.problem::<()>(format!("start {start} has no open neighbour and staying is not allowed"));
            }
        }
    }

    fn chances(&mut self, cells: usize) -> Option<Vec<f64>> {
        let prior = self.numbers("p", cells, (0.0, 1.0), false)?;
        let sum: f64 = prior.iter().sum();
        // Four-digit roundings of 10,000 cells may exceed one by this much.
        if sum > 1.01 {
            return self.problem(format!("p sums to {sum}; chances of one target sum to at most 1"));
        }
        Some(prior)
    }

    fn shares(&mut self, cells: usize) -> Option<Vec<f64>> {
        let weights = self.numbers("weights", cells, (0.0, f64::MAX), false)?;
        let sum: f64 = weights.iter().sum();
        if sum > 0.0 && sum.is_finite() {
            Some(weights.iter().map(|w| w / sum).collect())
        } else {
            self.problem(format!("weights sum to {sum}; at least one must be above 0"))
        }
    }

    fn weights_in_time(&mut self, steps: usize) -> Option<Vec<f64>> {
        match self.object.get("V") {
            None => Some(vec![1.0; steps]),
            Some(_) => self.numbers("V", steps, (0.0, 1e6), false),
        }
    }

    fn objective(&mut self, steps: usize) -> Option<Vec<f64>> {
        match self.object.get("objective").and_then(Value::as_str) {
            Some("pod") => Some(vec![1.0; steps]),
            Some("survival") => match self.object.get("tau").and_then(Value::as_f64) {
                Some(tau) if tau > 0.0 => Some((1..=steps).map(|t| libm::exp(-(t as f64) / tau)).collect()),
                _ => self.problem("tau is missing or not above 0; objective survival needs it".into()),
            },
            _ => self.problem("objective is neither \"pod\" nor \"survival\"".into()),
        }
    }

    fn blocked_flags(&mut self, cells: usize) -> Option<Vec<bool>> {
        match self.object.get("blocked") {
            None | Some(Value::Null) => Some(vec![false; cells]),
            Some(Value::Array(list)) if list.is_empty() => Some(vec![false; cells]),
            Some(Value::Array(list)) if list.iter().all(Value::is_boolean) && list.len() == cells => {
                Some(list.iter().map(|flag| flag == &Value::Bool(true)).collect())
            }
            Some(_) => {
                let flags = self.numbers("blocked", cells, (0.0, 1.0), false)?;
                Some(flags.iter().map(|&flag| flag != 0.0).collect())
            }
        }
    }

    fn blocked_cells(&mut self, cells: usize) -> Option<Vec<bool>> {
        let mut blocked = vec![false; cells];
        if self.object.get("blocked").is_some_and(|list| !list.is_null()) {
            for cell in self.cells_of("blocked", cells)? {
                blocked[cell] = true;
            }
        }
        Some(blocked)
    }

    /// The moving-target table's object: its grid and target are told in words, cells counted from one.
    fn moving(&mut self) -> Option<Instance> {
        let words =
            |name: &str| self.object.get(name).and_then(Value::as_str).unwrap_or_default().to_string();
        let (grid, target) = (words("grid"), words("target"));
        let size = grid.split([',', ' ']).next().and_then(|size| size.split_once('x'));
        let size =
            size.and_then(|(rows, cols)| Some((rows.parse::<usize>().ok()?, cols.parse::<usize>().ok()?)));
        let seen = number_after(&target, "starts in cell ");
        let stays = number_after(&target, "stays ").filter(|stays| (0.0..=1.0).contains(stays));
        let (rows, cols) =
            size.or_else(|| self.problem("grid does not begin with a size such as 3x3".into()))?;
        let cells = rows.saturating_mul(cols);
        let steps = self.whole("T")?;
        if cells == 0 || cells.saturating_mul(steps.max(1)) > MOST || steps > LONGEST_AFTER_MOVING {
            return self.problem(format!(
                "grid {rows}x{cols}, T {steps}; there must be a cell, T at most {LONGEST_AFTER_MOVING}, cells x T {MOST}"
            ));
        }
        let seen = seen.or_else(|| self.problem("target does not say \"starts in cell N\"".into()))?;
        let stays =
            stays.or_else(|| self.problem("target does not say \"stays P\", P from 0 to 1".into()))?;
        let start =
            self.object.get("start").and_then(Value::as_f64).or_else(|| {
                self.problem(format!("start is missing; give the searcher's cell, 1 to {cells}"))
            })?;
        let contact = match self.object.contains_key("detection") {
            true => self.object.get("detection").and_then(Value::as_f64).filter(|q| (0.0..=1.0).contains(q)),
            false => Some(1.0),
        };
        let contact = contact.or_else(|| self.problem("detection is not a number from 0 to 1".into()))?;
        let counted = |cell: f64| cell.fract() == 0.0 && cell >= 1.0 && cell <= cells as f64;
        if !counted(seen) || !counted(start) {
            return self
                .problem(format!("target cell {seen}, start {start}; cells are counted from 1 to {cells}"));
        }
        let mut prior = vec![0.0; cells];
        prior[seen as usize - 1] = 1.0;
        Some(Instance {
            id: self.object.get("id").and_then(Value::as_str).unwrap_or_default().to_string(),
            rows,
            cols,
            prior,
            contact: vec![contact; cells],
            weight: vec![1.0; steps],
            starts: vec![start as usize - 1],
            blocked: vec![false; cells],
            king: false,
            stay: true,
            wandering: Some(Wandering { stays }),
            telling: Telling::CountedFromOne,
        })
    }
}

fn number_after(text: &str, words: &str) -> Option<f64> {
    let (_, rest) = text.split_once(words)?;
    let end = rest.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(rest.len());
    rest[..end].trim_end_matches('.').parse().ok()
}
