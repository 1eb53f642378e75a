//! Which step stands where.

use super::StepsView;

/// Width of a step.
const WIDE: f64 = 226.0;
/// Height of a line in it.
pub(super) const LINE: f64 = 13.5;
/// Gap between two columns, in which lines bend.
const ACROSS: f64 = 56.0;
/// Gap between two places of a column.
const DOWN: f64 = 14.0;
/// Room around all.
const MARGIN: f64 = 12.0;
/// Height of the place that a passing line takes.
const PASSING: f64 = 4.0;
/// How often the columns are gone through, back and forth.
const SWEEPS: usize = 6;

/// Where everything stands.
#[derive(Debug, Clone, PartialEq)]
pub struct StepsLayout {
    /// For each step: left, top, width and height.
    pub boxes: Vec<(f64, f64, f64, f64)>,
    /// Lines, each through places further and further to the right.
    pub lines: Vec<Vec<(f64, f64)>>,
    /// For each line which step it leads from, and to which.
    pub joins: Vec<(usize, usize)>,
    /// Width and height of all.
    pub size: (f64, f64),
}

/// A place in a column: of a step, or of a line that passes.
struct Place {
    level: usize,
    high: f64,
    /// Places in the column before, and in the next.
    before: Vec<usize>,
    after: Vec<usize>,
}

/// Lays steps out. The same view gives the same layout.
pub fn lay_out(view: &StepsView) -> StepsLayout {
    let levels: Vec<usize> =
        packed(&view.steps.iter().map(|step| step.level).collect::<Vec<_>>());
    let mut places: Vec<Place> = view
        .steps
        .iter()
        .zip(&levels)
        .map(|(step, level)| Place {
            level: *level,
            high: 10.0 + LINE * (1 + step.lines.len()) as f64,
            before: Vec::new(),
            after: Vec::new(),
        })
        .collect();
    let (mut ways, mut joins) = (Vec::new(), Vec::new());
    for &(from, to) in &view.edges {
        let forwards = levels.get(from).zip(levels.get(to)).is_some_and(|(a, b)| a < b);
        if forwards {
            ways.push(way(&mut places, from, to));
            joins.push((from, to));
        }
    }
    let columns = order(&places);
    let (tops, high) = tops(&places, &columns);
    let left = |level: usize| MARGIN + (WIDE + ACROSS) * level as f64;
    let middle = |at: usize| tops[at] + places[at].high / 2.0;
    let boxes = (0..view.steps.len())
        .map(|at| (left(places[at].level), tops[at], WIDE, places[at].high))
        .collect();
    let lines = ways.iter().map(|way| line(way, &places, &left, &middle)).collect();
    let wide = left(columns.len().max(1) - 1) + WIDE + MARGIN;
    StepsLayout { boxes, lines, joins, size: (wide, high) }
}

/// Levels without gaps: an empty column would only be a wider way to go.
fn packed(levels: &[usize]) -> Vec<usize> {
    let mut used = levels.to_vec();
    used.sort_unstable();
    used.dedup();
    levels.iter().map(|level| used.binary_search(level).unwrap_or(0)).collect()
}

/// Joins two steps, with a place in each column between them.
fn way(places: &mut Vec<Place>, from: usize, to: usize) -> Vec<usize> {
    let mut way = vec![from];
    for level in places[from].level + 1..places[to].level {
        places.push(Place {
            level,
            high: PASSING,
            before: Vec::new(),
            after: Vec::new(),
        });
        way.push(places.len() - 1);
    }
    way.push(to);
    for pair in way.windows(2) {
        places[pair[0]].after.push(pair[1]);
        places[pair[1]].before.push(pair[0]);
    }
    way
}

/// The columns, each with its places from top to bottom.
fn order(places: &[Place]) -> Vec<Vec<usize>> {
    let many = places.iter().map(|place| place.level + 1).max().unwrap_or(0);
    let mut columns: Vec<Vec<usize>> = vec![Vec::new(); many];
    for (at, place) in places.iter().enumerate() {
        columns[place.level].push(at);
    }
    let mut rank = vec![0.0; places.len()];
    let note = |column: &[usize], rank: &mut Vec<f64>| {
        for (row, at) in column.iter().enumerate() {
            // Columns of unlike length are compared by how far down a place is.
            rank[*at] = (row as f64 + 0.5) / column.len() as f64;
        }
    };
    for column in &columns {
        note(column, &mut rank);
    }
    for sweep in 0..SWEEPS {
        let forwards = sweep % 2 == 0;
        for step in 0..many {
            let level = if forwards { step } else { many - 1 - step };
            let wish = |at: usize| {
                let joined =
                    if forwards { &places[at].before } else { &places[at].after };
                let sum: f64 = joined.iter().map(|other| rank[*other]).sum();
                if joined.is_empty() { rank[at] } else { sum / joined.len() as f64 }
            };
            let mut wishes: Vec<(f64, usize)> =
                columns[level].iter().map(|at| (wish(*at), *at)).collect();
            // Those that wish the same stay as they are.
            wishes.sort_by(|one, other| one.0.total_cmp(&other.0));
            columns[level] = wishes.into_iter().map(|(_, at)| at).collect();
            note(&columns[level], &mut rank);
        }
    }
    columns
}

/// The top of each place, each column in the middle of the whole, and the whole height.
fn tops(places: &[Place], columns: &[Vec<usize>]) -> (Vec<f64>, f64) {
    let tall = |column: &Vec<usize>| {
        let sum: f64 = column.iter().map(|at| places[*at].high + DOWN).sum();
        (sum - DOWN).max(0.0)
    };
    let tallest = columns.iter().map(tall).fold(0.0, f64::max);
    let mut tops = vec![0.0; places.len()];
    for column in columns {
        let mut top = MARGIN + (tallest - tall(column)) / 2.0;
        for at in column {
            tops[*at] = top;
            top += places[*at].high + DOWN;
        }
    }
    (tops, tallest + 2.0 * MARGIN)
}

fn line(
    way: &[usize],
    places: &[Place],
    left: &impl Fn(usize) -> f64,
    middle: &impl Fn(usize) -> f64,
) -> Vec<(f64, f64)> {
    let mut line = Vec::with_capacity(2 * way.len());
    for (number, at) in way.iter().enumerate() {
        let x = left(places[*at].level);
        if number > 0 {
            line.push((x, middle(*at)));
        }
        if number + 1 < way.len() {
            line.push((x + WIDE, middle(*at)));
        }
    }
    line
}
