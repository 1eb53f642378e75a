//! Hours needed and hours there, skill by skill and week by week.

use std::fmt::Write as _;

use jiff::ToSpan;

use crate::draw::n;
use crate::scale::Scale;
use crate::text;
use crate::view::{LoadView, LoadWeek};

/// Height of one skill's strip.
pub(crate) const HEIGHT: f64 = 54.0;
const TOP: f64 = 13.0;

/// Hours as they can be drawn: finite and not below zero.
pub(crate) fn hours(value: f64) -> f64 {
    if value.is_finite() { value.max(0.0) } else { 0.0 }
}

/// Hours short in that week, a tenth of an hour and more.
pub(crate) fn short(week: &LoadWeek) -> Option<f64> {
    let short = hours(week.needed) - hours(week.there);
    (short >= 0.05).then_some(short)
}

/// What stands under the skill's name: how much there is at most, and how it goes.
pub(crate) fn note(load: &LoadView) -> String {
    let there = load.weeks.iter().map(|week| hours(week.there)).fold(0.0, f64::max);
    let short: Vec<f64> = load.weeks.iter().filter_map(short).collect();
    let said = match short.len() {
        0 => "enough every week".to_owned(),
        1 => format!("{:.0} h short in 1 week", short[0].max(1.0)),
        weeks => format!("{:.0} h short in {weeks} weeks", short.iter().sum::<f64>()),
    };
    format!("up to {there:.0} h a week, {said}")
}

/// The strip of one skill, with its upper edge at 0.
pub(crate) fn strip(load: &LoadView, scale: &Scale) -> String {
    let top = load
        .weeks
        .iter()
        .map(|week| hours(week.needed).max(hours(week.there)))
        .fold(0.0, f64::max);
    let mut out = String::new();
    if top <= 0.0 {
        return out;
    }
    let y = |value: f64| HEIGHT - 2.0 - value / top * (HEIGHT - 2.0 - TOP);
    for week in &load.weeks {
        column(&mut out, week, scale, &y);
    }
    let _ = write!(
        out,
        r#"<rect class="mo" x="0" y="{}" width="{}" height="1"/>"#,
        n(HEIGHT - 2.0),
        n(scale.width)
    );
    out
}

fn column(out: &mut String, week: &LoadWeek, scale: &Scale, y: &dyn Fn(f64) -> f64) {
    let sunday = week.monday.saturating_add(6.days());
    let (left, right) = (scale.day_start(week.monday), scale.day_end(sunday));
    let wide = right - left;
    if wide < 1.0 {
        return;
    }
    let (needed, there) = (hours(week.needed), hours(week.there));
    let _ = write!(
        out,
        "<g><title>Week from {}: {needed:.0} h needed, {there:.0} h there</title>",
        text::day_and_year(week.monday)
    );
    block(out, "th", (left + 0.5, right - 0.5), (y(there), y(0.0)));
    let inset = wide * 0.24;
    let within = (left + inset, right - inset);
    block(out, "nd", within, (y(needed.min(there)), y(0.0)));
    if let Some(short) = short(week) {
        block(out, "ov", within, (y(needed), y(there)));
        let said = format!("−{:.0}", short.max(1.0));
        if text::width(&said, 9.0) + 2.0 <= wide {
            let _ = write!(
                out,
                r#"<text class="nb" x="{}" y="{}">{said}</text>"#,
                n(f64::midpoint(left, right)),
                n(y(needed) - 2.5)
            );
        }
    }
    out.push_str("</g>");
}

fn block(out: &mut String, class: &str, x: (f64, f64), y: (f64, f64)) {
    if y.1 - y.0 > 0.05 && x.1 > x.0 {
        let _ = write!(
            out,
            r#"<rect class="{class}" x="{}" y="{}" width="{}" height="{}"/>"#,
            n(x.0),
            n(y.0),
            n(x.1 - x.0),
            n(y.1 - y.0)
        );
    }
}
