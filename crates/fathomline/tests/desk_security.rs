//! Nobody gets in who should not, and nobody who is in can hurt the rest.

mod phones;

use phones::wire::{Live, connect, raw, read_reply, request, written};
use phones::{Desk, Folder, Phone, WORD, three_touches};
use serde_json::json;
use std::io::{BufReader, Read, Write};
use std::time::{Duration, Instant};

const CLOSED: [&str; 10] = [
    "/api/screen",
    "/api/site",
    "/api/zero",
    "/api/live",
    "/api/qr.svg",
    "/api/explain/belief",
    "/handover",
    "/handover.pdf",
    "/files/log.jsonl",
    "/files/log.csv",
];

#[test]
fn without_a_cookie_nothing_is_told() {
    let folder = Folder::new("no-cookie");
    let desk = Desk::start(&folder.0, &[]);
    let mut phone = Phone::join(desk.port, "phone-aaaa");
    phone.recorded(json!({ "what": "swimmer_missing", "practice": false }));
    for path in CLOSED {
        let reply = request(desk.port, "GET", path, &[], None).unwrap();
        assert_eq!((reply.status, reply.json()["code"].as_str()), (401, Some("D001")), "{path}");
    }
    let (half, twice) =
        (phone.cookie[..phone.cookie.len() - 1].to_string(), format!("{0}; {0}", phone.cookie));
    let stranger = format!("fathomline={}", "0".repeat(64));
    for cookie in [half.as_str(), &twice, &stranger, "fathomline=", "x"] {
        let reply = request(desk.port, "GET", "/api/screen", &[("cookie", cookie)], None).unwrap();
        assert_eq!(reply.status, 401, "{cookie}");
    }
    let two = [("cookie", phone.cookie.as_str()), ("cookie", stranger.as_str())];
    assert_eq!(request(desk.port, "GET", "/api/screen", &two, None).unwrap().status, 401);
    let hello = request(desk.port, "GET", "/api/hello", &[], None).unwrap().json();
    assert_eq!((hello["joined"].as_bool(), hello["csrf"].is_null()), (Some(false), true));
    assert_eq!(phone.get("/api/hello").json()["csrf"], json!(phone.csrf));
}

#[test]
fn a_report_needs_our_own_page() {
    let folder = Folder::new("csrf");
    let desk = Desk::start(&folder.0, &[]);
    let phone = Phone::join(desk.port, "phone-aaaa");
    let body = json!({ "reports": [{ "report_id": "x-1", "report": { "what": "note", "words": "x" } }] });
    let post = |more: &[(&str, &str)]| {
        let mut headers = vec![("cookie", phone.cookie.as_str())];
        headers.extend_from_slice(more);
        request(desk.port, "POST", "/api/report", &headers, Some(&body)).unwrap().status
    };
    let csrf = phone.csrf.as_str();
    assert_eq!(post(&[]), 403, "no header");
    assert_eq!(post(&[("x-fathomline-csrf", "")]), 403);
    assert_eq!(post(&[("x-fathomline-csrf", &csrf[1..])]), 403);
    assert_eq!(post(&[("x-fathomline-csrf", csrf), ("origin", "http://elsewhere.example")]), 403);
    assert_eq!(post(&[("x-fathomline-csrf", csrf), ("origin", "null")]), 403);
    assert_eq!(post(&[("x-fathomline-csrf", csrf), ("sec-fetch-site", "cross-site")]), 403);
    assert_eq!(
        post(&[("x-fathomline-csrf", csrf), ("origin", "http://desk"), ("sec-fetch-site", "same-origin")]),
        200
    );
    let other = Phone::join(desk.port, "phone-bbbb");
    assert_eq!(post(&[("x-fathomline-csrf", &other.csrf)]), 403, "another device's word");
    // A form of another page can send only these kinds, and not the header.
    let form =
        "POST /api/join HTTP/1.1\r\nhost: desk\r\ncontent-type: text/plain\r\ncontent-length: 2\r\n\r\n{}";
    assert_eq!(raw(desk.port, form.as_bytes()).unwrap().status, 400);
    let log = phone.get("/files/log.jsonl").text();
    assert_eq!(log.matches("\"x-1\"").count(), 1, "what was refused left something behind");
}

#[test]
fn only_the_lead_does_what_is_the_leads() {
    let folder = Folder::new("roles");
    let desk = Desk::start(&folder.0, &[]);
    let mut lead = Phone::join(desk.port, "phone-lead");
    let mut other = Phone::join(desk.port, "phone-other");
    lead.recorded(json!({ "what": "role_taken", "role": "lead" }));
    other.recorded(json!({ "what": "role_taken", "role": "gate" }));
    three_touches(&mut lead);
    let answer = other.report(json!({ "what": "stood_down", "reason": "no" }));
    assert_eq!(answer["answer"], "refused", "{answer}");
    assert!(!answer["remedy"].as_str().unwrap().is_empty());
    assert_eq!(other.get("/api/qr.svg").status, 403);
    assert_eq!(other.post("/api/zero", &json!({})).unwrap().status, 403);
    let qr = lead.get("/api/qr.svg");
    assert_eq!((qr.status, qr.header("content-type")), (200, Some("image/svg+xml")));
    assert!(!lead.screen_when(0, |_| true)["you"]["may"].as_array().unwrap().is_empty());
}

#[test]
fn no_path_leads_out_and_no_head_or_body_is_too_much() {
    let folder = Folder::new("paths");
    let desk = Desk::start(&folder.0, &[]);
    let phone = Phone::join(desk.port, "phone-aaaa");
    for path in [
        "/../Cargo.toml",
        "/assets/../../../etc/passwd",
        "/%2e%2e/%2e%2e/etc/passwd",
        "/..%2f..%2fetc%2fpasswd",
        "/assets/..%5c..%5cx",
        "/files/../log.sqlite",
        "/files/%2e%2e%2flog.sqlite",
        "/files/log.sqlite",
        "/log.sqlite",
        "/api/explain/..%2f..%2fREADME",
        "/api/explain/%00",
        "//etc/passwd",
        "/.git/config",
    ] {
        let reply = phone.get(path);
        assert!([400, 404].contains(&reply.status), "{path}: {}", reply.status);
        assert!(!reply.text().contains("root:"), "{path}");
    }
    assert_eq!(phone.get(&format!("/{}", "a".repeat(2000))).status, 414);
    let long = "a".repeat(200_000);
    let head = request(desk.port, "GET", "/", &[("x-long", &long)], None);
    assert!(head.is_err() || head.unwrap().status == 431);
    let many: Vec<(String, String)> = (0..500).map(|k| (format!("x-{k}"), "1".into())).collect();
    let many: Vec<(&str, &str)> = many.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect();
    let head = request(desk.port, "GET", "/", &many, None);
    assert!(head.is_err() || head.unwrap().status == 431);
    let reply = phone.post("/api/report", &json!({ "reports": [], "x": "y".repeat(300_000) }));
    assert!(reply.is_err() || reply.unwrap().status == 413, "a body without end");
    for (method, path) in
        [("PUT", "/api/report"), ("DELETE", "/files/log.jsonl"), ("POST", "/"), ("TRACE", "/")]
    {
        let status = request(desk.port, method, path, &phone.headers(), Some(&json!({}))).unwrap().status;
        assert!([403, 404, 405].contains(&status), "{method} {path}: {status}");
    }
    for odd in [
        "GET /api/hello HTTP/1.1\r\nhost: a\r\ncontent-length: 5\r\ntransfer-encoding: chunked\r\n\r\n0\r\n\r\n",
        "GET /api/hello HTTP/1.1\r\nhost: a\r\nx: a\r\n b\r\n\r\n",
        "GET  /api/hello HTTP/1.1\r\n\r\n",
        "\0\0\0\r\n\r\n",
        "GET /api/hello HTTP/9.9\r\nhost: a\r\n\r\n",
    ] {
        // Whatever comes back, it comes from a desk that goes on.
        let _ = raw(desk.port, odd.as_bytes());
    }
    assert_eq!(phone.get("/api/hello").status, 200);
}

#[test]
fn answers_carry_the_headers_that_keep_a_browser_from_mischief() {
    let folder = Folder::new("headers");
    let desk = Desk::start(&folder.0, &[]);
    let phone = Phone::join(desk.port, "phone-aaaa");
    for path in ["/", "/join?t=x", "/api/hello", "/api/screen", "/nothing", "/handover"] {
        let reply = phone.get(path);
        let policy = reply.header("content-security-policy").unwrap_or_default().to_string();
        assert!(
            policy.contains("default-src 'none'") && policy.contains("frame-ancestors 'none'"),
            "{path}: {policy}"
        );
        let scripts =
            policy.split(';').find(|part| part.trim().starts_with("script-src")).unwrap_or("").to_string();
        assert!(!scripts.contains("unsafe") && !policy.contains('*'), "{path}: {policy}");
        assert_eq!(reply.header("x-content-type-options"), Some("nosniff"), "{path}");
        assert_eq!(reply.header("referrer-policy"), Some("no-referrer"), "{path}");
        assert_eq!(reply.header("access-control-allow-origin"), None, "{path}");
    }
    assert_eq!(phone.get("/api/screen").header("cache-control"), Some("no-store"));
    let body = json!({ "device": "phone-cccc", "word": WORD });
    let reply = request(desk.port, "POST", "/api/join", &[], Some(&body)).unwrap();
    let cookie = reply.header("set-cookie").unwrap();
    assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"), "{cookie}");
}

#[test]
fn guessing_the_word_is_slowed_down_and_locks_nobody_out() {
    let folder = Folder::new("guess");
    let desk = Desk::start(&folder.0, &[]);
    let crew = Phone::join(desk.port, "phone-crew");
    let token = desk_token(&crew);
    let guess = |word: &str| {
        let body = json!({ "device": "phone-guess", "word": word });
        request(desk.port, "POST", "/api/join", &[], Some(&body)).unwrap()
    };
    let mut refused = None;
    for k in 0..30 {
        let reply = guess(&format!("guess-{k}"));
        assert!([401, 429].contains(&reply.status), "{}", reply.text());
        if reply.status == 429 {
            refused = Some(reply);
            break;
        }
    }
    let refused = refused.expect("guessing is never slowed down");
    let wait: u64 = refused.header("retry-after").unwrap().parse().unwrap();
    assert!((1..=10).contains(&wait), "{wait}");
    // Whoever has joined goes on, and the code lets in at once.
    assert_eq!(crew.get("/api/screen").status, 200);
    let body = json!({ "device": "phone-late", "token": token });
    assert_eq!(request(desk.port, "POST", "/api/join", &[], Some(&body)).unwrap().status, 200);
    for token in ["", "x", &token[1..]] {
        let body = json!({ "device": "phone-late", "token": token });
        assert_eq!(
            request(desk.port, "POST", "/api/join", &[], Some(&body)).unwrap().status,
            401,
            "{token:?}"
        );
    }
    std::thread::sleep(Duration::from_secs(wait + 1));
    assert_eq!(guess(WORD).status, 200, "and the right word soon works from there too");
}

/// The token, out of the drawing that the lead's screen shows: the desk prints it nowhere.
fn desk_token(lead: &Phone) -> String {
    assert_eq!(lead.get("/api/qr.svg").status, 200);
    let folder = std::env::temp_dir().join(format!("fathomline-desk-guess-{}", std::process::id()));
    let db = rusqlite::Connection::open_with_flags(
        folder.join("log.sqlite"),
        rusqlite::OpenFlags::SQLITE_OPEN_READ_ONLY,
    );
    db.unwrap().query_row("SELECT value FROM settings WHERE name = 'token'", [], |row| row.get(0)).unwrap()
}

#[test]
fn slow_phones_hold_up_nobody() {
    let folder = Folder::new("slow");
    let desk = Desk::start(&folder.0, &[]);
    let mut phone = Phone::join(desk.port, "phone-aaaa");
    // Heads that never end, bodies that never come, streams that nobody reads.
    let mut idle: Vec<_> = (0..40).map(|_| connect(desk.port).unwrap()).collect();
    idle.iter_mut().for_each(|stream| stream.write_all(b"GET /api/hel").unwrap());
    let mut half: Vec<_> = (0..20).map(|_| connect(desk.port).unwrap()).collect();
    let mut head = written("POST", "/api/report", &phone.headers(), None);
    head.truncate(head.len() - 2);
    head.extend_from_slice(b"content-type: application/json\r\ncontent-length: 1000\r\n\r\n{");
    half.iter_mut().for_each(|stream| stream.write_all(&head).unwrap());
    let deaf: Vec<_> = (0..12)
        .map(|_| {
            let mut stream = connect(desk.port).unwrap();
            stream.write_all(&written("GET", "/api/live", &phone.headers(), None)).unwrap();
            stream
        })
        .collect();
    three_touches(&mut phone);
    let begin = Instant::now();
    let mut live = Live::open(desk.port, &phone.headers()).unwrap();
    for k in 0..20 {
        let seq = phone.recorded(json!({ "what": "note", "words": format!("{k}") }));
        while live.next_of("screen").unwrap().id.unwrap() < seq {}
    }
    assert!(begin.elapsed() < Duration::from_secs(15), "{:?}", begin.elapsed());
    // They are sent away in the end.
    let mut reader = BufReader::new(idle.pop().unwrap());
    let end = Instant::now();
    let mut bytes = Vec::new();
    let _ = reader.read_to_end(&mut bytes);
    assert!(end.elapsed() < Duration::from_secs(25), "a head without end is waited for");
    let reply = read_reply(&mut BufReader::new(half.pop().unwrap()));
    assert!(reply.is_err() || reply.unwrap().status == 408, "a body without end is waited for");
    drop(deaf);
}

#[test]
fn names_are_text_everywhere_and_in_no_message_of_the_desk() {
    let folder = Folder::new("xss");
    let desk = Desk::start(&folder.0, &[]);
    let mut phone = Phone::join(desk.port, "phone-aaaa");
    let name = "Zoë<script>alert(1)</script>\"'&";
    three_touches(&mut phone);
    phone.recorded(json!({ "what": "missing_told", "missing": 1, "height_m": 1.4, "words": name }));
    phone.recorded(json!({ "what": "people_came", "people": [{ "name": name, "wade": true }] }));
    phone.recorded(json!({ "what": "note", "words": "a <img src=x onerror=alert(2)> remark" }));
    let page = phone.get("/handover");
    assert_eq!(page.header("content-type"), Some("text/html; charset=utf-8"));
    let text = page.text();
    assert!(!text.contains("<script") && !text.contains("<img"), "{text}");
    assert!(text.contains("Zoë&lt;script&gt;"), "the name is there as text");
    let log = phone.get("/files/log.jsonl").text();
    assert!(!log.contains("Zoë") && !log.contains("alert(1)"), "a name is in the log");
    assert!(log.contains("onerror"), "a remark's words are in the log");
    let csv = phone.get("/files/log.csv");
    assert!(csv.header("content-disposition").unwrap().contains("attachment"));
    let port = desk.port;
    let said = desk.said.clone();
    let errors = desk.ended();
    for text in [said.as_str(), errors.as_str()] {
        assert!(
            !text.contains("Zoë") && !text.contains("remark") && !text.contains(&phone.cookie[20..]),
            "{text}"
        );
    }
    assert!(port > 0 && errors.is_empty(), "{errors}");
}

#[test]
fn tls_speaks_to_those_who_speak_it() {
    let folder = Folder::new("tls");
    let desk = Desk::start(&folder.0, &["--tls", "self"]);
    assert!(desk.said.contains("https://"), "{}", desk.said);
    let reply = raw(desk.port, b"GET / HTTP/1.1\r\nhost: a\r\n\r\n");
    assert!(reply.is_err(), "plain words are answered on a TLS port: {reply:?}");
    let hello = tls_hello(desk.port);
    assert!(hello.contains("HTTP/1.1 200") && hello.contains("Kestrel Tarn"), "{hello}");
}

/// `GET /api/hello` by TLS, trusting the certificate in the folder.
fn tls_hello(port: u16) -> String {
    use rustls::pki_types::pem::PemObject;
    use rustls::pki_types::{CertificateDer, ServerName};
    let folder = std::env::temp_dir().join(format!("fathomline-desk-tls-{}", std::process::id()));
    let certificate = CertificateDer::from_pem_file(folder.join("certificate.pem")).unwrap();
    let mut roots = rustls::RootCertStore::empty();
    roots.add(certificate).unwrap();
    let config = rustls::ClientConfig::builder_with_provider(rustls::crypto::ring::default_provider().into())
        .with_safe_default_protocol_versions()
        .unwrap()
        .with_root_certificates(roots)
        .with_no_client_auth();
    let name = ServerName::try_from("localhost").unwrap();
    let mut client = rustls::ClientConnection::new(config.into(), name).unwrap();
    let mut socket = connect(port).unwrap();
    let mut stream = rustls::Stream::new(&mut client, &mut socket);
    stream.write_all(b"GET /api/hello HTTP/1.1\r\nhost: localhost\r\nconnection: close\r\n\r\n").unwrap();
    let mut text = String::new();
    let _ = stream.read_to_string(&mut text);
    text
}

#[test]
fn an_odd_desk_is_not_opened() {
    let folder = Folder::new("odd");
    let open = |more: &[&str]| {
        let mut command = phones::program();
        command.args(["serve", "--listen", "127.0.0.1:0", "--data"]).arg(&folder.0).args(more);
        let out = command.output().unwrap();
        (out.status.code(), String::from_utf8_lossy(&out.stderr).into_owned())
    };
    let (code, said) = open(&[]);
    assert!(code == Some(2) && said.contains("--site"), "{said}");
    let (code, said) = open(&["--site", "/nowhere"]);
    assert!(code == Some(2) && said.contains("W001"), "{said}");
    assert!(!folder.0.join("log.sqlite").exists());
    let (code, said) = open(&["--site", "data/sites/kestrel-tarn", "--word", "abc"]);
    assert!(code == Some(2) && said.contains("6 to 40"), "{said}");
    let desk = Desk::start(&folder.0, &[]);
    let (code, said) = open(&[]);
    assert!(code == Some(2) && said.contains("another desk"), "{said}");
    drop(desk);
    let (code, said) = open(&["--site", "data/sites/lake-227"]);
    assert!(code == Some(2) && said.contains("another site or day"), "{said}");
}
