//! The web app inside the program: files of web/dist as they were when it was built.
//!
//! A build without them serves one plain page that says how to make them.

use axum::http::header::{CACHE_CONTROL, CONTENT_ENCODING, CONTENT_TYPE, ETAG, VARY};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use flate2::{Compression, write::GzEncoder};
use rust_embed::RustEmbed;
use std::collections::BTreeMap;
use std::io::Write;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

#[derive(RustEmbed)]
#[folder = "../../web/dist"]
#[allow_missing = true]
struct Files;

/// What is served where the app should be.
const NOT_BUILT: &str = "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><title>fathomline</title>
<h1>fathomline is running, but its screens were not built</h1>
<p>Build them and the program again: <code>cd web &amp;&amp; npm ci &amp;&amp; npm run build</code>, then
<code>cargo build --release --package fathomline</code>; <code>cargo xtask demo</code> does both.</p>
<p>The log, the orders on paper and the files work without them.</p></html>";

/// One file, ready to be sent.
#[derive(Clone)]
struct Ready {
    bytes: Arc<[u8]>,
    gzip: Option<Arc<[u8]>>,
    tag: String,
}

/// Whether the app was built into this program.
pub fn is_built() -> bool {
    Files::get("index.html").is_some()
}

/// A file of the app; the app's own page for `/` and `/join`.
///
/// # Inputs
/// - `path`: of the request, with its slash · `asked`: headers of the request
pub fn file(path: &str, asked: &HeaderMap) -> Response {
    let name = match path {
        "/" | "/join" => "index.html",
        other => other.trim_start_matches('/'),
    };
    if !is_plain(name) {
        return StatusCode::NOT_FOUND.into_response();
    }
    let Some(ready) = ready(name) else {
        return match name {
            "index.html" => ([(CONTENT_TYPE, "text/html; charset=utf-8")], NOT_BUILT).into_response(),
            _ => StatusCode::NOT_FOUND.into_response(),
        };
    };
    // Names under assets/ hold a digest of what is in them: they never change.
    let cache = if name.starts_with("assets/") { "public, max-age=31536000, immutable" } else { "no-cache" };
    let about = [(CACHE_CONTROL, cache), (ETAG, ready.tag.as_str()), (VARY, "accept-encoding")];
    let asks = |header: &str, word: &str| {
        asked.get(header).and_then(|value| value.to_str().ok()).is_some_and(|value| value.contains(word))
    };
    if asks("if-none-match", &ready.tag) {
        return (StatusCode::NOT_MODIFIED, about).into_response();
    }
    let kind = [(CONTENT_TYPE, kind(name))];
    match ready.gzip.filter(|_| asks("accept-encoding", "gzip")) {
        Some(bytes) => (about, kind, [(CONTENT_ENCODING, "gzip")], bytes.to_vec()).into_response(),
        None => (about, kind, ready.bytes.to_vec()).into_response(),
    }
}

/// Whether a name can only be a file of ours: no way up, no odd letters.
fn is_plain(name: &str) -> bool {
    let sound = |part: &str| !part.is_empty() && !part.starts_with('.');
    name.len() <= 200
        && name.bytes().all(|b| b.is_ascii_alphanumeric() || b"._-/".contains(&b))
        && name.split('/').all(sound)
}

/// The file, compressed once if that saves anything.
fn ready(name: &str) -> Option<Ready> {
    static KEPT: OnceLock<Mutex<BTreeMap<String, Ready>>> = OnceLock::new();
    let file = Files::get(name)?;
    let tag: String = file.metadata.sha256_hash()[..8].iter().map(|byte| format!("{byte:02x}")).collect();
    let tag = format!("\"{tag}\"");
    let kept = KEPT.get_or_init(Mutex::default);
    if let Some(ready) =
        kept.lock().unwrap_or_else(PoisonError::into_inner).get(name).filter(|r| r.tag == tag)
    {
        return Some(ready.clone());
    }
    let mut packed = GzEncoder::new(Vec::new(), Compression::best());
    let gzip = packed.write_all(&file.data).and_then(|()| packed.finish()).ok();
    let gzip = gzip.filter(|gzip| gzip.len() * 10 < file.data.len() * 9).map(Arc::from);
    let ready = Ready { bytes: Arc::from(&file.data[..]), gzip, tag };
    kept.lock().unwrap_or_else(PoisonError::into_inner).insert(name.to_string(), ready.clone());
    Some(ready)
}

fn kind(name: &str) -> &'static str {
    match name.rsplit_once('.').map_or("", |(_, ending)| ending) {
        "html" => "text/html; charset=utf-8",
        "js" => "text/javascript; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "json" => "application/json",
        "webmanifest" => "application/manifest+json",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "jpg" | "jpeg" => "image/jpeg",
        "webp" => "image/webp",
        "ico" => "image/x-icon",
        "woff2" => "font/woff2",
        "ttf" => "font/ttf",
        "txt" => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_name_leads_out_of_the_app() {
        for odd in [
            "../Cargo.toml",
            "assets/../../x",
            "..",
            ".env",
            "a//b",
            "a\\b",
            "%2e%2e/x",
            "",
            "/etc/passwd",
            "a\0b",
        ] {
            assert!(!is_plain(odd), "{odd}");
            assert_eq!(
                file(&format!("/{odd}"), &HeaderMap::new()).status() == StatusCode::NOT_FOUND,
                !odd.is_empty()
            );
        }
        assert!(is_plain("assets/index-1a2b.js") && is_plain("sw.js"));
        assert_eq!(file("/", &HeaderMap::new()).status(), StatusCode::OK);
        assert_eq!(file("/nothing.js", &HeaderMap::new()).status(), StatusCode::NOT_FOUND);
    }
}
