//! A problem made ready for decoding: arcs, spans, net uses and what is fixed.
//!
//! **The past** is as it is. Lags and occupancies between two events that are fixed are not
//! judged, and where what is fixed alone exceeds a capacity (a day on which everybody helped)
//! the excess is not judged either: nothing is left there for the others. An occupancy that
//! a fixed event began counts as fixed until the release of the task that will end it.
//!
//! Everything here is computed once. What depends on the choice of modes or on the order
//! is the [decoder](crate::decode)'s business.

use std::sync::OnceLock;

use timetable::{
    Assignment, End, Event, ModeId, Occupancy, Pace, Problem, Progress, ResourceId,
    TaskId, Tick,
};

use crate::arc::{Arc, Lag, Node, Source, arcs, is_finish, node, task_of};
use crate::free::Free;
use crate::last::Last;
use crate::order::ordering;
use crate::pattern::{Pattern, Span};
use crate::room::Rows;
use crate::scarce::scarcity;
use crate::steps::{FAR, Steps};
use crate::stocks::Stocks;
use crate::windows::Windows;

/// A problem made ready.
#[derive(Debug)]
pub(crate) struct Model<'p> {
    pub(crate) problem: &'p Problem,
    pub(crate) acts: Vec<Act<'p>>,
    pub(crate) arcs: Vec<Arc<'p>>,
    /// For each task the arcs that leave it for another task.
    pub(crate) out: Vec<Vec<usize>>,
    /// For each task the arcs that reach it from another task.
    pub(crate) into: Vec<Vec<usize>>,
    /// For each task the arcs between its own two events.
    pub(crate) own: Vec<Vec<usize>>,
    /// For each task those that are to be decoded after it.
    pub(crate) next: Vec<Vec<usize>>,
    /// For each task how many are to be decoded before it.
    pub(crate) before: Vec<u32>,
    /// For each resource what is free beside what is fixed. Occupancies that a fixed task
    /// began and another will end are held for ever.
    pub(crate) free: Vec<Steps>,
    /// The same without those occupancies.
    pub(crate) static_free: Vec<Steps>,
    rows: OnceLock<Rows>,
    bare: OnceLock<Vec<Free>>,
    begun: OnceLock<Vec<Free>>,
    /// For each resource how much such occupancies hold.
    pub(crate) held: Vec<i32>,
    /// The occupancies of the problem, with their events as nodes.
    pub(crate) holds: Vec<Hold>,
    /// The stocks that can lack.
    pub(crate) stocks: Stocks,
    /// The earliest and latest times, by arcs, calendars and fixed uses alone.
    pub(crate) windows: Windows,
    /// The task with which everything is over, if it is due.
    pub(crate) last: Option<Last>,
}

/// Which modes a problem is made ready with.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Keep<'a> {
    /// All that a lawful schedule may have.
    All,
    /// Where the problem has stocks, none that another mode makes superfluous.
    Better,
    /// The modes of another model of the same tasks.
    Same(&'a Model<'a>),
}

/// A task made ready.
#[derive(Debug)]
pub(crate) struct Act<'p> {
    /// The times that are fixed, with the mode; the times are meaningless if `broken`.
    pub(crate) fixed: Option<Assignment>,
    /// What has happened can't be continued by its own rules.
    pub(crate) broken: bool,
    /// It has begun, and what is left ends after its deadline or the horizon.
    pub(crate) overdue: bool,
    pub(crate) release: Tick,
    /// The deadline or the horizon, whichever comes first.
    pub(crate) deadline: Tick,
    /// The modes whose demands never exceed the peak of a resource; all modes if there
    /// are none such. Of these, the modes for which there is enough of each stock.
    pub(crate) ways: Vec<Way<'p>>,
    /// Occupancies that begin, and that end, with one of its events and another task's.
    pub(crate) opens: Vec<usize>,
    pub(crate) closes: Vec<usize>,
    /// Occupancies between its own two events.
    pub(crate) keeps: Vec<usize>,
}

/// A mode made ready.
#[derive(Debug)]
pub(crate) struct Way<'p> {
    pub(crate) mode: ModeId,
    pub(crate) pattern: Pattern<'p>,
    /// One for each resource that it uses, in order of the resources.
    pub(crate) uses: Vec<Use>,
    /// What it takes of each stock that can lack, beyond the least that its task can do with.
    pub(crate) takes: Vec<i64>,
    pub(crate) cost: i64,
}

/// What a mode uses of one resource.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Use {
    pub(crate) resource: usize,
    /// From start to finish.
    pub(crate) throughout: i32,
    /// In the open ticks of the pattern, on top of `throughout`.
    pub(crate) working: i32,
}

/// An occupancy.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Hold {
    pub(crate) resource: usize,
    pub(crate) amount: i32,
    pub(crate) from: Node,
    pub(crate) to: Node,
    /// Its use before this tick is among what is fixed.
    pub(crate) judged_from: Tick,
}

impl<'p> Model<'p> {
    /// Makes a problem ready. The windows are those of an attempt that may have failed;
    /// `conflict` asks for the reason.
    pub(crate) fn new(problem: &'p Problem) -> Self {
        Self::with(problem, Keep::All)
    }

    /// The same with such modes alone.
    pub(crate) fn with(problem: &'p Problem, keep: Keep) -> Self {
        let holds: Vec<Hold> = problem.occupancies().iter().map(hold).collect();
        let count = problem.tasks().len();
        let mut model = Self {
            problem,
            acts: (0..count).map(|task| act(problem, task)).collect(),
            arcs: arcs(problem),
            out: vec![Vec::new(); count],
            into: vec![Vec::new(); count],
            own: vec![Vec::new(); count],
            next: Vec::new(),
            before: Vec::new(),
            free: Vec::new(),
            static_free: Vec::new(),
            rows: OnceLock::new(),
            bare: OnceLock::new(),
            begun: OnceLock::new(),
            held: vec![0; problem.resources().len()],
            holds,
            stocks: Stocks::default(),
            windows: Windows::default(),
            last: None,
        };
        if let Keep::Same(other) = keep {
            for (act, other) in model.acts.iter_mut().zip(&other.acts) {
                let known = |way: &Way| other.ways.iter().any(|o| o.mode == way.mode);
                act.ways.retain(known);
            }
        }
        let fixed = |node| model.acts[task_of(node)].fixed.is_some();
        model.arcs.retain(|arc| !fixed(arc.from) || !fixed(arc.to));
        for number in 0..model.holds.len() {
            let Hold { from, to, .. } = model.holds[number];
            if model.fixed(from).is_some() {
                // If it is over, all of its use is among what is fixed.
                let release = model.acts[task_of(to)].release;
                model.holds[number].judged_from = model.fixed(to).unwrap_or(release);
            }
        }
        model.index_arcs();
        model.index_holds();
        model.stocks = Stocks::of(&mut model, matches!(keep, Keep::Better));
        model.use_fixed();
        model.scarcest_first();
        model.windows = Windows::of(&model);
        (model.next, model.before) = ordering(&model);
        model.last = Last::of(&model);
        model
    }

    /// The number of tasks.
    pub(crate) fn count(&self) -> usize {
        self.acts.len()
    }

    /// The fixed tick of an event, if it is fixed.
    pub(crate) fn fixed(&self, node: Node) -> Option<Tick> {
        let fixed = self.acts[task_of(node)].fixed?;
        Some(if is_finish(node) { fixed.finish } else { fixed.start })
    }

    /// The lower bounds of a task's start and finish beside what is placed: by its windows, by
    /// how far its events have been pushed, and by the arcs from placed tasks.
    pub(crate) fn earliest_beside(
        &self,
        task: usize,
        push: &[Tick],
        placed: &[bool],
        span: &[Span],
    ) -> Span {
        let early = &self.windows.early;
        let mut start = early[2 * task].max(push[2 * task]);
        let mut finish = early[2 * task + 1].max(push[2 * task + 1]);
        for &number in &self.into[task] {
            let arc = &self.arcs[number];
            let other = task_of(arc.from);
            if !placed[other] {
                continue;
            }
            let from = if is_finish(arc.from) { span[other].1 } else { span[other].0 };
            let tick = arc.earliest(from);
            if is_finish(arc.to) {
                finish = finish.max(tick);
            } else {
                start = start.max(tick);
            }
        }
        (start, finish)
    }

    /// Whether the arcs between a task's own events allow a span.
    pub(crate) fn own_arcs_allow(&self, task: usize, span: Span) -> bool {
        self.own[task].iter().all(|&number| {
            let arc = &self.arcs[number];
            let tick = |node| if is_finish(node) { span.1 } else { span.0 };
            arc.earliest(tick(arc.from)) <= tick(arc.to)
        })
    }

    /// Whether what forbids one span of a pattern forbids all: nothing depends on time.
    pub(crate) fn own_arcs_forbid(&self, task: usize, pattern: &Pattern) -> bool {
        let still = |&number: &usize| matches!(self.arcs[number].lag, Lag::Elapsed(_));
        matches!(pattern, Pattern::Elapsed(_)) && self.own[task].iter().all(still)
    }

    /// The link or occupancy of an arc, by its greatest lag or not.
    pub(crate) fn source(&self, arc: usize) -> Source {
        self.arcs[arc].source
    }

    fn index_arcs(&mut self) {
        for (number, arc) in self.arcs.iter().enumerate() {
            let (from, to) = (task_of(arc.from), task_of(arc.to));
            if from == to {
                self.own[from].push(number);
            } else {
                self.out[from].push(number);
                self.into[to].push(number);
            }
        }
    }

    fn index_holds(&mut self) {
        for (number, hold) in self.holds.iter().enumerate() {
            let (from, to) = (task_of(hold.from), task_of(hold.to));
            if from == to {
                self.acts[from].keeps.push(number);
            } else {
                self.acts[from].opens.push(number);
                self.acts[to].closes.push(number);
            }
        }
    }

    /// Sorts what each mode uses: a place is refused soonest by what is scarce.
    fn scarcest_first(&mut self) {
        let ratio = scarcity(&self.acts, &self.static_free, self.problem.horizon());
        for way in self.acts.iter_mut().flat_map(|act| &mut act.ways) {
            way.uses.sort_by(|a, b| ratio[b.resource].total_cmp(&ratio[a.resource]));
        }
    }

    /// Takes what fixed tasks and fixed occupancies use out of the free capacity.
    fn use_fixed(&mut self) {
        let resources = self.problem.resources();
        let mut free: Vec<Steps> =
            resources.iter().map(|r| Steps::new(&r.capacity)).collect();
        for act in &self.acts {
            if let (Some(fixed), Some(way)) = (act.fixed, act.ways.first()) {
                for_each_use(
                    way,
                    (fixed.start, fixed.finish),
                    |resource, span, amount| {
                        free[resource].add(span.0, span.1, -amount);
                    },
                );
            }
        }
        for hold in &self.holds {
            let to = self.fixed(hold.to).unwrap_or(hold.judged_from);
            if let Some(from) = self.fixed(hold.from) {
                free[hold.resource].add(from, to, -hold.amount);
            }
        }
        free.iter_mut().for_each(Steps::forgive);
        self.static_free.clone_from(&free);
        for hold in &self.holds {
            if let (Some(from), None) = (self.fixed(hold.from), self.fixed(hold.to)) {
                free[hold.resource].add(from.max(hold.judged_from), FAR, -hold.amount);
                self.held[hold.resource] += hold.amount;
            }
        }
        self.free = free;
    }
}

impl Model<'_> {
    /// Which resources lie side by side while schedules are built.
    pub(crate) fn rows(&self) -> &Rows {
        self.rows.get_or_init(|| Rows::of(self))
    }

    /// [`static_free`](Self::static_free), to build schedules on.
    pub(crate) fn bare(&self) -> &[Free] {
        self.bare.get_or_init(|| self.profiles(&self.static_free))
    }

    /// [`free`](Self::free), to build schedules on.
    pub(crate) fn begun(&self) -> &[Free] {
        self.begun.get_or_init(|| self.profiles(&self.free))
    }

    fn profiles(&self, free: &[Steps]) -> Vec<Free> {
        let mut uses = vec![0_i64; free.len()];
        for act in &self.acts {
            for entry in act.ways.iter().flat_map(|way| &way.uses) {
                uses[entry.resource] +=
                    i64::from(entry.throughout.max(0)) + i64::from(entry.working.max(0));
            }
        }
        for hold in &self.holds {
            // It may be booked once and reserved once more while schedules change.
            uses[hold.resource] += 2 * i64::from(hold.amount);
        }
        let rows = self.rows();
        Free::all(free, self.problem.horizon(), &uses, |resource| !rows.holds(resource))
    }
}

/// Calls back for each stretch in which a span of a mode uses a resource.
pub(crate) fn for_each_use(
    way: &Way,
    span: Span,
    mut each: impl FnMut(usize, Span, i32),
) {
    for demand in way.uses.iter().filter(|demand| demand.throughout > 0) {
        each(demand.resource, span, demand.throughout);
    }
    // Windows are looked up once for all resources.
    for_each_open(&way.pattern, span, |open| {
        for demand in way.uses.iter().filter(|demand| demand.working > 0) {
            each(demand.resource, open, demand.working);
        }
    });
}

/// Calls back for each stretch of a span that is worked.
pub(crate) fn for_each_open(pattern: &Pattern, span: Span, mut each: impl FnMut(Span)) {
    let Pattern::Pausing(calendar, _) = pattern else {
        if span.0 < span.1 {
            each(span);
        }
        return;
    };
    let windows = &calendar.windows()[calendar.position_at_or_after(span.0)..];
    for window in windows.iter().take_while(|window| window.from < span.1) {
        each((window.from.max(span.0), window.until.min(span.1)));
    }
}

fn hold(occupancy: &Occupancy) -> Hold {
    Hold {
        resource: occupancy.resource.at(),
        amount: i32::try_from(occupancy.amount).unwrap_or(i32::MAX),
        from: node(occupancy.from),
        to: node(occupancy.to),
        judged_from: 0,
    }
}

fn act(problem: &Problem, task: usize) -> Act<'_> {
    let data = &problem.tasks()[task];
    let id = TaskId::new(task);
    let settled = settled(problem, id);
    let mut ways: Vec<Way> = match data.progress {
        Progress::Todo => {
            let modes = 0..data.modes.len();
            let fits = modes.clone().filter(|&mode| fits(problem, id, mode));
            let fitting: Vec<Way> = fits.map(|mode| way(problem, id, mode)).collect();
            if fitting.is_empty() {
                modes.map(|mode| way(problem, id, mode)).collect()
            } else {
                fitting
            }
        }
        Progress::Started { mode, .. } | Progress::Done { mode, .. } => {
            vec![way(problem, id, mode.at())]
        }
    };
    ways.sort_by_key(|way| (way.cost, way.pattern.work(), way.mode));
    let deadline = data.deadline.map_or(problem.horizon(), |d| d.min(problem.horizon()));
    let begun = matches!(data.progress, Progress::Started { .. });
    Act {
        fixed: settled.map(|(fixed, _)| fixed),
        overdue: begun && settled.is_some_and(|(fixed, _)| fixed.finish > deadline),
        broken: settled.is_some_and(|(_, lawful)| !lawful),
        release: data.release,
        deadline,
        ways,
        opens: Vec::new(),
        closes: Vec::new(),
        keeps: Vec::new(),
    }
}

/// What is fixed about a task that has begun, and whether its rest can be done so.
pub(crate) fn settled(problem: &Problem, id: TaskId) -> Option<(Assignment, bool)> {
    match problem.task(id).progress {
        Progress::Todo => None,
        Progress::Done { mode, start, finish } => {
            Some((Assignment { mode, start, finish }, true))
        }
        Progress::Started { mode, start, resume, left } => {
            let finish = rest(problem, id, mode, resume, left);
            let lawful = finish.is_some();
            let finish = finish.unwrap_or(resume + left);
            Some((Assignment { mode, start, finish }, lawful))
        }
    }
}

fn rest(
    problem: &Problem,
    id: TaskId,
    mode: ModeId,
    resume: Tick,
    left: Tick,
) -> Option<Tick> {
    match problem.task(id).modes[mode.at()].pace {
        Pace::Elapsed => Some(resume + left),
        Pace::Whole(calendar) => {
            let open = problem.calendar(calendar).open_between(resume, resume + left);
            (open == left).then_some(resume + left)
        }
        Pace::Pausing(calendar) => problem.calendar(calendar).finish_of(resume, left),
    }
}

fn way(problem: &Problem, id: TaskId, mode: usize) -> Way<'_> {
    let data = &problem.task(id).modes[mode];
    let begun = problem.task(id).progress != Progress::Todo;
    let pattern =
        if begun { Pattern::paced(problem, data) } else { Pattern::of(problem, data) };
    let pauses = matches!(pattern, Pattern::Pausing(..));
    let mut uses: Vec<Use> = Vec::with_capacity(data.demands.len());
    for demand in &data.demands {
        let amount = i32::try_from(demand.amount).unwrap_or(i32::MAX);
        let working = pauses && demand.during == timetable::During::Working;
        let (throughout, working) = if working { (0, amount) } else { (amount, 0) };
        let resource = demand.resource.at();
        match uses.iter_mut().find(|entry| entry.resource == resource) {
            Some(entry) => {
                entry.throughout = entry.throughout.saturating_add(throughout);
                entry.working = entry.working.saturating_add(working);
            }
            None => uses.push(Use { resource, throughout, working }),
        }
    }
    if pattern.work() == 0 && !begun {
        uses.clear();
    }
    uses.sort_by_key(|entry| entry.resource);
    let takes = Vec::new();
    Way { mode: ModeId::new(mode), pattern, uses, takes, cost: data.cost }
}

/// Whether a mode's demands stay within the peaks of the resources.
pub(crate) fn fits(problem: &Problem, id: TaskId, mode: usize) -> bool {
    way(problem, id, mode).uses.iter().all(|entry| {
        let peak = problem.resource(ResourceId::new(entry.resource)).capacity.peak();
        i64::from(entry.throughout) + i64::from(entry.working) <= i64::from(peak)
    })
}

/// An event from its number.
pub(crate) const fn event(node: Node) -> Event {
    let end = if is_finish(node) { End::Finish } else { End::Start };
    Event { task: TaskId::new(task_of(node)), end }
}

/// Whether an arc alone makes its end come no earlier than its beginning.
pub(crate) fn points_forward(arc: &Arc) -> bool {
    match arc.lag {
        Lag::Elapsed(lag) => lag >= 0 && !matches!(arc.source, Source::Greatest(_)),
        Lag::Open(..) => true,
        Lag::Within(..) => false,
    }
}
