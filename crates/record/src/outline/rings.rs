//! What a path goes round, as corners.
//!
//! Curves are halved until a chord is near enough. Arcs are halved on the unit circle, where
//! the middle of two directions is their sum made as long as one: no sine or cosine of an
//! angle between them is needed, and every machine finds the same corners.

use super::{Arc, Stroke};

/// A place in a drawing.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Point {
    /// To the right.
    pub x: f64,
    /// Downwards.
    pub y: f64,
}

/// How often a curve is halved at most: 256 chords.
const DEEPEST: u32 = 8;

/// The area within a ring; never negative.
pub fn area(ring: &[Point]) -> f64 {
    let next = ring.iter().cycle().skip(1);
    let twice: f64 = ring.iter().zip(next).map(|(a, b)| a.x * b.y - b.x * a.y).sum();
    twice.abs() / 2.0
}

pub(super) fn rings(strokes: &[Stroke]) -> Vec<Vec<Point>> {
    let mut rings =
        Rings { near: size(strokes) / 1000.0, done: Vec::new(), ring: Vec::new() };
    for stroke in strokes {
        rings.stroke(stroke);
    }
    rings.end();
    rings.done
}

/// The greater side of the box around all places that are named.
fn size(strokes: &[Stroke]) -> f64 {
    let ends = strokes.iter().filter_map(|stroke| match stroke {
        Stroke::Move(to)
        | Stroke::Line(to)
        | Stroke::Cubic(_, _, to)
        | Stroke::Quadratic(_, to) => Some(to),
        Stroke::Arc(arc) => Some(&arc.to),
        Stroke::Close => None,
    });
    let (mut least, mut most) = ((f64::MAX, f64::MAX), (f64::MIN, f64::MIN));
    for Point { x, y } in ends {
        least = (least.0.min(*x), least.1.min(*y));
        most = (most.0.max(*x), most.1.max(*y));
    }
    (most.0 - least.0).max(most.1 - least.1).max(0.0)
}

struct Rings {
    near: f64,
    done: Vec<Vec<Point>>,
    ring: Vec<Point>,
}

impl Rings {
    fn stroke(&mut self, stroke: &Stroke) {
        let pen = self.ring.last().copied().unwrap_or_default();
        match stroke {
            Stroke::Move(to) => {
                self.end();
                self.ring.push(*to);
            }
            Stroke::Line(to) => self.ring.push(*to),
            Stroke::Quadratic(pull, to) => {
                let toward = |from: Point| between(from, *pull, 2.0 / 3.0);
                self.cubic([pen, toward(pen), toward(*to), *to], 0);
            }
            Stroke::Cubic(one, two, to) => self.cubic([pen, *one, *two, *to], 0),
            Stroke::Arc(arc) => self.arc(pen, arc),
            Stroke::Close => {
                let start = self.ring.first().copied();
                self.end();
                // What follows without being set down elsewhere begins where this began.
                self.ring.extend(start);
            }
        }
    }

    fn end(&mut self) {
        let ring = std::mem::take(&mut self.ring);
        if ring.len() > 2 {
            self.done.push(ring);
        }
    }

    fn cubic(&mut self, [a, b, c, d]: [Point; 4], deep: u32) {
        if deep >= DEEPEST || (deep > 0 && flat([a, b, c, d], self.near)) {
            self.ring.push(d);
            return;
        }
        let half = |a, b| between(a, b, 0.5);
        let (ab, bc, cd) = (half(a, b), half(b, c), half(c, d));
        let (abc, bcd) = (half(ab, bc), half(bc, cd));
        let middle = half(abc, bcd);
        self.cubic([a, ab, abc, middle], deep + 1);
        self.cubic([middle, bcd, cd, d], deep + 1);
    }

    fn arc(&mut self, pen: Point, arc: &Arc) {
        if arc.radii.0 == 0.0 || arc.radii.1 == 0.0 || pen == arc.to {
            self.ring.push(arc.to);
            return;
        }
        let ellipse = Ellipse::of(pen, arc);
        let (from, to) = (ellipse.direction(pen), ellipse.direction(arc.to));
        let sign = if arc.sweep { 1.0 } else { -1.0 };
        // A quarter turn leads from one direction to the one that is asked for next; the
        // middle of more than half a turn lies on the other side of the sum.
        let over = cross(from, to) * sign < 0.0;
        let middle = match unit(from.x + to.x, from.y + to.y) {
            Some(sum) if over => Point { x: -sum.x, y: -sum.y },
            Some(sum) => sum,
            None => Point { x: -from.y * sign, y: from.x * sign },
        };
        let quarter = [(from, middle), (middle, to)];
        for (one, other) in quarter {
            // Each half is at most half a turn: its own middle may need the same care.
            let middle = unit(one.x + other.x, one.y + other.y)
                .unwrap_or(Point { x: -one.y * sign, y: one.x * sign });
            self.bend(&ellipse, one, middle, 0);
            self.bend(&ellipse, middle, other, 0);
        }
        // The last corner is the end as it was written.
        if let Some(last) = self.ring.last_mut() {
            *last = arc.to;
        }
    }

    /// Corners between two directions that are at most a quarter turn apart.
    fn bend(&mut self, ellipse: &Ellipse, one: Point, other: Point, deep: u32) {
        let chord = (one.x * other.x + one.y * other.y).clamp(-1.0, 1.0);
        // How far the chord lies within the circle: 1 - cos of half the angle.
        let within = 1.0 - f64::midpoint(1.0, chord).sqrt();
        let far = within * ellipse.radii.0.max(ellipse.radii.1) > self.near;
        match unit(one.x + other.x, one.y + other.y) {
            Some(middle) if far && deep < DEEPEST => {
                self.bend(ellipse, one, middle, deep + 1);
                self.bend(ellipse, middle, other, deep + 1);
            }
            _ => self.ring.push(ellipse.place(other)),
        }
    }
}

/// An ellipse as a circle that was stretched, turned and moved.
struct Ellipse {
    middle: Point,
    radii: (f64, f64),
    /// The direction of the first axis.
    axis: Point,
}

impl Ellipse {
    /// By the rules of SVG 2, implementation notes, sections B.2.4 and B.2.5: radii that are
    /// too small for the two ends are made greater, together.
    fn of(pen: Point, arc: &Arc) -> Self {
        let axis = axis(arc.turned);
        let half = Point { x: (pen.x - arc.to.x) / 2.0, y: (pen.y - arc.to.y) / 2.0 };
        let own = Point {
            x: axis.x * half.x + axis.y * half.y,
            y: axis.x * half.y - axis.y * half.x,
        };
        let (rx, ry) = arc.radii;
        let needed = (own.x / rx) * (own.x / rx) + (own.y / ry) * (own.y / ry);
        let grown = needed.sqrt().max(1.0);
        let radii = (rx * grown, ry * grown);
        let on_circle = Point { x: own.x / radii.0, y: own.y / radii.1 };
        let square = on_circle.x * on_circle.x + on_circle.y * on_circle.y;
        let away = ((1.0 - square).max(0.0) / square).sqrt();
        let away = if arc.large == arc.sweep { -away } else { away };
        let centre =
            Point { x: away * on_circle.y * radii.0, y: -away * on_circle.x * radii.1 };
        let middle = Point {
            x: axis.x * centre.x - axis.y * centre.y + f64::midpoint(pen.x, arc.to.x),
            y: axis.y * centre.x + axis.x * centre.y + f64::midpoint(pen.y, arc.to.y),
        };
        Self { middle, radii, axis }
    }

    /// The direction on the circle that a place on the ellipse came from.
    fn direction(&self, place: Point) -> Point {
        let from = Point { x: place.x - self.middle.x, y: place.y - self.middle.y };
        let along = self.axis.x * from.x + self.axis.y * from.y;
        let across = self.axis.x * from.y - self.axis.y * from.x;
        unit(along / self.radii.0, across / self.radii.1)
            .unwrap_or(Point { x: 1.0, y: 0.0 })
    }

    fn place(&self, direction: Point) -> Point {
        let (along, across) = (direction.x * self.radii.0, direction.y * self.radii.1);
        Point {
            x: self.middle.x + self.axis.x * along - self.axis.y * across,
            y: self.middle.y + self.axis.y * along + self.axis.x * across,
        }
    }
}

/// Cosine and sine of an angle in degrees, by halving what is left of a quarter turn and
/// summing the first terms of their series: the same bits on every machine.
fn axis(degrees: f64) -> Point {
    let left = degrees.rem_euclid(360.0);
    let quarters = (left / 90.0).floor();
    let angle = (left - quarters * 90.0) * (std::f64::consts::PI / 180.0);
    let square = angle * angle;
    let (mut cosine, mut sine, mut term) = (0.0, 0.0, 1.0);
    for n in 0..12 {
        let n = f64::from(n);
        cosine += term;
        sine += term * angle / (2.0 * n + 1.0);
        term *= -square / ((2.0 * n + 1.0) * (2.0 * n + 2.0));
    }
    match quarters as u8 {
        0 => Point { x: cosine, y: sine },
        1 => Point { x: -sine, y: cosine },
        2 => Point { x: -cosine, y: -sine },
        _ => Point { x: sine, y: -cosine },
    }
}

fn between(a: Point, b: Point, part: f64) -> Point {
    Point { x: a.x + (b.x - a.x) * part, y: a.y + (b.y - a.y) * part }
}

fn cross(a: Point, b: Point) -> f64 {
    a.x * b.y - a.y * b.x
}

/// The direction of a vector; nothing if it has hardly any length.
fn unit(x: f64, y: f64) -> Option<Point> {
    let long = (x * x + y * y).sqrt();
    (long > 1e-9).then(|| Point { x: x / long, y: y / long })
}

/// Whether both pulling points lie near the chord, between its ends.
fn flat([a, b, c, d]: [Point; 4], near: f64) -> bool {
    let third = |part| between(a, d, part);
    let far = |p: Point, q: Point| (p.x - q.x).abs().max((p.y - q.y).abs());
    far(b, third(1.0 / 3.0)).max(far(c, third(2.0 / 3.0))) <= near
}

#[cfg(test)]
mod tests {
    use super::super::DrawnPath;
    use super::*;

    fn areas(text: &str) -> Vec<f64> {
        DrawnPath::parse(text).unwrap().rings().iter().map(|ring| area(ring)).collect()
    }

    fn near(found: f64, wanted: f64) -> bool {
        (found - wanted).abs() < 0.005 * wanted
    }

    #[test]
    fn straight_rings_are_exact() {
        assert_eq!(areas("M0 0H4V3H0Z"), [12.0]);
        // Left open, set down again, closed and gone on from where it began.
        assert_eq!(areas("M0 0H4V3M10 10h2v2h-2z h-1v-1"), [6.0, 4.0, 0.5]);
        assert_eq!(areas("M0 0L5 5"), []);
    }

    /// The area of an ellipse is pi times its half axes, of a half-moon half of that: school
    /// geometry.
    #[test]
    fn arcs_go_round_what_they_should() {
        let pi = std::f64::consts::PI;
        let cases = [
            ("M-5 0A5 5 0 0 1 5 0Z", pi * 12.5),
            ("M-5 0A5 5 0 0 0 5 0Z", pi * 12.5),
            ("M-6 0A6 2 0 1 1 6 0A6 2 0 1 1 -6 0Z", pi * 12.0),
            // Three quarters of a circle and the triangle that its chord leaves.
            ("M5 0A5 5 0 1 1 0 -5Z", pi * 25.0 * 0.75 + 12.5),
            ("M5 0A5 5 0 0 0 0 -5Z", pi * 25.0 * 0.25 - 12.5),
            // Too small a radius is made as great as it must be.
            ("M-5 0A1 1 0 0 1 5 0Z", pi * 12.5),
            // Turned by 30 degrees, from one end of its longer axis to the other.
            ("M8.660254 5A10 4 30 0 1 -8.660254 -5Z", pi * 20.0),
        ];
        for (path, wanted) in cases {
            let found = areas(path);
            assert!(
                found.len() == 1 && near(found[0], wanted),
                "{path}: {found:?} {wanted}"
            );
        }
    }

    #[test]
    fn arcs_turn_the_way_they_are_told() {
        let highest = |text: &str| {
            let path = DrawnPath::parse(text).unwrap();
            let ring = path.rings().remove(0);
            ring.iter().map(|point| point.y).fold(f64::MAX, f64::min)
        };
        assert!(highest("M-5 0A5 5 0 0 1 5 0Z") < -4.9);
        assert!(highest("M-5 0A5 5 0 0 0 5 0Z") > -0.1);
    }

    /// Under a parabola lie two thirds of the box around it (Archimedes).
    #[test]
    fn curves_go_round_what_they_should() {
        assert!(near(areas("M0 0Q5 10 10 0Z")[0], 10.0 * 5.0 * 2.0 / 3.0));
        // The same as a cubic.
        assert!(near(
            areas("M0 0C3.333333 6.666667 6.666667 6.666667 10 0Z")[0],
            100.0 / 3.0
        ));
    }

    #[test]
    fn axes_are_what_the_tables_say() {
        for (degrees, cosine, sine) in [
            (0.0, 1.0, 0.0),
            (60.0, 0.5, 0.866_025_403_784),
            (-90.0, 0.0, -1.0),
            (225.0, -std::f64::consts::FRAC_1_SQRT_2, -std::f64::consts::FRAC_1_SQRT_2),
        ] {
            let found = axis(degrees);
            assert!((found.x - cosine).abs() < 1e-10 && (found.y - sine).abs() < 1e-10);
        }
    }
}
