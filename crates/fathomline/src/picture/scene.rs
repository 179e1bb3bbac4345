//! What a picture is made from.

use super::palette::{DUSK, PRINT, Palette, SUN};
use super::photo::Under;
use super::signs::Doing;
use measure::Spot;
use search::belief::{Cloud, Masses};
use search::plan::Plan;
use search::{Alarm, Setting, Sweep};
use water::Field;

/// For which light a picture is made.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
pub enum Theme {
    /// White, for the sun.
    #[default]
    Sun,
    /// Dark, for dusk.
    Dusk,
    /// Black on paper.
    Print,
}

/// How a picture looks.
#[derive(Clone, Debug, PartialEq)]
pub struct Look {
    /// Light.
    pub theme: Theme,
    /// Width in picture units, which are the dots of a screen: 390 for a phone, 1,000 for a laptop. Letters keep their size.
    pub width: f64,
    /// Whether north is up instead of the water as one faces it.
    pub north_up: bool,
    /// Date as shown; empty for none.
    pub date: String,
    /// Cautions that apply now, as sentences.
    pub cautions: Vec<String>,
    /// Photo from above that lies under the water.
    pub photo: Option<Under>,
}

impl Default for Look {
    fn default() -> Self {
        Look {
            theme: Theme::Sun,
            width: 1000.0,
            north_up: false,
            date: String::new(),
            cautions: Vec::new(),
            photo: None,
        }
    }
}

impl Look {
    /// The colours.
    pub(super) fn palette(&self) -> &'static Palette {
        match self.theme {
            Theme::Sun => &SUN,
            Theme::Dusk => &DUSK,
            Theme::Print => &PRINT,
        }
    }

    /// The width, kept to what can be laid out.
    pub(super) fn page_width(&self) -> f64 {
        if self.width.is_finite() { self.width.clamp(320.0, 4000.0) } else { 1000.0 }
    }
}

/// A sweep that was made and reported.
#[derive(Clone, Debug, PartialEq)]
pub struct Searched {
    /// Its number, as it was ordered.
    pub number: usize,
    /// What was swept.
    pub sweep: Sweep,
    /// Who led it.
    pub by: String,
}

/// Somebody on the picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Person {
    /// Name written beside the sign; empty for none.
    pub name: String,
    /// Where.
    pub spot: Spot,
    /// What they do.
    pub doing: Doing,
}

/// Words over the map.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Header {
    /// What it is: `Swimmer missing`.
    pub title: String,
    /// Time since the alarm, large: `6:42`.
    pub clock: String,
    /// Time of day: `14:38:49`.
    pub now: String,
    /// Time of the alarm: `14:32:07`.
    pub alarm: String,
    /// The order to say next; none where everybody has one.
    pub say_next: Option<String>,
}

/// A search at one moment.
#[derive(Clone, Debug)]
pub struct SearchScene<'a> {
    /// Water, day, current.
    pub setting: Setting<'a>,
    /// What was told.
    pub alarm: &'a Alarm,
    /// Possible places.
    pub cloud: &'a Cloud,
    /// Shares.
    pub masses: Masses,
    /// Mass in each cell, smoothed as it shall be drawn (`Belief::smoothed`); none without a belief.
    pub map: Option<&'a Field<f64>>,
    /// Outlines: (share inside, level of `map`).
    pub regions: &'a [(f64, f64)],
    /// The plan.
    pub plan: &'a Plan,
    /// Numbers of the plan's runs, as the orders say them; where too short, counting goes on from the last.
    pub numbers: &'a [usize],
    /// Sweeps made.
    pub searched: &'a [Searched],
    /// People on the picture; empty: as the plan places them.
    pub people: &'a [Person],
    /// Now \[s since the alarm\].
    pub now_s: f64,
    /// Words over the map.
    pub header: Header,
    /// Look.
    pub look: Look,
}

impl SearchScene<'_> {
    /// The number of run `k` as said in the orders.
    pub fn number(&self, k: usize) -> usize {
        match (self.numbers.get(k), self.numbers.last()) {
            (Some(number), _) => *number,
            (None, Some(last)) => last + 1 + k - self.numbers.len(),
            (None, None) => k + 1 + self.searched.iter().map(|s| s.number).max().unwrap_or(0),
        }
    }
}
