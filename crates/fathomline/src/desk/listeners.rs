//! Devices that listen to live updates now.

use std::collections::{BTreeMap, VecDeque};
use std::sync::{Arc, Mutex, PoisonError};
use tokio::sync::oneshot;

/// Most streams of one device: pages of one browser, and streams whose network went away without a word.
const STREAMS_MOST: usize = 8;

/// Streams open, by device, the oldest first.
#[derive(Clone, Default)]
pub struct Listeners(Arc<Mutex<Open>>);

#[derive(Default)]
struct Open {
    streams: BTreeMap<String, VecDeque<(u64, oneshot::Sender<()>)>>,
    next: u64,
}

/// One stream, counted as long as it lives.
pub struct Listening {
    all: Listeners,
    device: String,
    number: u64,
    /// Comes to its end when newer streams of the same device take this one's place.
    pub ended: oneshot::Receiver<()>,
}

impl Listeners {
    /// One more stream of a device; its oldest ends if there are too many.
    pub fn enter(&self, device: &str) -> Listening {
        let mut open = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        open.next += 1;
        let number = open.next;
        let (sender, ended) = oneshot::channel();
        let streams = open.streams.entry(device.to_string()).or_default();
        if streams.len() >= STREAMS_MOST {
            streams.pop_front();
        }
        streams.push_back((number, sender));
        Listening { all: self.clone(), device: device.to_string(), number, ended }
    }

    /// How many streams are open.
    pub fn streams(&self) -> usize {
        let open = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        open.streams.values().map(VecDeque::len).sum()
    }

    /// How many devices listen.
    pub fn devices(&self) -> usize {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).streams.len()
    }
}

impl Drop for Listening {
    fn drop(&mut self) {
        let mut open = self.all.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(streams) = open.streams.get_mut(&self.device) {
            streams.retain(|(number, _)| *number != self.number);
            if streams.is_empty() {
                open.streams.remove(&self.device);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_device_that_comes_back_again_and_again_is_let_in_and_its_oldest_stream_ends() {
        let all = Listeners::default();
        let mut first = all.enter("a");
        let rest: Vec<Listening> = (0..STREAMS_MOST).map(|_| all.enter("a")).collect();
        assert!(first.ended.try_recv().is_err_and(|e| e == oneshot::error::TryRecvError::Closed));
        let other = all.enter("b");
        assert_eq!((all.devices(), all.streams()), (2, STREAMS_MOST + 1));
        drop((rest, other));
        assert_eq!(all.devices(), 0);
        drop(first);
    }
}
