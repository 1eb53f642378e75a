//! How scarce each resource is: work against capacity, as a ratio.

use timetable::Tick;

use crate::model::{Act, Use};
use crate::steps::Steps;

/// What a use of one resource takes of it, in amounts times ticks.
pub(crate) fn energy(entry: &Use, work: Tick) -> f64 {
    f64::from(entry.throughout.saturating_add(entry.working)) * f64::from(work)
}

/// For each resource the work of all tasks that are not fixed, in their first modes, as a
/// share of the capacity until a tick; 0 where there is none of either.
pub(crate) fn scarcity(acts: &[Act], free: &[Steps], until: Tick) -> Vec<f64> {
    let mut load = vec![0.0; free.len()];
    let ways = acts.iter().filter(|act| act.fixed.is_none());
    for way in ways.filter_map(|act| act.ways.first()) {
        for entry in &way.uses {
            load[entry.resource] += energy(entry, way.pattern.work());
        }
    }
    for (load, free) in load.iter_mut().zip(free) {
        let capacity = capacity(free, until);
        *load = if capacity > 0.0 { *load / capacity } else { 0.0 };
    }
    load
}

fn capacity(free: &Steps, until: Tick) -> f64 {
    let ends = free.segments().skip(1).map(|segment| segment.0).chain([until]);
    let parts = free.segments().zip(ends).map(|((from, level), end)| {
        f64::from((end.min(until) - from.max(0)).max(0)) * f64::from(level.max(0))
    });
    parts.sum()
}

#[cfg(test)]
mod tests {
    use timetable::{Demand, Mode, Problem, Profile, Resource, ResourceId, Task};

    use crate::model::Model;

    use super::*;

    #[test]
    fn the_worked_case() {
        // Two tasks of 3 ticks by 2 against 4 until tick 5 and 1 from then on.
        let uses = || vec![Demand::throughout(ResourceId(0), 2)];
        let tasks = (0..2).map(|_| Task::new("t", Mode::elapsed(3, uses()))).collect();
        let capacity = Profile::new(vec![(0, 4), (5, 1)]).unwrap();
        let crew = Resource { name: "crew".to_owned(), capacity };
        let problem =
            Problem::new(30, tasks, vec![crew], vec![], vec![], vec![]).unwrap();
        let model = Model::new(&problem);
        let of = |until| scarcity(&model.acts, &model.static_free, until);
        assert_eq!(of(9), [0.5]);
        assert_eq!(of(0), [0.0]);
    }
}
