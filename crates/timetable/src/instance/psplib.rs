//! The PSPLIB format: a header of counts, then three tables under headings.
//!
//! What its authors call a nonrenewable resource (`N`) is a [`Stock`](crate::Stock) here. A
//! doubly constrained one (`D`) is limited at a time and in all: a resource, of which a mode
//! uses what its column says, and a stock, of which it takes that in each period, so duration
//! times use. Its two availabilities stand side by side, the one at a time first. No published
//! set has any of these; the paper that describes the format (R. Kolisch, A. Sprecher, A.
//! Drexl, Management Science 41 (1995) 1693-1703) allows them (from memory).

use super::findings::{Findings, GREATEST, Word, lines, shorten, words};
use super::network::{Activity, Arc, Lag, Network, Way};

/// A part of the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Heading {
    Precedence,
    Requests,
    Availabilities,
}

/// The heading that a line is, if it is one.
pub(super) fn heading(line: &str) -> Option<Heading> {
    let letters = line.chars().filter(|c| !c.is_whitespace()).take(40);
    let letters: String = letters.flat_map(char::to_uppercase).collect();
    [
        ("PRECEDENCERELATIONS", Heading::Precedence),
        ("REQUESTS/DURATIONS", Heading::Requests),
        ("RESOURCEAVAILABILITIES", Heading::Availabilities),
    ]
    .into_iter()
    .find_map(|(title, heading)| letters.starts_with(title).then_some(heading))
}

pub(super) fn parse(text: &str, findings: &mut Findings) -> Option<Network> {
    let parts = Parts::of(text);
    let counts = Counts::read(&parts, findings)?;
    let mut tables = Tables::new(&counts, findings);
    for row in &parts.precedence {
        tables.precedence(row);
    }
    for row in &parts.requests {
        tables.request(row);
    }
    let Tables { rows, .. } = tables;
    check(&rows, parts.last_line, findings);
    let Available { capacities, stocks } = availabilities(&parts, &counts, findings);
    let activities = rows.into_iter().map(|row| row.into_activity(&counts));
    Some(Network {
        activities: activities.collect(),
        capacities,
        stocks,
        naming: ("job", 1),
        last_line: parts.last_line,
    })
}

/// The lines of the file by heading, without rules and column titles.
#[derive(Debug, Default)]
struct Parts<'a> {
    header: Vec<(usize, &'a str)>,
    precedence: Vec<Vec<Word<'a>>>,
    requests: Vec<Vec<Word<'a>>>,
    availabilities: Vec<Word<'a>>,
    words: usize,
    last_line: usize,
}

impl<'a> Parts<'a> {
    fn of(text: &'a str) -> Self {
        let mut parts = Self { last_line: 1, ..Self::default() };
        let mut part = None;
        for (line, text) in lines(text) {
            parts.last_line = line;
            parts.words += text.split_whitespace().count();
            if let Some(next) = heading(text) {
                part = Some(next);
                continue;
            }
            if part.is_some() && is_furniture(text) {
                continue;
            }
            match part {
                None => parts.header.push((line, text)),
                Some(Heading::Precedence) => {
                    parts.precedence.push(words(line, text).collect());
                }
                Some(Heading::Requests) => {
                    parts.requests.push(words(line, text).collect());
                }
                Some(Heading::Availabilities) => {
                    parts.availabilities.extend(words(line, text));
                }
            }
        }
        parts
    }
}

/// Rules and column titles.
fn is_furniture(line: &str) -> bool {
    let line = line.trim();
    let is_title = line.starts_with("jobnr") || line.starts_with(['R', 'N', 'D']);
    is_title || line.starts_with("**") || line.starts_with("--")
}

#[derive(Debug, Clone, Copy)]
struct Counts {
    jobs: usize,
    renewable: usize,
    consumed: usize,
    /// Limited at a time and in all.
    doubly: usize,
}

impl Counts {
    fn read(parts: &Parts<'_>, findings: &mut Findings) -> Option<Self> {
        let mut count = |key: &str, least: i64, title: &str| {
            let found = parts.header.iter().find(|(_, text)| {
                text.trim_start_matches(['-', ' ', '\t']).starts_with(key)
            });
            let field = format_args!("{title}");
            let value = found.and_then(|&(line, text)| {
                let (_, value) = text.split_once(':')?;
                words(line, value).next()
            });
            let Some(word) = value else {
                let line = found.map_or(1, |&(line, _)| line);
                let reason = "it is missing from the header".to_owned();
                findings.add(line, field, reason, format!("a line `{key} : <number>`"));
                return None;
            };
            findings.count(word, field, least, parts.words)
        };
        let jobs = count("jobs", 1, "number of jobs");
        let renewable = count("renewable", 0, "number of renewable resources");
        let consumed = count("nonrenewable", 0, "number of nonrenewable resources");
        let doubly =
            count("doubly constrained", 0, "number of doubly constrained resources");
        Some(Self {
            jobs: jobs?,
            renewable: renewable?,
            consumed: consumed?,
            doubly: doubly?,
        })
    }

    /// How many columns of demands there are.
    const fn resources(&self) -> usize {
        self.renewable + self.consumed + self.doubly
    }
}

/// What the tables say of a job; nothing yet where a row has not been seen.
#[derive(Debug, Default)]
struct Job {
    line: usize,
    declared: Option<usize>,
    arcs: Vec<Arc>,
    modes: Vec<Way>,
    requested: bool,
}

/// Sees whether each job has its rows. A file that was cut off lacks those of many, which is one
/// fault and not many.
fn check(rows: &[Job], last_line: usize, findings: &mut Findings) {
    let mut lack = |table: &str, expected: &str, lacks: &dyn Fn(&Job) -> bool| {
        for (first, last) in runs(rows, lacks) {
            let (field, it) = match last - first {
                0 => (format!("job {first}"), "it has"),
                _ => (format!("jobs {first} to {last}"), "they have"),
            };
            let reason = format!("{it} no row in the {table}");
            findings.add(last_line, format_args!("{field}"), reason, expected);
        }
    };
    lack("precedence relations", "one row for each job", &|row| row.declared.is_none());
    lack("requests and durations", "one row or more for each job", &|row| {
        row.declared.is_some() && !row.requested
    });
    for (position, row) in rows.iter().enumerate().filter(|(_, row)| row.requested) {
        if let Some(declared) = row.declared.filter(|&of| of != row.modes.len()) {
            findings.add(
                row.line,
                format_args!("number of modes of job {}", position + 1),
                format!("it says {declared}, and {} can be read", row.modes.len()),
                "as many as there are rows of requests and durations",
            );
        }
    }
}

/// The first and the last number of jobs that follow each other and of which something holds.
fn runs(rows: &[Job], holds: &dyn Fn(&Job) -> bool) -> Vec<(usize, usize)> {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    let numbers = rows.iter().zip(1..).filter(|&(row, _)| holds(row));
    for (_, number) in numbers {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == number => *last = number,
            _ => runs.push((number, number)),
        }
    }
    runs
}

impl Job {
    fn into_activity(self, counts: &Counts) -> Activity {
        let mut modes = self.modes;
        for mode in &mut modes {
            let columns = std::mem::take(&mut mode.amounts);
            let (renewable, rest) = columns.split_at(counts.renewable);
            let (consumed, doubly) = rest.split_at(counts.consumed);
            mode.amounts = [renewable, doubly].concat();
            let all = |&amount: &u32| i64::from(amount) * i64::from(mode.work);
            mode.takes = consumed.iter().map(|&amount| i64::from(amount)).collect();
            mode.takes.extend(doubly.iter().map(all));
        }
        Activity { modes, arcs: self.arcs }
    }
}

struct Tables<'a> {
    rows: Vec<Job>,
    counts: Counts,
    /// The job that the last row of requests was about.
    current: Option<usize>,
    findings: &'a mut Findings,
}

impl<'a> Tables<'a> {
    fn new(counts: &Counts, findings: &'a mut Findings) -> Self {
        let rows = (0..counts.jobs).map(|_| Job::default()).collect();
        Self { rows, counts: *counts, current: None, findings }
    }

    /// The number of a job, at the head of a row.
    fn job(&mut self, word: Word<'_>) -> Option<usize> {
        let bounds = (1, self.counts.jobs as i64);
        self.findings.number(word, format_args!("job number"), bounds).map(|n| n as usize)
    }

    /// `job, number of modes, number of successors, successors`.
    fn precedence(&mut self, row: &[Word<'_>]) {
        let Some(job) = self.job(row[0]) else { return };
        let line = row[0].line;
        let &[_, modes, followers, ref successors @ ..] = row else {
            let reason = format!("it ends after {} words", row.len());
            let expected = "job, number of modes, number of successors, successors";
            self.findings.add(line, format_args!("row of job {job}"), reason, expected);
            return;
        };
        if self.rows[job - 1].declared.is_some() {
            let reason = format!("job {job} has an earlier row");
            self.findings.add(line, format_args!("row of job {job}"), reason, "one row");
            return;
        }
        let most = (1, i64::from(u32::MAX));
        let field = format_args!("number of modes of job {job}");
        let modes = self.findings.number(modes, field, most);
        let field = format_args!("number of successors of job {job}");
        let bounds = (0, successors.len() as i64);
        if let Some(count) = self.findings.number(followers, field, bounds)
            && count as usize != successors.len()
        {
            let reason = format!("it says {count}, and {} follow", successors.len());
            self.findings.add(line, field, reason, "as many as follow in the row");
        }
        let arcs = self.successors(job, successors);
        let row = &mut self.rows[job - 1];
        row.line = line;
        row.arcs = arcs;
        row.declared = Some(modes.map_or(0, |modes| modes as usize));
    }

    fn successors(&mut self, job: usize, words: &[Word<'_>]) -> Vec<Arc> {
        let mut arcs = Vec::new();
        for (position, &word) in words.iter().enumerate() {
            let field = format_args!("successor {} of job {job}", position + 1);
            let bounds = (1, self.counts.jobs as i64);
            let Some(to) = self.findings.number(word, field, bounds) else { continue };
            if to as usize == job {
                let reason = format!("job {job} follows itself");
                self.findings.add(word.line, field, reason, "another job");
            }
            arcs.push(Arc { to: to as usize - 1, lag: Lag::AfterFinish });
        }
        arcs
    }

    /// `job, mode, duration, demands`, or without the job in a further mode of it.
    fn request(&mut self, row: &[Word<'_>]) {
        let resources = self.counts.resources();
        let line = row[0].line;
        let rest = if row.len() == resources + 3 {
            self.current = self.job(row[0]);
            &row[1..]
        } else if row.len() == resources + 2 {
            row
        } else {
            self.findings.add(
                line,
                format_args!("row beginning with `{}`", shorten(row[0].text)),
                format!("it has {} words", row.len()),
                format!(
                    "job, mode, duration and {resources} demands; the job may be left out \
                     in its further modes"
                ),
            );
            return;
        };
        let Some(job) = self.current else { return };
        let mode = self.rows[job - 1].modes.len() as i64 + 1;
        let field = format_args!("mode number of job {job}");
        self.findings.number(rest[0], field, (mode, mode));
        let field = format_args!("duration of job {job} in mode {mode}");
        let work = self.findings.number(rest[1], field, (0, GREATEST));
        let mut amounts = Vec::new();
        for (position, &word) in rest[2..].iter().enumerate() {
            let name = self.counts.name(position);
            let field = format_args!("demand of job {job} in mode {mode} for {name}");
            let amount = self.findings.number(word, field, (0, GREATEST));
            amounts.push(amount.unwrap_or(0) as u32);
        }
        self.rows[job - 1].requested = true;
        let work = work.unwrap_or(0) as i32;
        self.rows[job - 1].modes.push(Way { work, amounts, takes: Vec::new() });
    }
}

impl Counts {
    /// What the columns of the tables call a resource.
    fn name(&self, position: usize) -> String {
        let Some(rest) = position.checked_sub(self.renewable) else {
            return format!("R {}", position + 1);
        };
        match rest.checked_sub(self.consumed) {
            None => format!("N {}", rest + 1),
            Some(doubly) => format!("D {}", doubly + 1),
        }
    }

    /// What each availability is of, in the order of the table.
    fn available(&self) -> Vec<(String, Limit)> {
        (0..self.resources())
            .flat_map(|position| {
                let name = self.name(position);
                if position < self.renewable {
                    vec![(name, Limit::AtATime)]
                } else if position < self.renewable + self.consumed {
                    vec![(name, Limit::InAll)]
                } else {
                    vec![(name.clone(), Limit::AtATime), (name, Limit::InAll)]
                }
            })
            .collect()
    }
}

/// What an availability limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Limit {
    AtATime,
    InAll,
}

/// What there is.
struct Available {
    capacities: Vec<u32>,
    stocks: Vec<(String, u32)>,
}

fn availabilities(
    parts: &Parts<'_>,
    counts: &Counts,
    findings: &mut Findings,
) -> Available {
    let (found, wanted) = (&parts.availabilities, counts.available());
    if found.len() != wanted.len() {
        let each = if counts.doubly > 0 {
            "one for each resource, two for each doubly constrained one"
        } else {
            "one for each resource"
        };
        findings.add(
            found.last().map_or(parts.last_line, |word| word.line),
            format_args!("resource availabilities"),
            format!("there are {}", found.len()),
            format!("{}, {each}", wanted.len()),
        );
    }
    let mut available = Available { capacities: Vec::new(), stocks: Vec::new() };
    for (&word, (name, limit)) in found.iter().zip(wanted) {
        let field = format_args!("availability of {name}");
        let amount = findings.number(word, field, (0, GREATEST)).unwrap_or(0) as u32;
        match limit {
            Limit::AtATime => available.capacities.push(amount),
            Limit::InAll => available.stocks.push((name, amount)),
        }
    }
    available
}
