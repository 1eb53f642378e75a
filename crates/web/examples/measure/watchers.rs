//! Many who watch for changes, while somebody signs something.

use std::io::{BufRead, BufReader, Write};
use std::net::TcpStream;
use std::sync::mpsc::channel;
use std::time::{Duration, Instant};

use crate::fill::SECRET;
use crate::people::{agent, value};
use crate::served::Served;

pub(crate) fn watch(served: &Served, cookie: &str, many: usize) {
    let agent = agent();
    let (open, opened) = channel();
    let (tell, told) = channel();
    let threads: Vec<_> = (0..many)
        .map(|_| {
            let (base, cookie) = (served.base.clone(), cookie.to_owned());
            let (open, tell) = (open.clone(), tell.clone());
            std::thread::spawn(move || one(&base, &cookie, &open, &tell))
        })
        .collect();
    for _ in 0..many {
        opened.recv_timeout(Duration::from_mins(1)).expect("all are connected");
    }
    let page = agent.get(format!("{}/act/raise", served.base)).header("cookie", cookie);
    let page = page.call().unwrap().body_mut().read_to_string().unwrap();
    let hidden = ["_csrf", "_request", "_seen"].map(|name| (name, value(&page, name)));
    let mut fields: Vec<(&str, &str)> =
        hidden.iter().map(|(name, value)| (*name, value.as_str())).collect();
    fields.extend([
        ("finding", "W-1"),
        ("item", "PROP-P"),
        ("what", "made up"),
        ("found", "2026-01-02"),
        ("_secret", SECRET),
    ]);
    let begun = Instant::now();
    let post = agent.post(format!("{}/act/raise", served.base)).header("cookie", cookie);
    let answer = post.send_form(fields).unwrap();
    let answered = begun.elapsed();
    assert_eq!(answer.status(), 303);
    let mut last = Duration::ZERO;
    for _ in 0..many {
        let at = told.recv_timeout(Duration::from_secs(30)).expect("all are told");
        last = last.max(at.duration_since(begun));
    }
    for thread in threads {
        thread.join().unwrap();
    }
    println!(
        "{many} who watch: the last was told {:.0} ms after a signature was sent, which was \
         answered after {:.0} ms.\n",
        last.as_secs_f64() * 1000.0,
        answered.as_secs_f64() * 1000.0
    );
}

fn one(
    base: &str,
    cookie: &str,
    open: &std::sync::mpsc::Sender<()>,
    tell: &std::sync::mpsc::Sender<Instant>,
) {
    let host = base.trim_start_matches("http://");
    let mut stream = TcpStream::connect(host).unwrap();
    let request = format!(
        "GET /changes?after=0 HTTP/1.1\r\nHost: {host}\r\nCookie: {cookie}\r\n\r\n"
    );
    stream.write_all(request.as_bytes()).unwrap();
    let mut lines = BufReader::new(stream).lines().map_while(Result::ok);
    // Since entry 0 there was one: that is told at once, and shows that we are connected.
    lines.by_ref().find(|line| line.starts_with("event: changed")).expect("an event");
    open.send(()).unwrap();
    lines.by_ref().find(|line| line.starts_with("event: changed")).expect("an event");
    tell.send(Instant::now()).unwrap();
}
