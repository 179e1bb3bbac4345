//! Live updates: each device gets its own screen whenever anything changes, and a beat in between.
//!
//! A device that is slow gets the latest and skips what lay between: nothing piles up for it.

use super::clock::now_ms;
use super::guard::Joined;
use super::picture::Picture;
use super::wire::Beat;
use super::{Desk, screen_of};
use axum::body::{Body, Bytes};
use axum::extract::State;
use axum::http::HeaderValue;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use futures_core::Stream;
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

/// `GET /api/live`.
pub async fn live(State(desk): State<Arc<Desk>>, Joined(guest): Joined) -> Response {
    let mut listening = desk.listeners.enter(&guest.device);
    let (sender, receiver) = mpsc::channel(1);
    let updates =
        Updates { device: guest.device, board: desk.board.subscribe(), desk, sender, last: String::new() };
    tokio::spawn(async move {
        tokio::select! {
            () = updates.run() => {}
            _ = &mut listening.ended => {}
        }
    });
    let headers = [
        (CONTENT_TYPE, HeaderValue::from_static("text/event-stream")),
        (CACHE_CONTROL, HeaderValue::from_static("no-store, no-transform")),
    ];
    (headers, Body::from_stream(Received(receiver))).into_response()
}

/// What one stream sends.
struct Updates {
    device: String,
    board: watch::Receiver<Picture>,
    desk: Arc<Desk>,
    sender: mpsc::Sender<Bytes>,
    /// The last screen without its time, so that the same is not sent twice.
    last: String,
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
        let mut screen = screen_of(&picture, &self.device, now_ms());
        let at_ms = std::mem::take(&mut screen.at_ms);
        let text = serde_json::to_string(&screen).expect("a screen is plain data");
        if text == self.last {
            return Ok(());
        }
        screen.at_ms = at_ms;
        let whole = serde_json::to_string(&screen).expect("a screen is plain data");
        self.last = text;
        self.send(format!("id: {}\nevent: screen\ndata: {whole}\n\n", screen.seq)).await
    }

    async fn beat(&self) -> Result<(), ()> {
        let beat = self.desk.beat();
        let text = serde_json::to_string(&beat).expect("a beat is plain data");
        self.send(format!("event: beat\ndata: {text}\n\n")).await
    }

    async fn send(&self, text: String) -> Result<(), ()> {
        self.sender.send(Bytes::from(text)).await.map_err(|_| ())
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
