//! Until when nothing need be touched.

use super::View;
use crate::screen::Say;
use crate::state::Phase;

impl View<'_> {
    /// After the orders of now, the moment of the next order to be said or the next count or end that is due.
    pub(crate) fn quiet_until_ms(&self, say: &[Say]) -> Option<i64> {
        let incident = self.incident().filter(|i| i.phase == Phase::Searching && i.short.is_empty())?;
        let ahead = |ms: &i64| *ms > self.now_ms;
        let next = say.iter().map(|say| say.due_ms).filter(ahead).min();
        let open = incident.orders.values().filter(|known| known.ended_ms.is_none() && !known.withdrawn);
        let ends = open.filter(|known| known.shown.method.is_some()).map(|known| known.shown.ends_ms);
        let end = ends.filter(ahead).min();
        next.into_iter().chain(end).min()
    }
}
