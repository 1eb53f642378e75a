//! A chart of cost over size, both on logarithmic scales, as SVG.

use std::fmt::Write;

/// A measured point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Point {
    /// Tasks.
    pub(super) x: f64,
    /// Cost.
    pub(super) y: f64,
}

/// Points, and a line of linear growth through the first.
pub(super) struct Chart {
    pub(super) points: Vec<Point>,
    pub(super) unit: &'static str,
}

const WIDTH: f64 = 640.0;
const HEIGHT: f64 = 400.0;
const LEFT: f64 = 84.0;
const RIGHT: f64 = 24.0;
const TOP: f64 = 44.0;
const BOTTOM: f64 = 52.0;

/// Whole powers of ten that hold some values.
struct Axis {
    low: i32,
    high: i32,
}

impl Axis {
    fn over(values: impl Iterator<Item = f64> + Clone) -> Self {
        let least = values.clone().fold(f64::INFINITY, f64::min);
        let most = values.fold(f64::NEG_INFINITY, f64::max);
        let low = least.log10().floor() as i32;
        Self { low, high: (most.log10().ceil() as i32).max(low + 1) }
    }

    /// Where a value lies, from 0 to 1.
    fn place(&self, value: f64) -> f64 {
        (value.log10() - f64::from(self.low)) / f64::from(self.high - self.low)
    }

    fn powers(&self) -> impl Iterator<Item = f64> {
        (self.low..=self.high).map(|power| 10_f64.powi(power))
    }
}

impl Chart {
    /// The chart; of nothing, an empty one.
    pub(super) fn svg(&self) -> String {
        let mut svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" \
             role=\"img\" font-family=\"sans-serif\" font-size=\"13\">\n\
             <title>Cost over the number of tasks</title>\n\
             <rect width=\"{WIDTH}\" height=\"{HEIGHT}\" fill=\"white\"/>\n"
        );
        let points: Vec<Point> =
            self.points.iter().copied().filter(|p| p.x > 0.0 && p.y > 0.0).collect();
        if let (Some(first), Some(last)) = (points.first(), points.last()) {
            let linear = Point { x: last.x, y: first.y * last.x / first.x };
            let x = Axis::over(points.iter().map(|p| p.x));
            let y = Axis::over(points.iter().chain([&linear]).map(|p| p.y));
            self.axes(&mut svg, &x, &y);
            let ends = [*first, linear];
            let dashes = "stroke=\"#767676\" stroke-dasharray=\"6 4\"";
            line(&mut svg, &places(&ends, &x, &y), dashes);
            let measured = places(&points, &x, &y);
            line(&mut svg, &measured, "stroke=\"#00508c\" stroke-width=\"2\"");
            marks(&mut svg, &measured, &points);
        }
        svg + "</svg>\n"
    }

    fn axes(&self, svg: &mut String, x: &Axis, y: &Axis) {
        let (floor, end) = (HEIGHT - BOTTOM, WIDTH - RIGHT);
        for power in x.powers() {
            let at = across(x, power);
            write(svg, &rule((at, TOP), (at, floor)));
            write(svg, &text((at, floor + 18.0), "middle", &whole(power)));
        }
        for power in y.powers() {
            let at = up(y, power);
            write(svg, &rule((LEFT, at), (end, at)));
            write(svg, &text((LEFT - 8.0, at + 4.0), "end", &whole(power)));
        }
        write(svg, &text((LEFT, 24.0), "start", self.unit));
        write(svg, &text((end, 24.0), "end", "dashed: linear growth"));
        let middle = f64::midpoint(LEFT, end);
        write(svg, &text((middle, HEIGHT - 12.0), "middle", "tasks"));
    }
}

fn across(axis: &Axis, value: f64) -> f64 {
    LEFT + axis.place(value) * (WIDTH - LEFT - RIGHT)
}

fn up(axis: &Axis, value: f64) -> f64 {
    HEIGHT - BOTTOM - axis.place(value) * (HEIGHT - TOP - BOTTOM)
}

fn places(points: &[Point], x: &Axis, y: &Axis) -> Vec<(f64, f64)> {
    points.iter().map(|point| (across(x, point.x), up(y, point.y))).collect()
}

fn line(svg: &mut String, places: &[(f64, f64)], style: &str) {
    let places: Vec<String> =
        places.iter().map(|(x, y)| format!("{x:.1},{y:.1}")).collect();
    let places = places.join(" ");
    write(svg, &format!("<polyline points=\"{places}\" fill=\"none\" {style}/>"));
}

fn marks(svg: &mut String, places: &[(f64, f64)], points: &[Point]) {
    for ((x, y), point) in places.iter().zip(points) {
        let Point { x: tasks, y: cost } = point;
        write(
            svg,
            &format!(
                "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"4\" fill=\"#00508c\">\
                 <title>{tasks} tasks: {cost:.1}</title></circle>"
            ),
        );
    }
}

fn rule(from: (f64, f64), to: (f64, f64)) -> String {
    format!(
        "<line x1=\"{:.1}\" y1=\"{:.1}\" x2=\"{:.1}\" y2=\"{:.1}\" stroke=\"#dddddd\"/>",
        from.0, from.1, to.0, to.1
    )
}

fn text(at: (f64, f64), anchor: &str, words: &str) -> String {
    let (x, y) = at;
    format!("<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\">{words}</text>")
}

/// A power of ten with commas between thousands.
fn whole(power: f64) -> String {
    if power < 1.0 {
        return power.to_string();
    }
    let digits = format!("{power:.0}");
    let mut shown = String::new();
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            shown.push(',');
        }
        shown.push(digit);
    }
    shown
}

fn write(svg: &mut String, element: &str) {
    // Writing to a string can't fail.
    let _ = writeln!(svg, "{element}");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn linear_growth_lies_on_the_dashed_line() {
        let points = [100.0, 1000.0, 5000.0].map(|x| Point { x, y: x / 4.0 }).to_vec();
        let svg = Chart { points, unit: "microseconds" }.svg();
        let lines: Vec<&str> =
            svg.lines().filter(|l| l.starts_with("<polyline")).collect();
        let ends = |line: &str| {
            let points = line.split('"').nth(1).unwrap();
            let all: Vec<&str> = points.split(' ').collect();
            (all[0].to_owned(), all[all.len() - 1].to_owned())
        };
        assert_eq!(ends(lines[0]), ends(lines[1]), "{svg}");
        assert_eq!(svg.matches("<circle").count(), 3);
        assert!(svg.contains(">microseconds</text>"));
    }

    #[test]
    fn odd_points_draw_no_nonsense() {
        for points in
            [vec![], vec![Point { x: 0.0, y: 1.0 }], vec![Point { x: 10.0, y: 10.0 }]]
        {
            let svg = Chart { points, unit: "x" }.svg();
            assert!(
                svg.ends_with("</svg>\n") && !svg.contains("NaN") && !svg.contains("inf")
            );
        }
    }

    #[test]
    fn thousands_have_commas() {
        let shown = [0.1, 1.0, 100.0, 1000.0, 1e6].map(whole);
        assert_eq!(shown, ["0.1", "1", "100", "1,000", "1,000,000"]);
    }
}
