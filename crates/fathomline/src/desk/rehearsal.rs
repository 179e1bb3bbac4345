//! A practice search that is already under way, for the demo: real reports through the same door as any phone's.

use super::Desk;
use super::clock::now_ms;
use super::sequencer::Job;
use incident::report::{Ago, Report, Sent, Where};
use measure::Spot;
use search::Method;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::oneshot;
use water::Kind;

/// Device that plays the crew.
const DEVICE: &str = "rehearsal";
/// The alarm lies so far back \[s\].
const BEGAN_S: i64 = 240;

/// Begins in the background; a log that already holds an incident is left as it is.
pub fn begin(desk: &Arc<Desk>) {
    let desk = Arc::clone(desk);
    tokio::spawn(async move {
        if desk.board.borrow().state.incidents == 0 {
            let mut play = Play { desk, number: 0, alarm_ms: now_ms() - BEGAN_S * 1000 };
            // A refused report ends the play where it is; the search goes on without it.
            let _ = play.through().await;
        }
    });
}

struct Play {
    desk: Arc<Desk>,
    number: u32,
    alarm_ms: i64,
}

impl Play {
    async fn through(&mut self) -> Result<(), ()> {
        self.send(0, Report::SwimmerMissing { practice: true }).await?;
        let told = |place: Option<Where>, ago: Option<Ago>| Report::Sighting {
            number: 1,
            place,
            ago,
            class: None,
            stood: None,
            went_under: None,
            talked_with: None,
            missing: None,
        };
        self.send(6, told(Some(self.somewhere()), None)).await?;
        self.send(10, told(None, Some(Ago { from_s: 60.0, to_s: 180.0 }))).await?;
        self.wait_for_orders().await;
        for order in self.orders(|_| true) {
            // One that has been replaced meanwhile is refused, and the play goes on.
            let _ = self.send(30, Report::SaidIt { order }).await;
        }
        self.send(90, Report::SurfaceLooked).await?;
        self.send(120, Report::ShoreChecked { place: None }).await?;
        for order in self.orders(|method| method == Some(Method::Wade)) {
            let _ = self.send(200, Report::MetresWalked { order, metres: 10.0 }).await;
        }
        Ok(())
    }

    /// A place in the water that everybody knows: the raft, or the middle of the water.
    fn somewhere(&self) -> Where {
        let site = &self.desk.water.site;
        let raft = site.features.iter().find(|f| matches!(f.kind, Kind::Raft(_)) && !f.name.is_empty());
        match raft {
            Some(raft) => Where::Mark { name: raft.name.clone() },
            None => {
                let middle =
                    site.of_kind(Kind::Water).next().map_or(Spot::default(), |water| water.shape.middle());
                Where::Point { spot: middle, error_m: None }
            }
        }
    }

    async fn wait_for_orders(&self) {
        let mut board = self.desk.board.subscribe();
        let there = board
            .wait_for(|picture| picture.state.open().is_some_and(|incident| !incident.orders.is_empty()));
        let _ = tokio::time::timeout(Duration::from_secs(30), there).await;
    }

    /// Numbers of the orders that stand and are of a kind.
    fn orders(&self, is_wanted: impl Fn(Option<Method>) -> bool) -> Vec<usize> {
        let picture = self.desk.board.borrow();
        let all = picture.state.open().into_iter().flat_map(|incident| &incident.orders);
        all.filter(|(_, known)| !known.withdrawn && is_wanted(known.shown.method)).map(|(n, _)| *n).collect()
    }

    /// One report, so many seconds after the alarm.
    async fn send(&mut self, after_s: i64, report: Report) -> Result<(), ()> {
        self.number += 1;
        let sent = Sent {
            report_id: format!("rehearsal-{}", self.number),
            happened_at_ms: Some(self.alarm_ms + after_s * 1000),
            report,
        };
        let (answer, answered) = oneshot::channel();
        let job = Job::Reports { device: DEVICE.into(), came: vec![Ok(sent)], answer };
        self.desk.jobs.try_send(job).map_err(|_| ())?;
        match answered.await {
            Ok(Ok(answers)) if matches!(answers.first(), Some(super::wire::Answer::Recorded { .. })) => {
                Ok(())
            }
            _ => Err(()),
        }
    }
}
