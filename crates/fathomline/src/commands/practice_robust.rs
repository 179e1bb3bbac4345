//! `fathomline practice robust`: what plans lose when the world is not as they take it.

use super::simulated::{Scene, print};
use crate::progress::Progress;
use measure::Seed;
use readiness::bathers::{together, zones};
use readiness::chain::Thinking;
use readiness::incident::{Source, Truths, Witnesses, World};
use readiness::robust::{Row, table};
use readiness::shares::Mean;
use serde_json::json;
use std::fmt::Write;
use std::process::ExitCode;
use water::Problem;

/// What plans lose in a world that differs from the model, against plans that knew; with and without the broad mixture.
#[derive(clap::Args)]
pub struct Robust {
    #[command(flatten)]
    scene: Scene,
    /// How many alarms.
    #[arg(long, default_value_t = 40, value_parser = clap::value_parser!(u64).range(2..=10_000))]
    alarms: u64,
    /// Effort of every plan \[evaluations\].
    #[arg(long, default_value_t = 2_000)]
    effort: u64,
    /// Print JSON.
    #[arg(long)]
    json: bool,
}

impl Robust {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        print(self.text())
    }

    fn text(&self) -> Result<String, Vec<Problem>> {
        let scene = self.scene.load()?;
        let base = scene.simulated(false);
        let setting = base.setting();
        let areas = zones(&setting, None);
        scene.need_bathers(&areas)?;
        let zone = together(&areas);
        let world = World::as_modelled(Truths::Model);
        let source = Source { setting, zone: &zone, witnesses: Witnesses::Mixed, world, at_s: scene.at_s };
        let thinking = Thinking { effort: self.effort, ..Thinking::default() };
        let progress = Progress::new("alarms", self.alarms);
        let rows =
            table(&source, (Seed(self.scene.seed), self.alarms), thinking, &|done| progress.tell(done));
        if self.json {
            return Ok(format!("{:#}\n", json!({ "seed": self.scene.seed, "rows": rows })));
        }
        Ok(lines(&base.site.name, self, &rows))
    }
}

fn lines(site: &str, command: &Robust, rows: &[Row]) -> String {
    let mut text = format!(
        "{site}: worth lost against plans that knew; {} alarms, mixed witnesses, effort {}, seed {}\n\n",
        command.alarms, command.effort, command.scene.seed
    );
    text.push_str("| world | worth of a plan that knew | lost without the broad mixture | lost with it |\n|---|---|---|---|\n");
    let percent = |m: &Mean| format!("{:.1} ± {:.1} %", 100.0 * m.mean, 100.0 * m.error);
    for row in rows {
        let _ = writeln!(
            text,
            "| {} | {:.3} ± {:.3} | {} | {} |",
            row.wrong.words(),
            row.knew.mean,
            row.knew.error,
            percent(&row.loss_plain),
            percent(&row.loss_broad)
        );
    }
    text
}
