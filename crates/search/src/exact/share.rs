//! What is learnt from one end of a plain problem, said at the other.
//!
//! Two searches work on a plain problem, one of them on its mirror image. Turned round within
//! `k` ticks, a schedule of at most `k` ticks is one of the mirror image: a task of `d` ticks that
//! starts at `s` starts there at `k - d - s`. So a clause that holds for every schedule of at most
//! `k` ticks holds there too, once its literals are turned round: `[s >= v]` into
//! `[s' <= k - d - v]`, and *a before b* into *b before a*. Of the length itself a clause must not
//! speak: what is turned round within `k` may begin later than at 0 and end at `k` all the same.
//!
//! What was learnt against a length of at most `k` is used only where nothing longer is looked
//! for; until then it is kept. Clauses that span few levels are worth saying; those that span
//! many are rarely of use again.
//!
//! **Worked case.** At most 10 ticks, and `a` takes 3. `[a >= 4]` says that it ends at 7 or later;
//! turned round it starts at 3 or earlier, which is `10 - 3 - 4`.
//!
//! Source (from memory): Y. Hamadi et al., *`ManySAT`: a parallel SAT solver*, JSAT 6 (2009)
//! 245-262, for sharing what is short between searches that differ.

use std::collections::HashMap;

use super::Exact;
use super::clauses::Clause;
use super::pairs::Pairs;
use super::trail::{Lit, Trail, Value, View};

/// A clause that spans more levels is not said.
const LEVELS: usize = 6;
/// Nor is one with more literals.
const LITS: usize = 16;
/// So many clauses wait at most, to be asked for or to be used.
const MOST: usize = 10_000;

/// What a variable stands for, for both sides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Meaning {
    /// When a task starts.
    Start(usize),
    /// The first task comes before the second, or after it.
    Order(usize, usize),
}

/// A literal as either side understands it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Word {
    /// A task starts at a tick or later.
    From(usize, Value),
    /// A task starts at a tick or earlier.
    Until(usize, Value),
    /// The first task comes before the second.
    Before(usize, usize),
}

/// A clause, in words of the side that learnt it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Saying {
    words: Vec<Word>,
    /// It holds for schedules of at most so many ticks.
    within: Value,
    levels: usize,
}

/// What a search needs to talk to one from the other end.
#[derive(Debug)]
pub(super) struct Talk {
    /// Of each variable; nothing if the other side has nothing like it.
    meanings: Vec<Option<Meaning>>,
    /// The variable and the duration of each task.
    starts: Vec<Option<(usize, Value)>>,
    /// For tasks that never overlap the literal that says the first comes first.
    orders: HashMap<(usize, usize), Lit>,
    /// What was learnt since it was last asked for.
    learnt: Vec<Saying>,
    /// What was heard and is still to be used.
    heard: Vec<Saying>,
}

impl Talk {
    fn of(trail: &Trail, pairs: &Pairs, tasks: usize) -> Self {
        let mut talk = Self {
            meanings: vec![None; trail.count()],
            starts: vec![None; tasks],
            orders: HashMap::new(),
            learnt: Vec::new(),
            heard: Vec::new(),
        };
        talk.add_starts(trail);
        talk.add_orders(pairs);
        talk
    }

    fn add_starts(&mut self, trail: &Trail) {
        for (task, place) in self.starts.iter_mut().enumerate() {
            let (start, finish) =
                (trail.network.axes[2 * task], trail.network.axes[2 * task + 1]);
            let plain = start.slots.is_none() && start.after == 0;
            if plain && start.variable == finish.variable {
                *place = Some((start.variable, finish.after.into()));
                self.meanings[start.variable] = Some(Meaning::Start(task));
            }
        }
    }

    fn add_orders(&mut self, pairs: &Pairs) {
        // The task of a use that runs from its start to its finish.
        let task = |number: usize| {
            let (from, to) = pairs.uses()[number];
            (from.is_multiple_of(2) && to == from + 1).then_some(from / 2)
        };
        for number in 0..pairs.uses().len() {
            // The literal says that the other comes first.
            for (other, first) in pairs.others(number) {
                let (Some(a), Some(b), Some(first)) = (task(other), task(number), first)
                else {
                    continue;
                };
                self.orders.insert((a, b), first);
                if first.view.is_multiple_of(2) {
                    self.meanings[first.view / 2] = Some(Meaning::Order(a, b));
                }
            }
        }
    }

    fn word(&self, lit: Lit) -> Option<Word> {
        let up = lit.view.is_multiple_of(2);
        Some(match self.meanings[lit.view / 2]? {
            Meaning::Start(task) if up => Word::From(task, lit.bound),
            Meaning::Start(task) => Word::Until(task, -lit.bound),
            Meaning::Order(a, b) if up => Word::Before(a, b),
            Meaning::Order(a, b) => Word::Before(b, a),
        })
    }

    /// The literal of this side for a word of the other; nothing if there is none.
    fn turned(&self, word: Word, within: Value) -> Option<Lit> {
        let start = |task: usize| self.starts[task];
        match word {
            Word::From(task, tick) => start(task).map(|(variable, work)| Lit {
                view: Trail::down(variable),
                bound: tick + work - within,
            }),
            Word::Until(task, tick) => start(task).map(|(variable, work)| Lit {
                view: Trail::up(variable),
                bound: within - work - tick,
            }),
            Word::Before(a, b) => self.orders.get(&(b, a)).copied(),
        }
    }

    fn note(&mut self, clause: &Clause, within: Value) {
        let worth = clause.levels <= LEVELS && clause.lits.len() <= LITS;
        if !worth || self.learnt.len() >= MOST {
            return;
        }
        let words: Option<Vec<Word>> =
            clause.lits.iter().map(|&lit| self.word(lit)).collect();
        self.learnt.extend(words.map(|words| Saying {
            words,
            within,
            levels: clause.levels,
        }));
    }

    /// A clause of this side for what was heard; nothing if it can't be said here.
    fn clause(&self, saying: &Saying) -> Option<Clause> {
        let lits: Option<Vec<Lit>> =
            saying.words.iter().map(|&word| self.turned(word, saying.within)).collect();
        lits.map(|lits| Clause { lits, levels: saying.levels })
    }
}

/// The view of the length from above.
const LENGTH: View = Trail::down(super::LEVELS[2]);

impl Exact<'_> {
    /// From now on it keeps what it learns for a search of the mirror image. The problem
    /// has to be plain.
    pub(crate) fn talk(&mut self) {
        self.talk = Some(Talk::of(&self.trail, &self.pairs, self.model.count()));
    }

    /// What was learnt since this was last asked for, for the search of the mirror image.
    pub(crate) fn said(&mut self) -> Vec<Saying> {
        self.talk.as_mut().map_or(Vec::new(), |talk| std::mem::take(&mut talk.learnt))
    }

    /// Hears what the search of the mirror image has learnt. It is used from the next restart
    /// on.
    pub(crate) fn hear_said(&mut self, said: Vec<Saying>) {
        if let Some(talk) = &mut self.talk {
            let room = MOST.saturating_sub(talk.heard.len());
            talk.heard.extend(said.into_iter().take(room));
        }
    }

    /// Keeps a clause for the other side if it is worth it.
    pub(super) fn note(&mut self, clause: &Clause) {
        let within = -self.trail.root(LENGTH);
        if let Some(talk) = &mut self.talk {
            talk.note(clause, within);
        }
    }

    /// At the root: makes clauses of what was heard. Whether there was anything.
    pub(super) fn use_heard(&mut self) -> bool {
        let within = -self.trail.root(LENGTH);
        let Some(talk) = &mut self.talk else { return false };
        let (now, later): (Vec<_>, Vec<_>) = std::mem::take(&mut talk.heard)
            .into_iter()
            .partition(|saying| saying.within >= within);
        talk.heard = later;
        for clause in now.iter().filter_map(|saying| talk.clause(saying)) {
            self.closed |= !self.trail.add_known(clause);
        }
        !now.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use rand::{RngExt, SeedableRng};
    use rand_pcg::Pcg64Mcg;
    use timetable::{
        Demand, Link, Mode, Problem, Profile, Resource, ResourceId, Schedule, Task,
        TaskId, Tick,
    };

    use super::*;
    use crate::Bound;
    use crate::mirror::mirrored;
    use crate::model::Model;

    /// A plain problem with tasks of which many can't overlap.
    fn plain(seed: u64) -> Problem {
        let mut rng = Pcg64Mcg::seed_from_u64(seed);
        let count = rng.random_range(8..16);
        let resources = vec![
            Resource { name: "fitters".to_owned(), capacity: Profile::constant(4) },
            Resource { name: "stand".to_owned(), capacity: Profile::constant(3) },
        ];
        let mut tasks = Vec::new();
        let mut links = Vec::new();
        for number in 0..count {
            let mut demands = Vec::new();
            for (resource, most) in [(0, 4), (1, 3)] {
                let amount = rng.random_range(0..=most);
                if amount > 0 {
                    demands.push(Demand::throughout(ResourceId(resource), amount));
                }
            }
            let mode = Mode::elapsed(rng.random_range(1..8), demands);
            tasks.push(Task::new("t", mode));
            for before in (0..number).filter(|_| rng.random_range(0..8) == 0) {
                links.push(Link::after(TaskId::new(before), TaskId::new(number)));
            }
        }
        Problem::new(200, tasks, resources, vec![], links, vec![]).unwrap()
    }

    /// All that both ends have said, and the schedules that they found on the way.
    #[derive(Default)]
    struct Spoken {
        said: [Vec<Saying>; 2],
        found: [Vec<Schedule>; 2],
        best: Option<i64>,
    }

    fn both_ends(problem: &Problem) -> Spoken {
        let turned = mirrored(problem).unwrap();
        let models = [Model::new(problem), Model::new(&turned)];
        let mut ends =
            models.each_ref().map(|of| Exact::new(of, &Bound::default()).unwrap());
        ends.iter_mut().for_each(Exact::talk);
        let mut spoken = Spoken::default();
        while !ends.iter().any(|end| end.closed) {
            for (end, found) in ends.iter_mut().zip(&mut spoken.found) {
                end.run(20, &|| false);
                found.extend(end.best.as_ref().map(|best| best.0.clone()));
            }
            let best = ends.iter().filter_map(|end| end.best.as_ref().map(|b| b.1)).min();
            spoken.best = best.map(|levels| levels[2]);
            for at in 0..2 {
                let said = ends[at].said();
                ends[1 - at].hear_said(said.clone());
                spoken.said[at].extend(said);
            }
            if let Some(best) = best {
                for end in &mut ends {
                    end.hear_levels(best);
                }
            }
            assert!(ends[0].steps < 100_000, "{problem:#?}");
        }
        spoken
    }

    /// Whether a clause is true of starts.
    fn is_true(saying: &Saying, problem: &Problem, start: &[Tick]) -> bool {
        let work = |task: usize| problem.tasks()[task].modes[0].work;
        saying.words.iter().any(|word| match *word {
            Word::From(task, tick) => Value::from(start[task]) >= tick,
            Word::Until(task, tick) => Value::from(start[task]) <= tick,
            Word::Before(a, b) => start[a] + work(a) <= start[b],
        })
    }

    #[test]
    fn what_is_said_holds_for_every_schedule_that_is_short_enough() {
        let mut judged = [0, 0];
        for seed in 0..50 {
            let problem = plain(seed);
            let spoken = both_ends(&problem);
            for (end, found) in spoken.found.iter().enumerate() {
                for schedule in found {
                    let runs = &schedule.assignments;
                    let length = runs.iter().map(|run| run.finish).max().unwrap();
                    // As it was found, and turned round for the other side.
                    let start: Vec<Tick> = runs.iter().map(|run| run.start).collect();
                    let turned: Vec<Tick> =
                        runs.iter().map(|run| length - run.finish).collect();
                    for (by, start) in [(end, &start), (1 - end, &turned)] {
                        for saying in &spoken.said[by] {
                            if saying.within >= length.into() {
                                assert!(is_true(saying, &problem, start), "seed {seed}");
                                judged[by] += 1;
                            }
                        }
                    }
                }
            }
        }
        assert!(judged[0] > 1_000 && judged[1] > 1_000, "{judged:?}");
    }

    #[test]
    fn two_ends_prove_what_one_proves() {
        let (mut of_orders, mut of_starts) = (0, 0);
        for seed in 100..150 {
            let problem = plain(seed);
            let model = Model::new(&problem);
            let mut alone = Exact::new(&model, &Bound::default()).unwrap();
            alone.run(100_000, &|| false);
            assert!(alone.closed);
            let spoken = both_ends(&problem);
            assert_eq!(
                spoken.best,
                alone.best.map(|best| best.1[2]),
                "seed {seed} {problem:#?}"
            );
            for word in spoken.said.iter().flatten().flat_map(|saying| &saying.words) {
                match word {
                    Word::Before(..) => of_orders += 1,
                    Word::From(..) | Word::Until(..) => of_starts += 1,
                }
            }
        }
        assert!(of_orders > 100 && of_starts > 100, "{of_orders} {of_starts}");
    }

    #[test]
    fn the_worked_case() {
        let task = || Task::new("a", Mode::elapsed(3, vec![]));
        let problem =
            Problem::new(20, vec![task(), task()], vec![], vec![], vec![], vec![])
                .unwrap();
        let model = Model::new(&problem);
        let mut exact = Exact::new(&model, &Bound::default()).unwrap();
        exact.talk();
        let talk = exact.talk.unwrap();
        let lit = talk.turned(Word::From(0, 4), 10).unwrap();
        assert_eq!(talk.word(lit), Some(Word::Until(0, 3)));
        let back = talk.turned(Word::Until(0, 3), 10).unwrap();
        assert_eq!(talk.word(back), Some(Word::From(0, 4)));
        assert_eq!(talk.turned(Word::Before(0, 1), 10), None);
        assert_eq!(talk.word(Lit { view: LENGTH, bound: -10 }), None);
    }
}
