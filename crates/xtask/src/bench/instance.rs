//! Published instances in their four formats, read without the project's own readers.

use std::fs;
use std::path::Path;
use std::str::FromStr;

use anyhow::{Context, Result, bail, ensure};

/// An instance as the checker needs it. Activities are numbered from 0; the first and the
/// last are the dummies that stand for start and end.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Instance {
    /// Duration of each activity.
    pub(super) durations: Vec<i64>,
    /// Units of each resource that each activity needs while it runs.
    pub(super) demands: Vec<Vec<i64>>,
    /// Units there are of each resource.
    pub(super) capacities: Vec<i64>,
    /// `(i, j, lag)`: j starts at least `lag` after i starts. A negative lag is a greatest
    /// distance the other way round.
    pub(super) links: Vec<(usize, usize, i64)>,
    /// All modes of each activity, where a file has several; the fields above are then about
    /// the shortest ones, which is enough for a critical path.
    pub(super) modes: Vec<Vec<Mode>>,
    /// Units there are of each resource that is used up.
    pub(super) stocks: Vec<i64>,
}

/// A mode of an activity.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Mode {
    pub(super) duration: i64,
    pub(super) demands: Vec<i64>,
    /// Units of each resource that is used up.
    pub(super) takes: Vec<i64>,
}

impl Instance {
    /// The length of the longest chain of links, resources aside; none if greatest lags
    /// contradict least ones.
    pub(super) fn critical_path(&self) -> Option<i64> {
        let mut starts = vec![0; self.durations.len()];
        for _ in 0..=self.durations.len() {
            let mut moved = false;
            for &(from, to, lag) in &self.links {
                let start = starts[from] + lag;
                if start > starts[to] {
                    starts[to] = start;
                    moved = true;
                }
            }
            if !moved {
                return (starts[0] == 0).then(|| starts.last().copied())?;
            }
        }
        None
    }
}

/// Reads a file by its ending.
pub(super) fn read(file: &Path) -> Result<Instance> {
    let text = fs::read_to_string(file)
        .with_context(|| format!("can't read {}", file.display()))?;
    let ending = file.extension().and_then(|ending| ending.to_str());
    let instance = match ending {
        Some("sm") => sm(&text),
        Some("mm") => mm(&text),
        Some("sch") => sch(&text),
        Some("rcp") => rcp(&text),
        _ => {
            bail!("{}: no known ending; .sm, .mm, .sch and .rcp are read", file.display())
        }
    };
    instance
        .and_then(|instance| sound(&instance).map(|()| instance))
        .with_context(|| format!("{} isn't a sound instance", file.display()))
}

/// PSPLIB, single mode: sections under headings.
fn sm(text: &str) -> Result<Instance> {
    let count = labelled(text, "jobs (incl. supersource/sink )")?;
    let kinds = labelled(text, "- renewable")?;
    for other in ["- nonrenewable", "- doubly constrained"] {
        ensure!(labelled(text, other)? == 0, "it has {} resources", &other[2..]);
    }
    let mut instance = Instance::default();
    let mut links = Vec::new();
    let mut words = section(text, "PRECEDENCE RELATIONS", 1)?;
    for job in 0..count {
        ensure!(words.number::<usize>()? == job + 1, "successors are out of order");
        ensure!(words.number::<usize>()? == 1, "job {} has several modes", job + 1);
        for _ in 0..words.number::<usize>()? {
            links.push((job, words.place(1)?));
        }
    }
    words.finish()?;
    let mut words = section(text, "REQUESTS/DURATIONS", 2)?;
    for job in 0..count {
        ensure!(words.number::<usize>()? == job + 1, "durations are out of order");
        ensure!(words.number::<usize>()? == 1, "job {} has several modes", job + 1);
        instance.durations.push(words.number()?);
        instance.demands.push(words.numbers(kinds)?);
    }
    words.finish()?;
    instance.capacities = section(text, "RESOURCEAVAILABILITIES", 1)?.numbers(kinds)?;
    instance.links = after_end(&links, &instance.durations);
    Ok(instance)
}

/// PSPLIB, several modes: the same with more rows, and with resources that are used up.
fn mm(text: &str) -> Result<Instance> {
    let count = labelled(text, "jobs (incl. supersource/sink )")?;
    let kinds = labelled(text, "- renewable")?;
    let used_up = labelled(text, "- nonrenewable")?;
    ensure!(
        labelled(text, "- doubly constrained")? == 0,
        "it has doubly constrained resources"
    );
    let (mut instance, mut numbers, mut links) =
        (Instance::default(), Vec::new(), Vec::new());
    let mut words = section(text, "PRECEDENCE RELATIONS", 1)?;
    for job in 0..count {
        ensure!(words.number::<usize>()? == job + 1, "successors are out of order");
        numbers.push(words.number::<usize>()?);
        for _ in 0..words.number::<usize>()? {
            links.push((job, words.place(1)?));
        }
    }
    words.finish()?;
    let mut words = section(text, "REQUESTS/DURATIONS", 1)?;
    for (job, &number) in numbers.iter().enumerate() {
        ensure!(words.number::<usize>()? == job + 1, "durations are out of order");
        let mode = |number: usize| -> Result<Mode> {
            ensure!(words.number::<usize>()? == number, "modes are out of order");
            let duration = words.number()?;
            let (demands, takes) = (words.numbers(kinds)?, words.numbers(used_up)?);
            Ok(Mode { duration, demands, takes })
        };
        let modes: Vec<Mode> = (1..=number).map(mode).collect::<Result<_>>()?;
        let shortest = modes.iter().min_by_key(|mode| mode.duration);
        let shortest =
            shortest.with_context(|| format!("job {} has no mode", job + 1))?;
        instance.durations.push(shortest.duration);
        instance.demands.push(shortest.demands.clone());
        instance.modes.push(modes);
    }
    words.finish()?;
    let mut words = section(text, "RESOURCEAVAILABILITIES", 1)?;
    instance.capacities = words.numbers(kinds)?;
    instance.stocks = words.numbers(used_up)?;
    instance.links = after_end(&links, &instance.durations);
    Ok(instance)
}

/// ProGen/max: successors with lags from start to start, then durations, then capacities.
fn sch(text: &str) -> Result<Instance> {
    let spaced = text.replace('[', " [ ").replace(']', " ] ");
    let mut words = Words::new(&spaced);
    let count = words.number::<usize>()?.saturating_add(2);
    let kinds = words.number()?;
    ensure!(words.numbers(2)? == [0, 0], "it has nonrenewable resources");
    let mut instance = Instance::default();
    for job in 0..count {
        ensure!(words.number::<usize>()? == job, "successors are out of order");
        ensure!(words.number::<usize>()? == 1, "activity {job} has several modes");
        let number = words.number::<usize>()?;
        let successors =
            (0..number).map(|_| words.place(0)).collect::<Result<Vec<_>>>()?;
        for successor in successors {
            ensure!(words.next()? == "[", "activity {job}: a lag is missing");
            instance.links.push((job, successor, words.number()?));
            ensure!(words.next()? == "]", "activity {job}: one lag for each successor");
        }
    }
    for job in 0..count {
        ensure!(words.number::<usize>()? == job, "durations are out of order");
        ensure!(words.number::<usize>()? == 1, "activity {job} has several modes");
        instance.durations.push(words.number()?);
        instance.demands.push(words.numbers(kinds)?);
    }
    instance.capacities = words.numbers(kinds)?;
    words.finish()?;
    end_after_all(&mut instance);
    Ok(instance)
}

/// A project is over when all of it is, whatever the lags to the closing dummy say. In the published
/// sets they say so themselves.
fn end_after_all(instance: &mut Instance) {
    let last = instance.durations.len().saturating_sub(1);
    for (job, &duration) in instance.durations.iter().enumerate().take(last).skip(1) {
        let said = |link: &(usize, usize, i64)| {
            link.0 == job && link.1 == last && link.2 >= duration
        };
        if !instance.links.iter().any(said) {
            instance.links.push((job, last, duration));
        }
    }
}

/// Patterson: a stream of numbers, lines wrapped anywhere.
fn rcp(text: &str) -> Result<Instance> {
    let mut words = Words::new(text);
    let count: usize = words.number()?;
    let kinds = words.number()?;
    let capacities = words.numbers(kinds)?;
    let mut instance = Instance { capacities, ..Instance::default() };
    let mut links = Vec::new();
    for job in 0..count {
        instance.durations.push(words.number()?);
        instance.demands.push(words.numbers(kinds)?);
        for _ in 0..words.number::<usize>()? {
            links.push((job, words.place(1)?));
        }
    }
    words.finish()?;
    instance.links = after_end(&links, &instance.durations);
    Ok(instance)
}

fn after_end(links: &[(usize, usize)], durations: &[i64]) -> Vec<(usize, usize, i64)> {
    links.iter().map(|&(from, to)| (from, to, durations[from])).collect()
}

fn sound(instance: &Instance) -> Result<()> {
    let count = instance.durations.len();
    ensure!(count >= 2, "it lacks the two dummy activities");
    let size = 0..=1_000_000;
    let modes = || instance.modes.iter().flatten();
    let demands = instance.demands.iter().flatten();
    let in_modes = modes().flat_map(|mode| mode.demands.iter().chain(&mode.takes));
    let mut numbers = instance
        .durations
        .iter()
        .chain(demands)
        .chain(&instance.capacities)
        .chain(&instance.stocks)
        .chain(modes().map(|mode| &mode.duration))
        .chain(in_modes);
    ensure!(numbers.all(|number| size.contains(number)), "a number is absurd");
    for &(from, to, lag) in &instance.links {
        ensure!(from < count && to < count, "a successor doesn't exist");
        ensure!(size.contains(&lag.abs()), "a lag is absurd");
    }
    Ok(())
}

/// The number behind a label and a colon.
fn labelled(text: &str, label: &str) -> Result<usize> {
    let bare = |line: &str| line.split_whitespace().collect::<String>();
    let line = text
        .lines()
        .find(|line| bare(line).starts_with(&bare(label)))
        .with_context(|| format!("no line \"{label}\""))?;
    let (_, value) =
        line.split_once(':').with_context(|| format!("no colon behind \"{label}\""))?;
    Words::new(value).number()
}

/// The words between a heading, with the lines of column names below it, and the next line
/// of asterisks.
fn section<'a>(text: &'a str, heading: &str, skip: usize) -> Result<Words<'a>> {
    let bare = |line: &str| line.split_whitespace().collect::<String>();
    let mut lines = text.lines();
    lines
        .find(|line| bare(line).starts_with(&bare(heading)))
        .with_context(|| format!("no section \"{heading}\""))?;
    let body: Vec<&str> =
        lines.skip(skip).take_while(|line| !line.starts_with('*')).collect();
    let body = body.into_iter().filter(|line| !line.starts_with("--"));
    let words = body.flat_map(str::split_whitespace).collect();
    Ok(Words { words, at: 0 })
}

struct Words<'a> {
    words: Vec<&'a str>,
    at: usize,
}

impl<'a> Words<'a> {
    fn new(text: &'a str) -> Self {
        Self { words: text.split_whitespace().collect(), at: 0 }
    }

    fn next(&mut self) -> Result<&'a str> {
        let word = self.words.get(self.at).context("it ends too early")?;
        self.at += 1;
        Ok(word)
    }

    fn number<T: FromStr>(&mut self) -> Result<T> {
        let word = self.next()?;
        word.parse()
            .ok()
            .with_context(|| format!("\"{word}\" is no number expected here"))
    }

    fn numbers(&mut self, count: usize) -> Result<Vec<i64>> {
        (0..count).map(|_| self.number()).collect()
    }

    /// The number of an activity, made to count from 0.
    fn place(&mut self, first: usize) -> Result<usize> {
        let number: usize = self.number()?;
        number.checked_sub(first).context("activity 0 in a file that counts from 1")
    }

    fn finish(&self) -> Result<()> {
        match self.words.get(self.at) {
            None => Ok(()),
            Some(word) => bail!("\"{word}\" is left over"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SM: &str = "\
************
jobs (incl. supersource/sink ):  4
RESOURCES
  - renewable                 :  2   R
  - nonrenewable              :  0   N
  - doubly constrained        :  0   D
************
PRECEDENCE RELATIONS:
jobnr.    #modes  #successors   successors
   1        1          2           2   3
   2        1          1           4
   3        1          1           4
   4        1          0
************
REQUESTS/DURATIONS:
jobnr. mode duration  R 1  R 2
------------
  1      1     0       0    0
  2      1     3       2    0
  3      1     5       1    1
  4      1     0       0    0
************
RESOURCEAVAILABILITIES:
  R 1  R 2
    2    1
************
";

    fn expected() -> Instance {
        Instance {
            durations: vec![0, 3, 5, 0],
            demands: vec![vec![0, 0], vec![2, 0], vec![1, 1], vec![0, 0]],
            capacities: vec![2, 1],
            links: vec![(0, 1, 0), (0, 2, 0), (1, 3, 3), (2, 3, 5)],
            ..Instance::default()
        }
    }

    #[test]
    fn several_modes() {
        let text = SM
            .replace("nonrenewable              :  0", "nonrenewable :  1")
            .replace("   2        1          1 ", "   2        2          1 ")
            .replace("R 1  R 2\n", "R 1  R 2  N 1\n")
            .replace("RESOURCEAVAILABILITIES", "RESOURCE AVAILABILITIES")
            .replace("0     0       0    0", "0     0       0    0   0")
            .replace("  2      1     3       2    0", "2 1 3 2 0 4\n  2 6 1 0 0")
            .replace("5       1    1", "5 1 1 2")
            .replace("    2    1\n", "    2    1   5\n")
            .replace("     0       0    0\n", "     0       0    0   0\n");
        let read = mm(&text).unwrap();
        let mode = |duration, demands: [i64; 2], takes| Mode {
            duration,
            demands: demands.to_vec(),
            takes: vec![takes],
        };
        assert_eq!(read.modes[1], [mode(3, [2, 0], 4), mode(6, [1, 0], 0)]);
        assert_eq!((&read.stocks[..], read.critical_path()), (&[5][..], Some(5)));
        assert_eq!(Instance { modes: vec![], stocks: vec![], ..read }, expected());
        assert!(mm(&text.replace("  2 6 1 0 0", "  3 6 1 0 0")).is_err());
        assert!(mm(&text.replace("  2 6 1 0 0\n", "")).is_err());
    }

    #[test]
    fn the_same_instance_in_three_formats() {
        assert_eq!(sm(SM).unwrap(), expected());
        let crlf = SM.replace('\n', "\r\n");
        assert_eq!(sm(&crlf).unwrap(), expected());
        let patterson = "4 2\n2 1\n0 0 0 2 2\n 3\n3 2 0 1 4\n5 1 1 1 4\n0 0 0 0\n";
        assert_eq!(rcp(patterson).unwrap(), expected());
        let lags = "2 2 0 0\r\n0 1 2 1 2 [0] [0]\r\n1 1 1 3 [3]\r\n2 1 1 3 [5]\r\n3 1 0\r\n\
                    0 1 0 0 0\r\n1 1 3 2 0\r\n2 1 5 1 1\r\n3 1 0 0 0\r\n2 1\r\n";
        assert_eq!(sch(lags).unwrap(), expected());
    }

    #[test]
    fn greatest_lags_are_negative() {
        let text = "1 1 0 0 0 1 1 1 [0] 1 1 2 0 2 [-4] [2] 2 1 0 \
                    0 1 0 0 1 1 2 1 2 1 0 0 3";
        assert_eq!(sch(text).unwrap().links, [(0, 1, 0), (1, 0, -4), (1, 2, 2)]);
        let early = text.replace("[2]", "[1]");
        let links = [(0, 1, 0), (1, 0, -4), (1, 2, 1), (1, 2, 2)];
        assert_eq!(sch(&early).unwrap().links, links, "it lasts until all is over");
    }

    #[test]
    fn the_critical_path_is_the_longest_chain() {
        assert_eq!(expected().critical_path(), Some(5));
        let mut instance = expected();
        instance.links.push((1, 2, 2));
        assert_eq!(instance.critical_path(), Some(7));
        instance.links.push((2, 1, -2));
        assert_eq!(instance.critical_path(), Some(7));
        instance.links.push((2, 1, -1));
        assert_eq!(instance.critical_path(), None);
    }

    #[test]
    fn what_is_broken_is_refused() {
        assert!(sm("").is_err());
        assert!(
            sm(&SM.replace("- nonrenewable              :  0", "- nonrenewable : 2"))
                .is_err()
        );
        assert!(
            sm(&SM.replace("   2        1          1 ", "   2        3          1 "))
                .is_err()
        );
        assert!(rcp("4 2 2 1 0 0 0").is_err());
        assert!(rcp("2 1 1 0 0 1 2 0 0 0 9").is_err());
        assert!(sch("1 1 0 0 0 1 1 1 (0)").is_err());
        assert!(sch("99999999999999999999 1 0 0").is_err());
        assert!(sound(&rcp("2 1 1 0 0 1 3 0 0 0").unwrap()).is_err());
        assert!(sound(&rcp("2 1 1 0 0 0 -5 0 0").unwrap()).is_err());
    }
}
