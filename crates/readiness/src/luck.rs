//! Whether a pass over somebody finds them: the crew's own chance, drawn once a search, and luck from pass to pass.
//!
//! Every way of searching the same incident meets the same crew and the same luck, so that differences are not chance.

use measure::chance::Draws;
use measure::{Seed, Spot, parameters::value};
use search::plan::Outlook;
use search::{Detection, Method, Setting, Sweep};
use water::{Bed, Cover};

/// Somebody on the bottom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Body {
    /// Where they lie.
    pub spot: Spot,
    /// Since when \[s since the alarm\].
    pub rest_s: f64,
    /// Bottom there.
    pub bed: Bed,
    /// Whether no hand or foot can find them (models B6).
    pub hidden: bool,
    /// Whether something floats or stands above them.
    pub under_cover: bool,
}

impl Body {
    /// Somebody at a place, hidden by chance as the bottom there hides.
    ///
    /// # Inputs
    /// - `setting` · `spot` \[m\], `rest_s` \[s since the alarm\] · `u`: uniform in \[0, 1)
    ///
    /// # Source
    /// hidden shares of the register
    pub fn at(setting: &Setting, (spot, rest_s): (Spot, f64), u: f64) -> Body {
        let ground = setting.ground;
        let cell = ground.grid.cell(spot);
        let bed = cell.map_or(setting.site.bed, |cell| ground.bed[cell]);
        let under_cover = cell.is_some_and(|cell| ground.cover[cell] == Cover::Under);
        Body { spot, rest_s, bed, hidden: u < bed.hidden_share(), under_cover }
    }
}

/// The luck of one search.
#[derive(Clone, Copy, Debug)]
pub struct Luck {
    /// Seed of the incident.
    pub seed: Seed,
    /// What the chances really are.
    pub outlook: Outlook,
    /// Spread of the crew's pace (`pace_log_sd`); 0 for a crew that keeps the planned times.
    pub pace_sd: f64,
}

impl Luck {
    /// Times this crew needs over the planned ones, by method: one factor for the whole search.
    ///
    /// # Source
    /// assumed (`pace_log_sd`), log-normal with median one
    pub fn pace(&self, method: Method) -> f64 {
        let (normal, _) = self.seed.stream("pace").normal_pair(2 * method.index() as u64);
        libm::exp(self.pace_sd * normal)
    }

    /// This crew's own chance of one pass: from the Beta of the sweep.
    fn skill(&self, sweep: &Sweep, bed: Bed) -> f64 {
        let rough = matches!(bed, Bed::Weed | Bed::Rock);
        // A stream of its own for every method and bottom: the same crew whoever asks first.
        let purpose = SKILLS[2 * sweep.method.index() + usize::from(rough)];
        let Detection { a, b } = self.outlook.detection(sweep.detection(bed));
        beta(&mut self.seed.stream(purpose).draws(), a, b)
    }
}

const SKILLS: [&str; 10] = [
    "skill wade firm",
    "skill wade rough",
    "skill dive firm",
    "skill dive rough",
    "skill alone firm",
    "skill alone rough",
    "skill look firm",
    "skill look rough",
    "skill pole firm",
    "skill pole rough",
];

const COVERED: [&str; 5] =
    ["covered by wade", "covered by dive", "covered alone", "covered by look", "covered by pole"];
const FELT: [&str; 5] = ["felt by wade", "felt by dive", "felt alone", "felt by look", "felt by pole"];

/// A number from Beta(a, b); zero where there are no hits to expect.
fn beta(draws: &mut Draws, a: f64, b: f64) -> f64 {
    if a <= 0.0 {
        return 0.0;
    }
    if b <= 0.0 {
        return 1.0;
    }
    let (x, y) = (gamma(draws, a), gamma(draws, b));
    x / (x + y)
}

/// A number from the gamma distribution of shape `a` > 0 and scale one, by the method of Marsaglia and Tsang (textbook).
fn gamma(draws: &mut Draws, a: f64) -> f64 {
    if a < 1.0 {
        let boost = libm::pow(1.0 - draws.u01(), 1.0 / a);
        return gamma(draws, a + 1.0) * boost;
    }
    let d = a - 1.0 / 3.0;
    let c = 1.0 / (9.0 * d).sqrt();
    loop {
        let x = draws.normal();
        let v = 1.0 + c * x;
        let u = 1.0 - draws.u01();
        let v = v * v * v;
        if v > 0.0 && libm::log(u) < 0.5 * x * x + d - d * v + d * libm::log(v) {
            return d * v;
        }
    }
}

/// Passes over one body, one after another in the order of time.
#[derive(Clone, Debug)]
pub struct Passes<'a> {
    body: &'a Body,
    luck: &'a Luck,
    tried: [u64; 5],
    felt: [u64; 5],
}

impl<'a> Passes<'a> {
    /// Nothing has passed yet.
    pub fn new(body: &'a Body, luck: &'a Luck) -> Self {
        Passes { body, luck, tried: [0; 5], felt: [0; 5] }
    }

    /// Whether this sweep finds them; its times are those at which it really happened.
    ///
    /// The strip covers the place by chance where its edge is blurred; what covers it finds them with the crew's own
    /// chance, unless they are hidden from touch.
    ///
    /// # Inputs
    /// - `sweep`: the next one in time
    ///
    /// # Source
    /// models B6, B7, drawn instead of averaged
    pub fn find(&mut self, sweep: &Sweep) -> bool {
        let (body, method) = (self.body, sweep.method);
        let cover = sweep.cover(body.spot);
        let open = method != Method::Pole || body.under_cover;
        if cover <= 0.0 || body.rest_s > sweep.from_s || !open {
            return false;
        }
        let next = |purposes: &[&str; 5], count: &mut u64| {
            *count += 1;
            self.luck.seed.stream(purposes[method.index()]).u01(*count - 1)
        };
        if next(&COVERED, &mut self.tried[method.index()]) >= cover {
            return false;
        }
        let lucky = next(&FELT, &mut self.felt[method.index()]) < self.luck.skill(sweep, body.bed);
        lucky && !(body.hidden && method.by_contact())
    }
}

/// Spread of the crew's pace of the register.
pub fn pace_sd() -> f64 {
    value("pace_log_sd")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_beta_has_its_mean_and_spread() {
        for (a, b) in [(2.8, 1.2), (0.5, 3.5), (3.6, 0.4)] {
            let mut draws = Seed(3).stream("beta").draws();
            let all: Vec<f64> = (0..20_000).map(|_| beta(&mut draws, a, b)).collect();
            let mean = all.iter().sum::<f64>() / 20_000.0;
            let square = all.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / 20_000.0;
            let (expect, variance) = (a / (a + b), a * b / ((a + b) * (a + b) * (a + b + 1.0)));
            // Four standard errors of the mean; the variance to 5 %.
            assert!((mean - expect).abs() < 4.0 * (variance / 20_000.0).sqrt(), "{a} {b}: {mean}");
            assert!((square / variance - 1.0).abs() < 0.05, "{a} {b}: {square} not {variance}");
        }
    }

    #[test]
    fn passes_find_as_often_as_the_belief_says() {
        let sweep = Sweep {
            method: Method::Wade,
            stretch: search::Stretch::Strip {
                from: Spot::new(0.0, 0.0),
                to: Spot::new(0.0, 10.0),
                width_m: 6.0,
            },
            steer_m: 2.5,
            firm: Detection::undrilled(0.7),
            rough: Detection::undrilled(0.5),
            from_s: 0.0,
            to_s: 40.0,
        };
        let body = Body {
            spot: Spot::new(2.0, 5.0),
            rest_s: -60.0,
            bed: Bed::Sand,
            hidden: false,
            under_cover: false,
        };
        let (mut once, mut twice) = (0, 0);
        let n = 20_000;
        for k in 0..n {
            let luck = Luck { seed: Seed(k), outlook: Outlook::default(), pace_sd: 0.0 };
            let mut passes = Passes::new(&body, &luck);
            let first = passes.find(&sweep);
            once += u64::from(first);
            twice += u64::from(first || passes.find(&sweep));
        }
        let cover = sweep.cover(body.spot);
        let d = sweep.firm;
        let expect = 1.0 - (1.0 - cover * (1.0 - d.miss(1.0)));
        // 0.012 is three and a half standard errors of 20,000 draws.
        assert!((once as f64 / n as f64 - expect).abs() < 0.012, "{once} of {n}, expected {expect}");
        // Two blurred passes: both miss the place, one covers it, or both do and share the crew's chance.
        let miss =
            (1.0 - cover).powi(2) + 2.0 * cover * (1.0 - cover) * d.miss(1.0) + cover * cover * d.miss(2.0);
        assert!(
            (twice as f64 / n as f64 - (1.0 - miss)).abs() < 0.012,
            "{twice} of {n}, expected {}",
            1.0 - miss
        );
        let late = Body { rest_s: 10.0, ..body };
        let hidden = Body { hidden: true, ..body };
        for who in [late, hidden] {
            assert!((0..200).all(|k| {
                let luck = Luck { seed: Seed(k), outlook: Outlook::default(), pace_sd: 0.0 };
                !Passes::new(&who, &luck).find(&sweep)
            }));
        }
    }
}
