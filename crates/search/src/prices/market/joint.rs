//! Two resources as one good, where one lies inside the other.
//!
//! Let whatever takes of the *inner* resource take at least as much of the *outer* one: the
//! fitters are among all hands. Of the outer there is some more, the *spare*. What takes more
//! of the outer than is spare can't do without the inner: what it takes of the outer beyond
//! the spare counts as taken of the inner, unless it takes more of that anyway. So counted, no
//! more is taken at any time than there is of the inner. For if nothing under way is counted
//! so, that is what the inner resource demands; and if something is, then the spare is left
//! off at least once from what is taken of the outer in all, and the rest is at most the outer
//! without the spare.
//!
//! This sees what averages don't. Half of a task for two riggers at a time is no more than the one
//! rigger who does nothing else; but tasks are not done by halves.
//!
//! Worked case. There are five hands; four of them fit, and all of them rig. Twelve fittings of 4
//! ticks need one hand each, a rigging of 8 ticks needs two. That is 48 ticks for four, and 64 for
//! five: no schedule is shorter than 13. But one hand is spare, so the rigging takes one that fits:
//! 56 ticks for four, and so it is 14.
//!
//! Source: mixed-integer rounding (G. L. Nemhauser, L. A. Wolsey, *A recursive procedure to generate all
//! cuts for 0-1 mixed integer programs*, Mathematical Programming 46 (1990) 379-390; from memory) is akin
//! to it. The proof above is ours.

use std::collections::BTreeMap;

use timetable::Tick;

use super::{Kind, Market, NOTHING};
use crate::model::Model;

/// An inner resource and an outer one, by their places among those that count.
#[derive(Debug)]
pub(super) struct Joint {
    inner: usize,
    outer: usize,
    /// By how much there is more of the outer in each piece; nothing where there is less of it.
    spare: Vec<Option<i64>>,
    /// What is spare for most of the time.
    usual: i64,
}

impl Joint {
    /// The inner resource and the outer one.
    pub(super) const fn goods(&self) -> [usize; 2] {
        [self.inner, self.outer]
    }

    /// What is spare in a piece; nothing where there is less of the outer resource.
    pub(super) fn spare(&self, piece: usize) -> Option<i64> {
        self.spare[piece]
    }

    /// What is taken where so much is spare, at work and in a pause.
    fn takes(&self, kind: &Kind, spare: i64) -> (i64, i64) {
        let (inner, outer) = (kind.takes[self.inner], kind.takes[self.outer]);
        (inner.0.max(outer.0 - spare), inner.1.max(outer.1 - spare))
    }
}

impl Market<'_> {
    /// Makes goods of two resources where that may prove more than the inner one alone.
    pub(super) fn join(&mut self, model: &Model) {
        /// So many of those with the greatest load.
        const MOST: usize = 24;
        let count = self.names.len();
        let pairs =
            (0..count).flat_map(|inner| (0..count).map(move |outer| (inner, outer)));
        let joints = pairs.filter_map(|pair| self.joint(model, pair));
        let mut joints: Vec<(f64, Joint)> = joints.collect();
        joints.sort_by(|a, b| b.0.total_cmp(&a.0));
        joints.truncate(MOST);
        for (_, joint) in joints {
            self.list(model, joint);
        }
    }

    /// Two resources as one good, and how much of it is taken in comparison to what there is;
    /// nothing if they don't lie inside each other or the inner one alone is as good.
    fn joint(
        &self,
        model: &Model,
        (inner, outer): (usize, usize),
    ) -> Option<(f64, Joint)> {
        let mut used =
            self.kinds.iter().zip(&self.users).filter(|(_, users)| !users.is_empty());
        let inside = used.all(|(kind, _)| {
            let (inner, outer) = (kind.takes[inner], kind.takes[outer]);
            inner.0 <= outer.0 && inner.1 <= outer.1
        });
        if inner == outer || !inside {
            return None;
        }
        let spare = self.spare(model, inner, outer);
        let usual = self.most_often(inner, &spare)?;
        let joint = Joint { inner, outer, spare, usual };
        let load = |of: &dyn Fn(&Kind) -> i64| -> i64 {
            let ways = self.jobs.iter().map(|job| job.ways[0]);
            ways.map(|(kind, work)| of(&self.kinds[kind]) * i64::from(work)).sum()
        };
        let ours = load(&|kind| joint.takes(kind, usual).0);
        let more = ours > load(&|kind| kind.takes[inner].0);
        let there = (0..self.pieces()).map(|piece| self.amount(inner, piece, Tick::MAX));
        let ratio = ours as f64 / there.sum::<i64>().max(1) as f64;
        more.then_some((ratio, joint))
    }

    /// By how much there is more of one resource than of another in each piece.
    fn spare(&self, model: &Model, inner: usize, outer: usize) -> Vec<Option<i64>> {
        let free = |good: usize, piece: usize| {
            let level = model.static_free[self.names[good]].level(self.cuts[piece]);
            i64::from(level.max(0))
        };
        let of = |piece| free(outer, piece) - free(inner, piece);
        (0..self.pieces()).map(of).map(|spare| (spare >= 0).then_some(spare)).collect()
    }

    /// What is spare for most of the time in which something is and the inner resource is there.
    fn most_often(&self, inner: usize, spare: &[Option<i64>]) -> Option<i64> {
        let mut ticks = BTreeMap::new();
        for (piece, &spare) in spare.iter().enumerate() {
            let (from, until) = self.piece(piece);
            if let Some(spare) = spare.filter(|&spare| spare > 0)
                && self.level(inner, piece) > 0
            {
                *ticks.entry(spare).or_insert(0) += i64::from(until - from);
            }
        }
        ticks.into_iter().max_by_key(|&(_, ticks)| ticks).map(|(spare, _)| spare)
    }

    /// Puts a good behind the others.
    fn list(&mut self, model: &Model, joint: Joint) {
        for kind in &mut self.kinds {
            if kind.takes[joint.outer] != (0, 0) {
                kind.taken.push(self.level.len());
            }
        }
        let good = self.names[joint.inner];
        let open = joint.spare.iter().map(Option::is_some).collect::<Vec<_>>();
        self.joints.push(joint);
        let number = self.level.len();
        let level = |piece: usize| {
            let used = self.kinds.iter().zip(&self.users).any(|(kind, users)| {
                !users.is_empty() && self.rates(kind, number, piece) != (0, 0)
            });
            let level = model.static_free[good].level(self.cuts[piece]).max(0);
            if open[piece] && used { i64::from(level) } else { 0 }
        };
        let level = (0..self.pieces()).map(level).collect();
        self.level.push(level);
    }

    /// What a tick of a piece costs at work and in a pause, where a good has the price; one of
    /// them is nothing.
    pub(super) fn rates(&self, kind: &Kind, good: usize, piece: usize) -> (i64, i64) {
        let count = self.names.len();
        let (open, closed) = match kind.takes.get(good) {
            Some(&takes) => takes,
            None if good == NOTHING => (0, 0),
            None => {
                let joint = &self.joints[good - count];
                joint.spare(piece).map_or((0, 0), |spare| joint.takes(kind, spare))
            }
        };
        if kind.opens(piece) { (open, 0) } else { (0, closed) }
    }

    /// What a tick at work takes of a good most of the time.
    pub(super) fn usual(&self, kind: &Kind, good: usize) -> i64 {
        let joint = || &self.joints[good - self.names.len()];
        let takes = kind.takes.get(good).copied();
        takes.unwrap_or_else(|| joint().takes(kind, joint().usual)).0
    }
}

#[cfg(test)]
mod tests {
    use timetable::{
        Demand, Mode, Problem, Profile, Resource, ResourceId, Schedule, Task,
    };

    use super::*;
    use crate::model::for_each_use;
    use crate::prices::Prices;
    use crate::{Options, Silent, Stop, sample, solve};

    #[test]
    fn the_worked_case() {
        let (fitters, hands) = (ResourceId(0), ResourceId(1));
        let crew = |level| Resource {
            name: "crew".to_owned(),
            capacity: Profile::constant(level),
        };
        let task = |work, demands| Task::new("t", Mode::elapsed(work, demands));
        let each = vec![Demand::throughout(fitters, 1), Demand::throughout(hands, 1)];
        let mut tasks = vec![task(4, each); 12];
        tasks.push(task(8, vec![Demand::throughout(hands, 2)]));
        let crews = vec![crew(4), crew(5)];
        let problem = Problem::new(60, tasks, crews, vec![], vec![], vec![]).unwrap();
        let model = Model::new(&problem);
        let bound = crate::bounds::bound(&model).length;
        assert_eq!(bound, 13);
        let mut prices = Prices::new(&model, bound).unwrap();
        prices.run(u64::MAX, &|| false);
        assert_eq!(prices.proven, 14);
    }

    /// What the jobs take of a joint good at each tick of a schedule, counted one by one.
    fn taken(
        (model, market): (&Model, &Market),
        schedule: &Schedule,
        joint: &Joint,
        spare: impl Fn(usize) -> i64,
    ) -> Vec<i64> {
        let resources = (market.names[joint.inner], market.names[joint.outer]);
        let mut taken = vec![0; model.problem.horizon() as usize];
        for job in &market.jobs {
            let run = schedule.assignments[job.task];
            let way = model.acts[job.task].ways.iter().find(|way| way.mode == run.mode);
            let way = way.expect("the schedule uses one of them");
            let mut demands = vec![(0, 0); taken.len()];
            for_each_use(way, (run.start, run.finish), |resource, span, amount| {
                for demand in &mut demands[span.0 as usize..span.1 as usize] {
                    demand.0 += i64::from(amount) * i64::from(resource == resources.0);
                    demand.1 += i64::from(amount) * i64::from(resource == resources.1);
                }
            });
            for (tick, (inner, outer)) in demands.into_iter().enumerate() {
                taken[tick] += inner.max(outer - spare(tick));
            }
        }
        taken
    }

    /// At every tick of a lawful schedule no more of a good is taken than there is of it.
    #[test]
    fn no_schedule_takes_more_than_there_is() {
        let (mut seen, mut full, mut beyond) = (0, 0, 0);
        for seed in 0..3_000 {
            let problem = sample::nested(seed, 6, 30);
            let model = Model::new(&problem);
            let market = Market::new(&model, problem.horizon());
            if market.joints.is_empty() {
                continue;
            }
            let options =
                Options { stop: Stop::after_steps(60), threads: 1, ..Options::default() };
            let Some(schedule) = solve(&problem, &options, &Silent).schedule().cloned()
            else {
                continue;
            };
            let piece = |tick: usize| {
                market.cuts.partition_point(|&cut| cut as usize <= tick) - 1
            };
            for (number, joint) in market.joints.iter().enumerate() {
                let good = market.names.len() + number;
                let spare = |tick| joint.spare[piece(tick)].unwrap_or(i64::MAX / 2);
                let counted = taken((&model, &market), &schedule, joint, spare);
                let inner = taken((&model, &market), &schedule, joint, |_| i64::MAX / 2);
                for (tick, (&taken, inner)) in counted.iter().zip(inner).enumerate() {
                    if joint.spare[piece(tick)].is_some() {
                        let level = market.level(good, piece(tick));
                        assert!(
                            taken <= level,
                            "seed {seed} at {tick}: {taken} of {level}"
                        );
                        full += usize::from(taken == level && taken > 0);
                        beyond += usize::from(taken > inner);
                    }
                }
                seen += 1;
            }
        }
        assert!(seen > 200 && full > 500 && beyond > 500, "{seen} {full} {beyond}");
    }
}
