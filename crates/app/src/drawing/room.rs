//! Where in an outline a label has the most room.
//!
//! A box grows around a place until it meets an edge; the place is wanted where it grows
//! greatest. The drawing is squeezed so that the box is a square: then "how far to the nearest
//! edge, in the greater of x and y" is half its side. That distance changes by no more than the
//! place moves, so within a cell of half side `h` no place has more than the middle has plus
//! `h`. Cells are halved, the most promising first, until none promises much more than was
//! found (the idea is that of quadtree search for the pole of inaccessibility; from memory).

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use charts::Room;
use record::outline::Point;

/// After so many cells the best is good enough: a label needs no proof.
const CELLS: usize = 3_000;

/// The greatest box of a shape (width over height) that lies in some rings and outside of all
/// that lies over them; if those leave no room, the greatest that lies in the rings.
pub(super) fn greatest(
    own: &[Vec<Point>],
    above: &[&[Vec<Point>]],
    shape: f64,
) -> Option<Room> {
    let around = bounds(own)?;
    let near =
        above.iter().filter(|rings| bounds(rings).is_some_and(|b| meet(b, around)));
    let near: Vec<Region> = near.map(|rings| Region::of(rings, shape)).collect();
    let inside = Region::of(own, shape);
    search(&inside, &near, shape).or_else(|| search(&inside, &[], shape))
}

type Bounds = (f64, f64, f64, f64);

fn bounds(rings: &[Vec<Point>]) -> Option<Bounds> {
    let points = rings.iter().flatten();
    points.fold(None, |found: Option<Bounds>, Point { x, y }| {
        let (left, top, right, bottom) = found.unwrap_or((*x, *y, *x, *y));
        Some((left.min(*x), top.min(*y), right.max(*x), bottom.max(*y)))
    })
}

fn meet(a: Bounds, b: Bounds) -> bool {
    a.0 <= b.2 && b.0 <= a.2 && a.1 <= b.3 && b.1 <= a.3
}

/// Rings, squeezed, as edges.
struct Region {
    edges: Vec<(Point, Point)>,
}

impl Region {
    fn of(rings: &[Vec<Point>], shape: f64) -> Self {
        let squeezed = |point: &Point| Point { x: point.x / shape, y: point.y };
        let mut edges = Vec::new();
        for ring in rings {
            let next = ring.iter().cycle().skip(1);
            edges.extend(ring.iter().zip(next).map(|(a, b)| (squeezed(a), squeezed(b))));
        }
        Self { edges }
    }

    /// Whether a place lies in it, by the rule that SVG fills by: edges wind round it.
    fn holds(&self, at: Point) -> bool {
        let mut winds = 0;
        for (a, b) in &self.edges {
            let side = (b.x - a.x) * (at.y - a.y) - (at.x - a.x) * (b.y - a.y);
            if a.y <= at.y && b.y > at.y && side > 0.0 {
                winds += 1;
            } else if a.y > at.y && b.y <= at.y && side < 0.0 {
                winds -= 1;
            }
        }
        winds != 0
    }

    fn distance(&self, at: Point) -> f64 {
        self.edges.iter().map(|edge| far(at, *edge)).fold(f64::MAX, f64::min)
    }
}

/// The least distance of a place to an edge, in the greater of x and y. Along the edge both
/// are straight lines, so the least of their greater is at an end, where one of them is
/// nothing, or where they are the same.
fn far(at: Point, (a, b): (Point, Point)) -> f64 {
    let (x, y) = (a.x - at.x, a.y - at.y);
    let (along, across) = (b.x - a.x, b.y - a.y);
    let parts =
        [(x, along), (y, across), (x - y, along - across), (x + y, along + across)];
    let measure = |part: f64| (x + part * along).abs().max((y + part * across).abs());
    let mut least = measure(0.0).min(measure(1.0));
    for (from, step) in parts {
        let part = -from / step;
        if (0.0..=1.0).contains(&part) {
            least = least.min(measure(part));
        }
    }
    least
}

/// A square part of the plane.
struct Cell {
    at: Point,
    half: f64,
    /// How much room its middle has.
    room: f64,
    /// How much any place in it could have.
    hope: f64,
}

impl Cell {
    fn new(at: Point, half: f64, inside: &Region, above: &[Region]) -> Self {
        let others = above.iter().map(|region| region.distance(at));
        let distance = others.fold(inside.distance(at), f64::min);
        let fine = inside.holds(at) && !above.iter().any(|region| region.holds(at));
        let room = if fine { distance } else { -distance };
        Self { at, half, room, hope: room + half }
    }
}

fn search(inside: &Region, above: &[Region], shape: f64) -> Option<Room> {
    let points = inside.edges.iter().map(|(a, _)| *a).collect::<Vec<_>>();
    let (left, top, right, bottom) = bounds(&[points])?;
    let (wide, high) = (right - left, bottom - top);
    let size = wide.min(high);
    if size <= 0.0 {
        return None;
    }
    let enough = wide.max(high) / 400.0;
    let mut heap = BinaryHeap::new();
    let many = |length: f64| (length / size).ceil().min(16.0);
    let (columns, rows) = (many(wide), many(high));
    let half = (wide / columns).max(high / rows) / 2.0;
    for column in 0..columns as u32 {
        for row in 0..rows as u32 {
            let x = left + (f64::from(column) + 0.5) * wide / columns;
            let y = top + (f64::from(row) + 0.5) * high / rows;
            heap.push(Cell::new(Point { x, y }, half, inside, above));
        }
    }
    let mut best: Option<(f64, Point)> = None;
    for _ in 0..CELLS {
        let Some(cell) = heap.pop() else { break };
        let found = best.map_or(0.0, |(room, _)| room);
        if cell.room > found {
            best = Some((cell.room, cell.at));
        }
        if cell.hope <= found.max(cell.room) + enough {
            break;
        }
        let half = cell.half / 2.0;
        for (x, y) in [(-half, -half), (half, -half), (-half, half), (half, half)] {
            let at = Point { x: cell.at.x + x, y: cell.at.y + y };
            heap.push(Cell::new(at, half, inside, above));
        }
    }
    let (room, at) = best?;
    Some(Room { x: at.x * shape, y: at.y, half_wide: room * shape, half_high: room })
}

/// The most promising first; of those that promise the same, the one that lies first.
impl Ord for Cell {
    fn cmp(&self, other: &Self) -> Ordering {
        let place = |cell: &Self| (cell.at.x, cell.at.y);
        let ((x, y), (other_x, other_y)) = (place(self), place(other));
        self.hope
            .total_cmp(&other.hope)
            .then(other_x.total_cmp(&x))
            .then(other_y.total_cmp(&y))
    }
}

impl PartialOrd for Cell {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Cell {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Cell {}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use record::DrawnPath;

    use super::*;

    fn rings(text: &str) -> Vec<Vec<Point>> {
        DrawnPath::parse(text).unwrap().rings()
    }

    /// The greatest box of twice its height in a box of 40 by 10 is 20 by 10, and in a slanted
    /// one it still lies within.
    #[test]
    fn the_greatest_box_is_found() {
        let found = greatest(&rings("M0 0H40V10H0Z"), &[], 2.0).unwrap();
        assert!(
            (found.half_high - 5.0).abs() < 0.1 && (found.half_wide - 10.0).abs() < 0.2
        );
        assert!(found.x >= 9.9 && found.x <= 30.1 && (found.y - 5.0).abs() < 0.1);
    }

    #[test]
    fn what_lies_above_leaves_less() {
        let (own, over) = (rings("M0 0H40V10H0Z"), rings("M5 -5H41V20H5Z"));
        let found = greatest(&own, &[&over], 1.0).unwrap();
        assert!(found.x + found.half_wide < 5.1 && found.half_wide > 2.3, "{found:?}");
        // Wholly covered: the label goes where it would without the cover.
        let all = rings("M-9 -9H99V99H-9Z");
        assert!(greatest(&own, &[&all], 1.0).unwrap().half_high > 4.8);
        assert_eq!(greatest(&rings("M0 0L4 4"), &[], 1.0), None);
    }

    proptest! {
        /// The corners of the box lie in the ring, and no edge crosses the box.
        #[test]
        fn the_box_lies_within(corners in proptest::collection::vec((0..100_i32, 0..60_i32), 3..9)) {
            let ring: Vec<Point> = corners
                .iter()
                .map(|(x, y)| Point { x: f64::from(*x), y: f64::from(*y) })
                .collect();
            if let Some(room) = greatest(std::slice::from_ref(&ring), &[], 2.2) {
                let inside = Region::of(std::slice::from_ref(&ring), 1.0);
                for (x, y) in [(-0.99, -0.99), (0.99, -0.99), (-0.99, 0.99), (0.99, 0.99), (0.0, 0.0)] {
                    let at = Point {
                        x: room.x + x * room.half_wide,
                        y: room.y + y * room.half_high,
                    };
                    prop_assert!(inside.holds(at), "{room:?} {ring:?}");
                }
            }
        }
    }
}
