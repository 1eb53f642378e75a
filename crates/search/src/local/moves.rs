//! How the tasks of a move leave the board and return.

use rand::RngExt;
use rand_pcg::Pcg64Mcg;

use super::{Kind, Local, balance};

impl Local<'_> {
    /// Takes the chosen tasks off the board, with priorities and modes.
    pub(super) fn set_out(&mut self, kind: Kind, seed: usize, rng: &mut Pcg64Mcg) {
        let limit = self.limit();
        let board = &mut self.board;
        board.begin(12 + 3 * (self.chosen.len() + self.rivals.len()), limit);
        let tasks = || self.chosen.iter().chain(&self.rivals).copied();
        let starts = tasks().map(|task| i64::from(board.span[task].0));
        let (low, high) =
            starts.fold((i64::MAX, i64::MIN), |(a, b), s| (a.min(s), b.max(s)));
        let range = (high - low).max(1);
        let style = rng.random_range(0..5);
        let late = board.worth.breach > 0 || board.worth.tardiness > 0;
        let hurried = rng.random_ratio(1, 3) && late;
        let back = i64::from(self.urgent[2 * seed]) - i64::from(board.span[seed].0);
        let ahead = rng.random_range(0..=range);
        for (position, task) in tasks().enumerate() {
            let start = i64::from(board.span[task].0);
            let first = position < self.chosen.len();
            let priority = match style {
                0 => low + rng.random_range(0..=range),
                1 => i64::from(self.urgent[2 * task]) - back,
                2 => start + rng.random_range(-range..=range) / 2,
                3 => start - if task == seed { range } else { 0 },
                _ => start - if first { ahead } else { 0 },
            };
            board.take_out(task, priority);
            board.wish[task] = if hurried { 0 } else { self.wish[task] };
        }
        if kind == Kind::Mode || (!self.several.is_empty() && rng.random_ratio(1, 8)) {
            for &task in &self.chosen {
                let ways = self.model.acts[task].ways.len().min(256);
                if ways > 1 && !board.placed[task] && rng.random_ratio(1, 2) {
                    board.way[task] = rng.random_range(0..ways) as u8;
                }
            }
            if !self.model.stocks.is_empty() {
                balance::balance(board, &self.several, rng);
            }
        }
    }

    /// Lets the chosen tasks return one by one, each to the earliest place that it has.
    pub(super) fn slide(&mut self) -> bool {
        let limit = self.limit();
        let board = &mut self.board;
        self.chosen.sort_unstable_by_key(|&task| (board.span[task].0, task));
        board.begin(8, limit);
        for &task in &self.chosen {
            let way = &self.model.acts[task].ways[usize::from(board.way[task])];
            let (start, finish) = board.lower(task);
            let first = way.pattern.after(start.max(way.pattern.reaching(finish)));
            if first.is_none_or(|first| first.0 >= board.span[task].0) {
                continue;
            }
            board.allow(8);
            let priority = i64::from(board.span[task].0);
            board.take_out(task, priority);
            if !board.settle() {
                return false;
            }
        }
        true
    }
}
