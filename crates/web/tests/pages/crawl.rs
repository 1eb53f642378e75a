//! Whoever follows every link, from the first page on, finds what the link said.

use std::collections::{BTreeSet, VecDeque};

use crate::client::{Answer, Client};
use crate::html;
use crate::workshop::{OBSERVER, served};

/// Pages of one kind show the same links for one thing as for the next: so many of each are
/// looked at.
const EACH: usize = 5;

/// A link, as it stands on a page: from where, to which path, to which place on it.
struct Link {
    from: String,
    to: String,
    place: Option<String>,
}

#[test]
fn every_link_leads_to_what_it_says() {
    let served = served();
    served.card();
    for person in ["OP", OBSERVER] {
        let (seen, faults) = crawl(&mut served.person(person));
        assert_eq!(faults, [""; 0], "{person}, of {seen} pages");
        assert!(seen > 150, "{person} found {seen} pages");
    }
}

/// How many pages were found, and what is wrong with some.
fn crawl(client: &mut Client) -> (usize, Vec<String>) {
    let mut faults = Vec::new();
    let mut seen = BTreeSet::from(["/".to_owned()]);
    let mut kinds = std::collections::BTreeMap::<String, usize>::new();
    let first = Link { from: "/".to_owned(), to: "/".to_owned(), place: None };
    let mut waiting = VecDeque::from([first]);
    while let Some(link) = waiting.pop_front() {
        let answer = client.get(&link.to);
        let what = format!("{} on {}", link.to, link.from);
        if !matches!(answer.status, 200 | 303) {
            faults.push(format!("{what}: {}", answer.status));
            continue;
        }
        faults.extend(broken(&link, &answer).map(|fault| format!("{what}: {fault}")));
        if !is_page(&answer) {
            continue;
        }
        let wrong = html::faults(&answer.body).into_iter();
        faults.extend(wrong.map(|fault| format!("{what}: {fault}")));
        for (to, place) in html::links(&answer.body) {
            let to = resolved(&link.to, &to);
            let kind = kinds.entry(kind(&to)).or_default();
            if *kind < EACH && seen.insert(to.clone()) {
                *kind += 1;
                waiting.push_back(Link { from: link.to.clone(), to, place });
            }
        }
    }
    (seen.len(), faults)
}

fn is_page(answer: &Answer) -> bool {
    let media = answer.headers.get("content-type");
    answer.status == 200 && media.is_some_and(|media| media.starts_with("text/html"))
}

/// What an address promises and its page does not do: to sort, to export, to show a place.
fn broken(link: &Link, answer: &Answer) -> Option<String> {
    let asks = |text: &str| {
        let query = link.to.split_once('?').map_or("", |(_, query)| query);
        query.split('&').any(|part| part.starts_with(text))
    };
    let media = answer.headers.get("content-type").map_or("", String::as_str);
    for (asked, promised) in [
        ("as=csv", "text/csv"),
        ("as=json", "application/json"),
        ("as=xlsx", "application/vnd.openxmlformats"),
    ] {
        if asks(asked) && !media.starts_with(promised) {
            return Some(format!("it is {media}"));
        }
    }
    if !is_page(answer) {
        return None;
    }
    if asks("sort=") && !answer.body.contains("aria-sort=\"") {
        return Some("nothing is sorted".to_owned());
    }
    let id = format!("id=\"{}\"", link.place.as_ref()?);
    (!answer.body.contains(&id)).then(|| format!("there is no {id}"))
}

/// A link as it stands on a page, as a path.
fn resolved(page: &str, to: &str) -> String {
    let path = page.split_once('?').map_or(page, |(path, _)| path);
    if to.is_empty() {
        page.to_owned()
    } else if to.starts_with('?') {
        format!("{path}{to}")
    } else {
        to.to_owned()
    }
}

/// A path without the names in it, and what its query asks for.
fn kind(path: &str) -> String {
    let (path, query) = path.split_once('?').unwrap_or((path, ""));
    let mut parts: Vec<&str> = path.split('/').collect();
    if parts.len() > 3 || matches!(parts.get(1), Some(&"history" | &"card" | &"season")) {
        parts.truncate(parts.len() - 1);
    }
    let asked = query
        .split('&')
        .filter_map(|part| part.split_once('='))
        .map(|(name, value)| if name == "as" { value } else { name });
    parts.into_iter().chain(asked).collect::<Vec<_>>().join("/")
}
