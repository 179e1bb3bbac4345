//! How fast a guard goes on what, and what each way costs before it begins.

use measure::parameters::value;

/// A way to get to somebody.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    /// On foot and swimming, with a rescue tube.
    Swim,
    /// On foot to the water's edge, then with fins.
    Fins,
    /// With the rescue board.
    Board,
    /// With the boat.
    Boat,
}

impl Way {
    /// All ways, in the order in which a tie is settled: the one that needs least comes first.
    pub const ALL: [Way; 4] = [Way::Swim, Way::Fins, Way::Board, Way::Boat];

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Way::Swim => "swim",
            Way::Fins => "fins",
            Way::Board => "board",
            Way::Boat => "boat",
        }
    }
}

/// Depths of the table of wading paces \[m\].
const WADE_DEPTHS_M: [f64; 6] = [0.2, 0.4, 0.6, 0.8, 1.0, 1.2];
const WADE_NAMES: [&str; 6] = [
    "wade_run_20cm_mps",
    "wade_run_40cm_mps",
    "wade_run_60cm_mps",
    "wade_run_80cm_mps",
    "wade_run_100cm_mps",
    "wade_run_120cm_mps",
];

/// Paces \[m/s\] and overheads \[s\] of one guard; the register's unless the crew has measured its own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Paces {
    /// On land.
    pub land_mps: f64,
    /// On decks, which are wet.
    pub deck_mps: f64,
    /// Wading at 0.2, 0.4 … 1.2 m of water.
    pub wade_mps: [f64; 6],
    /// Swimming with a tube.
    pub swim_mps: f64,
    /// Swimming with fins.
    pub fins_mps: f64,
    /// Paddling the board.
    pub board_mps: f64,
    /// Rowing.
    pub boat_mps: f64,
    /// Leave the stand and enter the water.
    pub entry_s: f64,
    /// Put fins on.
    pub fins_don_s: f64,
    /// Pick up, carry and mount the board.
    pub board_launch_s: f64,
    /// Launch the boat.
    pub boat_launch_s: f64,
    /// Climb onto a raft or dock.
    pub climb_s: f64,
    /// Towing a casualty: swimming, with fins, on the board, in the boat.
    pub tow_mps: [f64; 4],
}

impl Default for Paces {
    fn default() -> Self {
        Paces {
            land_mps: value("run_sand_mps"),
            deck_mps: value("run_deck_mps"),
            wade_mps: WADE_NAMES.map(value),
            swim_mps: value("swim_tube_mps"),
            fins_mps: value("swim_fins_mps"),
            board_mps: value("board_mps"),
            boat_mps: value("row_mps"),
            entry_s: value("entry_s"),
            fins_don_s: value("fins_don_s"),
            board_launch_s: value("board_launch_s"),
            boat_launch_s: value("boat_launch_s"),
            climb_s: value("climb_s"),
            tow_mps: ["tow_mps", "tow_fins_mps", "tow_board_mps", "row_casualty_mps"].map(value),
        }
    }
}

impl Paces {
    /// Paces at a kind of water: round a pool one walks on wet deck, elsewhere the shore is taken as dry sand.
    pub fn at(water: water::WaterKind) -> Paces {
        let usual = Paces::default();
        match water {
            water::WaterKind::Pool => Paces { land_mps: usual.deck_mps, ..usual },
            _ => usual,
        }
    }

    /// Pace of wading at a depth \[m/s\].
    ///
    /// # Inputs
    /// - `depth_m` \[m\]; unknown depth (NaN) is not waded
    ///
    /// # Gives
    /// Linear between the depths of the table, from the pace on land at depth 0; beyond the last depth 0.
    ///
    /// # Source
    /// li-2026 (shape); height: common practice, no published source
    pub fn wade_mps(&self, depth_m: f64) -> f64 {
        if depth_m.is_nan() || depth_m > WADE_DEPTHS_M[5] {
            return 0.0;
        }
        let (mut from_m, mut from_mps) = (0.0, self.land_mps);
        for (to_m, to_mps) in WADE_DEPTHS_M.into_iter().zip(self.wade_mps) {
            // Wading is never faster than running on the land beside it.
            let to_mps = to_mps.min(self.land_mps);
            if depth_m <= to_m {
                let share = ((depth_m - from_m) / (to_m - from_m)).clamp(0.0, 1.0);
                return from_mps + (to_mps - from_mps) * share;
            }
            (from_m, from_mps) = (to_m, to_mps);
        }
        0.0
    }

    /// Pace on or in deep water by a way \[m/s\].
    pub fn water_mps(&self, way: Way) -> f64 {
        match way {
            Way::Swim => self.swim_mps,
            Way::Fins => self.fins_mps,
            Way::Board => self.board_mps,
            Way::Boat => self.boat_mps,
        }
    }

    /// What a way costs between the foot and the water \[s\], beside leaving the stand.
    pub fn launch_s(&self, way: Way) -> f64 {
        match way {
            Way::Swim => 0.0,
            Way::Fins => self.fins_don_s,
            Way::Board => self.board_launch_s,
            Way::Boat => self.boat_launch_s,
        }
    }

    /// Pace with a casualty \[m/s\].
    pub fn tow_mps(&self, way: Way) -> f64 {
        self.tow_mps[way as usize]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // shows: RE-4
    #[test]
    fn wading_slows_with_depth_and_ends_at_the_last_depth_of_the_table() {
        let paces = Paces::default();
        for (depth_m, mps) in [(0.0, 3.3), (0.1, 3.15), (0.2, 3.0), (0.5, 1.6), (1.2, 0.6), (1.21, 0.0)] {
            assert!((paces.wade_mps(depth_m) - mps).abs() < 1e-12, "{depth_m}");
        }
        assert_eq!(paces.wade_mps(f64::NAN), 0.0);
        let depths: Vec<f64> = (0..=120).map(|k| 0.01 * f64::from(k)).collect();
        assert!(depths.windows(2).all(|w| paces.wade_mps(w[1]) < paces.wade_mps(w[0])));
        // On a wet pool deck nobody wades faster than they walk.
        let pool = Paces::at(water::WaterKind::Pool);
        assert_eq!((pool.wade_mps(0.0), pool.wade_mps(0.2)), (2.0, 2.0));
    }
}
