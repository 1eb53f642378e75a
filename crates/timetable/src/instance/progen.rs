//! The `ProGen/max` format: one row an activity, first the arrows, then the demands.

use super::findings::{Findings, GREATEST, Word, lines, words};
use super::network::{Activity, Arc, Lag, Network, Way};

type Row<'a> = Vec<Word<'a>>;

pub(super) fn parse(text: &str, findings: &mut Findings) -> Option<Network> {
    let rows: Vec<Row<'_>> =
        lines(text).map(|(line, text)| words(line, text).collect()).collect();
    let (count, resources) = header(&rows, findings)?;
    let wanted = 2 * count + 2;
    let last_line = rows.last().and_then(|row| row.first()).map_or(1, |word| word.line);
    if rows.len() != wanted {
        findings.add(
            last_line,
            format_args!("number of rows"),
            format!("there are {} rows that are not blank", rows.len()),
            format!("{wanted}: a header, two for each of {count} activities, capacities"),
        );
    }
    let mut activities = Vec::new();
    for position in 0..count {
        let arcs = rows
            .get(1 + position)
            .map_or_else(Vec::new, |row| Reader { row, position, findings }.arcs(count));
        let modes = rows.get(1 + count + position).map_or_else(Vec::new, |row| {
            Reader { row, position, findings }.way(resources).into_iter().collect()
        });
        activities.push(Activity { modes, arcs });
    }
    let capacities = match rows.get(wanted - 1) {
        Some(row) => capacities(row, resources, findings),
        None => Vec::new(),
    };
    end_after_all(&mut activities);
    let (stocks, naming) = (Vec::new(), ("activity", 0));
    Some(Network { activities, capacities, stocks, naming, last_line })
}

/// The number of activities, dummies included, and of resources.
fn header(rows: &[Row<'_>], findings: &mut Findings) -> Option<(usize, usize)> {
    let left = rows.iter().map(Vec::len).sum();
    let header = rows.first().map_or(&[] as &[Word<'_>], Vec::as_slice);
    let [activities, resources, others @ ..] = header else {
        findings.add(
            header.first().map_or(1, |word| word.line),
            format_args!("header"),
            format!("it has {} numbers", header.len()),
            "the number of activities, then the number of renewable resources",
        );
        return None;
    };
    for &word in others {
        let field = format_args!("number of resources that are not renewable");
        findings.number(word, field, (0, 0));
    }
    let count =
        findings.count(*activities, format_args!("number of activities"), 0, left);
    let resources =
        findings.count(*resources, format_args!("number of resources"), 0, left);
    Some((count? + 2, resources?))
}

fn capacities(row: &Row<'_>, resources: usize, findings: &mut Findings) -> Vec<u32> {
    if row.len() != resources {
        findings.add(
            row[0].line,
            format_args!("capacities"),
            format!("there are {}", row.len()),
            format!("{resources}, one for each resource"),
        );
    }
    let mut capacities = Vec::new();
    for (position, &word) in row.iter().enumerate() {
        let field = format_args!("capacity of resource {}", position + 1);
        capacities.extend(findings.number(word, field, (0, GREATEST)).map(|c| c as u32));
    }
    capacities
}

/// A project ends when all its activities have finished, whatever the arrows to the
/// closing dummy say.
fn end_after_all(activities: &mut [Activity]) {
    let Some((_, others)) = activities.split_last_mut() else { return };
    let last = others.len();
    for activity in others.iter_mut().skip(1) {
        activity.arcs.push(Arc { to: last, lag: Lag::AfterFinish });
    }
}

/// One row, about the activity at a position.
struct Reader<'a> {
    row: &'a [Word<'a>],
    position: usize,
    findings: &'a mut Findings,
}

impl Reader<'_> {
    fn number(&mut self, at: usize, field: &str, bounds: (i64, i64)) -> Option<i64> {
        let position = self.position;
        let field = format_args!("{field} of activity {position}");
        let Some(&word) = self.row.get(at) else {
            self.findings.add(
                self.row[0].line,
                field,
                format!("the row ends after {} numbers", self.row.len()),
                "a number",
            );
            return None;
        };
        self.findings.number(word, field, bounds)
    }

    /// The first two words: which activity it is, and its only mode.
    fn lead(&mut self, modes: &str) -> Option<()> {
        let position = self.position as i64;
        self.number(0, "number", (position, position))?;
        self.number(1, modes, (1, 1)).map(|_| ())
    }

    fn length(&mut self, wanted: usize) {
        if self.row.len() != wanted {
            self.findings.add(
                self.row[0].line,
                format_args!("row of activity {}", self.position),
                format!("it has {} words", self.row.len()),
                format!("{wanted}"),
            );
        }
    }

    fn arcs(mut self, count: usize) -> Vec<Arc> {
        let mut arcs = Vec::new();
        let _ = self.lead("number of modes");
        let room = self.row.len() as i64;
        let Some(followers) = self.number(2, "number of successors", (0, room)) else {
            return arcs;
        };
        let followers = followers as usize;
        self.length(3 + 2 * followers);
        for at in 1..=followers.min(self.row.len().saturating_sub(3) / 2) {
            let field = format!("successor {at}");
            let to = self.number(2 + at, &field, (0, count as i64 - 1));
            let lag = self.lag(2 + followers + at, at);
            if to == Some(self.position as i64) {
                let reason = format!("activity {} follows itself", self.position);
                let field = format_args!("{field} of activity {}", self.position);
                self.findings.add(self.row[0].line, field, reason, "another activity");
            }
            if let (Some(to), Some(lag)) = (to, lag) {
                arcs.push(Arc { to: to as usize, lag: Lag::Starts(lag as i32) });
            }
        }
        arcs
    }

    /// A lag, which stands in brackets.
    fn lag(&mut self, at: usize, number: usize) -> Option<i64> {
        let word = *self.row.get(at)?;
        let field = format_args!("lag {number} of activity {}", self.position);
        let inner = word.text.strip_prefix('[').and_then(|text| text.strip_suffix(']'));
        let Some(text) = inner else {
            let shown = super::findings::shorten(word.text);
            let reason = format!("`{shown}` is not one number in brackets");
            self.findings.add(word.line, field, reason, "a lag such as `[-3]`");
            return None;
        };
        let word = Word { line: word.line, text };
        self.findings.number(word, field, (-GREATEST, GREATEST))
    }

    fn way(mut self, resources: usize) -> Option<Way> {
        let _ = self.lead("mode");
        let work = self.number(2, "duration", (0, GREATEST));
        self.length(3 + resources);
        let mut amounts = Vec::new();
        for resource in 1..=resources.min(self.row.len().saturating_sub(3)) {
            let field = format!("demand for resource {resource}");
            let amount = self.number(2 + resource, &field, (0, GREATEST));
            amounts.extend(amount.map(|amount| amount as u32));
        }
        Some(Way { work: work? as i32, amounts, takes: Vec::new() })
    }
}
