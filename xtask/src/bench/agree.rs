//! Whether two programs computed the same thing.

use serde_json::Value;

/// How far two values of one key may lie apart.
#[derive(Clone, Copy)]
enum Slack {
    Absolute(f64),
    Relative(f64),
}

use Slack::{Absolute, Relative};

/// A handful of particles may fall on the other side of a cell's edge when the last bit of a sine differs.
const STRAY: f64 = 20.0;

/// Tolerances by workload (its first two letters) and key; keys that are not here are not compared.
const SLACK: [(&str, &str, Slack); 41] = [
    ("P1", "inside", Absolute(STRAY)),
    ("P1", "mean_x", Absolute(STRAY * 1e-6)),
    ("P1", "mean_y", Absolute(STRAY * 1e-6)),
    ("P1", "sd_x", Absolute(STRAY * 1e-6)),
    ("P1", "sd_y", Absolute(STRAY * 1e-6)),
    ("P1", "entropy_bits", Absolute(STRAY * 1e-6)),
    ("P1", "peak_count", Absolute(STRAY)),
    ("P1", "count_box_x255_270_y155_170", Absolute(STRAY)),
    ("P1", "checksum", Absolute(STRAY * 9973.0)),
    ("P2", "remaining", Relative(1e-10)),
    ("P2", "pod_0", Relative(1e-10)),
    ("P2", "pod_sum", Relative(1e-10)),
    ("P2", "pod_max", Relative(1e-10)),
    ("P2", "entropy_bits", Relative(1e-10)),
    ("P3", "pos_0", Relative(1e-10)),
    ("P3", "pos_9", Relative(1e-10)),
    ("P3", "pos_24", Relative(1e-10)),
    ("P3", "pos_49", Relative(1e-10)),
    ("P3", "lam_24", Relative(1e-10)),
    // The sun by its own course instead of the algorithm: within 0.0001 degrees, and some minutes near a threshold change sides.
    ("P5", "daylight_minutes", Absolute(2.0)),
    ("P5", "el_max", Absolute(1e-4)),
    ("P5", "el_at_720", Absolute(1e-4)),
    ("P5", "az_at_720", Absolute(1e-3)),
    ("P5", "el_sum_positive", Relative(1e-6)),
    ("P5", "worst_deg_from_spa", Absolute(1e-4)),
    ("P5", "minutes_total", Absolute(STRAY)),
    ("P5", "minutes_max", Absolute(2.0)),
    ("P5", "minutes_cell_25_10", Absolute(2.0)),
    ("P5", "minutes_cell_0_49", Absolute(2.0)),
    ("P5", "dose_total", Relative(1e-6)),
    ("P5", "dose_cell_25_10", Relative(1e-6)),
    // Two second-order schemes with their own starts agree to a part in a thousand.
    ("P4", "mean_min_s", Relative(1e-3)),
    ("P4", "t_500_420", Relative(2e-3)),
    ("P4", "mean_all", Relative(1e-3)),
    // Both prove the same best values, stated to 1e-9.
    ("P6", "sum", Absolute(12e-9)),
    ("P6", "max_abs_diff_vs_file", Absolute(1e-9)),
    ("P7", "inside", Absolute(0.0)),
    ("P7", "rmse", Relative(1e-9)),
    ("P7", "max_abs", Relative(1e-9)),
    ("P7", "sum", Relative(1e-10)),
    ("P7", "cell_250_250", Relative(1e-10)),
];

/// Largest error against the closed form of the infinite plane that a grid of 1 m cells leaves.
const CLOSED_FORM: f64 = 2e-8;

/// Compares two results of one workload: how many values were compared, and what differs.
pub fn compare(workload: &str, ours: &Value, theirs: &Value) -> (usize, Vec<String>) {
    let mut compared = 0;
    let mut differ = Vec::new();
    for (of, key, slack) in SLACK {
        if !workload.starts_with(of) {
            continue;
        }
        let (Some(a), Some(b)) = (ours[key].as_f64(), theirs[key].as_f64()) else { continue };
        compared += 1;
        let allowed = match slack {
            Absolute(most) => most,
            Relative(share) => share * b.abs(),
        };
        let gap = (a - b).abs();
        if gap.is_nan() || gap > allowed {
            differ.push(format!("{key}: {a} against {b}"));
        }
    }
    if let Some(error) = ours["max_abs_err_vs_closed_form"].as_f64() {
        compared += 1;
        if error.is_nan() || error > CLOSED_FORM {
            differ.push(format!("{error} from the closed form"));
        }
    }
    if compared == 0 {
        differ.push("no value in common".into());
    }
    (compared, differ)
}

#[cfg(test)]
mod tests {
    use super::compare;
    use serde_json::json;

    #[test]
    fn equal_results_agree_and_others_do_not() {
        let theirs = json!({"remaining": 0.084962640994113, "pod_0": 0.0105});
        assert_eq!(compare("P2_bayes_update", &theirs, &theirs), (2, vec![]));
        assert_eq!(compare("P2_bayes_update", &json!({"remaining": 0.08496264}), &theirs).1.len(), 1);
        assert_eq!(compare("P2_bayes_update", &json!({"other": 1}), &theirs).1, ["no value in common"]);
        let far = json!({"pos_9": 0.5, "max_abs_err_vs_closed_form": 1e-3});
        assert_eq!(compare("P3_allocation", &far, &json!({"pos_9": 0.5})).1.len(), 1);
    }

    #[test]
    fn a_handful_of_strays_is_forgiven_in_the_histogram_only() {
        let (ours, theirs) = (json!({"checksum": 4_896_900_000_u64}), json!({"checksum": 4_896_867_608_u64}));
        assert!(compare("P1_drift_sink", &ours, &theirs).1.is_empty());
        assert!(
            !compare("P7_surface", &json!({"inside": 249_241}), &json!({"inside": 249_242})).1.is_empty()
        );
    }
}
