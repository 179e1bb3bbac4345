//! Lines of searchers: contact, dive cycle, advance, limits, and sight under water.

use super::Form;
use super::model::{Answer, Basis, Input, Model, Range, Shape};
use measure::{Standing, parameters::value};
use search::lines;
use serde_json::json;

/// The register's limits name one person; a line longer than this is nobody's line.
const LINE: Range = Range::closed(1.0, 10_000.0);

/// Models of this group.
pub const MODELS: &[Model] = &[
    Model {
        name: "contact",
        summary: "chance that one pass of a line finds a person lying in its strip",
        page: "lines",
        inputs: &[
            Input::number("spacing_m", Range::ABOVE_0, "m", "distance from searcher to searcher")
                .or("spacing_hands_m"),
            Input::number("reach_m", Range::FROM_0, "m", "reach of foot or hand to each side")
                .or("reach_foot_m"),
            Input::number("length_m", Range::FROM_0, "m", "length of the person").or("body_length_m"),
            Input::number("width_m", Range::FROM_0, "m", "width of the person").or("body_width_m"),
            Input::number(
                "touch",
                Range::SHARE,
                "share",
                "chance that one passing foot or hand feels and recognises",
            )
            .or("touch_foot_firm"),
            Input::number("cap", Range::SHARE, "share", "what remains for the line as a whole")
                .or("contact_cap"),
        ],
        constants: &[],
        results: &[("pod", "share")],
        basis: Basis::Derived,
        sources: &[],
        example: r#"{"spacing_m": 1.2, "reach_m": 0.35, "length_m": 1.7, "width_m": 0.35, "touch": 0.7, "cap": 0.95}"#,
        evaluate: contact,
    },
    Model {
        name: "line_advance",
        summary: "net advance of a dive line that re-forms at its rearmost",
        page: "lines",
        inputs: &[
            Input::new("searchers", Shape::Whole, LINE, "people", "divers in the line"),
            Input::number("mean_m", Range::FROM_0, "m", "mean way along the bottom of one dive"),
            Input::number(
                "sd_m",
                Range::FROM_0,
                "m",
                "spread of that way; if left out bottom_spread_share of the mean",
            )
            .optional(),
            Input::number("back_m", Range::FROM_0, "m", "backing up after a dive").or("body_back_m"),
            Input::number("correlation", Range::SHARE, "share", "correlation between the divers' ways")
                .or_value(0.0),
        ],
        constants: &["bottom_spread_share"],
        results: &[("advance_m", "m")],
        basis: Basis::Derived,
        sources: &["jones-1948"],
        example: r#"{"searchers": 6, "mean_m": 8, "sd_m": 1.5, "back_m": 1.8, "correlation": 0.4}"#,
        evaluate: line_advance,
    },
    Model {
        name: "dive_cycle",
        summary: "time and bottom way of one dive of a line",
        page: "lines",
        inputs: &[
            Input::number("depth_m", Range::FROM_0, "m", "depth of the water"),
            Input::number("descent_mps", Range::ABOVE_0, "m/s", "speed of descent").or("descent_mps"),
            Input::number("ascent_mps", Range::ABOVE_0, "m/s", "speed of ascent").or("ascent_mps"),
            Input::number("bottom_s", Range::FROM_0, "s", "time at the bottom"),
            Input::number("bottom_mps", Range::FROM_0, "m/s", "pace along the bottom").or("bottom_mps"),
            Input::number("reform_s", Range::FROM_0, "s", "count, re-form and back up").or("reform_s"),
            Input::number("rest_factor", Range::FROM_0, "times dive time", "rest over time under water")
                .or("rest_factor"),
            Input::number("rest_least_s", Range::FROM_0, "s", "rest, at least").or_value(0.0),
        ],
        constants: &[],
        results: &[("cycle_s", "s"), ("bottom_m", "m"), ("under_s", "s"), ("rest_s", "s")],
        basis: Basis::Known(Standing::CommonPractice),
        sources: &["mulder-2023"],
        example: r#"{"depth_m": 2.1, "descent_mps": 0.5, "ascent_mps": 0.7, "bottom_s": 10, "bottom_mps": 0.4, "reform_s": 15, "rest_factor": 1}"#,
        evaluate: dive_cycle,
    },
    Model {
        name: "sight_range",
        summary: "how far one sees along under water",
        page: "lines",
        inputs: &[
            Input::number("secchi_m", Range::ABOVE_0, "m", "depth at which a Secchi disk vanishes")
                .optional(),
            Input::number("beam_per_m", Range::ABOVE_0, "1/m", "beam attenuation").optional(),
        ],
        constants: &["secchi_beam", "sight_beam"],
        results: &[("beam_per_m", "1/m"), ("horizontal_m", "m")],
        basis: Basis::Known(Standing::Published),
        sources: &["zaneveld-pegau-2003"],
        example: r#"{"secchi_m": 1.2}"#,
        evaluate: sight_range,
    },
    Model {
        name: "wade_limit",
        summary: "what a depth and a current allow to a wading line",
        page: "lines",
        inputs: &[
            Input::number("depth_m", Range::FROM_0, "m", "depth of the water"),
            Input::number("speed_mps", Range::FROM_0, "m/s", "current"),
        ],
        constants: &["wade_product_caution_m2ps", "wade_product_stop_m2ps", "wade_depth_limit_m"],
        results: &[("product_m2ps", "m2/s"), ("advice", "word")],
        basis: Basis::Known(Standing::Assumed),
        sources: &["cox-2004", "shand-2011"],
        example: r#"{"depth_m": 1.0, "speed_mps": 0.35}"#,
        evaluate: wade_limit,
    },
];

fn contact(form: &mut Form) -> Option<Answer> {
    let (spacing, reach, length) =
        (form.number("spacing_m"), form.number("reach_m"), form.number("length_m"));
    let (width, touch, cap) = (form.number("width_m"), form.number("touch"), form.number("cap"));
    Some(Answer::new().with("pod", lines::contact(spacing?, reach?, length?, width?, touch?, cap?)))
}

fn line_advance(form: &mut Form) -> Option<Answer> {
    let (searchers, mean, sd) = (form.whole("searchers"), form.number("mean_m"), form.number("sd_m"));
    let (back, correlation) = (form.number("back_m"), form.number("correlation"));
    let sd = match (sd, mean) {
        (None, Some(mean)) if !form.given("sd_m") => {
            let sd = value("bottom_spread_share") * mean;
            form.put("sd_m", sd, "bottom_spread_share");
            Some(sd)
        }
        _ => sd,
    };
    let advance = lines::line_advance(searchers? as usize, mean?, sd?, back?, correlation?);
    let answer = Answer::new().with("advance_m", advance);
    Some(if advance <= 0.0 {
        answer.with_note("the line does not advance: make the dives longer or more even")
    } else {
        answer
    })
}

fn dive_cycle(form: &mut Form) -> Option<Answer> {
    let depth = form.number("depth_m");
    let (descent, ascent) = (form.number("descent_mps"), form.number("ascent_mps"));
    let (bottom_s, bottom_mps) = (form.number("bottom_s"), form.number("bottom_mps"));
    let (reform, factor, least) =
        (form.number("reform_s"), form.number("rest_factor"), form.number("rest_least_s"));
    let pace = lines::DivePace {
        descent_mps: descent?,
        ascent_mps: ascent?,
        bottom_s: bottom_s?,
        bottom_mps: bottom_mps?,
        reform_s: reform?,
        rest_factor: factor?,
        rest_least_s: least?,
    };
    let cycle = lines::dive_cycle(depth?, &pace);
    let answer = Answer::new()
        .with("cycle_s", cycle.cycle_s)
        .with("bottom_m", cycle.bottom_m)
        .with("under_s", cycle.under_s)
        .with("rest_s", cycle.rest_s);
    let warn = value("dive_warn_time_s");
    Some(if cycle.under_s > warn {
        answer.with_note(format!("more than {warn} s under water: warned"))
    } else {
        answer
    })
}

fn sight_range(form: &mut Form) -> Option<Answer> {
    let (secchi, beam) = (form.number("secchi_m"), form.number("beam_per_m"));
    match (form.given("secchi_m"), form.given("beam_per_m")) {
        (true, true) => {
            form.problem("secchi_m and beam_per_m are both given; give one, the other follows from it");
            return None;
        }
        (false, false) => {
            form.problem("neither secchi_m nor beam_per_m is given; give one, such as \"secchi_m\": 1.2");
            return None;
        }
        (true, false) => form.used("secchi_beam"),
        (false, true) => {}
    }
    let beam = match secchi {
        Some(secchi) => water::beam_from_secchi(secchi),
        None => beam?,
    };
    form.used("sight_beam");
    Some(Answer::new().with("beam_per_m", beam).with("horizontal_m", water::sight_range(beam)))
}

fn wade_limit(form: &mut Form) -> Option<Answer> {
    let (depth, speed) = (form.number("depth_m"), form.number("speed_mps"));
    let (product, advice) = lines::wade_limit(depth?, speed?);
    for name in ["wade_product_caution_m2ps", "wade_product_stop_m2ps", "wade_depth_limit_m"] {
        form.used(name);
    }
    Some(Answer::new().with("product_m2ps", product).with_value("advice", json!(advice.word())))
}
