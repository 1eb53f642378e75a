//! How a mass is shared among the points that it rests on.

use quantity::{Length, Mass};

use super::SupportPoint;
use super::base::{Base, Margin};

/// What each point bears.
#[derive(Debug, Clone, PartialEq)]
pub struct Reactions {
    /// By point, as the mass that a scale would show there; never negative. Where the
    /// aircraft tips, what the points over which it tips bear as it begins to.
    pub loads: Vec<Mass>,
    /// How far it is from tipping; nothing without points.
    pub margin: Option<Margin>,
}

/// Mass and centre of gravity of masses at arms; nothing when the sum is not positive.
///
/// `W = Σ w`, `CG = Σ w·a / Σ w` (FAA-H-8083-1, AC 43.13-1B chapter 10). Also what a
/// weighing says, with the net scale readings as the masses.
pub fn centre(masses: &[(Mass, Length)]) -> Option<(Mass, Length)> {
    let mass: f64 = masses.iter().map(|(mass, _)| mass.in_kg()).sum();
    let moment: f64 = masses.iter().map(|(mass, arm)| mass.in_kg() * arm.in_m()).sum();
    if mass <= 0.0 {
        return None;
    }
    Some((Mass::from_kg(mass).ok()?, Length::from_m(moment / mass).ok()?))
}

/// What each point bears of a mass whose centre lies at `arm` and `side`.
///
/// Exact by statics for two points in line and for three points; for more, by the
/// assumption in the module head.
pub fn reactions(
    points: &[SupportPoint],
    mass: Mass,
    arm: Length,
    side: Length,
) -> Reactions {
    let points: Vec<&SupportPoint> = points.iter().collect();
    share(&points, mass, (arm.in_m(), side.in_m()))
}

pub(super) fn share(
    points: &[&SupportPoint],
    mass: Mass,
    centre: (f64, f64),
) -> Reactions {
    let base = Base::of(points);
    let margin = base.margin(centre);
    let Some(held) = base.held(centre) else {
        return Reactions { loads: Vec::new(), margin };
    };
    let loads = shares(points, held)
        .into_iter()
        .map(|part| Mass::from_kg((part * mass.in_kg()).max(0.0)).unwrap_or_default())
        .collect();
    Reactions { loads, margin }
}

/// The part of the load that each point bears. The centre lies above the base.
///
/// A rigid plane sinks into equal springs; a spring that it leaves bears nothing. Of all
/// ways to share the load that is the one with the least sum of squares. First it is found
/// which points are pressed, then their loads.
fn shares(points: &[&SupportPoint], centre: (f64, f64)) -> Vec<f64> {
    let scale = Base::of(points).span().max(1.0);
    let spots: Vec<[f64; 3]> = points
        .iter()
        .map(|p| {
            let (x, y) = (p.arm.value().in_m(), p.side.value().in_m());
            [1.0, (x - centre.0) / scale, (y - centre.1) / scale]
        })
        .collect();
    let active = pressed(&spots);
    let mut loads = vec![0.0; spots.len()];
    for (at, load) in active.iter().zip(plane(&spots, &active)) {
        loads[*at] = load;
    }
    loads
}

/// The points that are pressed, by descent on the dual: the plane `u` for which
/// `½ Σ max(0, u·s)² − u·(1, 0, 0)` is least. It is made of quadratic pieces, so that
/// Newton's steps end once the right piece is reached.
fn pressed(spots: &[[f64; 3]]) -> Vec<usize> {
    let mut plane = [1.0 / spots.len() as f64, 0.0, 0.0];
    for _ in 0..200 {
        match descend(spots, plane) {
            Some(next) => plane = next,
            None => break,
        }
    }
    let most = spots.iter().map(|s| dot(plane, *s)).fold(0.0, f64::max);
    (0..spots.len()).filter(|at| dot(plane, spots[*at]) > most * 1e-9).collect()
}

/// One step that betters the plane; nothing if there is none.
fn descend(spots: &[[f64; 3]], plane: [f64; 3]) -> Option<[f64; 3]> {
    let worth = dual(spots, plane);
    let (slope, curve) = newton(spots, plane);
    let step = solve(curve, slope);
    let mut length = 1.0;
    for _ in 0..60 {
        let next: [f64; 3] = std::array::from_fn(|i| plane[i] - length * step[i]);
        let value = dual(spots, next);
        // Near the end the values no longer differ, and the slope still does.
        let flatter = || {
            let (after, _) = newton(spots, next);
            value <= worth + 1e-15 && dot(after, after) < dot(slope, slope) / 4.0
        };
        if value < worth || flatter() {
            return Some(next);
        }
        length *= 0.5;
    }
    None
}

fn dual(spots: &[[f64; 3]], plane: [f64; 3]) -> f64 {
    let pressed = spots.iter().map(|s| dot(plane, *s).max(0.0));
    pressed.map(|load| load * load / 2.0).sum::<f64>() - plane[0]
}

fn newton(spots: &[[f64; 3]], plane: [f64; 3]) -> ([f64; 3], [[f64; 3]; 3]) {
    let mut slope = [-1.0, 0.0, 0.0];
    let mut curve = [[0.0; 3]; 3];
    for spot in spots {
        let load = dot(plane, *spot);
        if load <= 0.0 {
            continue;
        }
        for i in 0..3 {
            slope[i] += load * spot[i];
            for j in 0..3 {
                curve[i][j] += spot[i] * spot[j];
            }
        }
    }
    for (i, row) in curve.iter_mut().enumerate() {
        row[i] += 1e-12;
    }
    (slope, curve)
}

/// The loads of points that all bear, of least sum of squares.
fn plane(spots: &[[f64; 3]], active: &[usize]) -> Vec<f64> {
    let mut matrix = [[0.0; 3]; 3];
    for &at in active {
        for i in 0..3 {
            for j in 0..3 {
                matrix[i][j] += spots[at][i] * spots[at][j];
            }
        }
    }
    let mut u = [0.0; 3];
    // Twice: the second pass mends what rounding and the ridge left over.
    for _ in 0..2 {
        let mut rest = [1.0, 0.0, 0.0];
        for &at in active {
            let load = dot(u, spots[at]);
            (0..3).for_each(|i| rest[i] -= load * spots[at][i]);
        }
        let mut ridged = matrix;
        (0..3).for_each(|i| ridged[i][i] += 1e-12);
        let more = solve(ridged, rest);
        (0..3).for_each(|i| u[i] += more[i]);
    }
    active.iter().map(|at| dot(u, spots[*at])).collect()
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// Solves three equations by elimination with the greatest pivot.
fn solve(mut matrix: [[f64; 3]; 3], mut right: [f64; 3]) -> [f64; 3] {
    for column in 0..3 {
        let pivot = (column..3)
            .max_by(|a, b| matrix[*a][column].abs().total_cmp(&matrix[*b][column].abs()))
            .unwrap_or(column);
        matrix.swap(column, pivot);
        right.swap(column, pivot);
        for row in column + 1..3 {
            let part = matrix[row][column] / matrix[column][column];
            let above = matrix[column];
            for (under, above) in matrix[row].iter_mut().zip(above).skip(column) {
                *under -= part * above;
            }
            right[row] -= part * right[column];
        }
    }
    for row in (0..3).rev() {
        let known: f64 = (row + 1..3).map(|k| matrix[row][k] * right[k]).sum();
        right[row] = (right[row] - known) / matrix[row][row];
    }
    right
}
