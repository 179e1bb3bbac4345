//! Ours against theirs, as one table.

use super::agree;
use super::yardsticks::{Record, Rivals, Yardstick};

/// One line: our variant against the fastest rival.
pub struct Row {
    job: String,
    ours: Option<Record>,
    theirs: Option<Record>,
    target: f64,
    compared: usize,
    differ: Vec<String>,
}

impl Row {
    /// Whether there is something on both sides and it says the same.
    pub fn agrees(&self) -> bool {
        self.differ.is_empty()
    }

    /// Workload and job, as in the table.
    pub fn job(&self) -> &str {
        &self.job
    }

    /// Our median \[s\].
    pub fn ours_s(&self) -> Option<f64> {
        self.ours.as_ref()?.median()
    }

    /// Ratio of the fastest calls: steadier where other programs hold the cores.
    fn ratio_of_least(&self) -> Option<f64> {
        Some(self.theirs.as_ref()?.least()? / self.ours.as_ref()?.least()?)
    }

    /// Ratio of the times on a core, which neighbours stretch less than wall times.
    fn ratio_of_cpu(&self) -> Option<f64> {
        Some(self.theirs.as_ref()?.cpu_median()? / self.ours.as_ref()?.cpu_median()?)
    }

    fn ratio(&self) -> Option<f64> {
        Some(self.theirs.as_ref()?.median()? / self.ours.as_ref()?.median()?)
    }

    /// Whether the target is met.
    ///
    /// With one thread on both sides each side's time on a core stands for it, unless its time on the wall is less: a busy
    /// neighbour stretches the one, a library's idle threads that turn on the spot the other, and neither is work.
    fn meets(&self) -> bool {
        let single =
            [&self.ours, &self.theirs].iter().all(|side| side.as_ref().is_some_and(|r| r.threads == 1));
        let ratio = if single { self.ratio_of_work() } else { self.ratio() };
        ratio.is_some_and(|ratio| ratio >= self.target)
    }

    fn ratio_of_work(&self) -> Option<f64> {
        let work = |record: &Record| Some(record.median()?.min(record.cpu_median().unwrap_or(f64::INFINITY)));
        Some(work(self.theirs.as_ref()?)? / work(self.ours.as_ref()?)?)
    }
}

/// The lines of one yardstick.
pub fn rows(yardstick: &Yardstick, ours: &[Record], theirs: &[Record]) -> Vec<Row> {
    let mut all = Vec::new();
    for rivals in yardstick.rivals {
        let here: Vec<&Record> = ours.iter().filter(|record| record.answers(rivals)).collect();
        let fastest = fastest(rivals, theirs);
        let judge =
            theirs.iter().find(|record| record.variant == yardstick.judge && record.is_of(rivals.job));
        if here.is_empty() {
            all.push(Row {
                job: format!("{} {}", yardstick.name.to_uppercase(), rivals.kind),
                ours: None,
                theirs: fastest.cloned(),
                target: rivals.target,
                compared: 0,
                differ: vec!["our side printed nothing".into()],
            });
        }
        for record in here {
            let (compared, differ) = match judge {
                Some(judge) => agree::compare(&record.workload, &record.result, &judge.result),
                None => (0, vec![format!("the peer {} printed nothing", yardstick.judge)]),
            };
            all.push(Row {
                job: format!("{} {}", record.workload, rivals.kind),
                ours: Some(record.clone()),
                theirs: fastest.cloned(),
                target: rivals.target,
                compared,
                differ,
            });
        }
    }
    all
}

fn fastest<'a>(rivals: &Rivals, theirs: &'a [Record]) -> Option<&'a Record> {
    theirs
        .iter()
        .filter(|record| rivals.variants.contains(&record.variant.as_str()) && record.is_of(rivals.job))
        .min_by(|a, b| a.median().unwrap_or(f64::INFINITY).total_cmp(&b.median().unwrap_or(f64::INFINITY)))
}

/// The table, and what it says in words where something is short.
pub fn markdown(rows: &[Row], threads: usize, rounds: usize) -> String {
    let mut text = format!(
        "Threads: {threads} on both sides; {rounds} rounds, taking turns. Ratio: the peer's median over ours (of the medians of time on a core; of the fastest calls). With one thread the smaller of a side's two medians decides whether the target is met.\n\n\
         | workload | ours | median s (min) | fastest peer | median s (min) | ratio | target | results |\n\
         |---|---|---|---|---|---|---|---|\n"
    );
    for row in rows {
        let name = |record: &Option<Record>| {
            record.as_ref().map_or("none".to_string(), |r| format!("{}, {} thread(s)", r.variant, r.threads))
        };
        let ratio = row.ratio().zip(row.ratio_of_least());
        let ratio = ratio.map_or("none".into(), |(median, least)| {
            let cpu = row.ratio_of_cpu().map_or("none".into(), |cpu| format!("{cpu:.2}"));
            format!("{median:.2} ({cpu}; {least:.2})")
        });
        let met = if row.meets() { "met" } else { "not met" };
        let results = if row.agrees() {
            format!("agree on {} values", row.compared)
        } else {
            format!("DISAGREE: {}", row.differ.join("; "))
        };
        text += &format!(
            "| {} | {} | {} | {} | {} | {ratio} | {:.1}: {met} | {results} |\n",
            row.job,
            name(&row.ours),
            times(&row.ours),
            name(&row.theirs),
            times(&row.theirs),
            row.target
        );
    }
    text
}

fn times(record: &Option<Record>) -> String {
    match record.as_ref().map(|record| (record.median(), record.least())) {
        Some((Some(median), Some(least))) => format!("{median:.4} ({least:.4})"),
        _ => "none".into(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::yardsticks::{YARDSTICKS, pool};
    use super::*;

    fn records(lines: &[String]) -> Vec<Record> {
        let mut all = Vec::new();
        pool(&lines.join("\n"), &mut all).unwrap();
        all
    }

    fn line(variant: &str, seconds: f64, remaining: f64) -> String {
        format!(
            r#"{{"workload":"P2_bayes_update","variant":"{variant}","params":{{"n":1}},"threads":1,"times_s":[{seconds}],"median_s":{seconds},"result":{{"remaining":{remaining}}}}}"#
        )
    }

    #[test]
    fn ratios_are_against_the_right_rival_and_disagreement_is_seen() {
        let theirs = records(&[line("numba", 0.4, 0.5), line("numba_tiled", 0.1, 0.5)]);
        let rows = super::rows(&YARDSTICKS[1], &records(&[line("tiles", 0.04, 0.5)]), &theirs);
        assert_eq!(rows.len(), 2);
        assert!(
            (rows[0].ratio().unwrap() - 2.5).abs() < 1e-12 && (rows[1].ratio().unwrap() - 10.0).abs() < 1e-12
        );
        assert!(rows.iter().all(Row::agrees));
        let wrong = super::rows(&YARDSTICKS[1], &records(&[line("tiles", 0.04, 0.6)]), &theirs);
        assert!(!wrong[0].agrees() && markdown(&wrong, 1, 1).contains("DISAGREE"));
        assert!(!super::rows(&YARDSTICKS[1], &[], &theirs)[0].agrees());
    }

    #[test]
    fn a_busy_neighbour_does_not_decide_between_single_threads() {
        let timed = |variant: &str, threads: usize, wall: f64, core: f64| {
            format!(
                r#"{{"workload":"P2_bayes_update","variant":"{variant}","params":{{}},"threads":{threads},"times_s":[{wall}],"cpu_median_s":{core},"result":{{"remaining":0.5}}}}"#
            )
        };
        let meets = |threads: usize| {
            let theirs = records(&[timed("numba_tiled", threads, 0.05, 0.04)]);
            let ours = records(&[timed("ours", threads, 0.05, 0.01)]);
            super::rows(&YARDSTICKS[1], &ours, &theirs)[0].meets()
        };
        // On a core four times as fast, on the wall as fast: with one thread that is met, with two it is not.
        assert!(meets(1) && !meets(2));
    }
}
