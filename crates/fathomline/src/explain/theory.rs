//! Theory of search: coverage, negative search, best effort, order of looks.

use super::Form;
use super::model::{Answer, Basis, Input, Model, Range, Shape};
use measure::Standing;
use search::theory::{self, Cell, LookCell, SteadyEffort, Sweeping};
use serde_json::{Value, json};

const P: Input = Input::numbers("p", Range::SHARE, "share", "chance per cell");
const AREA: Input = Input::numbers("area_m2", Range::ABOVE_0, "m2", "area of each cell");
const WIDTH: Input = Input::numbers("sweep_width_m", Range::FROM_0, "m", "sweep width in each cell");
const COUNT: Range = Range::closed(0.0, 100_000.0);

/// Models of this group.
pub const MODELS: &[Model] = &[
    Model {
        name: "coverage",
        summary: "coverage of ground, and three curves from it to the chance of finding",
        page: "theory",
        inputs: &[
            Input::number("sweep_width_m", Range::FROM_0, "m", "sweep width of one searcher").optional(),
            Input::number("speed_mps", Range::FROM_0, "m/s", "pace").optional(),
            Input::new("searchers", Shape::Whole, Range::FROM_0, "people", "searchers").optional(),
            Input::number("time_s", Range::FROM_0, "s", "time").optional(),
            Input::number("area_m2", Range::ABOVE_0, "m2", "area").optional(),
            Input::number(
                "coverage",
                Range::FROM_0,
                "swept over area",
                "coverage, instead of all the others",
            )
            .optional(),
        ],
        constants: &[],
        results: &[
            ("coverage", "swept over area"),
            ("definite", "share"),
            ("inverse_cube", "share"),
            ("random", "share"),
        ],
        basis: Basis::Known(Standing::FromMemory),
        sources: &["koopman", "washburn"],
        example: r#"{"sweep_width_m": 1.6, "speed_mps": 0.25, "searchers": 8, "time_s": 600, "area_m2": 2400}"#,
        evaluate: coverage,
    },
    Model {
        name: "bayes",
        summary: "belief after a search that found nobody",
        page: "theory",
        inputs: &[
            P,
            Input::numbers("d", Range::SHARE, "share", "chance of finding in each cell"),
            Input::number("rest", Range::SHARE, "share", "belief elsewhere; if left out what p leaves")
                .optional(),
        ],
        constants: &[],
        results: &[("pos", "share"), ("posterior", "share"), ("rest", "share")],
        basis: Basis::Derived,
        sources: &[],
        example: r#"{"p": [0.35, 0.25, 0.15, 0.10], "d": [0.6, 0.4, 0, 0], "rest": 0.15}"#,
        evaluate: bayes,
    },
    Model {
        name: "circular_normal_effort",
        summary: "best spread of effort about one point, in closed form",
        page: "theory",
        inputs: &[
            Input::number("sigma_m", Range::ABOVE_0, "m", "standard error per axis"),
            Input::number("effort_m2", Range::FROM_0, "m2", "swept area to spend"),
        ],
        constants: &[],
        results: &[("radius_m", "m"), ("pos", "share")],
        basis: Basis::Derived,
        sources: &["koopman"],
        example: r#"{"sigma_m": 20, "effort_m2": 1000}"#,
        evaluate: circular_normal_effort,
    },
    Model {
        name: "optimal_effort",
        summary: "best spread of searching way over cells",
        page: "theory",
        inputs: &[P, AREA, WIDTH, Input::number("effort_m", Range::FROM_0, "m", "searching way to spend")],
        constants: &[],
        results: &[("effort_m", "m"), ("level", "1/m"), ("pos", "share")],
        basis: Basis::Derived,
        sources: &["koopman"],
        example: r#"{"p": [0.4, 0.3, 0.2, 0.1], "area_m2": [3000, 1500, 2500, 500], "sweep_width_m": [2, 2, 2, 2], "effort_m": 400}"#,
        evaluate: optimal_effort,
    },
    Model {
        name: "mixed_effort",
        summary: "best spread of several kinds of searchers over cells, with a ceiling",
        page: "theory",
        inputs: &[
            P,
            Input::new("rate", Shape::Rows, Range::FROM_0, "1/s", "coverage a second, rate[cell][kind]"),
            Input::numbers("time", Range::FROM_0, "s", "time to spend of each kind"),
        ],
        constants: &[],
        results: &[("pos", "share"), ("ceiling", "share"), ("time", "s")],
        basis: Basis::Derived,
        sources: &["washburn-1995"],
        example: r#"{"p": [0.5, 0.3, 0.2], "rate": [[1.0, 0.2], [0.5, 0.6], [0.0, 0.9]], "time": [0.6, 2.0]}"#,
        evaluate: mixed_effort,
    },
    Model {
        name: "effort_ceiling",
        summary: "what no plan of steady random effort can beat",
        page: "theory",
        inputs: &[
            P,
            AREA,
            WIDTH,
            Input::number("rate_mps", Range::FROM_0, "m/s", "searching way a second of all together"),
            Input::number("start_s", Range::FROM_0, "s", "begin, on the clock of the weight").or_value(0.0),
            Input::number("horizon_s", Range::FROM_0, "s", "end, on the same clock"),
            Input::number(
                "decay_s",
                Range::ABOVE_0,
                "s",
                "the weight falls by a factor e in so many seconds",
            ),
        ],
        constants: &[],
        results: &[("found", "share"), ("weighted", "weighted share")],
        basis: Basis::Derived,
        sources: &["koopman"],
        example: r#"{"p": [0.4, 0.3, 0.2, 0.1], "area_m2": [3000, 1500, 2500, 500], "sweep_width_m": [2, 2, 2, 2], "rate_mps": 3, "start_s": 0, "horizon_s": 900, "decay_s": 300}"#,
        evaluate: effort_ceiling,
    },
    Model {
        name: "look_order",
        summary: "best order of looks where going from cell to cell costs nothing",
        page: "theory",
        inputs: &[
            P,
            Input::numbers("q", Range::SHARE, "share", "chance that one look finds, per cell"),
            Input::numbers("cost", Range::ABOVE_0, "units", "cost of one look, per cell"),
            Input::new("looks", Shape::Wholes, COUNT, "cell from 0", "cell of each look to be ordered")
                .optional(),
            Input::new(
                "n",
                Shape::Whole,
                COUNT,
                "looks",
                "number of looks instead of a list; if both are left out one per cell",
            )
            .optional(),
            Input::number(
                "decay",
                Range { low_open: true, ..Range::SHARE },
                "per unit cost",
                "weight left after one unit of cost; 1 for none",
            )
            .or_value(1.0),
        ],
        constants: &[],
        results: &[("order", "cell from 0"), ("value", "weighted share")],
        basis: Basis::Known(Standing::FromMemory),
        sources: &["black-1965"],
        example: r#"{"p": [0.5, 0.3, 0.2], "q": [0.5, 0.8, 0.9], "cost": [3, 2, 1], "looks": [0, 0, 1, 1, 2], "decay": 0.9}"#,
        evaluate: look_order,
    },
    Model {
        name: "looks",
        summary: "repeated looks over ground of several kinds",
        page: "theory",
        inputs: &[
            Input::numbers("share", Range::SHARE, "share", "share of each kind"),
            Input::numbers("q", Range::SHARE, "share", "chance that one look finds, per kind"),
            Input::new("repeats", Shape::Whole, Range::closed(0.0, 1e9), "looks", "number of looks")
                .or_value(1.0),
        ],
        constants: &[],
        results: &[("found", "share"), ("posterior", "share")],
        basis: Basis::Derived,
        sources: &[],
        example: r#"{"share": [0.6, 0.3, 0.1], "q": [0.85, 0.55, 0.15], "repeats": 2}"#,
        evaluate: looks,
    },
];

fn coverage(form: &mut Form) -> Option<Answer> {
    const PARTS: [&str; 5] = ["sweep_width_m", "speed_mps", "searchers", "time_s", "area_m2"];
    let given: Vec<&str> = PARTS.into_iter().filter(|name| form.given(name)).collect();
    let direct = form.number("coverage");
    let (width, speed, searchers) = (form.number(PARTS[0]), form.number(PARTS[1]), form.whole(PARTS[2]));
    let (time, area) = (form.number(PARTS[3]), form.number(PARTS[4]));
    if form.given("coverage") && !given.is_empty() {
        form.problem(format!(
            "coverage and {} are both given; give coverage alone, or its five parts",
            given.join(", ")
        ));
        return None;
    }
    let coverage = if form.given("coverage") {
        direct?
    } else {
        for name in PARTS.iter().filter(|name| !given.contains(name)) {
            form.problem(format!("{name} is missing; give it, or coverage instead of all five parts"));
        }
        let searchers = searchers? as f64;
        theory::coverage_of(&Sweeping {
            sweep_width_m: width?,
            speed_mps: speed?,
            searchers,
            time_s: time?,
            area_m2: area?,
        })
    };
    Some(
        Answer::new()
            .with("coverage", coverage)
            .with("definite", theory::definite(coverage))
            .with("inverse_cube", theory::inverse_cube(coverage))
            .with("random", theory::random_search(coverage)),
    )
}

fn bayes(form: &mut Form) -> Option<Answer> {
    let (p, d, rest) = (form.numbers("p"), form.numbers("d"), form.number("rest"));
    form.same_length(("p", p.as_ref().map(Vec::len)), &[("d", d.as_ref().map(Vec::len))]);
    if let Some(p) = &p {
        form.shares("p and rest", p, rest.unwrap_or(0.0));
    }
    if rest.is_none() && form.given("rest") {
        return None;
    }
    let (p, d) = (p?, d?);
    let rest = rest.unwrap_or_else(|| {
        // What p leaves; a remainder of rounding is nothing.
        let left = 1.0 - p.iter().sum::<f64>();
        if left > 1e-12 { left } else { 0.0 }
    });
    form.put_derived("rest", rest);
    if p.len() != d.len() {
        return None;
    }
    match theory::fruitless(&p, &d, rest) {
        Ok(after) => Some(
            Answer::new()
                .with("pos", after.pos)
                .with_list("posterior", &after.posterior)
                .with("rest", after.rest),
        ),
        Err(theory::Contradiction) => {
            form.problem("contradiction: this search was certain to find and found nobody; lower d, or leave belief in rest");
            None
        }
    }
}

fn circular_normal_effort(form: &mut Form) -> Option<Answer> {
    let (sigma, effort) = (form.number("sigma_m"), form.number("effort_m2"));
    let (radius, pos) = theory::circular_normal_effort(sigma?, effort?);
    Some(Answer::new().with("radius_m", radius).with("pos", pos))
}

/// The cells of `p`, `area_m2` and `sweep_width_m`.
fn cells(form: &mut Form) -> Option<Vec<Cell>> {
    let (p, area, width) = (form.numbers("p"), form.numbers("area_m2"), form.numbers("sweep_width_m"));
    let length = |list: &Option<Vec<f64>>| list.as_ref().map(Vec::len);
    let (n, areas, widths) = (length(&p), length(&area), length(&width));
    form.same_length(("p", n), &[("area_m2", areas), ("sweep_width_m", widths)]);
    if let Some(p) = &p {
        form.shares("p", p, 0.0);
    }
    let (p, area, width) = (p?, area?, width?);
    let row = p.into_iter().zip(area).zip(width);
    Some(row.map(|((p, area_m2), sweep_width_m)| Cell { p, area_m2, sweep_width_m }).collect())
}

fn optimal_effort(form: &mut Form) -> Option<Answer> {
    let (cells, effort) = (cells(form), form.number("effort_m"));
    let best = theory::optimal_effort(&cells?, effort?);
    let answer =
        Answer::new().with_list("effort_m", &best.effort_m).with("level", best.level).with("pos", best.pos);
    Some(if best.level == 0.0 && best.pos == 0.0 {
        answer.with_note("nobody can be found in any of these cells: no effort is laid")
    } else {
        answer
    })
}

fn mixed_effort(form: &mut Form) -> Option<Answer> {
    let (p, rate, time) = (form.numbers("p"), form.rows("rate"), form.numbers("time"));
    form.same_length(("p", p.as_ref().map(Vec::len)), &[("rate", rate.as_ref().map(Vec::len))]);
    if let Some(p) = &p {
        form.shares("p", p, 0.0);
    }
    let mut even = true;
    if let (Some(rate), Some(time)) = (&rate, &time) {
        for (k, row) in rate.iter().enumerate().filter(|(_, row)| row.len() != time.len()).take(20) {
            even = false;
            form.problem(format!(
                "rate[{k}] has {} entries and time has {}; give one rate for each kind",
                row.len(),
                time.len()
            ));
        }
        if rate.len() * time.len() > 100_000 {
            even = false;
            form.problem(format!(
                "{} cells of {} kinds are more than 100000 pairs; give fewer",
                rate.len(),
                time.len()
            ));
        }
    }
    let (p, rate, time) = (p?, rate?, time?);
    if !even || p.len() != rate.len() {
        return None;
    }
    let best = theory::mixed_effort(&p, &rate, &time);
    Some(
        Answer::new()
            .with("pos", best.pos)
            .with("ceiling", best.ceiling)
            .with_value("time", json!(best.time_s)),
    )
}

fn effort_ceiling(form: &mut Form) -> Option<Answer> {
    let cells = cells(form);
    let (rate, decay) = (form.number("rate_mps"), form.number("decay_s"));
    let (start, horizon) = (form.number("start_s"), form.number("horizon_s"));
    if let (Some(start), Some(horizon)) = (start, horizon) {
        if horizon < start {
            form.problem(format!("horizon_s: {horizon} comes before start_s {start}; both are on the clock of the weight, end after begin"));
        }
    }
    let effort = SteadyEffort { rate_mps: rate?, start_s: start?, horizon_s: horizon?, decay_s: decay? };
    let ceiling = theory::effort_ceiling(&cells?, &effort);
    Some(Answer::new().with("found", ceiling.found).with("weighted", ceiling.weighted))
}

fn look_order(form: &mut Form) -> Option<Answer> {
    let (p, q, cost) = (form.numbers("p"), form.numbers("q"), form.numbers("cost"));
    let (looks, n, decay) = (form.wholes("looks"), form.whole("n"), form.number("decay"));
    let length = |list: &Option<Vec<f64>>| list.as_ref().map(Vec::len);
    let (cells, qs, costs) = (length(&p), length(&q), length(&cost));
    form.same_length(("p", cells), &[("q", qs), ("cost", costs)]);
    if let Some(p) = &p {
        form.shares("p", p, 0.0);
    }
    if form.given("looks") && form.given("n") {
        form.problem("looks and n are both given; give the list of looks, or only how many");
    }
    if let (Some(looks), Some(cells)) = (&looks, cells) {
        for (k, look) in looks.iter().enumerate().filter(|(_, look)| **look >= cells as u64).take(20) {
            form.problem(format!(
                "looks[{k}]: there is no cell {look}; cells are counted from 0 to {}",
                cells - 1
            ));
        }
    }
    let (p, q, cost, decay) = (p?, q?, cost?, decay?);
    if (looks.is_none() && form.given("looks")) || (n.is_none() && form.given("n")) || form.troubled() {
        return None;
    }
    let row = p.iter().zip(&q).zip(&cost);
    let cells: Vec<LookCell> = row.map(|((p, q), cost)| LookCell { p: *p, q: *q, cost: *cost }).collect();
    let best = match looks {
        Some(looks) => {
            let looks: Vec<usize> = looks.into_iter().map(|k| k as usize).collect();
            theory::order_looks(&cells, &looks, decay)
        }
        None => {
            let n = n.unwrap_or(cells.len() as u64);
            form.put_derived("n", n as f64);
            theory::best_looks(&cells, n as usize, decay)
        }
    };
    Some(Answer::new().with_value("order", json!(best.order)).with("value", best.value))
}

fn looks(form: &mut Form) -> Option<Answer> {
    let (share, q, repeats) = (form.numbers("share"), form.numbers("q"), form.whole("repeats"));
    form.same_length(("share", share.as_ref().map(Vec::len)), &[("q", q.as_ref().map(Vec::len))]);
    if let Some(share) = &share {
        form.shares("share", share, 0.0);
    }
    let (share, q, repeats) = (share?, q?, repeats?);
    if share.len() != q.len() {
        return None;
    }
    let after = theory::looks(&share, &q, repeats as f64);
    let answer = Answer::new().with("found", after.found);
    Some(match after.posterior {
        Some(posterior) => answer.with_list("posterior", &posterior),
        None => answer.with_value("posterior", Value::Null).with_note(
            "these looks cannot all fail, so nothing is known of the kinds if they did: a contradiction",
        ),
    })
}
