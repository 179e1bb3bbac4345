//! The handover sheet: one A4 page, black on white, as a page to be read and printed, and as a PDF.
//!
//! What it says comes from `incident::handover`; here it is only set. Start reading at [`page`].

mod drawing;
mod html;
mod map;
mod pdf;
mod sheet;
mod svg;

use super::Desk;
use super::guard::Joined;
use axum::extract::State;
use axum::http::header::{CACHE_CONTROL, CONTENT_DISPOSITION, CONTENT_SECURITY_POLICY, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use std::sync::Arc;

/// The page has a style of its own and nothing else: no script at all.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; font-src 'self'; script-src 'none'; base-uri 'none'; form-action 'none'; \
    frame-ancestors 'none'";

/// `GET /handover`.
pub async fn page(State(desk): State<Arc<Desk>>, Joined(_): Joined) -> Response {
    let sheet = desk.sheet();
    let map = map::map(&desk.chart, &sheet.map, map::SIZE);
    let text = html::html(&sheet, &desk.water.site, &map);
    let headers = [
        (CONTENT_TYPE, "text/html; charset=utf-8"),
        (CONTENT_SECURITY_POLICY, POLICY),
        (CACHE_CONTROL, "no-store"),
    ];
    (headers, text).into_response()
}

/// `GET /handover.pdf`.
pub async fn printed(State(desk): State<Arc<Desk>>, Joined(_): Joined) -> Response {
    let sheet = desk.sheet();
    let bytes = sheet::pdf(&sheet, &desk.water.site, &desk.chart);
    let headers = [
        (CONTENT_TYPE, "application/pdf"),
        (CONTENT_DISPOSITION, "inline; filename=\"handover.pdf\""),
        (CACHE_CONTROL, "no-store"),
    ];
    (headers, bytes).into_response()
}
