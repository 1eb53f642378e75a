//! The Patterson format: numbers in a row; where a line ends means nothing.

use super::findings::{Findings, GREATEST, Word, lines, words};
use super::network::{Activity, Arc, Lag, Network, Way};

pub(super) fn parse(text: &str, findings: &mut Findings) -> Option<Network> {
    let words: Vec<Word<'_>> =
        lines(text).flat_map(|(line, text)| words(line, text)).collect();
    let mut reader = Reader { words: &words, at: 0, findings };
    let count = reader.count(format_args!("number of activities"), 1)?;
    let resources = reader.count(format_args!("number of resources"), 0)?;
    let capacities = (1..=resources)
        .map(|resource| reader.amount(format_args!("capacity of resource {resource}")))
        .collect::<Option<Vec<u32>>>()?;
    let mut activities = Vec::new();
    for number in 1..=count {
        activities.push(reader.activity(number, count, resources)?);
    }
    if let Some(word) = reader.words.get(reader.at) {
        let reason = format!("{} more words follow", reader.words.len() - reader.at);
        let expected = format!("the end of the file after activity {count}");
        reader.findings.add(word.line, format_args!("end of the file"), reason, expected);
    }
    let last_line = words.last().map_or(1, |word| word.line);
    let (stocks, naming) = (Vec::new(), ("activity", 1));
    Some(Network { activities, capacities, stocks, naming, last_line })
}

struct Reader<'a> {
    words: &'a [Word<'a>],
    at: usize,
    findings: &'a mut Findings,
}

impl Reader<'_> {
    fn next(&mut self, field: std::fmt::Arguments<'_>) -> Option<Word<'_>> {
        let Some(&word) = self.words.get(self.at) else {
            let line = self.words.last().map_or(1, |word| word.line);
            self.findings.add(line, field, "the file ends here".to_owned(), "a number");
            return None;
        };
        self.at += 1;
        Some(word)
    }

    fn count(&mut self, field: std::fmt::Arguments<'_>, least: i64) -> Option<usize> {
        let (line, text) =
            self.next(field).map(|word| (word.line, word.text.to_owned()))?;
        let left = self.words.len() - self.at;
        self.findings.count(Word { line, text: &text }, field, least, left)
    }

    /// A number where the file goes on to the next one even if this one is wrong; nothing
    /// only at the end of the file.
    fn number(
        &mut self,
        field: std::fmt::Arguments<'_>,
        bounds: (i64, i64),
    ) -> Option<i64> {
        let word = *self.words.get(self.at).or_else(|| {
            self.next(field);
            None
        })?;
        self.at += 1;
        Some(self.findings.number(word, field, bounds).unwrap_or(bounds.0))
    }

    fn amount(&mut self, field: std::fmt::Arguments<'_>) -> Option<u32> {
        self.number(field, (0, GREATEST)).map(|amount| amount as u32)
    }

    fn activity(
        &mut self,
        number: usize,
        count: usize,
        resources: usize,
    ) -> Option<Activity> {
        let field = format_args!("duration of activity {number}");
        let work = self.number(field, (0, GREATEST))? as i32;
        let amounts = (1..=resources)
            .map(|resource| {
                self.amount(format_args!(
                    "demand of activity {number} for resource {resource}"
                ))
            })
            .collect::<Option<Vec<u32>>>()?;
        let followers =
            self.count(format_args!("number of successors of activity {number}"), 0)?;
        let mut arcs = Vec::new();
        for position in 1..=followers {
            let field = format_args!("successor {position} of activity {number}");
            let line = self.words.get(self.at).map_or(1, |word| word.line);
            let to = self.number(field, (1, count as i64))? as usize;
            if to == number {
                let reason = format!("activity {number} follows itself");
                self.findings.add(line, field, reason, "another activity");
            }
            arcs.push(Arc { to: to - 1, lag: Lag::AfterFinish });
        }
        Some(Activity { modes: vec![Way { work, amounts, takes: Vec::new() }], arcs })
    }
}
