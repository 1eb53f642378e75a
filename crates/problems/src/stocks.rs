//! Stocks for problems that are drawn already.
//!
//! They are drawn last and from a stream of their own, so that all else about a problem is as
//! it would be without them. Some problems get none.

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use timetable::{Stock, StockId, Take};

use crate::generate::Draft;

/// Where the stream of stocks begins, beside the seed of the problem.
const STREAM: u64 = 0x570c_0f57_0c0f_570c;

/// Adds stocks to a draft: of a small problem, or of a season.
pub(crate) fn add(draft: &mut Draft, small: bool, seed: u64) {
    let mut rng = Pcg64Mcg::seed_from_u64(seed ^ STREAM);
    if small && rng.random_ratio(1, 2) {
        for name in ["sheet", "money"].iter().take(rng.random_range(1..=2)) {
            of_small(&mut rng, draft, name);
        }
    } else if !small && rng.random_ratio(2, 5) {
        of_season(&mut rng, draft);
    }
}

/// Most ways take some of it; what the schedule that was laid down takes is there, mostly,
/// and hardly more.
fn of_small(rng: &mut Pcg64Mcg, draft: &mut Draft, name: &str) {
    let stock = StockId::new(draft.stocks.len());
    for mode in draft.tasks.iter_mut().flat_map(|task| &mut task.modes) {
        if rng.random_ratio(13, 20) {
            let amount = rng.random_range(1..=6);
            mode.takes.push(Take { stock, amount });
        }
    }
    let more = rng.random_range(0..=4);
    let spoilt = rng.random_ratio(1, 12);
    let taken = taken(draft, stock);
    let available = if spoilt { (taken - 1 - more).max(0) } else { taken + more };
    draft.stocks.push(Stock { name: name.to_owned(), available });
}

/// Money for what costs more than usual, and material for some of the work.
fn of_season(rng: &mut Pcg64Mcg, draft: &mut Draft) {
    let (money, sheet) = (StockId(0), StockId(1));
    for task in &mut draft.tasks {
        let wanted = rng.random_ratio(3, 10);
        for mode in &mut task.modes {
            if mode.cost > 0 {
                mode.takes.push(Take { stock: money, amount: mode.cost });
            }
            let amount = rng.random_range(1..=12);
            if wanted {
                mode.takes.push(Take { stock: sheet, amount });
            }
        }
    }
    for (stock, name) in [(money, "money for extras"), (sheet, "sheet and sealant")] {
        let taken = taken(draft, stock);
        let available = taken + taken * rng.random_range(0..=10) / 100 + 1;
        draft.stocks.push(Stock { name: name.to_owned(), available });
    }
}

/// What the schedule that was laid down takes.
fn taken(draft: &Draft, stock: StockId) -> i64 {
    let runs = draft.tasks.iter().zip(&draft.runs);
    let takes = runs.flat_map(|(task, run)| &task.modes[run.mode.at()].takes);
    takes.filter(|take| take.stock == stock).map(|take| take.amount).sum()
}
