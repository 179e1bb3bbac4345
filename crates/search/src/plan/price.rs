//! What orders cost in attention: every order after a line's first, and every quarter turn, has a stated price.
//!
//! A plan is chosen by what it is worth less this price, so that one that finds a little more with many short
//! lanes and turns does not win. Never: shown as chance; what a plan finds is told without it.

use super::{Plan, Priced, Run, draft::Placed, fill::Field, problem::Problem};
use crate::Method;
use measure::{Spot, parameters::value};

/// Prices as shares of the mass on the bottom.
#[derive(Clone, Copy, Debug)]
pub(super) struct Prices {
    pub order: f64,
    pub quarter_turn: f64,
}

impl Prices {
    /// Today's prices, of so much mass on the bottom.
    pub fn new(total: f64) -> Self {
        Prices {
            order: value("order_price_share") * total,
            quarter_turn: value("quarter_turn_price_share") * total,
        }
    }

    /// Mass that an order after a line's first must find to be worth saying; `ways`: the one gone before, if
    /// it is known, and the new one, as unit steps.
    #[inline]
    pub fn of(&self, ways: (Option<Spot>, Spot)) -> f64 {
        // Between 45 and 135 degrees a line must wheel; straight on and straight back it need not.
        let quarter = ways.0.is_some_and(|before| before.dot(ways.1).abs() < std::f64::consts::FRAC_1_SQRT_2);
        self.order + if quarter { self.quarter_turn } else { 0.0 }
    }
}

/// Price of the runs of a draft, in the order they begin, weighted like what is found when they are said.
pub(super) fn of_draft(problem: &Problem, field: &Field, runs: &[Placed]) -> f64 {
    let mut last: Vec<Option<Option<Spot>>> =
        field.lines.iter().map(|line| line.busy.map(|_| None)).collect();
    let mut sum = 0.0;
    for run in runs {
        let along = field.catalogues[run.line].lanes[run.lane].along;
        let way = if run.forth { along } else { along * -1.0 };
        if let Some(before) = last[run.line] {
            sum += problem.prices.of((before, way)) * problem.weight.at(run.leaves_s);
        }
        last[run.line] = Some(Some(way));
    }
    sum
}

/// The same of a plan as it is written; what is under way has been said.
pub(super) fn of_plan(problem: &Problem, plan: &Plan) -> Priced {
    let mut sum = Priced::default();
    for (index, team) in plan.teams.iter().enumerate() {
        if !matches!(team.method, Method::Wade | Method::Dive | Method::Look) {
            continue;
        }
        let mut runs: Vec<&Run> = plan.runs.iter().filter(|run| run.team == index).collect();
        runs.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
        for pair in runs.windows(2).filter(|pair| !pair[1].under_way) {
            let ways = [pair[0], pair[1]].map(|run| (run.to - run.from).unit());
            // After a run under way only its end is known to whoever plans on.
            let before = ways[0].filter(|_| !pair[0].under_way);
            let weight = problem.weight.at(pair[1].leaves_s);
            let price = problem.prices.of((before, ways[1].unwrap_or_default()));
            sum.orders += problem.prices.order * weight;
            sum.quarter_turns += (price - problem.prices.order) * weight;
        }
    }
    sum
}
