//! Survival weight V(t): orders the search; never shown as a chance of life (models P1, P8).

use measure::parameters::value;

/// Water at or below this keeps the tail of the weight longer \[°C\].
pub const COLD_C: f64 = 6.0;

/// Planning weight of finding a person `minutes` after their head went under, resuscitation starting then.
///
/// Linear between nodes; past the last node it falls by a factor e every `survival_tail_min` minutes,
/// so that late alarms still order by time. Model `survival_weight`, docs/models/survival.md.
///
/// # Inputs
/// - `minutes`: since head-under \[min\]; below zero counts as zero
/// - `water_c`: water temperature \[°C\]; one curve up to 6 °C, another above, nothing between
///
/// # Gives
/// Weight in (0, 1\], strictly falling.
///
/// # Source
/// szpilman-2012 (from memory) for the middle nodes, quan-2016 and tipton-golden-2011 for the ends; a weight, not a prognosis.
pub fn survival_weight(minutes: f64, water_c: f64) -> f64 {
    Curve { v_8: value("survival_v_8"), water_c }.at(minutes)
}

/// The weight with another node at eight minutes, the one that is known least: for asking how much a plan leans on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Curve {
    /// Weight at eight minutes.
    pub v_8: f64,
    /// Water temperature \[°C\].
    pub water_c: f64,
}

impl Curve {
    /// As [`survival_weight`].
    ///
    /// # Source
    /// as [`survival_weight`]
    pub fn at(&self, minutes: f64) -> f64 {
        let (v2, v8, v18) = (value("survival_v_2_5"), self.v_8, value("survival_v_18"));
        let warm = [(0.0, 1.0), (2.5, v2), (8.0, v8), (18.0, v18), (25.0, 0.03), (30.0, 0.01)];
        let cold = [(0.0, 1.0), (2.5, v2), (8.0, v8), (18.0, v18), (30.0, 0.07), (60.0, 0.03), (90.0, 0.01)];
        let nodes: &[(f64, f64)] = if self.water_c <= COLD_C { &cold } else { &warm };
        let minutes = minutes.max(0.0);
        for pair in nodes.windows(2) {
            if minutes <= pair[1].0 {
                let share = (minutes - pair[0].0) / (pair[1].0 - pair[0].0);
                return pair[0].1 + (pair[1].1 - pair[0].1) * share;
            }
        }
        let (last_min, last_weight) = nodes[nodes.len() - 1];
        last_weight * libm::exp(-(minutes - last_min) / value("survival_tail_min"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // shows: SV-1
    #[test]
    fn the_weight_passes_through_its_nodes_and_falls_for_ever() {
        for (minutes, water_c, expect) in [
            (0.0, 20.0, 1.0),
            (2.5, 20.0, 0.9),
            (8.0, 4.0, 0.44),
            (25.0, 6.1, 0.03),
            (30.0, 6.0, 0.07),
            (90.0, 2.0, 0.01),
        ] {
            assert!((survival_weight(minutes, water_c) - expect).abs() < 1e-12, "{minutes} min {water_c} C");
        }
        for water_c in [4.0, 18.0] {
            let row: Vec<f64> = (0..4000).map(|k| survival_weight(f64::from(k) * 0.1, water_c)).collect();
            assert!(row.windows(2).all(|w| w[1] < w[0] && w[1] > 0.0));
        }
    }

    // shows: SV-2
    #[test]
    fn cold_water_changes_the_tail_alone() {
        for minutes in [0.0, 3.0, 8.0, 17.9, 18.0] {
            assert_eq!(survival_weight(minutes, 6.0), survival_weight(minutes, 6.1), "{minutes} min");
        }
        assert!(survival_weight(30.0, 6.0) > survival_weight(30.0, 6.1));
    }
}
