//! Some days of one lane set, as a table that needs no script.

use std::fmt::Write as _;

use jiff::civil::{Date, DateTime, Weekday};

use crate::draw::{self, n};
use crate::frame;
use crate::layout;
use crate::paint;
use crate::scale::{Scale, last_day};
use crate::text::escape;
use crate::timeline::Window;
use crate::view::{Bar, JobView, Lane, LaneSet, PlanView};

/// Width of the plot.
const PLOT: f64 = 1000.0;
/// Height of the days' row.
const HEAD: f64 = 22.0;
/// How many jobs are drawn one by one; of more, only how many there are.
const MOST: usize = 250;

/// One lane set over some days. Each job is a link that `link` makes of its key; where there are
/// too many of them, each lane says when something goes on in it, and how many jobs.
///
/// The page loads [`stylesheet`](crate::stylesheet) beside it.
pub fn still(
    view: &PlanView,
    set: usize,
    window: Window,
    chosen: Option<&str>,
    link: &dyn Fn(&str) -> String,
) -> String {
    let Some(set) = view.lanes.get(set) else { return String::new() };
    let (shown, single) = within(view, set, window);
    let scale = Scale::over(window.from, window.days(), PLOT, &shown.jobs);
    let mut out = String::from(
        r#"<div class="plan still"><svg class="defs" width="0" height="0" aria-hidden="true"><defs>"#,
    );
    let _ = write!(
        out,
        r#"{}<g id="tb-bg">{}</g><g id="tb-fg">{}</g></defs></svg>"#,
        paint::patterns(),
        frame::ground(&shown, &scale),
        lines(&shown, &scale)
    );
    let _ = write!(
        out,
        concat!(
            r#"<div class="pane"><table class="chart"><thead><tr><th scope="col">{}</th>"#,
            r#"<td><svg width="{w}" height="{h}" aria-hidden="true">{}</svg></td></tr></thead><tbody>"#
        ),
        escape(&set.name),
        days(&scale),
        w = PLOT,
        h = HEAD
    );
    let lanes = shown.lanes.first();
    for (lane, laid) in lanes
        .iter()
        .flat_map(|set| set.lanes.iter().zip(layout::lay(&shown, set, &scale)))
    {
        let _ = write!(
            out,
            concat!(
                r#"<tr><th scope="row"><div class="lane"><b>{}</b></div></th>"#,
                r##"<td><svg width="{w}" height="{h}"><use href="#tb-bg"/>"##
            ),
            escape(&lane.name),
            w = PLOT,
            h = n(laid.height(lane))
        );
        for placed in &laid.bars {
            let job = &shown.jobs[placed.job];
            let drawn = draw::bar(job, placed, &scale);
            let title = if single { draw::title(job, true) } else { job.name.clone() };
            let on = if chosen == Some(job.key.as_str()) && single { " on" } else { "" };
            let classes = draw::classes(job);
            let _ = if single {
                let href = link(&job.key);
                write!(
                    out,
                    r#"<a class="{classes}{on}" href="{}"><title>{}</title>{drawn}</a>"#,
                    escape(&href),
                    escape(&title)
                )
            } else {
                write!(
                    out,
                    r#"<g class="{classes}"><title>{}</title>{drawn}</g>"#,
                    escape(&title)
                )
            };
        }
        out.push_str(r##"<use href="#tb-fg" class="over"/></svg></td></tr>"##);
    }
    out.push_str("</tbody></table></div></div>");
    out
}

/// The plan with the lanes of one set and what lies in some days, and whether jobs are told
/// apart in it.
fn within(view: &PlanView, set: &LaneSet, window: Window) -> (PlanView, bool) {
    let inside =
        |bar: &Bar| bar.job < view.jobs.len() && window.meets(bar.from, bar.until);
    let count: usize =
        set.lanes.iter().map(|lane| lane.bars.iter().filter(|b| inside(b)).count()).sum();
    let single = count <= MOST;
    let (mut jobs, mut lanes) = (Vec::new(), Vec::new());
    for lane in &set.lanes {
        let bars: Vec<Bar> = lane.bars.iter().copied().filter(inside).collect();
        if bars.is_empty() {
            continue;
        }
        let mut kept = Vec::new();
        if single {
            for bar in bars {
                kept.push(Bar { job: jobs.len(), ..bar });
                jobs.push(view.jobs[bar.job].clone());
            }
        } else {
            for (from, until, many) in merged(bars, window) {
                kept.push(Bar { job: jobs.len(), from, until });
                jobs.push(stretch(from, until, many));
            }
        }
        lanes.push(Lane { bars: kept, ..lane.clone() });
    }
    let lanes = vec![LaneSet { name: set.name.clone(), lanes }];
    let shown = PlanView { jobs, lanes, loads: Vec::new(), ..bare(view) };
    (shown, single)
}

/// The plan without what is long.
fn bare(view: &PlanView) -> PlanView {
    PlanView {
        jobs: Vec::new(),
        lanes: Vec::new(),
        loads: Vec::new(),
        title: view.title.clone(),
        subtitle: view.subtitle.clone(),
        notices: Vec::new(),
        from: view.from,
        until: view.until,
        gate: view.gate.clone(),
        complete: view.complete,
        today: view.today,
        closed: view.closed.clone(),
        warm: view.warm.clone(),
        summary: Vec::new(),
        made: view.made.clone(),
    }
}

/// Stretches in which something goes on, with how many jobs; what is hardly apart is one.
fn merged(mut bars: Vec<Bar>, window: Window) -> Vec<(DateTime, DateTime, usize)> {
    bars.sort_by_key(|bar| bar.from);
    let gap = jiff::Span::new().hours(i64::from(window.days()) * 24 / 100);
    let mut out: Vec<(DateTime, DateTime, usize)> = Vec::new();
    for bar in bars {
        match out.last_mut() {
            Some((_, until, many)) if bar.from <= until.saturating_add(gap) => {
                *until = (*until).max(bar.until);
                *many += 1;
            }
            _ => out.push((bar.from, bar.until, 1)),
        }
    }
    out
}

fn stretch(from: DateTime, until: DateTime, many: usize) -> JobView {
    let name = if many == 1 { "1 job".to_owned() } else { format!("{many} jobs") };
    JobView { name, ..JobView::between(from, until) }
}

/// The lines of the gate, of completion and of today, where they are within these days.
fn lines(view: &PlanView, scale: &Scale) -> String {
    let mut out = String::new();
    let mut line = |class: &str, x: f64| {
        let x = n(x);
        let _ =
            write!(out, r#"<line class="{class}" x1="{x}" y1="0" x2="{x}" y2="100%"/>"#);
    };
    if let Some(today) = view.today.filter(|today| scale.holds(*today)) {
        line("ntd", scale.day_start(today));
    }
    if let Some(complete) = view.complete.filter(|at| scale.holds(at.date())) {
        let late = last_day(complete) > view.gate.1;
        line(if late { "cp late" } else { "cp" }, scale.x(complete));
    }
    if scale.holds(view.gate.1) {
        line("ngt", scale.day_end(view.gate.1));
    }
    out
}

/// Months, weeks or days, as there is room.
fn days(scale: &Scale) -> String {
    let mut out = String::new();
    let wide = scale.day_width();
    let marked = |date: &Date| match wide {
        w if w >= 52.0 => true,
        w if w >= 8.0 => date.weekday() == Weekday::Monday,
        _ => date.day() == 1,
    };
    let form = if wide >= 52.0 {
        "%a %-d %b"
    } else if wide >= 8.0 {
        "%-d %b"
    } else {
        "%b %Y"
    };
    for date in scale.dates().filter(marked) {
        let x = scale.day_start(date);
        let _ = write!(
            out,
            r#"<path class="nt-l" d="M{x} 0V{HEAD}"/><text class="wt" x="{}" y="15">{}</text>"#,
            n(x + 3.0),
            date.strftime(form),
            x = n(x)
        );
    }
    out
}
