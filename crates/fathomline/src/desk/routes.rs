//! Every address of the desk, and what it takes to come in.

use super::clock::now_ms;
use super::guard::{self, Joined, Posted, guest, refuse};
use super::sequencer::{Came, Job};
use super::wire::{Answer, Answers, Hello, Refused};
use super::{Desk, address, files, join, live, openapi, paper, screen_of, still, web, zero};
use axum::body::Bytes;
use axum::extract::{DefaultBodyLimit, Path, State};
use axum::http::header::CONTENT_TYPE;
use axum::http::{HeaderMap, StatusCode, Uri};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Json, Router, middleware};
use incident::report::{Role, Sent};
use serde_json::Value;
use std::sync::Arc;
use tokio::sync::oneshot;

/// Largest body with reports \[bytes\].
const REPORTS_BYTES: usize = 128 * 1024;
/// Most reports in one request.
const REPORTS_MOST: usize = 50;
/// Largest other body \[bytes\].
const BODY_BYTES: usize = 4 * 1024;

/// The desk's addresses.
pub fn router(desk: Arc<Desk>) -> Router {
    Router::new()
        .route("/api/hello", get(hello))
        .route("/api/join", post(join::join))
        .route("/api/report", post(report).layer(DefaultBodyLimit::max(REPORTS_BYTES)))
        .route(guard::LIVE, get(live::live))
        .route("/api/screen", get(screen))
        .route("/api/site", get(site))
        .route("/api/still", get(still::still))
        .route("/api/photo/{digest}", get(still::photo))
        .route("/api/qr.svg", get(qr))
        .route("/api/explain/{model}", get(explain))
        .route("/api/zero", get(zero::cards).post(zero::anew))
        .route("/handover", get(paper::page))
        .route("/handover.pdf", get(paper::printed))
        .route("/files/{name}", get(files::file))
        .route("/api/openapi.json", get(|| async { Json(openapi::document()) }))
        .fallback(app)
        .layer(DefaultBodyLimit::max(BODY_BYTES))
        .layer(middleware::from_fn(guard::every))
        .with_state(desk)
}

async fn hello(State(desk): State<Arc<Desk>>, headers: HeaderMap) -> Json<Hello> {
    let guest = guest(&headers, &desk);
    let now = now_ms();
    let practice =
        desk.practice || desk.board.borrow().state.open().is_some_and(|incident| incident.practice);
    Json(Hello {
        site: desk.water.site.name.clone(),
        version: env!("CARGO_PKG_VERSION").into(),
        now_ms: now,
        joined: guest.is_some(),
        practice,
        device: guest.as_ref().map(|guest| guest.device.clone()),
        csrf: guest.map(|guest| guest.csrf),
    })
}

/// `POST /api/report`: answered only when all of it is on disk.
async fn report(State(desk): State<Arc<Desk>>, Posted(guest): Posted, body: Bytes) -> Response {
    let came = match reports(&body) {
        Ok(came) => came,
        Err(refused) => return (StatusCode::BAD_REQUEST, Json(refused)).into_response(),
    };
    if let Err(seconds) = desk.reporting.take(&guest.device, now_ms()) {
        let remedy = format!("send them together, after {seconds} s");
        return refuse(
            StatusCode::TOO_MANY_REQUESTS,
            "D010",
            "this device sends more than a hand can",
            remedy,
        );
    }
    let (answer, answered) = oneshot::channel();
    if desk.jobs.try_send(Job::Reports { device: guest.device, came, answer }).is_err() {
        let what = "more reports wait than can be written";
        return refuse(StatusCode::SERVICE_UNAVAILABLE, "D011", what, "send it again in a moment");
    }
    match answered.await {
        Ok(Ok(answers)) => Json(Answers { answers }).into_response(),
        Ok(Err(refused)) => (StatusCode::INSUFFICIENT_STORAGE, Json(refused)).into_response(),
        Err(_) => refuse(StatusCode::SERVICE_UNAVAILABLE, "D011", "the desk is closing", "send it again"),
    }
}

/// Reports of a body, each by itself: one that cannot be read is refused, and those beside it are not.
fn reports(body: &[u8]) -> Result<Vec<Came>, Refused> {
    let odd = |what: String| Refused {
        code: "D005".into(),
        what,
        remedy: format!(
            "send {{\"reports\": [...]}} with at most {REPORTS_MOST} reports; /api/openapi.json says how"
        ),
    };
    let value: Value = serde_json::from_slice(body).map_err(|error| odd(format!("no JSON: {error}")))?;
    let list = match value.as_object().filter(|all| all.len() == 1).and_then(|all| all.get("reports")) {
        Some(Value::Array(list)) if list.len() <= REPORTS_MOST => list,
        Some(Value::Array(list)) => return Err(odd(format!("{} reports at once", list.len()))),
        _ => return Err(odd("no list of reports".into())),
    };
    Ok(list.iter().map(one_report).collect())
}

fn one_report(value: &Value) -> Came {
    let report_id = value.get("report_id").and_then(Value::as_str).unwrap_or_default().to_string();
    let odd = |what: String| Answer::Refused {
        report_id: report_id.chars().take(64).collect(),
        code: "D005".into(),
        what,
        remedy: "load the page again; until then keep the paper slate".into(),
    };
    let sent: Sent =
        serde_json::from_value(value.clone()).map_err(|error| odd(format!("it cannot be read: {error}")))?;
    if !is_id(&sent.report_id, 1) {
        return Err(odd("report_id must be 1 to 64 letters, digits, `-`".into()));
    }
    Ok(sent)
}

/// Whether a text can be a number that a device made.
pub fn is_id(text: &str, least: usize) -> bool {
    (least..=64).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-')
}

async fn screen(State(desk): State<Arc<Desk>>, Joined(guest): Joined) -> Response {
    let picture = desk.board.borrow().clone();
    Json(screen_of(&picture, &guest.device, now_ms())).into_response()
}

async fn site(State(desk): State<Arc<Desk>>, Joined(_): Joined, headers: HeaderMap) -> Response {
    desk.packed_chart.answer(&headers)
}

/// The QR code to join by: for whoever leads, since it lets people in.
async fn qr(State(desk): State<Arc<Desk>>, Joined(guest): Joined) -> Response {
    let role = desk.board.borrow().state.sender(&guest.device).role;
    if !matches!(role, Role::Lead | Role::Deputy) {
        return refuse(StatusCode::FORBIDDEN, "D006", "the code is the lead's to show", "ask the lead");
    }
    ([(CONTENT_TYPE, "image/svg+xml")], address::qr_svg(&desk.join_url())).into_response()
}

async fn explain(Joined(_): Joined, Path(model): Path<String>) -> Response {
    match super::explain::page(&model) {
        Some(page) => Json(page).into_response(),
        None => refuse(
            StatusCode::NOT_FOUND,
            "D013",
            "no model has that name",
            "take the name that the figure gives",
        ),
    }
}

/// The app and its files; nothing else is at any other address.
async fn app(method: axum::http::Method, uri: Uri, headers: HeaderMap) -> Response {
    if method != axum::http::Method::GET && method != axum::http::Method::HEAD {
        return StatusCode::METHOD_NOT_ALLOWED.into_response();
    }
    web::file(uri.path(), &headers)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_report_that_cannot_be_read_does_not_hold_up_its_neighbours() {
        let body = br#"{"reports": [
            {"report_id": "a-1", "report": {"what": "swimmer_missing", "practice": false}},
            {"report_id": "a-2", "report": {"what": "flying"}},
            {"report_id": "no good", "report": {"what": "back_in"}},
            7
        ]}"#;
        let came = reports(body).unwrap();
        assert!(came[0].is_ok() && came[1..].iter().all(|one| one.is_err()), "{came:?}");
        let Err(Answer::Refused { report_id, code, .. }) = &came[1] else { panic!("{came:?}") };
        assert_eq!((report_id.as_str(), code.as_str()), ("a-2", "D005"));
        let many = format!("{{\"reports\": [{}]}}", vec!["1"; 51].join(","));
        for odd in ["", "[]", "{}", "{\"reports\": {}}", "{\"reports\": [], \"x\": 1}", many.as_str()] {
            assert!(reports(odd.as_bytes()).is_err(), "{odd}");
        }
    }
}
