//! People who look at pages, each a thread.

use std::collections::BTreeMap;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use ureq::Agent;

use crate::fill::SECRET;
use crate::served::Served;

/// The kinds of pages that are looked at.
const KINDS: [(&str, &str); 18] = [
    ("where we are", "/"),
    ("3,000 cards", "/show/cards"),
    ("a card", "/show/cards/K-7"),
    ("2,146 findings", "/show/findings"),
    ("a finding", "/show/findings/F-001"),
    ("gates", "/show/gates"),
    ("a gate", "/show/gates/taxi"),
    ("conditions", "/show/conditions"),
    ("parts", "/show/parts"),
    ("an item", "/show/parts/PROP-P"),
    ("tools", "/show/tools"),
    ("people", "/show/people"),
    ("money and hours", "/show/money"),
    ("a history", "/history/K-7"),
    ("a search", "/search?q=propeller"),
    ("a form", "/act/raise?item=PROP-P"),
    ("what to sign", "/act"),
    ("season", "/season"),
];

pub(crate) fn agent() -> Agent {
    let config = Agent::config_builder()
        .http_status_as_error(false)
        .max_redirects(0)
        .timeout_global(Some(Duration::from_mins(2)))
        .build();
    config.into()
}

/// The cookie of somebody who has signed in.
pub(crate) fn signed_in(base: &str) -> String {
    let agent = agent();
    let mut form = agent.get(format!("{base}/sign-in")).call().unwrap();
    let before =
        form.headers()["set-cookie"].to_str().unwrap().split(';').next().unwrap();
    let before = before.to_owned();
    let text = form.body_mut().read_to_string().unwrap();
    let token = value(&text, "_before");
    let fields = [("_before", token.as_str()), ("name", "TR"), ("secret", SECRET)];
    let post = agent.post(format!("{base}/sign-in")).header("cookie", &before);
    let answer = post.send_form(fields).unwrap();
    let cookies = answer.headers().get_all("set-cookie").iter();
    let cookies = cookies.filter_map(|cookie| cookie.to_str().ok()?.split(';').next());
    let mut session = cookies.filter(|cookie| cookie.starts_with("session="));
    session.next_back().expect("a session").to_owned()
}

/// The value of a hidden field of a page.
pub(crate) fn value(page: &str, name: &str) -> String {
    let from = format!("name=\"{name}\" value=\"");
    let at = page.find(&from).expect("the field") + from.len();
    page[at..].split('"').next().unwrap().to_owned()
}

/// The bytes of an answer as they cross the network, head and all, packed.
fn raw(base: &str, path: &str, cookie: &str) -> Vec<u8> {
    let mut stream = TcpStream::connect(base.trim_start_matches("http://")).unwrap();
    let host = base.trim_start_matches("http://");
    let request = format!(
        "GET {path} HTTP/1.1\r\nHost: {host}\r\nCookie: {cookie}\r\n\
         Accept-Encoding: gzip\r\nConnection: close\r\n\r\n"
    );
    stream.write_all(request.as_bytes()).unwrap();
    let mut bytes = Vec::new();
    stream.read_to_end(&mut bytes).unwrap();
    bytes
}

/// What a browser that has nothing yet fetches for a page, in kilobytes.
pub(crate) fn first_views(base: &str, cookie: &str) {
    println!("| page | packed, kB | with style and scripts, kB |\n|---|--:|--:|");
    for (kind, path) in KINDS {
        let page = raw(base, path, cookie).len();
        let mut plain =
            agent().get(format!("{base}{path}")).header("cookie", cookie).call();
        let body = plain.as_mut().unwrap().body_mut();
        let text = body.with_config().limit(256 << 20).read_to_string().unwrap();
        let mut assets: Vec<&str> =
            text.split('"').filter(|part| part.starts_with("/assets/")).collect();
        assets.sort_unstable();
        assets.dedup();
        let more: usize = assets.iter().map(|path| raw(base, path, cookie).len()).sum();
        let kilo = |bytes: usize| bytes as f64 / 1000.0;
        println!("| {kind} | {:.1} | {:.1} |", kilo(page), kilo(page + more));
    }
    println!();
}

type Times = BTreeMap<&'static str, Vec<f64>>;

fn look(agent: &Agent, base: &str, path: &str, cookie: &str) -> f64 {
    let begun = Instant::now();
    let request = agent.get(format!("{base}{path}")).header("cookie", cookie);
    let mut answer = request.call().unwrap();
    assert_eq!(answer.status(), 200, "{path}");
    let body = answer.body_mut().with_config().limit(256 << 20).read_to_vec().unwrap();
    assert!(!body.is_empty());
    begun.elapsed().as_secs_f64() * 1000.0
}

/// Each kind twenty times, with nobody else there.
pub(crate) fn one_by_one(served: &Served, cookie: &str) {
    let agent = agent();
    let (mark, mut times) = (served.mark(), Times::new());
    for (kind, path) in KINDS {
        let of = times.entry(kind).or_default();
        for _ in 0..20 {
            of.push(look(&agent, &served.base, path, cookie));
        }
    }
    println!("One person, one page after the other:\n");
    report(served, mark, &times);
}

/// Many at once, each with a pause between pages, or without one.
pub(crate) fn together(
    served: &Served,
    cookie: &str,
    people: usize,
    pause: Option<Duration>,
    how_long: Duration,
) {
    let (mark, begun) = (served.mark(), Instant::now());
    let times = crowd(served, cookie, people, pause, how_long);
    let (count, took) =
        (times.values().map(Vec::len).sum::<usize>(), begun.elapsed().as_secs_f64());
    let pace = pause.map_or("without a pause".to_owned(), |pause| {
        format!("each a page every {:.0} s", pause.as_secs_f64())
    });
    println!(
        "{people} people, {pace}, {took:.0} s: {count} pages, {:.0} a second:\n",
        count as f64 / took
    );
    report(served, mark, &times);
}

fn crowd(
    served: &Served,
    cookie: &str,
    people: usize,
    pause: Option<Duration>,
    how_long: Duration,
) -> Times {
    let (begun, base) = (Instant::now(), served.base.as_str());
    let person = |number: usize| {
        let (agent, mut times) = (agent(), Vec::new());
        // Not all at the same instant, and each begins with another page.
        let first = pause.unwrap_or_default().mul_f64(number as f64 / people as f64);
        std::thread::sleep(first);
        let mut due = Instant::now();
        for (kind, path) in KINDS.iter().cycle().skip(number) {
            if begun.elapsed() >= how_long {
                break;
            }
            times.push((*kind, look(&agent, base, path, cookie)));
            due += pause.unwrap_or_default();
            std::thread::sleep(due.saturating_duration_since(Instant::now()));
        }
        times
    };
    let mut all = Times::new();
    std::thread::scope(|scope| {
        let threads: Vec<_> =
            (0..people).map(|number| scope.spawn(move || person(number))).collect();
        for thread in threads {
            for (kind, took) in thread.join().unwrap() {
                all.entry(kind).or_default().push(took);
            }
        }
    });
    all
}

/// The value below which so many of a hundred lie.
fn percentile(times: &mut [f64], part: f64) -> f64 {
    times.sort_by(f64::total_cmp);
    let at = (times.len() as f64 * part).ceil() as usize;
    times.get(at.saturating_sub(1)).copied().unwrap_or(f64::NAN)
}

fn report(served: &Served, mark: usize, times: &Times) {
    let within = served.answered(mark);
    println!(
        "| page | looks | in the server, median ms | 99 % ms | at the client, median ms | 99 % ms |"
    );
    println!("|---|--:|--:|--:|--:|--:|");
    for (kind, path) in KINDS {
        let Some(of) = times.get(kind) else { continue };
        let path = path.split('?').next().unwrap();
        let own = within.iter().filter(|(found, _)| found == path);
        let mut own: Vec<f64> = own.map(|(_, took)| *took).collect();
        let mut of = of.clone();
        println!(
            "| {kind} | {} | {:.0} | {:.0} | {:.1} | {:.1} |",
            of.len(),
            percentile(&mut own, 0.5),
            percentile(&mut own, 0.99),
            percentile(&mut of, 0.5),
            percentile(&mut of, 0.99),
        );
    }
    let mut all: Vec<f64> = within.iter().map(|(_, took)| *took).collect();
    let mut seen: Vec<f64> = times.values().flatten().copied().collect();
    println!(
        "| all | {} | {:.0} | {:.0} | {:.1} | {:.1} |\n",
        seen.len(),
        percentile(&mut all, 0.5),
        percentile(&mut all, 0.99),
        percentile(&mut seen, 0.5),
        percentile(&mut seen, 0.99),
    );
}

/// The memory of the server while people go on looking, minute by minute.
pub(crate) fn soak(served: &Served, cookie: &str, people: usize, minutes: u64) {
    let mut held = vec![served.memory() / 1_000_000];
    let mut looks = 0;
    for _ in 0..minutes {
        let pause = Some(Duration::from_secs(1));
        let times = crowd(served, cookie, people, pause, Duration::from_mins(1));
        looks += times.values().map(Vec::len).sum::<usize>();
        held.push(served.memory() / 1_000_000);
    }
    println!(
        "Memory of the server over {minutes} minutes of {people} people ({looks} pages), MB \
         minute by minute: {held:?}"
    );
}
