//! The earliest span of a task on a [board](crate::board).
//!
//! As on an empty board (see [`place`](crate::place)) a candidate span is checked against every
//! resource that it touches, and where something lacks the search jumps behind it. What an
//! occupancy needs beside the task itself is known here: its other end is placed, or it lasts
//! about as long as before.

use timetable::Tick;

use crate::arc::{is_finish, task_of};
use crate::board::Board;
use crate::model::Way;
use crate::pattern::Span;
use crate::place::lack_of_uses;
use crate::steps::FAR;

impl Board<'_> {
    /// The earliest span of a task that starts and finishes no earlier than given.
    pub(crate) fn fit(&self, task: usize, start: Tick, finish: Tick) -> Option<Span> {
        let model = self.model;
        let act = &model.acts[task];
        let way = &act.ways[usize::from(self.way[task])];
        let bare = act.opens.is_empty() && act.keeps.is_empty();
        let which = (task, self.way[task]);
        let apart = self.free.apart(task, self.way[task]);
        let mut tick = start;
        loop {
            let span = self.free.first(which, way, tick)?;
            if span.1 < finish {
                tick = way.pattern.reaching(finish).max(span.0 + 1);
                continue;
            }
            // What is beyond the horizon breaks it, and is of use only until that is mended.
            if self.worth.breach == 0 && span.0 > model.problem.horizon() {
                return None;
            }
            let uses = lack_of_uses(&self.free, way, apart, span).map(|(until, _)| until);
            let lack =
                if bare { uses } else { uses.or_else(|| self.ends(task, way, span)) };
            match lack {
                Some(until) if until >= FAR => return None,
                Some(until) => tick = until.max(span.0 + 1),
                None if model.own_arcs_allow(task, span) => return Some(span),
                None if model.own_arcs_forbid(task, &way.pattern) => return None,
                None if span.0 > model.problem.horizon() => return None,
                None => tick = span.0 + 1,
            }
        }
    }

    /// Until when a start is impossible because of what the task begins to hold.
    fn ends(&self, task: usize, way: &Way, span: Span) -> Option<Tick> {
        let act = &self.model.acts[task];
        act.opens.iter().chain(&act.keeps).find_map(|&number| {
            let hold = self.model.holds[number];
            let at = |node| if is_finish(node) { span.1 } else { span.0 };
            let from = at(hold.from);
            let other = task_of(hold.to);
            let known = (other == task)
                .then(|| at(hold.to))
                .or_else(|| self.placed[other].then(|| self.tick(hold.to)));
            let until = known.filter(|&until| until > from || other == task);
            let until = until.unwrap_or(from + self.gap(number));
            let free = &self.free[hold.resource];
            // While the task runs, what it uses itself comes on top.
            let own = way.uses.iter().find(|entry| entry.resource == hold.resource);
            let own = own.map_or(0, |entry| entry.throughout + entry.working);
            let both = (own > 0 && from < span.1)
                .then(|| free.lack(from, until.min(span.1), hold.amount + own))
                .flatten();
            let (_, end) = both.or_else(|| free.lack(from, until, hold.amount))?;
            let finishes = is_finish(hold.from) && end < FAR;
            Some(if finishes { way.pattern.reaching(end) } else { end })
        })
    }
}
