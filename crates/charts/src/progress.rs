//! How a search goes: the best that was found and the bound that was proven, over time.

use std::fmt::Write as _;

use crate::draw::n;
use crate::text::escape;

/// How a search stood at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProgressPoint {
    /// Seconds since it began.
    pub seconds: f64,
    /// What the best so far measures; nothing while there is none.
    pub best: Option<f64>,
    /// What is proven that none is below.
    pub bound: f64,
}

const WIDE: f64 = 460.0;
const HIGH: f64 = 150.0;
const LEFT: f64 = 48.0;
const BELOW: f64 = 22.0;

/// A small chart of both lines; the best is drawn through, the bound dashed, and both are
/// named where they end. `unit` says what is measured.
pub fn progress_svg(points: &[ProgressPoint], unit: &str) -> String {
    let finite: Vec<&ProgressPoint> = points
        .iter()
        .filter(|p| {
            p.seconds.is_finite()
                && p.bound.is_finite()
                && p.best.is_none_or(f64::is_finite)
        })
        .collect();
    let values = || finite.iter().flat_map(|p| p.best.into_iter().chain([p.bound]));
    let (low, high) =
        (values().fold(f64::MAX, f64::min), values().fold(f64::MIN, f64::max));
    let mut out = format!(
        r#"<svg class="progress" viewBox="0 0 {WIDE} {HIGH}" role="img" aria-label="{}">"#,
        escape(&said(finite.last().copied(), unit))
    );
    if finite.is_empty() {
        out.push_str("</svg>");
        return out;
    }
    let room = ((high - low) * 0.12).max(0.5);
    let (low, high) = (low - room, high + room);
    let last = finite.last().map_or(1.0, |p| p.seconds).max(1.0);
    let x = |seconds: f64| LEFT + seconds / last * (WIDE - LEFT - 70.0);
    let y = |value: f64| 8.0 + (high - value) / (high - low) * (HIGH - BELOW - 8.0);
    axes(&mut out, (low, high, last), &x, &y);
    line(&mut out, "pb", finite.iter().map(|p| (p.seconds, Some(p.bound))), &x, &y);
    line(&mut out, "pf", finite.iter().map(|p| (p.seconds, p.best)), &x, &y);
    ends(&mut out, finite.last().copied(), &x, &y);
    out.push_str("</svg>");
    out
}

fn said(last: Option<&ProgressPoint>, unit: &str) -> String {
    match last {
        None => "Nothing is known yet".to_owned(),
        Some(ProgressPoint { seconds, best, bound }) => {
            let best =
                best.map_or("none yet".to_owned(), |best| format!("{best:.1} {unit}"));
            format!("After {seconds:.0} s: best {best}, bound {bound:.1} {unit}")
        }
    }
}

fn axes(
    out: &mut String,
    (low, high, last): (f64, f64, f64),
    x: &dyn Fn(f64) -> f64,
    y: &dyn Fn(f64) -> f64,
) {
    for value in [low, f64::midpoint(low, high), high] {
        let at = n(y(value));
        let _ = write!(
            out,
            r#"<path class="pa" d="M{LEFT} {at}H{}"/><text x="{}" y="{at}" dy="4" text-anchor="end">{value:.1}</text>"#,
            n(x(last)),
            n(LEFT - 5.0)
        );
    }
    for (seconds, anchor) in [(0.0, "start"), (last, "end")] {
        let _ = write!(
            out,
            r#"<text x="{}" y="{}" text-anchor="{anchor}">{seconds:.0} s</text>"#,
            n(x(seconds)),
            n(HIGH - 6.0)
        );
    }
}

/// A line of steps: what was found holds until something better is.
fn line(
    out: &mut String,
    class: &str,
    points: impl Iterator<Item = (f64, Option<f64>)>,
    x: &dyn Fn(f64) -> f64,
    y: &dyn Fn(f64) -> f64,
) {
    let mut path = String::new();
    for (seconds, value) in points {
        let Some(value) = value else { continue };
        let (x, y) = (n(x(seconds)), n(y(value)));
        let _ = if path.is_empty() {
            write!(path, "M{x} {y}")
        } else {
            write!(path, "H{x}V{y}")
        };
    }
    if !path.is_empty() {
        let _ = write!(out, r#"<path class="{class}" d="{path}"/>"#);
    }
}

fn ends(
    out: &mut String,
    last: Option<&ProgressPoint>,
    x: &dyn Fn(f64) -> f64,
    y: &dyn Fn(f64) -> f64,
) {
    let Some(last) = last else { return };
    let right = n(x(last.seconds) + 5.0);
    let bound = y(last.bound);
    let _ = write!(out, r#"<text x="{right}" y="{}" dy="4">bound</text>"#, n(bound));
    if let Some(best) = last.best {
        // One name does not lie on the other.
        let at = y(best).min(bound - 13.0);
        let _ = write!(out, r#"<text x="{right}" y="{}" dy="4">best</text>"#, n(at));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point(seconds: f64, best: Option<f64>, bound: f64) -> ProgressPoint {
        ProgressPoint { seconds, best, bound }
    }

    #[test]
    fn both_lines_are_drawn_and_said() {
        let points = [
            point(0.0, None, 80.0),
            point(1.0, Some(120.0), 80.0),
            point(4.0, Some(100.0), 90.0),
        ];
        let svg = progress_svg(&points, "days");
        assert!(svg.contains("After 4 s: best 100.0 days, bound 90.0 days"), "{svg}");
        assert_eq!(svg.matches("<path class=\"pb\"").count(), 1);
        // The best begins when it is there: two points, one step.
        let at = svg.find("class=\"pf\" d=\"").unwrap() + 14;
        let path = &svg[at..at + svg[at..].find('"').unwrap()];
        assert_eq!(path.matches('H').count(), 1, "{path}");
    }

    #[test]
    fn nothing_and_nonsense_are_no_panic() {
        assert!(progress_svg(&[], "days").contains("Nothing is known yet"));
        let svg =
            progress_svg(&[point(f64::NAN, None, 1.0), point(0.0, None, 1.0)], "<b>");
        assert!(!svg.contains("NaN") && !svg.contains("<b>"), "{svg}");
    }
}
