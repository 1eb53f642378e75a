//! Sets of ticks as sorted, disjoint windows, and step functions made from them.

use timetable::{Tick, Window};

/// Windows in order, none touching the next.
pub(crate) type Spans = Vec<Window>;

/// Sorts windows and joins those that overlap or touch; empty ones vanish.
pub(crate) fn tidy(mut windows: Spans) -> Spans {
    windows.retain(|w| w.from < w.until);
    windows.sort_unstable();
    let mut joined: Spans = Vec::with_capacity(windows.len());
    for window in windows {
        match joined.last_mut() {
            Some(last) if window.from <= last.until => {
                last.until = last.until.max(window.until);
            }
            _ => joined.push(window),
        }
    }
    joined
}

/// What lies in both.
pub(crate) fn both(left: &[Window], right: &[Window]) -> Spans {
    let (mut l, mut r) = (0, 0);
    let mut common = Vec::new();
    while let (Some(a), Some(b)) = (left.get(l), right.get(r)) {
        let (from, until) = (a.from.max(b.from), a.until.min(b.until));
        if from < until {
            common.push(Window { from, until });
        }
        if a.until <= b.until {
            l += 1;
        } else {
            r += 1;
        }
    }
    common
}

/// What lies in the first and not in the second.
pub(crate) fn without(left: &[Window], right: &[Window]) -> Spans {
    let Some(end) = left.last().map(|w| w.until) else {
        return Vec::new();
    };
    both(left, &outside(right, end))
}

/// What lies in `[0, end)` and in none of the windows.
pub(crate) fn outside(windows: &[Window], end: Tick) -> Spans {
    let mut gaps = Vec::with_capacity(windows.len() + 1);
    let mut from = 0;
    for window in windows {
        if from < window.from.min(end) {
            gaps.push(Window { from, until: window.from.min(end) });
        }
        from = from.max(window.until);
    }
    if from < end {
        gaps.push(Window { from, until: end });
    }
    gaps
}

/// How many of the sets hold each tick, as steps from tick 0.
pub(crate) fn count<'a>(sets: impl Iterator<Item = &'a Spans>) -> Vec<(Tick, u32)> {
    let mut moves: Vec<(Tick, i32)> = Vec::new();
    for window in sets.flatten() {
        moves.push((window.from, 1));
        moves.push((window.until, -1));
    }
    moves.sort_unstable();
    let mut steps = vec![(0, 0)];
    let mut level = 0_i32;
    for (at, by) in moves {
        level += by;
        match steps.last_mut() {
            Some(last) if last.0 == at => last.1 = level as u32,
            _ => steps.push((at, level as u32)),
        }
    }
    steps
}

/// Where a step function is at least `least`, up to `end`.
pub(crate) fn where_at_least(steps: &[(Tick, u32)], least: u32, end: Tick) -> Spans {
    let ends = steps.iter().skip(1).map(|step| step.0).chain([end]);
    let windows = steps
        .iter()
        .zip(ends)
        .filter(|((_, level), _)| *level >= least)
        .map(|(&(from, _), until)| Window { from, until: until.min(end) });
    tidy(windows.collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn some() -> impl Strategy<Value = Spans> {
        prop::collection::vec((0..60, 1..9), 0..8).prop_map(|pairs| {
            let windows =
                pairs.into_iter().map(|(from, long)| Window { from, until: from + long });
            tidy(windows.collect())
        })
    }

    fn holds(spans: &[Window], tick: Tick) -> bool {
        spans.iter().any(|w| w.from <= tick && tick < w.until)
    }

    proptest! {
        #[test]
        fn sets_behave_as_sets(a in some(), b in some()) {
            let (common, left, gaps) = (both(&a, &b), without(&a, &b), outside(&a, 70));
            let steps = count([&a, &b].into_iter());
            let two = where_at_least(&steps, 2, 80);
            for tick in 0..70 {
                prop_assert_eq!(holds(&common, tick), holds(&a, tick) && holds(&b, tick));
                prop_assert_eq!(holds(&left, tick), holds(&a, tick) && !holds(&b, tick));
                prop_assert_eq!(holds(&gaps, tick), !holds(&a, tick));
                prop_assert_eq!(holds(&two, tick), holds(&common, tick));
            }
        }
    }
}
