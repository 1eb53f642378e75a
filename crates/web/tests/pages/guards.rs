//! What stands around every answer.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use web::{Sessions, Transport};

use crate::html;
use crate::workshop::{served, served_by};

/// OWASP Secure Headers Project, as remembered: these and none weaker.
#[test]
fn every_answer_carries_the_headers() {
    let served = served();
    let mut stranger = served.stranger();
    for path in ["/", "/sign-in", "/nothing", "/assets/nothing"] {
        let answer = stranger.get(path);
        let header = |name: &str| answer.headers.get(name).cloned().unwrap_or_default();
        let policy = header("content-security-policy");
        assert!(policy.contains("default-src 'none'"), "{path}: {policy}");
        assert!(policy.contains("frame-ancestors 'none'"), "{path}: {policy}");
        assert!(!policy.contains("unsafe"), "{path}: {policy}");
        assert_eq!(header("x-content-type-options"), "nosniff", "{path}");
        assert_eq!(header("referrer-policy"), "same-origin", "{path}");
        assert_eq!(header("cache-control"), "no-store", "{path}");
        assert!(!header("permissions-policy").is_empty(), "{path}");
        assert!(!answer.headers.contains_key("server"), "{path}");
    }
}

#[test]
fn files_are_kept_long_and_have_the_name_of_their_content() {
    let served = served();
    let mut stranger = served.stranger();
    let page = stranger.get("/sign-in").body;
    let paths: Vec<&str> =
        page.split('"').filter(|part| part.starts_with("/assets/")).collect();
    assert_eq!(paths.len(), 3, "{page}");
    for path in paths {
        let answer = stranger.get(path);
        assert_eq!(answer.status, 200, "{path}");
        assert!(answer.headers["cache-control"].contains("immutable"), "{path}");
        assert!(!answer.body.is_empty());
    }
    assert_eq!(stranger.get("/assets/page-0.css").status, 404);
}

#[test]
fn a_form_that_is_too_large_is_refused() {
    let served = served();
    let mut client = served.person("OP");
    let large = "x".repeat(600 * 1024);
    assert_eq!(client.post("/act/raise", &[("what", &large)]).status, 413);
}

/// Whatever goes wrong before a page is reached is told by one: what, and what to do.
#[test]
fn what_cannot_be_read_is_told_by_a_page() {
    let served = served();
    let mut client = served.person("OP");
    for (path, status) in
        [("/show/parts/%ff", 400), ("/season/x", 400), ("/nothing", 404)]
    {
        let answer = client.get(path);
        assert_eq!(answer.status, status, "{path}");
        assert!(answer.headers["content-type"].starts_with("text/html"), "{path}");
        assert_eq!(html::faults(&answer.body), [""; 0], "{path}: {}", answer.body);
        assert!(answer.body.contains("href=\"/\""), "a way on: {}", answer.body);
    }
    let large = "x".repeat(600 * 1024);
    for path in ["/me/view", "/record/verify", "/act/raise"] {
        let answer = client.post(path, &[("what", &large)]);
        assert_eq!(answer.status, 413, "{path}");
        assert!(answer.body.contains("more than one form may hold"), "{}", answer.body);
        let answer = client.send_json(path, "{}");
        assert!([400, 401, 415].contains(&answer.status), "{path}: {}", answer.status);
        assert!(answer.body.contains("Nothing was entered"), "{}", answer.body);
        assert_eq!(html::faults(&answer.body), [""; 0], "{path}: {}", answer.body);
    }
}

#[test]
fn the_log_has_neither_queries_nor_secrets() {
    let served = served();
    let mut client = served.person("OP");
    client.get("/search?q=something-private");
    client.get("/first/a-token");
    let log = served.log.lock().unwrap().join("\n");
    assert!(log.contains("127.0.0.1 GET /search 200"), "{log}");
    for word in ["private", "a-token", "four words", "session="] {
        assert!(!log.contains(word), "{log}");
    }
}

#[test]
fn whoever_watches_hears_that_something_changed_and_is_let_go_at_the_end() {
    let served = served();
    let client = served.person("OP");
    let session = &client.cookies["session"];
    let mut stream = TcpStream::connect(served.address).unwrap();
    stream.set_read_timeout(Some(Duration::from_secs(30))).unwrap();
    let number = served.desk.snapshot().number;
    write!(
        stream,
        "GET /changes?after={number} HTTP/1.1\r\nhost: a\r\ncookie: session={session}\r\n\r\n"
    )
    .unwrap();
    let fields = [("finding", "X-1"), ("item", "PROP-P"), ("what", "a dent")];
    let fields: Vec<_> = fields.into_iter().chain([("found", "2032-01-02")]).collect();
    let entered = served.enter("OP", "raise", &fields);
    let (mut text, mut piece) = (String::new(), [0; 4096]);
    while !text.contains(&format!("data: {entered}")) {
        let read = stream.read(&mut piece).unwrap();
        assert!(read > 0, "{text}");
        text.push_str(&String::from_utf8_lossy(&piece[..read]));
    }
    assert!(text.contains("text/event-stream") && text.contains("event: changed"));
    assert!(!text.contains("dent"), "only that something changed is told: {text}");
    let begun = Instant::now();
    drop(served);
    assert!(begun.elapsed() < Duration::from_secs(8), "the watcher held the program");
}

#[test]
fn a_half_sent_request_does_not_hold_others_up() {
    let served = served();
    let mut slow = TcpStream::connect(served.address).unwrap();
    write!(slow, "POST /sign-in HTTP/1.1\r\nhost: a\r\ncontent-length: 100\r\n\r\nname=")
        .unwrap();
    assert_eq!(served.stranger().get("/sign-in").status, 200);
    // Who never says what they ask for is let go.
    let mut mute = TcpStream::connect(served.address).unwrap();
    mute.set_read_timeout(Some(Duration::from_secs(30))).unwrap();
    write!(mute, "GET / HTTP/1.1\r\nhost: a\r\n").unwrap();
    let mut got = Vec::new();
    mute.read_to_end(&mut got).expect("the connection ends");
}

#[test]
fn answers_are_sent_small() {
    let served = served();
    let mut stream = TcpStream::connect(served.address).unwrap();
    let ask = "GET /sign-in HTTP/1.1\r\nhost: a\r\naccept-encoding: gzip\r\n\
               connection: close\r\n\r\n";
    stream.write_all(ask.as_bytes()).unwrap();
    let mut got = Vec::new();
    stream.read_to_end(&mut got).unwrap();
    let text = String::from_utf8_lossy(&got).to_lowercase();
    assert!(text.contains("content-encoding: gzip"), "{text}");
}

#[test]
fn a_certificate_of_our_own_encrypts_and_cookies_are_held_to_it() {
    let served = served_by(Transport::SelfSigned, Sessions::default());
    // In clear nothing is answered.
    let mut stream = TcpStream::connect(served.address).unwrap();
    stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
    write!(stream, "GET /sign-in HTTP/1.1\r\nhost: a\r\n\r\n").unwrap();
    let mut got = Vec::new();
    let _ = stream.read_to_end(&mut got);
    assert!(!got.starts_with(b"HTTP/"), "{}", String::from_utf8_lossy(&got));
    let tls = ureq::tls::TlsConfig::builder().disable_verification(true).build();
    let config = ureq::Agent::config_builder().tls_config(tls).max_redirects(0).build();
    let agent: ureq::Agent = config.into();
    let url = format!("https://localhost:{}/sign-in", served.address.port());
    let answer = agent.get(url).call().unwrap();
    let cookie = answer.headers()["set-cookie"].to_str().unwrap();
    assert!(cookie.contains("Secure") && cookie.contains("SameSite=Strict"), "{cookie}");
}

#[test]
fn secrets_do_not_cross_a_network_in_clear() {
    let everywhere = "0.0.0.0:8470".parse().unwrap();
    let here = "127.0.0.1:8470".parse().unwrap();
    assert!(Transport::Clear.allows(here).is_ok());
    let refused = Transport::Clear.allows(everywhere).unwrap_err();
    assert!(refused.to_string().contains("in clear"), "{refused}");
    for transport in [Transport::Proxy, Transport::SelfSigned] {
        assert!(transport.allows(everywhere).is_ok());
    }
}

#[test]
fn behind_a_proxy_the_last_address_counts() {
    let served = served_by(Transport::Proxy, Sessions::default());
    let mut client = served.stranger();
    let forged = ("x-forwarded-for".to_owned(), "10.9.9.9, 10.1.2.3".to_owned());
    client.headers.push(forged);
    client.get("/sign-in");
    let log = served.log.lock().unwrap().join("\n");
    assert!(log.contains("10.1.2.3 GET /sign-in 200"), "{log}");
}
