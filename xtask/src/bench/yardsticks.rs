//! The yardsticks, who competes in each, and the lines that both sides print.

use crate::shell;
use serde::Deserialize;
use serde_json::Value;
use std::path::Path;

/// One workload with its rivals.
pub struct Yardstick {
    /// Name on the command line.
    pub name: &'static str,
    /// The peers' program.
    pub script: &'static str,
    /// Rivals: each line of the table is ours against the fastest of these.
    pub rivals: &'static [Rivals],
    /// The peer whose result ours must equal.
    pub judge: &'static str,
    /// Peers that do another job, run for a table of their own.
    pub also: &'static [&'static str],
}

/// Peer variants that do the same job, and the ratio aimed at.
pub struct Rivals {
    /// What distinguishes this job: (parameter, value), or none.
    pub job: Option<(&'static str, &'static str)>,
    /// Words for the table.
    pub kind: &'static str,
    /// Our variants that do this job; none named: all of them.
    pub ours: &'static [&'static str],
    /// Peer variants.
    pub variants: &'static [&'static str],
    /// Their median over ours should be at least this.
    pub target: f64,
}

/// Every yardstick that has our side.
pub const YARDSTICKS: &[Yardstick] = &[
    Yardstick {
        name: "p1",
        script: "p1_drift_sink.py",
        rivals: &[
            Rivals {
                job: Some(("mode", "analytic")),
                kind: "analytic",
                ours: &[],
                variants: &["numba", "numpy"],
                target: 1.5,
            },
            Rivals {
                job: Some(("mode", "march")),
                kind: "marching",
                ours: &[],
                variants: &["numba", "numpy"],
                target: 3.0,
            },
        ],
        // The numpy variant draws other numbers; only this one shares ours.
        judge: "numba",
        also: &[],
    },
    Yardstick {
        name: "p2",
        script: "p2_bayes_update.py",
        rivals: &[
            Rivals { job: None, kind: "tiled index", ours: &[], variants: &["numba_tiled"], target: 2.0 },
            Rivals { job: None, kind: "streaming", ours: &[], variants: &["numba"], target: 8.0 },
        ],
        judge: "numba_tiled",
        also: &[],
    },
    Yardstick {
        name: "p3",
        script: "p3_allocation.py",
        rivals: &[
            Rivals {
                job: Some(("prior", "circular")),
                kind: "circular, chance found",
                ours: &["pos"],
                variants: &["numpy", "numba_newton"],
                target: 1.5,
            },
            Rivals {
                job: Some(("prior", "mixture")),
                kind: "mixture, chance found",
                ours: &["pos"],
                variants: &["numpy", "numba_newton"],
                target: 1.5,
            },
            Rivals {
                job: Some(("prior", "circular")),
                kind: "circular, all maps",
                ours: &["maps"],
                variants: &["numpy_maps"],
                target: 1.5,
            },
            Rivals {
                job: Some(("prior", "mixture")),
                kind: "mixture, all maps",
                ours: &["maps"],
                variants: &["numpy_maps"],
                target: 1.5,
            },
        ],
        judge: "numpy",
        also: &[],
    },
    Yardstick {
        name: "p4",
        script: "p4_reach_time.py",
        rivals: &[Rivals {
            job: None,
            kind: "second order, 8 posts",
            ours: &["march"],
            variants: &["skfmm"],
            target: 2.0,
        }],
        judge: "skfmm",
        also: &[],
    },
    Yardstick {
        name: "p5",
        script: "p5_glare.py",
        rivals: &[
            Rivals {
                job: None,
                kind: "season, with dose",
                ours: &["glint"],
                variants: &["glint_numba", "glint_numpy"],
                target: 4.0,
            },
            Rivals {
                job: None,
                kind: "season, minutes only",
                ours: &["glint_minutes"],
                variants: &["glint_numba_minutes"],
                target: 3.0,
            },
        ],
        judge: "glint_numba",
        also: &[],
    },
    Yardstick {
        name: "p5sun",
        script: "p5_glare.py",
        rivals: &[Rivals {
            job: None,
            kind: "positions of a season",
            ours: &["course"],
            variants: &["spa_numpy", "spa_numba"],
            target: 20.0,
        }],
        judge: "spa_numpy",
        also: &[],
    },
    Yardstick {
        name: "p6",
        script: "p6_plan.py",
        rivals: &[Rivals {
            job: None,
            kind: "twelve searcher paths, proven best",
            ours: &["exact"],
            variants: &["bnb"],
            target: 1.0,
        }],
        judge: "bnb",
        also: &["look1", "look4"],
    },
    Yardstick {
        name: "p7",
        script: "p7_surface.py",
        rivals: &[Rivals {
            job: None,
            kind: "natural neighbour",
            ours: &[],
            variants: &["sibson"],
            target: 2.0,
        }],
        judge: "sibson",
        also: &[],
    },
];

/// What one variant measured; times of several rounds are pooled.
#[derive(Clone, Debug, Deserialize)]
pub struct Record {
    /// Workload, such as `P1_drift_sink`.
    pub workload: String,
    /// Variant.
    pub variant: String,
    /// Sizes and modes.
    pub params: Value,
    /// Threads used; peers that cannot use more say 1.
    #[serde(default = "one")]
    pub threads: usize,
    /// Every timed call \[s\].
    #[serde(default)]
    pub times_s: Vec<f64>,
    /// Median, where the single times are not given \[s\].
    pub median_s: Option<f64>,
    /// Median time on a core \[s\], where told.
    pub cpu_median_s: Option<f64>,
    /// The same of every round pooled.
    #[serde(skip)]
    pub cpu_s: Vec<f64>,
    /// What it computed.
    pub result: Value,
}

fn one() -> usize {
    1
}

impl Record {
    /// Median of all timed calls \[s\].
    pub fn median(&self) -> Option<f64> {
        let mut times = self.times_s.clone();
        times.sort_by(f64::total_cmp);
        times.get(times.len() / 2).copied()
    }

    /// Median over rounds of the median time on a core \[s\]: what waiting for a core leaves out.
    pub fn cpu_median(&self) -> Option<f64> {
        let mut times = self.cpu_s.clone();
        times.sort_by(f64::total_cmp);
        times.get(times.len() / 2).copied().filter(|&seconds| seconds > 0.0)
    }

    /// Fastest timed call \[s\].
    pub fn least(&self) -> Option<f64> {
        self.times_s.iter().copied().min_by(f64::total_cmp)
    }

    /// Whether this record of ours answers these rivals.
    pub fn answers(&self, rivals: &Rivals) -> bool {
        self.is_of(rivals.job) && (rivals.ours.is_empty() || rivals.ours.contains(&self.variant.as_str()))
    }

    /// Whether this record is of the job, by its parameters.
    pub fn is_of(&self, job: Option<(&str, &str)>) -> bool {
        job.is_none_or(|(name, value)| self.params[name] == value)
    }
}

/// Adds the JSON lines of one run to the records, pooling the times of the same variant.
pub fn pool(text: &str, into: &mut Vec<Record>) -> Result<(), String> {
    for line in text.lines().filter(|line| line.starts_with('{')) {
        let mut record: Record =
            serde_json::from_str(line).map_err(|e| format!("not a record: {e}: {line}"))?;
        if record.times_s.is_empty() {
            record.times_s.extend(record.median_s);
        }
        record.cpu_s.extend(record.cpu_median_s);
        let same = |other: &&mut Record| {
            other.variant == record.variant
                && other.params == record.params
                && other.threads == record.threads
        };
        match into.iter_mut().find(same) {
            Some(known) => {
                known.times_s.append(&mut record.times_s);
                known.cpu_s.append(&mut record.cpu_s);
                known.result = record.result;
            }
            None => into.push(record),
        }
    }
    Ok(())
}

/// Runs our side once.
pub fn measure(
    program: &Path,
    name: &str,
    threads: usize,
    repeats: usize,
    into: &mut Vec<Record>,
) -> Result<(), String> {
    let mut command = shell::program(program);
    command.args([name, &threads.to_string(), &repeats.to_string()]);
    pool(&shell::output(&mut command)?, into)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounds_are_pooled_by_variant_and_job() {
        let line = |mode: &str, t: f64| {
            format!(
                r#"{{"workload":"P1","variant":"a","params":{{"mode":"{mode}"}},"threads":1,"times_s":[{t},3.0],"median_s":{t},"result":{{}}}}"#
            )
        };
        let mut all = Vec::new();
        pool(&format!("noise\n{}\n{}", line("march", 1.0), line("analytic", 9.0)), &mut all).unwrap();
        pool(&line("march", 2.0), &mut all).unwrap();
        assert_eq!(all.len(), 2);
        assert_eq!((all[0].median(), all[0].least()), (Some(3.0), Some(1.0)));
        assert!(all[0].is_of(Some(("mode", "march"))) && !all[0].is_of(Some(("mode", "analytic"))));
        assert!(pool("{broken", &mut all).is_err());
    }
}
