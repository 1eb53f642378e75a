//! Modes that change together, so that the stocks do.
//!
//! A move that lets some tasks run in other modes may take more of a stock than there is. Then
//! other tasks give it back: those that the move took out already and, where these can't, some
//! that are drawn from the rest, which are taken out for it. Where that is not enough the
//! modes stay as they were.

use rand::RngExt;
use rand_pcg::Pcg64Mcg;

use crate::board::Board;
use crate::stocks::excess_with;

/// So many tasks are asked for what they could give back at a time.
const LOOKS: usize = 12;
/// So many times.
const TURNS: usize = 8;

/// A change of a way: the task, the way, and whether the task has to be taken out for it.
type Change = (usize, u8, bool);

/// Changes ways of tasks, which have a choice, until no more is taken than before the move
/// (or than there is); or takes all changes back.
pub(super) fn balance(board: &mut Board, several: &[usize], rng: &mut Pcg64Mcg) {
    let mut taken = all_taken(board);
    let mut excess = board.model.stocks.excess(&taken);
    // A schedule that takes too much is mended where it can be.
    let most = if board.excess > 0 { board.excess - 1 } else { 0 };
    let mut changed: Vec<usize> = Vec::new();
    for _ in 0..TURNS {
        if excess <= most {
            return;
        }
        let Some((task, way, placed)) =
            best(board, several, &taken, excess, &changed, rng)
        else {
            break;
        };
        if placed {
            let priority = i64::from(board.span[task].0);
            board.take_out(task, priority);
        }
        let ways = &board.model.acts[task].ways;
        let (old, new) = (usize::from(board.way[task]), usize::from(way));
        for (stock, sum) in taken.iter_mut().enumerate() {
            *sum += ways[new].takes[stock] - ways[old].takes[stock];
        }
        board.way[task] = way;
        changed.push(task);
        excess = board.model.stocks.excess(&taken);
    }
    if excess > board.excess {
        board.old_ways();
    }
}

/// What all tasks take, those that are out too.
fn all_taken(board: &Board) -> Vec<i64> {
    let mut taken = board.taken.clone();
    for task in board.out() {
        let way = &board.model.acts[task].ways[usize::from(board.way[task])];
        for (sum, take) in taken.iter_mut().zip(&way.takes) {
            *sum += take;
        }
    }
    taken
}

/// The change among some that gives most back for the time that it costs.
fn best(
    board: &Board,
    several: &[usize],
    taken: &[i64],
    excess: i64,
    changed: &[usize],
    rng: &mut Pcg64Mcg,
) -> Option<Change> {
    let mut best: Option<(f64, Change)> = None;
    let mut look = |task: usize, rng: &mut Pcg64Mcg| {
        let ways = &board.model.acts[task].ways;
        let now = usize::from(board.way[task]);
        for number in 0..ways.len().min(256) {
            if number == now {
                continue;
            }
            let less = excess - excess_with(board.model, taken, task, now, number);
            if less <= 0 {
                continue;
            }
            let longer = ways[number].pattern.work() - ways[now].pattern.work();
            let dearer = (ways[number].cost - ways[now].cost).max(0) as f64;
            let price = f64::from(longer.max(0)) + dearer + 1.0;
            let key = less as f64 / price * (0.5 + rng.random::<f64>());
            if best.is_none_or(|best| key > best.0) {
                best = Some((key, (task, number as u8, board.placed[task])));
            }
        }
    };
    for task in board.out() {
        if !changed.contains(&task) && rng.random_ratio(1, 2) {
            look(task, rng);
        }
    }
    for _ in 0..LOOKS {
        let task = several[rng.random_range(0..several.len())];
        if !changed.contains(&task) {
            look(task, rng);
        }
    }
    best.map(|best| best.1)
}
