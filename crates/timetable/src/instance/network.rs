//! What the formats have in common, and its translation into a problem.

use super::findings::Findings;
use super::{Dummies, Instance};
use crate::{
    Demand, Event, Link, Mode, Problem, Profile, Progress, Resource, ResourceId, Stock,
    StockId, Take, Task, TaskId, Tick,
};

/// The activities of a file, in its order.
#[derive(Debug)]
pub(super) struct Network {
    pub activities: Vec<Activity>,
    pub capacities: Vec<u32>,
    /// Name and amount of what is used up.
    pub stocks: Vec<(String, u32)>,
    /// The word for an activity, and the number of the first one.
    pub naming: (&'static str, usize),
    /// The last line of the file: where faults of the whole are reported.
    pub last_line: usize,
}

#[derive(Debug, Default)]
pub(super) struct Activity {
    pub modes: Vec<Way>,
    pub arcs: Vec<Arc>,
}

/// A mode: how long it takes, how much of each resource it uses, and how much of each stock
/// it takes.
#[derive(Debug)]
pub(super) struct Way {
    pub work: Tick,
    pub amounts: Vec<u32>,
    pub takes: Vec<i64>,
}

/// An arrow to another activity.
#[derive(Debug, Clone, Copy)]
pub(super) struct Arc {
    pub to: usize,
    pub lag: Lag,
}

#[derive(Debug, Clone, Copy)]
pub(super) enum Lag {
    /// The other starts when this one has finished.
    AfterFinish,
    /// The least time from start to start; if it is negative, this one starts at most so
    /// long after the other.
    Starts(Tick),
}

impl Activity {
    fn longest(&self) -> Tick {
        self.modes.iter().map(|mode| mode.work).max().unwrap_or(0)
    }

    /// Whether it only marks a point in time.
    fn is_marker(&self) -> bool {
        let [mode] = self.modes.as_slice() else { return false };
        let takes = mode.takes.iter().any(|&amount| amount > 0);
        mode.work == 0 && !takes && mode.amounts.iter().all(|&amount| amount == 0)
    }

    /// How much of a schedule it can account for: see the parent module.
    fn reach(&self) -> i64 {
        let lags = self.arcs.iter().map(|arc| match arc.lag {
            Lag::AfterFinish => 0,
            Lag::Starts(lag) => lag,
        });
        i64::from(lags.max().unwrap_or(0).max(self.longest()))
    }
}

impl Network {
    pub(super) fn into_instance(self, findings: &mut Findings) -> Option<Instance> {
        let horizon: i64 = self.activities.iter().map(Activity::reach).sum();
        let greatest = Tick::MAX / 8;
        if horizon > i64::from(greatest) {
            findings.add(
                self.last_line,
                format_args!("durations and lags"),
                format!("together they may take {horizon}"),
                format!("at most {greatest} in all"),
            );
            return None;
        }
        let dummies = self.dummies();
        match self.problem(horizon as Tick, dummies) {
            Ok(problem) => Some(Instance { problem, dummies }),
            Err(faults) => {
                for fault in faults {
                    let reason = fault.what;
                    let field = format_args!("{:?}", fault.subject);
                    findings.add(self.last_line, field, reason, "a sound problem");
                }
                None
            }
        }
    }

    /// Which of the first and the last activity say nothing that windows and the length
    /// of the schedule do not say.
    fn dummies(&self) -> Dummies {
        let Some(last) = self.activities.len().checked_sub(1) else {
            return Dummies { opening: false, closing: false };
        };
        let mut opening = self.activities[0].is_marker();
        let mut closing = last > 0
            && self.activities[last].is_marker()
            && self.activities[last].arcs.is_empty();
        for activity in &self.activities {
            for arc in &activity.arcs {
                match arc.lag {
                    Lag::AfterFinish => opening &= arc.to != 0,
                    Lag::Starts(lag) => {
                        closing &= arc.to != last || lag <= activity.longest();
                    }
                }
            }
        }
        Dummies { opening, closing }
    }

    fn problem(
        &self,
        horizon: Tick,
        dummies: Dummies,
    ) -> Result<Problem, Vec<crate::Fault>> {
        let first = usize::from(dummies.opening);
        let until = self.activities.len() - usize::from(dummies.closing);
        let kept = first..until;
        let mut tasks: Vec<Task> = kept.clone().map(|at| self.task(at)).collect();
        let mut links = Vec::new();
        for (from, activity) in self.activities.iter().enumerate() {
            for arc in &activity.arcs {
                if kept.contains(&from) && kept.contains(&arc.to) {
                    links.extend(link(from - first, arc.to - first, arc.lag, horizon));
                } else if kept.contains(&arc.to) {
                    release(&mut tasks[arc.to - first], arc.lag);
                } else if kept.contains(&from) && arc.to < first {
                    bound(&mut tasks[from - first], arc.lag);
                }
            }
        }
        let resources =
            self.capacities.iter().enumerate().map(|(position, &capacity)| {
                let name = format!("R {}", position + 1);
                Resource { name, capacity: Profile::constant(capacity) }
            });
        let resources = resources.collect();
        let stocks = self.stocks.iter().map(|(name, available)| Stock {
            name: name.clone(),
            available: i64::from(*available),
        });
        let stocks = stocks.collect();
        let (calendars, occupancies) = (Vec::new(), Vec::new());
        Problem::stocked(horizon, tasks, resources, stocks, calendars, links, occupancies)
    }

    fn task(&self, at: usize) -> Task {
        let modes = &self.activities[at].modes;
        let (word, first) = self.naming;
        Task {
            name: format!("{word} {}", at + first),
            modes: modes
                .iter()
                .enumerate()
                .map(|(position, way)| Mode {
                    name: match modes.len() {
                        1 => String::new(),
                        _ => format!("mode {}", position + 1),
                    },
                    takes: takes(&way.takes),
                    ..Mode::elapsed(way.work, demands(&way.amounts))
                })
                .collect(),
            release: 0,
            deadline: None,
            due: None,
            progress: Progress::Todo,
            published: None,
        }
    }
}

fn demands(amounts: &[u32]) -> Vec<Demand> {
    let used = amounts.iter().enumerate().filter(|&(_, &amount)| amount > 0);
    used.map(|(at, &amount)| Demand::throughout(ResourceId::new(at), amount)).collect()
}

fn takes(amounts: &[i64]) -> Vec<Take> {
    let taken = amounts.iter().enumerate().filter(|&(_, &amount)| amount > 0);
    taken.map(|(at, &amount)| Take { stock: StockId::new(at), amount }).collect()
}

fn link(from: usize, to: usize, lag: Lag, horizon: Tick) -> Option<Link> {
    let (from, to) = (TaskId::new(from), TaskId::new(to));
    match lag {
        Lag::AfterFinish => Some(Link::after(from, to)),
        Lag::Starts(least) if least >= 0 => {
            Some(Link::least(Event::start(from), Event::start(to), least))
        }
        // Two starts are never further apart than the horizon.
        Lag::Starts(least) if -least > horizon => None,
        Lag::Starts(least) => {
            Some(Link::greatest(Event::start(to), Event::start(from), -least))
        }
    }
}

/// The opening dummy stands at tick 0: a lag from it is a release.
fn release(task: &mut Task, lag: Lag) {
    if let Lag::Starts(least) = lag {
        task.release = task.release.max(least);
    }
}

/// A lag back to the opening dummy bounds the start, and with one mode the finish.
fn bound(task: &mut Task, lag: Lag) {
    if let (Lag::Starts(least), [mode]) = (lag, task.modes.as_slice()) {
        let latest = mode.work - least;
        task.deadline = Some(task.deadline.map_or(latest, |known| known.min(latest)));
    }
}
