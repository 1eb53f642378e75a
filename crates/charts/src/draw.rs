//! The bars of one lane as drawing elements.

use std::fmt::Write as _;

use jiff::civil::DateTime;

use crate::layout::{self, BAR, Laid, PAD, PITCH, Placed};
use crate::paint;
use crate::scale::Scale;
use crate::text::{self, escape};
use crate::view::{JobView, PlanView};

/// How a bar is wrapped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Wrap {
    /// A group with a title that says everything: a drawing on its own.
    Group,
    /// A link to the job's row in the table, with the reason in its title.
    Link,
    /// A link to the row; the row also tells the reason. Keeps a large page small.
    ShortLink,
}

/// A coordinate with at most one decimal.
pub(crate) fn n(value: f64) -> String {
    let tenths = (value * 10.0).round() as i64;
    let (whole, tenth) = (tenths / 10, (tenths % 10).abs());
    match (tenth, tenths < 0 && whole == 0) {
        (0, _) => whole.to_string(),
        (_, true) => format!("-0.{tenth}"),
        _ => format!("{whole}.{tenth}"),
    }
}

/// The bars of a lane, with the lane's upper edge at 0.
pub(crate) fn bars(view: &PlanView, laid: &Laid, scale: &Scale, wrap: Wrap) -> String {
    let mut out = String::with_capacity(laid.bars.len() * 320);
    for placed in &laid.bars {
        one(&mut out, view, placed, scale, wrap);
    }
    out
}

/// What a bar says to somebody who cannot see it.
pub(crate) fn title(job: &JobView, with_reason: bool) -> String {
    let mut out = format!(
        "{}: {}, {} to {}",
        job.kind.word(),
        layout::label_text(job),
        text::moment(job.start),
        text::moment(job.finish)
    );
    if job.driving {
        out.push_str(", sets the date");
    }
    if job.done {
        out.push_str(", done");
    }
    let why = text::one_line(&job.why);
    if with_reason && !why.is_empty() {
        let _ = write!(out, ". {why}");
    }
    out
}

fn one(out: &mut String, view: &PlanView, placed: &Placed, scale: &Scale, wrap: Wrap) {
    let job = &view.jobs[placed.job];
    let classes = classes(job);
    let name = title(job, wrap != Wrap::ShortLink);
    let name = escape(&name);
    let _ = match wrap {
        Wrap::Group => write!(out, r#"<g class="{classes}"><title>{name}</title>"#),
        Wrap::Link => write!(
            out,
            r##"<a class="{classes}" href="#j{}"><title>{name}</title>"##,
            placed.job
        ),
        Wrap::ShortLink => write!(
            out,
            r##"<a class="{classes}" href="#j{0}" aria-describedby="w{0}"><title>{name}</title>"##,
            placed.job
        ),
    };
    out.push_str(&bar(job, placed, scale));
    out.push_str(if wrap == Wrap::Group { "</g>" } else { "</a>" });
}

/// A bar with its label, without what it is wrapped in.
pub(crate) fn bar(job: &JobView, placed: &Placed, scale: &Scale) -> String {
    let mut out = String::new();
    shape(&mut out, job, placed, scale);
    label(&mut out, job, placed);
    out
}

/// What the style sheet knows a job by.
pub(crate) fn classes(job: &JobView) -> String {
    let mut out = format!("b k{}", paint::number(job.kind));
    if job.driving {
        out.push_str(" dr");
    }
    if job.done {
        out.push_str(" dn");
    }
    out
}

/// Top of a row's bars.
fn top(row: usize) -> f64 {
    PAD + row as f64 * PITCH + (PITCH - BAR) / 2.0
}

/// Worked stretches as blocks, pauses as a line, what is held beyond the job as a frame.
fn shape(out: &mut String, job: &JobView, placed: &Placed, scale: &Scale) {
    let y = top(placed.row);
    let (left, right) = placed.x;
    let blocks = &placed.blocks;
    let ends = blocks.first().zip(blocks.last()).map(|(a, b)| (a.0, b.1));
    let (work_left, work_right) = ends.unwrap_or((right, right));
    let pause_from = clip(scale.x(job.start), placed.x).min(work_left);
    let pause_until = clip(scale.x(job.finish), placed.x).max(work_right).min(right);
    for (from, until) in [(left, pause_from), (pause_until, right)] {
        if until - from > 1.0 {
            let _ = write!(
                out,
                r#"<path class="hd" d="M{} {}h{}v{}h{}z"/>"#,
                n(from),
                n(y + 3.0),
                n(until - from),
                n(BAR - 6.0),
                n(from - until)
            );
        }
    }
    pauses(out, blocks, (pause_from, pause_until), y + BAR / 2.0);
    if blocks.is_empty() {
        return;
    }
    out.push_str(r#"<path class="w" d=""#);
    for (from, until) in blocks {
        let wide = n(until - from);
        let _ = write!(out, "M{} {}h{wide}v{BAR}h-{wide}z", n(*from), n(y));
    }
    out.push_str("\"/>");
    if job.driving {
        let _ = write!(
            out,
            r#"<path class="u" d="M{} {}h{}v3h{}z"/>"#,
            n(work_left - 0.8),
            n(y + BAR),
            n(work_right - work_left + 1.6),
            n(work_left - work_right - 1.6)
        );
    }
}

/// A line wherever the job is under way and nobody works on it.
fn pauses(out: &mut String, blocks: &[(f64, f64)], (from, until): (f64, f64), y: f64) {
    let mut path = String::new();
    let mut last = from;
    for &(left, right) in blocks.iter().chain([&(until, until)]) {
        if left - last > 1.0 {
            let _ = write!(path, "M{} {}H{}", n(last), n(y), n(left));
        }
        last = right;
    }
    if !path.is_empty() {
        let _ = write!(out, r#"<path class="p" d="{path}"/>"#);
    }
}

fn clip(at: f64, x: (f64, f64)) -> f64 {
    at.clamp(x.0, x.1)
}

fn label(out: &mut String, job: &JobView, placed: &Placed) {
    let Some(label) = &placed.label else { return };
    let class = if label.inside { "in" } else { "by" };
    let y = top(placed.row) + BAR - 2.1;
    let _ = write!(
        out,
        r#"<text class="{class}" x="{}" y="{}"><tspan class="m">{}</tspan>"#,
        n(label.x),
        n(y),
        layout::marks(job)
    );
    if !label.text.is_empty() {
        let _ = write!(out, r#"<tspan dx="3">{}</tspan>"#, escape(&label.text));
    }
    out.push_str("</text>");
}

/// Whether a span of time is drawn at all: has a width that can be seen.
pub(crate) fn span(scale: &Scale, from: DateTime, until: DateTime) -> Option<(f64, f64)> {
    let (left, right) = (scale.x(from), scale.x(until));
    (right - left > 0.6).then_some((left, right))
}

#[cfg(test)]
mod tests {
    use super::n;

    #[test]
    fn coordinates_have_at_most_one_decimal() {
        let said: Vec<String> =
            [0.0, 1.04, 1.05, -0.3, -2.25, 1234.96].into_iter().map(n).collect();
        assert_eq!(said, ["0", "1", "1.1", "-0.3", "-2.3", "1235"]);
    }
}
