//! Work that fills the time in which threads would wait for each other.
//!
//! In a round each of several workers has its part, and the round is over with the slowest. What
//! can be done in small pieces, by whichever thread has nothing else to do, is done until then.
//! How much that is depends on the machine, so where steps are counted it is not asked for.

use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::prelude::*;

/// Whether a piece is the filler's own part of the round, or one of those that fill it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Piece {
    /// Its part.
    Own,
    /// Some more.
    More,
}

/// One who is busy until it is dropped: also where it panics, so that nobody fills for ever.
struct Leaves<'a>(&'a AtomicUsize);

impl Drop for Leaves<'_> {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Ordering::AcqRel);
    }
}

/// Runs others, each once, and a filler beside them: once for its own part (unless it is busy
/// filling by then), and for some more as long as some of the others are busy and none waits to
/// be run.
pub(crate) fn filled<T: Send>(
    others: &mut [T],
    run: &(impl Fn(&mut T) + Sync),
    filler: impl FnMut(Piece) + Send,
) {
    let (waiting, busy) =
        (AtomicUsize::new(others.len()), AtomicUsize::new(others.len()));
    // Never waited for: a thread that holds it may have taken up the job that asks for it.
    let filler = Mutex::new(filler);
    let is_free =
        || busy.load(Ordering::Acquire) > 0 && waiting.load(Ordering::Acquire) == 0;
    let fill = |piece: Piece| {
        let mut own = piece == Piece::Own;
        loop {
            let Ok(mut filler) = filler.try_lock() else { return };
            if std::mem::take(&mut own) {
                filler(Piece::Own);
            }
            while is_free() {
                filler(Piece::More);
            }
            drop(filler);
            // Whoever came in vain meanwhile has left it to this thread.
            if !is_free() {
                return;
            }
        }
    };
    let one = |other: &mut T| {
        waiting.fetch_sub(1, Ordering::AcqRel);
        let leaves = Leaves(&busy);
        run(other);
        drop(leaves);
        fill(Piece::More);
    };
    rayon::join(|| others.par_iter_mut().for_each(one), || fill(Piece::Own));
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pool(threads: usize) -> rayon::ThreadPool {
        rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap()
    }

    /// One of two has to wait until the filler was at it five times, which is so only where the
    /// filler fills.
    #[test]
    fn who_waits_is_filled_for() {
        let pieces = AtomicUsize::new(0);
        let mut others = [false, true];
        let run = |slow: &mut bool| {
            while *slow && pieces.load(Ordering::Acquire) < 5 {
                std::thread::yield_now();
            }
        };
        let filler = |_| {
            pieces.fetch_add(1, Ordering::AcqRel);
        };
        pool(3).install(|| filled(&mut others, &run, filler));
        assert!(pieces.into_inner() >= 5);
    }

    #[test]
    fn one_thread_runs_each_once_and_fills_nothing() {
        let mut others = [0, 0, 0];
        let mut pieces = Vec::new();
        let run = |times: &mut i32| *times += 1;
        pool(1).install(|| filled(&mut others, &run, |piece| pieces.push(piece)));
        assert_eq!(others, [1, 1, 1]);
        assert_eq!(pieces, [Piece::Own]);
    }

    #[test]
    fn who_panics_is_not_filled_for() {
        let run = |fails: &mut bool| assert!(!*fails, "as it should");
        let ends = std::panic::catch_unwind(|| {
            pool(2).install(|| filled(&mut [true, false], &run, |_| ()));
        });
        assert!(ends.is_err());
    }

    /// A filler that shares its own work among threads may be asked for while it works.
    #[test]
    fn a_filler_that_uses_threads_itself_ends() {
        for _ in 0..200 {
            let mut others = [0_u64; 6];
            let run = |one: &mut u64| *one = (0..2_000).sum();
            let filler = |_| {
                (0..16_u64).into_par_iter().for_each(|number| {
                    std::hint::black_box((0..number * 50).sum::<u64>());
                });
            };
            pool(3).install(|| filled(&mut others, &run, filler));
            assert!(others.iter().all(|&one| one == 1_999_000));
        }
    }
}
