//! Live updates: each device gets its own screen whenever anything changes, and a beat in between.
//!
//! A stream begins with the whole screen; then only what changed goes out, each message compressed and flushed by itself.
//! A device that is slow gets the latest and skips what lay between: nothing piles up for it. One that comes back, by
//! whatever number it had seen last, gets the whole screen of now.

use super::changes::{News, Sent};
use super::clock::now_ms;
use super::guard::Joined;
use super::picture::Picture;
use super::wire::Beat;
use super::{Desk, screen_of};
use axum::body::{Body, Bytes};
use axum::extract::{Query, State};
use axum::http::header::{ACCEPT_ENCODING, CACHE_CONTROL, CONTENT_ENCODING, CONTENT_TYPE, VARY};
use axum::http::{HeaderMap, HeaderValue};
use axum::response::{IntoResponse, Response};
use flate2::{Compression, write::GzEncoder};
use futures_core::Stream;
use serde::Deserialize;
use std::io::Write;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;
use tokio::sync::{mpsc, watch};
use tokio::time::{Instant, MissedTickBehavior, interval_at, sleep_until};

/// Between beats.
const BEAT: Duration = Duration::from_secs(3);
/// Between looks at what time alone changes on a screen.
const LOOK: Duration = Duration::from_secs(1);
/// Least time between two screens of one device: a burst of reports is one picture.
const APART: Duration = Duration::from_millis(40);

/// Most streams that are compressed, each with a third of a megabyte of memory: far more than a crew has.
const PACKED_MOST: usize = 200;

/// What a device says that it has.
#[derive(Deserialize)]
pub struct Since {
    /// Entry that its last picture shows.
    #[serde(default)]
    since: Option<u64>,
}

/// `GET /api/live`.
pub async fn live(
    State(desk): State<Arc<Desk>>,
    Joined(guest): Joined,
    Query(since): Query<Since>,
    headers: HeaderMap,
) -> Response {
    let mut listening = desk.listeners.enter(&guest.device);
    let packs = takes_gzip(&headers) && desk.listeners.streams() <= PACKED_MOST;
    let (sender, receiver) = mpsc::channel(1);
    let updates = Updates {
        device: guest.device,
        board: desk.board.subscribe(),
        desk,
        sender,
        sent: Sent::default(),
        has_picture: since.since.is_some_and(|seq| seq > 0),
        pack: packs.then(|| GzEncoder::new(Vec::new(), Compression::fast())),
    };
    tokio::spawn(async move {
        tokio::select! {
            () = updates.run() => {}
            _ = &mut listening.ended => {}
        }
    });
    let mut answer = Body::from_stream(Received(receiver)).into_response();
    for (name, value) in [
        (CONTENT_TYPE, "text/event-stream"),
        (CACHE_CONTROL, "no-store, no-transform"),
        (VARY, "accept-encoding"),
    ] {
        answer.headers_mut().insert(name, HeaderValue::from_static(value));
    }
    if packs {
        answer.headers_mut().insert(CONTENT_ENCODING, HeaderValue::from_static("gzip"));
    }
    answer
}

/// Whether whoever asks says that they unpack gzip.
fn takes_gzip(headers: &HeaderMap) -> bool {
    let said = headers.get_all(ACCEPT_ENCODING).iter().filter_map(|value| value.to_str().ok());
    said.flat_map(|all| all.split(',')).any(|one| {
        let (name, how) = one.split_once(';').unwrap_or((one, ""));
        name.trim().eq_ignore_ascii_case("gzip")
            && !matches!(how.trim(), "q=0" | "q=0.0" | "q=0.00" | "q=0.000")
    })
}

/// What one stream sends.
struct Updates {
    device: String,
    board: watch::Receiver<Picture>,
    desk: Arc<Desk>,
    sender: mpsc::Sender<Bytes>,
    sent: Sent,
    /// The other end has a picture of before.
    has_picture: bool,
    pack: Option<GzEncoder<Vec<u8>>>,
}

impl Updates {
    /// Sends until the other end is gone: at once what is there now, whatever number the device asked from.
    async fn run(mut self) {
        let mut beats = interval_at(Instant::now(), BEAT);
        let mut looks = interval_at(Instant::now() + LOOK, LOOK);
        beats.set_missed_tick_behavior(MissedTickBehavior::Delay);
        looks.set_missed_tick_behavior(MissedTickBehavior::Delay);
        self.board.mark_changed();
        let mut trouble = Vec::new();
        loop {
            let sent = tokio::select! {
                biased;
                _ = beats.tick() => self.beat().await,
                changed = self.board.changed() => match changed {
                    Ok(()) => {
                        let earliest = Instant::now() + APART;
                        let now = self.board.borrow_and_update().trouble();
                        let told = if now == trouble { Ok(()) } else { self.beat().await };
                        trouble = now;
                        let sent = if told.is_ok() { self.screen().await } else { told };
                        sleep_until(earliest).await;
                        sent
                    }
                    Err(_) => Err(()),
                },
                _ = looks.tick() => self.screen().await,
                () = self.sender.closed() => Err(()),
            };
            if sent.is_err() {
                return;
            }
        }
    }

    async fn screen(&mut self) -> Result<(), ()> {
        let picture = self.board.borrow().clone();
        // After a start of the desk the picture that a phone has kept is better than one without belief and orders.
        if self.has_picture && self.sent.is_empty() && picture.catches_up() {
            return Ok(());
        }
        let screen = screen_of(&picture, &self.device, now_ms());
        drop(picture);
        let (event, data) = match self.sent.news(&screen) {
            None => return Ok(()),
            Some(News::Screen(whole)) => ("screen", whole),
            Some(News::Change(change)) => ("change", change),
        };
        self.send(&format!("id: {}\nevent: {event}\ndata: {data}\n\n", screen.seq)).await
    }

    async fn beat(&mut self) -> Result<(), ()> {
        let beat = self.desk.beat();
        let text = serde_json::to_string(&beat).expect("a beat is plain data");
        self.send(&format!("event: beat\ndata: {text}\n\n")).await
    }

    async fn send(&mut self, text: &str) -> Result<(), ()> {
        let bytes = match &mut self.pack {
            None => text.as_bytes().to_vec(),
            // Flushed to the last byte: a message that waits for the next one is no message.
            Some(pack) => {
                pack.write_all(text.as_bytes()).and_then(|()| pack.flush()).map_err(drop)?;
                std::mem::take(pack.get_mut())
            }
        };
        self.sender.send(Bytes::from(bytes)).await.map_err(drop)
    }
}

impl Desk {
    /// What every stream is told every three seconds.
    pub fn beat(&self) -> Beat {
        let picture = self.board.borrow();
        Beat {
            now_ms: now_ms(),
            seq: picture.seq,
            phones: self.sessions.devices(),
            live: self.listeners.devices(),
            head_code: picture.head_code.clone(),
            trouble: picture.trouble(),
            zero_made_at_ms: self.zero.made_at_ms(),
        }
    }
}

/// The receiving end as the body of an answer.
struct Received(mpsc::Receiver<Bytes>);

impl Stream for Received {
    type Item = Result<Bytes, std::convert::Infallible>;

    fn poll_next(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Option<Self::Item>> {
        self.0.poll_recv(context).map(|bytes| bytes.map(Ok))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_who_says_so_gets_packed_streams() {
        let asked = |text: &'static str| {
            let mut headers = HeaderMap::new();
            headers.insert(ACCEPT_ENCODING, HeaderValue::from_static(text));
            takes_gzip(&headers)
        };
        for yes in ["gzip", "gzip, deflate, br", "br;q=1.0, GZIP;q=0.5", "deflate,gzip"] {
            assert!(asked(yes), "{yes}");
        }
        for no in ["", "identity", "br", "gzip;q=0", "x-gzipped", "*;q=0"] {
            assert!(!asked(no), "{no}");
        }
        assert!(!takes_gzip(&HeaderMap::new()));
    }
}
