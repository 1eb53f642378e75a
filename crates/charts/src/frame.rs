//! What stands around and behind the bars: months, weeks, shading, and the lines of the
//! gate, of completion and of today.

use std::fmt::Write as _;

use jiff::civil::{Date, DateTime, Weekday};

use crate::draw::{n, span};
use crate::scale::{Scale, days_between, last_day};
use crate::text::{self, escape};
use crate::view::PlanView;

/// Height of a row of flags.
const FLAG: f64 = 17.0;
/// Height of the months and the weeks.
const HEADS: f64 = 35.0;
/// Height of the strip that shows the warm days.
const WARM: f64 = 12.0;
/// Type size of the flags.
const FLAG_TYPE: f64 = 11.5;

/// A labelled line.
struct Flag {
    /// Letter of its classes in the style sheet.
    letter: char,
    /// Where the line is.
    x: f64,
    /// What it says.
    text: String,
    /// Left end and width of its plate.
    plate: (f64, f64),
    /// Row, from 0.
    row: usize,
}

/// The head of the chart: flags, margin, months, weeks, warm days.
pub(crate) struct Head {
    /// The drawing, with its upper edge at 0.
    pub drawing: String,
    /// Its height.
    pub height: f64,
}

/// Draws the head.
pub(crate) fn head(view: &PlanView, scale: &Scale) -> Head {
    let flags = flags(view, scale);
    let rows = flags.iter().map(|flag| flag.row + 1).max().unwrap_or(1);
    let top = rows as f64 * FLAG + 5.0;
    let warm = if view.warm.is_empty() { 0.0 } else { WARM };
    let height = top + HEADS + warm;
    let mut out = String::new();
    for flag in &flags {
        stem(&mut out, flag, height);
    }
    months(&mut out, scale, top);
    weeks(&mut out, scale, top + 17.0);
    if !view.warm.is_empty() {
        warm_days(&mut out, view, scale, top + HEADS);
    }
    margin_band(&mut out, view, scale, top - 4.5);
    for flag in &flags {
        plate(&mut out, flag);
    }
    Head { drawing: out, height }
}

/// Shading and ruling behind the bars; as high as what it is put into.
pub(crate) fn ground(view: &PlanView, scale: &Scale) -> String {
    let mut out = String::new();
    for date in scale.dates() {
        if date.weekday() == Weekday::Saturday {
            let right =
                date.tomorrow().map_or(scale.width, |sunday| scale.day_end(sunday));
            column(&mut out, "we", scale.day_start(date), right);
        } else if date == scale.first && date.weekday() == Weekday::Sunday {
            column(&mut out, "we", 0.0, scale.day_end(date));
        }
    }
    for &(from, until) in &view.closed {
        for (from, until) in beyond_weekends(scale, from, until) {
            column(&mut out, "cl", from, until);
        }
    }
    if scale.day_width() * 7.0 >= 10.0 {
        for monday in scale.mondays() {
            let x = scale.day_start(monday);
            column(&mut out, "wk", x - 0.3, x + 0.3);
        }
    }
    for first in scale.months() {
        let x = scale.day_start(first);
        column(&mut out, "mo", (x - 0.5).max(0.0), x + 0.5);
    }
    out
}

/// The lines of the gate, of completion and of today, over the bars.
pub(crate) fn lines(view: &PlanView, scale: &Scale) -> String {
    let mut out = String::new();
    if let Some(today) = view.today.filter(|today| scale.holds(*today)) {
        let x = scale.day_start(today);
        column(&mut out, "td", x - 0.7, x + 0.7);
    }
    if let Some(complete) = view.complete {
        let x = n(scale.x(complete));
        let class = if is_late(view) { "cp late" } else { "cp" };
        let _ =
            write!(out, r#"<line class="{class}" x1="{x}" y1="0" x2="{x}" y2="100%"/>"#);
    }
    let x = scale.day_end(view.gate.1);
    column(&mut out, "gt", (x - 3.2).max(0.0), x.max(3.2));
    out
}

/// The margin between completion and the gate in words, in days of the calendar.
pub(crate) fn margin(view: &PlanView) -> Option<String> {
    let days = days_between(view.complete?.date(), view.gate.1);
    Some(match days {
        0 => "on the day of the gate, none in hand".to_owned(),
        1 => "1 day in hand".to_owned(),
        2.. => format!("{days} days in hand"),
        -1 => "1 DAY LATE".to_owned(),
        _ => format!("{} DAYS LATE", -days),
    })
}

fn is_late(view: &PlanView) -> bool {
    view.complete.is_some_and(|complete| last_day(complete) > view.gate.1)
}

fn column(out: &mut String, class: &str, left: f64, right: f64) {
    if right > left {
        let _ = write!(
            out,
            r#"<rect class="{class}" x="{}" width="{}" height="100%"/>"#,
            n(left),
            n(right - left)
        );
    }
}

/// The parts of a closed span that are not just a weekend, and wide enough to be more
/// than the end of a day.
fn beyond_weekends(scale: &Scale, from: DateTime, until: DateTime) -> Vec<(f64, f64)> {
    let Some((left, right)) = span(scale, from, until) else { return Vec::new() };
    let day = scale.day_width();
    let working_days = scale
        .dates()
        .skip_while(|date| scale.day_end(*date) <= left + 0.4 * day)
        .take_while(|date| scale.day_start(*date) < right - 0.4 * day)
        .any(|date| !matches!(date.weekday(), Weekday::Saturday | Weekday::Sunday));
    if working_days && right - left > 0.4 * day {
        vec![(left, right)]
    } else {
        Vec::new()
    }
}

fn flags(view: &PlanView, scale: &Scale) -> Vec<Flag> {
    let gate_name = text::one_line(&view.gate.0);
    let gate = format!(
        "{} {}",
        text::fit(&gate_name, FLAG_TYPE, 220.0, 1).unwrap_or_default(),
        text::day(view.gate.1)
    );
    let mut wanted = vec![('g', scale.day_end(view.gate.1) - 1.5, gate)];
    if let Some(complete) = view.complete {
        let margin = margin(view).unwrap_or_default();
        let said = format!("Complete {}: {margin}", text::day(complete.date()));
        let letter = if is_late(view) { 'l' } else { 'c' };
        wanted.push((letter, scale.x(complete), said));
    }
    if let Some(today) = view.today.filter(|today| scale.holds(*today)) {
        wanted.push(('t', scale.day_start(today), format!("Today {}", text::day(today))));
    }
    let mut out: Vec<Flag> = Vec::new();
    for (letter, x, text) in wanted {
        let wide = text::width(&text, FLAG_TYPE) * 1.08 + 12.0;
        let left = if letter == 't' && x + wide <= scale.width { x } else { x - wide };
        let left = left.clamp(0.0, (scale.width - wide).max(0.0));
        let clashes = |row: usize| {
            out.iter().any(|other: &Flag| {
                other.row == row
                    && left < other.plate.0 + other.plate.1 + 6.0
                    && other.plate.0 < left + wide + 6.0
            })
        };
        let row = (0..3).find(|row| !clashes(*row)).unwrap_or(2);
        out.push(Flag { letter, x, text, plate: (left, wide), row });
    }
    out
}

/// From the plate down to the lanes, where the line goes on.
fn stem(out: &mut String, flag: &Flag, height: f64) {
    let y = flag.row as f64 * FLAG + 1.0;
    let stem = match flag.letter {
        'g' => ("gt", 3.2),
        'c' => ("mg", 2.0),
        'l' => ("ml", 2.0),
        _ => ("td", 1.4),
    };
    let _ = write!(
        out,
        r#"<rect class="{}" x="{}" y="{}" width="{}" height="{}"/>"#,
        stem.0,
        n(flag.x - stem.1 / 2.0),
        n(y + 2.0),
        n(stem.1),
        n(height - y - 2.0)
    );
}

fn plate(out: &mut String, flag: &Flag) {
    let y = flag.row as f64 * FLAG + 1.0;
    let (left, wide) = flag.plate;
    let letter = flag.letter;
    let _ = write!(
        out,
        r#"<rect class="pl-{letter}" x="{}" y="{}" width="{}" height="{}"/><text class="pt-{letter}" x="{}" y="{}" font-size="{FLAG_TYPE}">{}</text>"#,
        n(left),
        n(y),
        n(wide),
        n(FLAG - 2.5),
        n(left + 6.0),
        n(y + 11.2),
        escape(&flag.text)
    );
}

/// A band between completion and the gate: what is in hand, or missing.
fn margin_band(out: &mut String, view: &PlanView, scale: &Scale, y: f64) {
    let Some(complete) = view.complete else { return };
    let (done, gate) = (scale.x(complete), scale.day_end(view.gate.1));
    let (class, left, right) =
        if done <= gate { ("mg", done, gate) } else { ("ml", gate, done) };
    if right - left > 1.0 {
        let _ = write!(
            out,
            r#"<rect class="{class}" x="{}" y="{}" width="{}" height="4"/>"#,
            n(left),
            n(y),
            n(right - left)
        );
    }
}

fn months(out: &mut String, scale: &Scale, y: f64) {
    let starts = scale.months();
    for (at, first) in starts.iter().enumerate() {
        let left = scale.day_start(*first);
        let right = starts.get(at + 1).map_or(scale.width, |next| scale.day_start(*next));
        let _ = write!(
            out,
            r#"<rect class="mo" x="{}" y="{}" width="1" height="17"/>"#,
            n((left - 0.5).max(0.0)),
            n(y)
        );
        if let Some(said) = month_label(*first, right - left - 8.0) {
            let _ = write!(
                out,
                r#"<text class="mt" x="{}" y="{}">{said}</text>"#,
                n(left + 5.0),
                n(y + 13.0)
            );
        }
    }
}

/// The longest of `October 2031`, `Oct 2031`, `Oct` that has room.
fn month_label(first: Date, room: f64) -> Option<String> {
    let (month, year) = (first.month(), first.year());
    [
        format!("{} {year}", text::month_in_full(month)),
        format!("{} {year}", text::month(month)),
        text::month(month).to_owned(),
    ]
    .into_iter()
    .find(|said| text::width(said, 12.0) * 1.08 <= room)
}

fn weeks(out: &mut String, scale: &Scale, y: f64) {
    let day = scale.day_width();
    let _ = write!(
        out,
        r#"<rect class="mo" x="0" y="{}" width="{}" height="1"/>"#,
        n(y),
        n(scale.width)
    );
    if day >= 44.0 {
        for date in scale.dates() {
            head_label(out, scale.day_start(date), y, &text::day(date));
        }
        return;
    }
    let step = [1_usize, 2, 4].into_iter().find(|step| day * 7.0 * *step as f64 >= 38.0);
    let Some(step) = step else { return };
    let mut free = 0.0;
    for monday in scale.mondays().into_iter().step_by(step) {
        let said = format!("{} {}", monday.day(), text::month(monday.month()));
        let full = text::day(monday);
        let room = (day * 7.0 * step as f64).min(scale.width - scale.day_start(monday));
        let said = if text::width(&full, 10.5) + 7.0 <= room { full } else { said };
        let x = scale.day_start(monday);
        if x >= free && text::width(&said, 10.5) + 5.0 <= room {
            head_label(out, x, y, &said);
            free = x + text::width(&said, 10.5) + 5.0;
        }
    }
}

fn head_label(out: &mut String, x: f64, y: f64, said: &str) {
    let _ = write!(
        out,
        r#"<rect class="mo" x="{}" y="{}" width="0.8" height="18"/><text class="wt" x="{}" y="{}">{said}</text>"#,
        n((x - 0.4).max(0.0)),
        n(y),
        n(x + 3.0),
        n(y + 13.0)
    );
}

/// The warm days as a wavy line with the word.
fn warm_days(out: &mut String, view: &PlanView, scale: &Scale, y: f64) {
    for &(from, until) in &view.warm {
        let (left, right) =
            (scale.day_start(from.min(until)), scale.day_end(until.max(from)));
        if right - left < 1.0 {
            continue;
        }
        let mut x = left;
        if right - left > 50.0 {
            let _ = write!(
                out,
                r#"<text class="wl" x="{}" y="{}">warm</text>"#,
                n(left + 3.0),
                n(y + 8.5)
            );
            x += 30.0;
        }
        let _ = write!(out, r#"<path class="wm" d="M{} {}"#, n(x), n(y + 6.0));
        let mut up = true;
        while x + 4.0 <= right {
            out.push_str(if up { "q2-3.4 4 0" } else { "q2 3.4 4 0" });
            up = !up;
            x += 4.0;
        }
        out.push_str("\"/>");
    }
}
