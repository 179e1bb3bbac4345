//! `POST /api/join`: the crew's word or the QR code's token in, a cookie out.

use super::clock::now_ms;
use super::entrance::Shut;
use super::guard::refuse;
use super::routes::is_id;
use super::sequencer::Job;
use super::wire::{Join, Joined};
use super::{Desk, secrets, sessions};
use axum::extract::rejection::JsonRejection;
use axum::extract::{ConnectInfo, State};
use axum::http::StatusCode;
use axum::http::header::{RETRY_AFTER, SET_COOKIE};
use axum::response::{IntoResponse, Response};
use axum::{Extension, Json};
use std::net::SocketAddr;
use std::sync::Arc;
use tokio::sync::oneshot;

/// Longest word that is looked at: longer ones are no word of ours.
const WORD_MOST: usize = 64;

/// Lets a device in, or says why not. Who holds it is told by the report that takes a role.
pub async fn join(
    State(desk): State<Arc<Desk>>,
    Extension(ConnectInfo(from)): Extension<ConnectInfo<SocketAddr>>,
    body: Result<Json<Join>, JsonRejection>,
) -> Response {
    let asked = match body {
        Ok(Json(asked)) if is_id(&asked.device, 8) => asked,
        Ok(_) => return unreadable("device must be 8 to 64 letters, digits, `-`".into()),
        Err(error) => return unreadable(error.body_text()),
    };
    match may_enter(&desk, &asked, from).await {
        Ok(()) => admit(&desk, asked).await,
        Err(Shut::Wrong) => {
            let remedy = "ask the lead for today's crew word, or scan the QR code";
            refuse(StatusCode::UNAUTHORIZED, "D001", "the word or the code is not today's", remedy)
        }
        Err(Shut::Wait(seconds)) => {
            let remedy = format!("wait {seconds} s, or scan the QR code, which works at once");
            let what = "too many wrong words came from this address";
            let mut answer = refuse(StatusCode::TOO_MANY_REQUESTS, "D010", what, remedy);
            answer.headers_mut().insert(RETRY_AFTER, seconds.into());
            answer
        }
    }
}

fn unreadable(what: String) -> Response {
    refuse(StatusCode::BAD_REQUEST, "D005", what, "send device and word or token; /api/openapi.json says how")
}

async fn may_enter(desk: &Arc<Desk>, asked: &Join, from: SocketAddr) -> Result<(), Shut> {
    if asked.token.as_ref().is_some_and(|token| desk.entrance.token_fits(token)) {
        return Ok(());
    }
    let Some(word) = asked.word.clone().filter(|word| word.len() <= WORD_MOST) else {
        return Err(Shut::Wrong);
    };
    let desk = Arc::clone(desk);
    let looked = move || desk.entrance.word_fits(&word, from.ip().to_canonical(), now_ms());
    tokio::task::spawn_blocking(looked).await.unwrap_or(Err(Shut::Wrong))
}

async fn admit(desk: &Desk, asked: Join) -> Response {
    let cookie = secrets::random();
    let cookie_digest = sessions::cookie_digest(&cookie);
    let (answer, answered) = oneshot::channel();
    let job = Job::Admit { cookie_digest: cookie_digest.clone(), device: asked.device.clone(), answer };
    if desk.jobs.try_send(job).is_err() {
        return refuse(StatusCode::SERVICE_UNAVAILABLE, "D011", "too much waits", "try again in a moment");
    }
    // A disk that takes nothing keeps nobody out: the session then lasts until the desk is started again.
    let _ = answered.await;
    desk.sessions.admit(&cookie_digest, &asked.device);
    let joined = Joined { device: asked.device, csrf: sessions::csrf(&cookie) };
    ([(SET_COOKIE, sessions::set_cookie(&cookie, desk.tls))], Json(joined)).into_response()
}
