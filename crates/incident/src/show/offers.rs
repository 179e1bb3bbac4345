//! What is offered and never done by itself: to break off, to spread the search.

use super::View;
use crate::report::Role;
use crate::screen::BreakOff;
use crate::state::Phase;

impl View<'_> {
    /// Whether those who give orders are offered anything now.
    fn may_offer(&self) -> bool {
        let searching = self.incident().is_some_and(|i| i.phase == Phase::Searching && i.short.is_empty());
        searching && matches!(self.sender.role, Role::Lead | Role::Deputy)
    }

    /// Break off a running lane that is worth little against the best that waits.
    pub(crate) fn break_off(&self) -> Option<BreakOff> {
        let better = self.thought_of_now()?.better.filter(|_| self.may_offer())?;
        let incident = self.incident()?;
        let running = incident.orders.get(&better.running).filter(|known| known.ended_ms.is_none())?;
        let place = self.thought_of_now()?.places.get(&better.instead).cloned().unwrap_or_default();
        let times =
            if better.times >= 10.0 { "more than ten".to_string() } else { format!("{:.1}", better.times) };
        Some(BreakOff {
            order: better.running,
            words: format!(
                "{}: break off lane {}? Lane {} ({place}) finds {times} times as much in the same time: {:.0} % chance.",
                self.line_name(running),
                better.running,
                better.instead,
                100.0 * better.finds,
            ),
        })
    }

    /// The probable ground is spent: spread the search.
    pub(crate) fn widen(&self) -> Option<String> {
        let left = self.thought_of_now()?.left;
        (left.spent && self.may_offer()).then(|| {
            format!(
                "What is left of the lanes would find {:.0} % of what may lie on the bottom. Widen: down-current, the other depth band, all the water?",
                100.0 * left.finds
            )
        })
    }
}
