//! The region above which the centre of gravity must lie.

use quantity::Length;

use super::SupportPoint;

/// How far the centre of gravity is from tipping.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Margin {
    /// The shortest way to the edge of the base; negative when it is outside, and the
    /// aircraft tips.
    pub distance: Length,
    /// Towards which side that is.
    pub towards: Side,
    /// The points over which it would tip, by their place in the list.
    pub over: Vec<usize>,
}

/// A side of the aircraft.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Side {
    /// Towards the nose.
    Forward,
    /// Towards the tail.
    Aft,
    /// To the left, looking forward.
    Port,
    /// To the right, looking forward.
    Starboard,
}

/// A place on the ground: metres aft of the datum, metres to starboard.
pub(super) type Spot = (f64, f64);

/// Distances below this are none: a hundredth of a millimetre, far below what anybody
/// measures on an aircraft.
pub(super) const NEAR: f64 = 1e-5;

/// The base of some points.
#[derive(Debug, Clone)]
pub(super) struct Base {
    spots: Vec<Spot>,
    shape: Shape,
}

#[derive(Debug, Clone)]
enum Shape {
    /// No points, or all of them at one place.
    Point(Option<usize>),
    /// Points on one line fore and aft: the foremost and the aftmost.
    Beam(usize, usize),
    /// Points on another line.
    Line(usize, usize),
    /// Corners, so that the inside lies to the left of each edge.
    Region(Vec<usize>),
}

/// One bound of the base: the signed distance of a spot inside it.
#[derive(Debug, Clone)]
pub(super) struct Bound {
    from: Spot,
    /// Of length 1, outwards.
    outwards: Spot,
    pub(super) over: Vec<usize>,
}

impl Side {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Forward => "forward",
            Self::Aft => "aft",
            Self::Port => "to port",
            Self::Starboard => "to starboard",
        }
    }

    fn of(outwards: Spot) -> Self {
        let (along, across) = outwards;
        if along.abs() >= across.abs() {
            if along < 0.0 { Self::Forward } else { Self::Aft }
        } else if across < 0.0 {
            Self::Port
        } else {
            Self::Starboard
        }
    }
}

impl Bound {
    /// How far inside the bound a spot lies.
    pub(super) fn inside(&self, spot: Spot) -> f64 {
        let (x, y) = (spot.0 - self.from.0, spot.1 - self.from.1);
        -(x * self.outwards.0 + y * self.outwards.1)
    }

    fn margin(&self, distance: f64) -> Margin {
        Margin {
            distance: Length::from_m(distance).unwrap_or_default(),
            towards: Side::of(self.outwards),
            over: self.over.clone(),
        }
    }
}

impl Base {
    pub(super) fn of(points: &[&SupportPoint]) -> Self {
        let spot = |p: &&SupportPoint| (p.arm.value().in_m(), p.side.value().in_m());
        let spots: Vec<Spot> = points.iter().map(spot).collect();
        let shape = shape(&spots);
        Self { spots, shape }
    }

    /// The greatest distance fore and aft between two points, in metres.
    pub(super) fn span(&self) -> f64 {
        let arms = || self.spots.iter().map(|spot| spot.0);
        let (low, high) =
            (arms().fold(f64::MAX, f64::min), arms().fold(f64::MIN, f64::max));
        (high - low).max(0.0)
    }

    /// Whether only the distance fore and aft counts.
    pub(super) fn is_beam(&self) -> bool {
        matches!(self.shape, Shape::Beam(..))
    }

    /// What bounds the base; nothing for points that hold nothing.
    pub(super) fn bounds(&self) -> Vec<Bound> {
        match &self.shape {
            Shape::Point(_) | Shape::Line(..) => Vec::new(),
            Shape::Beam(fore, aft) => vec![
                Bound {
                    from: self.spots[*fore],
                    outwards: (-1.0, 0.0),
                    over: vec![*fore],
                },
                Bound { from: self.spots[*aft], outwards: (1.0, 0.0), over: vec![*aft] },
            ],
            Shape::Region(corners) => {
                let next = corners.iter().cycle().skip(1);
                corners.iter().zip(next).map(|(a, b)| self.edge(*a, *b)).collect()
            }
        }
    }

    fn edge(&self, a: usize, b: usize) -> Bound {
        let (from, to) = (self.spots[a], self.spots[b]);
        let (x, y) = (to.0 - from.0, to.1 - from.1);
        let length = (x * x + y * y).sqrt();
        Bound { from, outwards: (y / length, -x / length), over: vec![a, b] }
    }

    /// How far a centre of gravity is from tipping; nothing without points.
    pub(super) fn margin(&self, centre: Spot) -> Option<Margin> {
        let bounds = self.bounds();
        let nearest = bounds
            .iter()
            .map(|bound| (bound.inside(centre), bound))
            .min_by(|a, b| a.0.total_cmp(&b.0));
        let Some((inside, bound)) = nearest else { return self.held_by_nothing(centre) };
        if inside >= 0.0 || self.is_beam() {
            return Some(bound.margin(inside));
        }
        // Outside, the nearest part of the base may be a corner.
        let held = |bound: &&Bound| bound.inside(centre) < 0.0;
        let outside = bounds.iter().filter(held).map(|bound| {
            let [a, b] = [bound.over[0], bound.over[1]].map(|at| self.spots[at]);
            (beyond(centre, a, b), bound)
        });
        let (distance, bound) = outside.min_by(|a, b| a.0.total_cmp(&b.0))?;
        Some(bound.margin(-distance))
    }

    fn held_by_nothing(&self, centre: Spot) -> Option<Margin> {
        let (distance, nearest, over) = match self.shape {
            Shape::Point(Some(at)) => {
                (beyond(centre, self.spots[at], self.spots[at]), self.spots[at], vec![at])
            }
            Shape::Line(a, b) => {
                let (one, other) = (self.spots[a], self.spots[b]);
                let nearest = nearest(centre, one, other);
                (beyond(centre, one, other), nearest, vec![a, b])
            }
            Shape::Point(None) | Shape::Beam(..) | Shape::Region(_) => return None,
        };
        let outwards = (centre.0 - nearest.0, centre.1 - nearest.1);
        Some(Bound { from: nearest, outwards, over }.margin(-distance))
    }

    /// The centre of gravity itself, or the nearest spot above which it can be held.
    pub(super) fn held(&self, centre: Spot) -> Option<Spot> {
        match &self.shape {
            Shape::Point(at) => at.map(|at| self.spots[at]),
            Shape::Beam(a, b) => {
                let (fore, aft) = (self.spots[*a].0, self.spots[*b].0);
                Some((centre.0.clamp(fore, aft), self.spots[*a].1))
            }
            Shape::Line(a, b) => Some(nearest(centre, self.spots[*a], self.spots[*b])),
            Shape::Region(_) => {
                let bounds = self.bounds();
                let outside = bounds.iter().filter(|bound| bound.inside(centre) < 0.0);
                let nearest = outside.map(|bound| {
                    let [a, b] = [bound.over[0], bound.over[1]].map(|at| self.spots[at]);
                    (beyond(centre, a, b), nearest(centre, a, b))
                });
                let nearest = nearest.min_by(|a, b| a.0.total_cmp(&b.0));
                Some(nearest.map_or(centre, |(_, spot)| spot))
            }
        }
    }
}

/// The distance of a spot from the line between two others.
fn beyond(spot: Spot, a: Spot, b: Spot) -> f64 {
    let near = nearest(spot, a, b);
    distance(spot, near)
}

fn distance(a: Spot, b: Spot) -> f64 {
    let (x, y) = (a.0 - b.0, a.1 - b.1);
    (x * x + y * y).sqrt()
}

fn nearest(spot: Spot, a: Spot, b: Spot) -> Spot {
    let (x, y) = (b.0 - a.0, b.1 - a.1);
    let square = x * x + y * y;
    if square == 0.0 {
        return a;
    }
    let part = ((spot.0 - a.0) * x + (spot.1 - a.1) * y) / square;
    let part = part.clamp(0.0, 1.0);
    (a.0 + part * x, a.1 + part * y)
}

fn shape(spots: &[Spot]) -> Shape {
    let order = |a: &usize, b: &usize| {
        let (one, other) = (spots[*a], spots[*b]);
        one.0.total_cmp(&other.0).then(one.1.total_cmp(&other.1)).then(a.cmp(b))
    };
    let mut sorted: Vec<usize> = (0..spots.len()).collect();
    sorted.sort_by(order);
    let (Some(&first), Some(&last)) = (sorted.first(), sorted.last()) else {
        return Shape::Point(None);
    };
    let apart = distance(spots[last], spots[first]);
    if apart < NEAR {
        return Shape::Point(Some(first));
    }
    let aside = |at: &usize| (spots[*at].1 - spots[first].1).abs() < NEAR;
    if sorted.iter().all(aside) {
        return Shape::Beam(first, last);
    }
    let in_line =
        |at: &usize| across(spots[first], spots[last], spots[*at]).abs() / apart < NEAR;
    if sorted.iter().all(in_line) {
        return Shape::Line(first, last);
    }
    Shape::Region(corners(spots, &sorted))
}

/// Twice the area of the triangle, positive when the third spot lies to the left.
fn across(a: Spot, b: Spot, c: Spot) -> f64 {
    (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0)
}

/// The corners of the convex hull (monotone chain), the inside to the left.
fn corners(spots: &[Spot], sorted: &[usize]) -> Vec<usize> {
    let half = |order: &mut dyn Iterator<Item = usize>| {
        let mut chain: Vec<usize> = Vec::new();
        for at in order {
            while let [.., a, b] = chain[..] {
                if across(spots[a], spots[b], spots[at]) > 0.0 {
                    break;
                }
                chain.pop();
            }
            chain.push(at);
        }
        chain.pop();
        chain
    };
    let mut lower = half(&mut sorted.iter().copied());
    lower.extend(half(&mut sorted.iter().rev().copied()));
    lower
}
