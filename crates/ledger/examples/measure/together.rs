//! Many writers who each wait until their change is on disk, and one that appends for all
//! of them: whatever has come in meanwhile goes into the next transaction together.

use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;
use std::time::{Duration, Instant};

use ledger::{Batch, Receipt, Store};

use crate::{Outcome, entry};

struct Change {
    batch: Batch,
    answer: Sender<Receipt>,
}

/// Changes a second, and how many went into one transaction on average.
pub(crate) fn measure(
    store: impl Store + 'static,
    writers: usize,
    span: Duration,
) -> Outcome<(f64, f64)> {
    let (changes, incoming) = channel();
    let appender = thread::spawn(move || append(store, &incoming));
    let begun = Instant::now();
    let writers: Vec<_> = (0..writers)
        .map(|writer| {
            let changes = changes.clone();
            thread::spawn(move || write(writer, &changes, begun, span))
        })
        .collect();
    drop(changes);
    let joined = writers.into_iter().map(|writer| writer.join().unwrap_or(0));
    let made: u64 = joined.sum();
    let seconds = begun.elapsed().as_secs_f64();
    let commits = appender.join().map_err(|_| "the appender stopped")??;
    Ok((made as f64 / seconds, made as f64 / commits as f64))
}

fn append(mut store: impl Store, incoming: &Receiver<Change>) -> Outcome<u64> {
    let mut commits = 0;
    while let Ok(first) = incoming.recv() {
        let (batches, answers): (Vec<Batch>, Vec<Sender<Receipt>>) =
            std::iter::once(first)
                .chain(incoming.try_iter())
                .map(|change| (change.batch, change.answer))
                .unzip();
        let head = store.head()?.number;
        let receipts = store.append_all(head, &batches)?;
        commits += 1;
        for (answer, receipt) in answers.iter().zip(receipts) {
            // Whoever no longer waits needs no answer.
            answer.send(receipt).ok();
        }
    }
    Ok(commits)
}

fn write(writer: usize, changes: &Sender<Change>, begun: Instant, span: Duration) -> u64 {
    let mut made = 0;
    while begun.elapsed() < span {
        let (answer, answered) = channel();
        let request = format!("writer {writer} change {made}");
        let batch = Batch { request: request.parse().ok(), entries: vec![entry(made)] };
        if changes.send(Change { batch, answer }).is_err() || answered.recv().is_err() {
            break;
        }
        made += 1;
    }
    made
}
