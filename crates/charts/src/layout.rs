//! Where the bars of a lane go: stacked rows, and room for their labels.

use std::borrow::Cow;

use crate::scale::Scale;
use crate::text;
use crate::view::{Bar, JobView, Lane, LaneSet, PlanView};

/// Height of one row of bars.
pub(crate) const PITCH: f64 = 17.0;
/// Height of a bar.
pub(crate) const BAR: f64 = 12.0;
/// Room above the first and below the last row of a lane.
pub(crate) const PAD: f64 = 4.0;
/// Type size of a label.
pub(crate) const TYPE: f64 = 11.0;
/// The narrowest bar that can still be seen.
const LEAST: f64 = 2.5;
/// Least distance of two bars in a row.
const GAP: f64 = 1.5;
/// Between a bar and a label beside it.
pub(crate) const BESIDE: f64 = 4.0;
/// Room for labels that is tried, beyond none.
const RESERVES: [f64; 5] = [60.0, 90.0, 120.0, 150.0, 190.0];
/// Height of the lanes that one A3 sheet on the wall can hold, below its heads and above
/// the legend.
const SHEET: f64 = 850.0;

/// One bar in its place.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Placed {
    /// Index of the job.
    pub job: usize,
    /// Index of the bar in its lane.
    pub bar: usize,
    /// Left and right end.
    pub x: (f64, f64),
    /// The stretches in which work is done, from left to right.
    pub blocks: Vec<(f64, f64)>,
    /// Row, from 0.
    pub row: usize,
    /// The label, if there is room.
    pub label: Option<Label>,
}

/// A label in its place.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Label {
    /// Where its left end is.
    pub x: f64,
    /// The text without the mark; empty if only the mark fits.
    pub text: String,
    /// Whether it lies within the bar.
    pub inside: bool,
}

/// One lane laid out.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Laid {
    /// The bars by row, and in each row from left to right.
    pub bars: Vec<Placed>,
    /// How many rows there are, at least one.
    pub rows: usize,
}

impl Laid {
    /// Height of the lane.
    pub(crate) fn height(&self, lane: &Lane) -> f64 {
        let least = if lane.note.is_empty() { 22.0 } else { 34.0 };
        (self.rows as f64 * PITCH + 2.0 * PAD).max(least)
    }
}

/// Lays out every lane of a set.
///
/// Labels matter on a wall, height is dear: lane after lane gets more room for labels,
/// in rounds, as long as the whole set still fits one sheet.
pub(crate) fn lay(view: &PlanView, set: &LaneSet, scale: &Scale) -> Vec<Laid> {
    let placed: Vec<Vec<Placed>> =
        set.lanes.iter().map(|lane| place_bars(view, lane, scale)).collect();
    let mut out: Vec<Laid> =
        placed.iter().map(|bars| stack(view, bars.clone(), 0.0)).collect();
    let mut total: f64 =
        out.iter().zip(&set.lanes).map(|(laid, lane)| laid.height(lane)).sum();
    for reserve in RESERVES {
        if total > SHEET {
            break;
        }
        for ((laid, bars), lane) in out.iter_mut().zip(&placed).zip(&set.lanes) {
            let roomier = stack(view, bars.clone(), reserve);
            let more = roomier.height(lane) - laid.height(lane);
            if total + more <= SHEET {
                total += more;
                *laid = roomier;
            }
        }
    }
    for laid in &mut out {
        label_rows(view, laid, scale.width);
    }
    out
}

/// The name as it stands in a label.
pub(crate) fn label_text(job: &JobView) -> Cow<'_, str> {
    if job.name.trim().is_empty() {
        return Cow::Owned(text::one_line(&job.key));
    }
    Cow::Owned(text::one_line(&job.name))
}

/// Room that the marks before a label take.
pub(crate) fn mark_width(job: &JobView) -> f64 {
    text::width(&marks(job), TYPE - 1.0) + 3.5
}

/// The marks before a label: done, driving, kind.
pub(crate) fn marks(job: &JobView) -> String {
    let mut out = String::new();
    if job.done {
        out.push('✓');
    }
    if job.driving {
        out.push('◆');
    }
    out.push(job.kind.mark());
    out
}

/// The bars of a lane from left to right, all in the first row.
fn place_bars(view: &PlanView, lane: &Lane, scale: &Scale) -> Vec<Placed> {
    let mut out: Vec<Placed> = lane
        .bars
        .iter()
        .enumerate()
        .filter(|(_, bar)| bar.job < view.jobs.len())
        .map(|(at, bar)| {
            let x = extent(scale.x(bar.from), scale.x(bar.until), scale.width);
            let blocks = worked(&view.jobs[bar.job], *bar, scale, x);
            Placed { job: bar.job, bar: at, x, blocks, row: 0, label: None }
        })
        .collect();
    out.sort_by(|a, b| {
        a.x.0.total_cmp(&b.x.0).then(b.x.1.total_cmp(&a.x.1)).then(a.job.cmp(&b.job))
    });
    out
}

/// Puts each bar in the first row that is free.
fn stack(view: &PlanView, mut bars: Vec<Placed>, reserve: f64) -> Laid {
    let mut ends: Vec<f64> = Vec::new();
    for bar in &mut bars {
        let row = ends.iter().position(|end| *end <= bar.x.0).unwrap_or(ends.len());
        if row == ends.len() {
            ends.push(0.0);
        }
        bar.row = row;
        ends[row] = bar.x.1 + GAP + room_beside(&view.jobs[bar.job], bar, reserve);
    }
    bars.sort_by(|a, b| a.row.cmp(&b.row).then(a.x.0.total_cmp(&b.x.0)));
    Laid { bars, rows: ends.len().max(1) }
}

/// The worked blocks within the bar. Gaps too small to be a pause that one could see,
/// such as a lunch hour on the chart of a whole season, are closed.
fn worked(job: &JobView, bar: Bar, scale: &Scale, x: (f64, f64)) -> Vec<(f64, f64)> {
    let whole = [(job.start, job.finish)];
    let stretches = if job.working.is_empty() { &whole[..] } else { &job.working[..] };
    let least_gap = (0.35 * scale.day_width()).min(2.5);
    let mut out: Vec<(f64, f64)> = Vec::new();
    for &(from, until) in stretches {
        let (from, until) = (from.max(bar.from), until.min(bar.until));
        if until < from || (until == from && job.start != job.finish) {
            continue;
        }
        let from = scale.x(from).clamp(x.0, x.1);
        let until = scale.x(until).clamp(x.0, x.1);
        match out.last_mut() {
            Some(last) if from - last.1 < least_gap => last.1 = last.1.max(until),
            _ => out.push((from, until)),
        }
    }
    if let [only] = out.as_mut_slice()
        && x.1 - x.0 <= LEAST + 0.5
    {
        *only = x;
    }
    for block in &mut out {
        block.1 = block.1.max((block.0 + 0.8).min(x.1));
    }
    out
}

/// The ends of a bar: never narrower than can be seen, never outside the plot.
fn extent(from: f64, until: f64, width: f64) -> (f64, f64) {
    let from = from.min(width - LEAST);
    (from, until.max(from + LEAST))
}

/// Room to keep free after a bar whose label has no place within it.
fn room_beside(job: &JobView, bar: &Placed, reserve: f64) -> f64 {
    if reserve <= 0.0 {
        return 0.0;
    }
    let wish = text::width(&label_text(job), TYPE) * weight(job) + mark_width(job);
    let block = widest(&bar.blocks);
    if wish + 2.0 * BESIDE <= block.1 - block.0 {
        0.0
    } else {
        BESIDE + wish.min(reserve) + 3.0
    }
}

/// The widest block: a label across a pause would look crossed out.
fn widest(blocks: &[(f64, f64)]) -> (f64, f64) {
    let mut out = (0.0, 0.0);
    for block in blocks {
        if block.1 - block.0 > out.1 - out.0 + 0.05 {
            out = *block;
        }
    }
    out
}

/// Bold type is wider.
fn weight(job: &JobView) -> f64 {
    if job.driving { 1.08 } else { 1.0 }
}

fn label_rows(view: &PlanView, laid: &mut Laid, width: f64) {
    let mut taken = 0.0;
    for at in 0..laid.bars.len() {
        let (bar, next) = (&laid.bars[at], laid.bars.get(at + 1));
        if at == 0 || laid.bars[at - 1].row != bar.row {
            taken = 0.0;
        }
        let until = next.filter(|n| n.row == bar.row).map_or(width, |n| n.x.0 - GAP);
        let label = place(&view.jobs[bar.job], bar, (taken, until));
        taken = bar.x.1;
        if let Some(label) = label.as_ref().filter(|l| !l.inside && l.x > bar.x.0) {
            taken = label.x
                + mark_width(&view.jobs[bar.job])
                + text::width(&label.text, TYPE) * 1.08;
        }
        laid.bars[at].label = label;
    }
}

/// The best place for a label: whole within the bar, whole to the right, whole to the
/// left, then shortened where most of it fits, then the mark alone.
fn place(job: &JobView, bar: &Placed, free: (f64, f64)) -> Option<Label> {
    let (x, block) = (bar.x, widest(&bar.blocks));
    let name = label_text(job);
    let marks = mark_width(job);
    let size = TYPE * weight(job);
    let whole = text::width(&name, size) + marks;
    let inside = block.1 - block.0 - 2.0 * BESIDE;
    let right = free.1 - x.1 - BESIDE - 2.0;
    let left = x.0 - BESIDE - free.0 - 4.0;
    let in_bar = |text: String| Label { x: block.0 + BESIDE, text, inside: true };
    let after = |text: String| Label { x: x.1 + BESIDE, text, inside: false };
    if whole <= inside {
        return Some(in_bar(name.into_owned()));
    }
    if whole <= right {
        return Some(after(name.into_owned()));
    }
    if whole <= left {
        return Some(Label {
            x: x.0 - BESIDE - whole,
            text: name.into_owned(),
            inside: false,
        });
    }
    let cut = |room: f64| text::fit(&name, size, room - marks, 5).map(Cow::into_owned);
    let shortened =
        if inside >= right { cut(inside).map(in_bar) } else { cut(right).map(after) };
    shortened.or_else(|| {
        let alone = marks - 3.5;
        let x = f64::midpoint(block.0, block.1) - alone / 2.0;
        (inside + BESIDE >= alone).then(|| Label { x, text: String::new(), inside: true })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kind::JobKind;
    use jiff::civil::date;

    fn job(name: &str) -> JobView {
        let start = date(2032, 1, 5).at(8, 0, 0, 0);
        JobView {
            key: "J".to_owned(),
            name: name.to_owned(),
            kind: JobKind::Clean,
            ..JobView::between(start, start)
        }
    }

    fn bar(from: f64, until: f64) -> Placed {
        let x = (from, until);
        Placed { job: 0, bar: 0, x, blocks: vec![x], row: 0, label: None }
    }

    #[test]
    fn a_label_goes_where_there_is_room() {
        let job = job("Clean the wing");
        let inside = place(&job, &bar(10.0, 200.0), (0.0, 500.0)).expect("room");
        assert!(inside.inside && inside.text == job.name);
        let right = place(&job, &bar(10.0, 20.0), (0.0, 500.0)).expect("room");
        assert!(!right.inside && right.x > 20.0 && right.text == job.name);
        let left = place(&job, &bar(400.0, 410.0), (0.0, 415.0)).expect("room");
        assert!(!left.inside && left.x < 400.0 && left.text == job.name);
        let cut = place(&job, &bar(0.0, 10.0), (0.0, 70.0)).expect("room");
        assert!(cut.text.ends_with('…'));
        assert_eq!(place(&job, &bar(0.0, 3.0), (0.0, 6.0)), None);
    }

    #[test]
    fn no_label_lies_across_a_pause() {
        let job = job("Clean");
        let mut paused = bar(0.0, 200.0);
        paused.blocks = vec![(0.0, 10.0), (150.0, 200.0)];
        let label = place(&job, &paused, (0.0, 205.0)).expect("room");
        assert!(label.inside && label.x >= 150.0, "{label:?}");
    }
}
