//! Public instances of resource-constrained scheduling, from their text.
//!
//! Three formats, each read as its publishers write it:
//!
//! | ending | format | holds |
//! |---|---|---|
//! | `.sm`, `.mm` | PSPLIB (Kolisch & Sprecher 1996) | order by finish to start, one mode or several, resources and stocks |
//! | `.sch` | `ProGen/max` (Schwindt 1998) | least and greatest lags from start to start, one mode |
//! | `.rcp` | Patterson (1984) | order by finish to start, one mode; lines wrap |
//!
//! The formats open and close a project with an activity of no length and no demand. The
//! opening one stands at tick 0, so its lags become windows of the tasks; the closing one
//! starts when everything has finished, so it stays a task only where it is tied to others
//! in a way that the length of the schedule cannot say. [`Instance::starts`] puts both back.
//!
//! The horizon is the sum, over the activities, of the longest mode or the longest lag
//! that leaves the activity, whichever is longer. In a shortest schedule some activity or
//! some lag is running at every tick, or else all that comes later could move forward; so
//! a feasible instance has a shortest schedule within it. A file's own horizon is not used.

mod findings;
mod network;
mod patterson;
mod progen;
mod psplib;

use crate::{Measures, Problem, Schedule, Tick};
use findings::Findings;

/// A problem read from a public instance.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Instance {
    /// The problem, its tasks in file order without the dummies that became implicit.
    pub problem: Problem,
    /// Which dummies became implicit.
    pub dummies: Dummies,
}

/// The dummy activities of a file that are not tasks of the problem.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Dummies {
    /// The first activity of the file; it stands at tick 0.
    pub opening: bool,
    /// The last activity of the file; it starts when every task has finished.
    pub closing: bool,
}

impl Instance {
    /// How many activities the file has, dummies included.
    pub fn activities(&self) -> usize {
        let Dummies { opening, closing } = self.dummies;
        self.problem.tasks().len() + usize::from(opening) + usize::from(closing)
    }

    /// The number of the mode of each activity of the file in file order, counted from 1 as
    /// the file does, dummies included; nothing where no activity has more than one.
    pub fn modes(&self, schedule: &Schedule) -> Vec<usize> {
        if self.problem.tasks().iter().all(|task| task.modes.len() == 1) {
            return Vec::new();
        }
        let opening = self.dummies.opening.then_some(1);
        let closing = self.dummies.closing.then_some(1);
        let tasks = schedule.assignments.iter().map(|run| run.mode.at() + 1);
        opening.into_iter().chain(tasks).chain(closing).collect()
    }

    /// The start of each activity of the file in file order, dummies included.
    pub fn starts(&self, schedule: &Schedule) -> Vec<Tick> {
        let opening = self.dummies.opening.then_some(0);
        let length = Measures::of(&self.problem, schedule).length;
        let closing = self.dummies.closing.then_some(length);
        let tasks = schedule.assignments.iter().map(|assignment| assignment.start);
        opening.into_iter().chain(tasks).chain(closing).collect()
    }
}

/// Something in a file that cannot be read, or that cannot be said in our vocabulary.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("line {line}, {field}: {reason}; expected {expected}")]
pub struct InstanceError {
    /// The line, counted from 1.
    pub line: usize,
    /// What it is about, such as "successor 2 of job 7".
    pub field: String,
    /// What is wrong.
    pub reason: String,
    /// What was expected instead.
    pub expected: String,
}

/// A format of public instances.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// PSPLIB, single mode or several: `.sm`, `.mm`.
    Psplib,
    /// `ProGen/max`: `.sch`.
    ProgenMax,
    /// Patterson: `.rcp`.
    Patterson,
}

impl Format {
    /// The format that the ending of a file name says, or an ending by itself; nothing for
    /// an ending that is not known.
    pub fn of_name(name: &str) -> Option<Self> {
        let ending = name.rsplit('.').next().unwrap_or(name).to_ascii_lowercase();
        match ending.as_str() {
            "sm" | "mm" => Some(Self::Psplib),
            "sch" => Some(Self::ProgenMax),
            "rcp" => Some(Self::Patterson),
            _ => None,
        }
    }

    /// The format that a text looks like, if it looks like one.
    pub fn of_text(text: &str) -> Option<Self> {
        if text.lines().any(|line| psplib::heading(line).is_some()) {
            return Some(Self::Psplib);
        }
        let first = text.lines().find(|line| !line.trim().is_empty())?;
        if first.split_whitespace().any(|token| token.parse::<u32>().is_err()) {
            return None;
        }
        match first.split_whitespace().count() {
            2 => Some(Self::Patterson),
            4 => Some(Self::ProgenMax),
            _ => None,
        }
    }
}

/// Reads an instance. The format follows from the ending of `name` (a file name, or an
/// ending by itself) or, where that says nothing, from the text.
///
/// All that is wrong with the file is returned at once, except what lies behind a count
/// that cannot be read in a format where the count says where everything else is. Of a
/// file with very many faults the first 200 are listed and the others counted.
pub fn parse(name: &str, text: &str) -> Result<Instance, Vec<InstanceError>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut findings = Findings::default();
    let network = match Format::of_name(name).or_else(|| Format::of_text(text)) {
        Some(Format::Psplib) => psplib::parse(text, &mut findings),
        Some(Format::ProgenMax) => progen::parse(text, &mut findings),
        Some(Format::Patterson) => patterson::parse(text, &mut findings),
        None => {
            findings.add(
                1,
                format_args!("format"),
                "neither the name nor the text says which format this is".to_owned(),
                "a PSPLIB file (.sm, .mm), a ProGen/max file (.sch) or a Patterson file \
                 (.rcp)",
            );
            None
        }
    };
    let instance = match network {
        Some(network) if findings.is_empty() => network.into_instance(&mut findings),
        _ => None,
    };
    let errors = findings.into_errors();
    match instance {
        Some(instance) if errors.is_empty() => Ok(instance),
        _ => Err(errors),
    }
}
