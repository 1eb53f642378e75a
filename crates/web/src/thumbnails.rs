//! Small photographs, kept in memory for a while: they are made once, a few at a time.

use std::collections::{HashMap, VecDeque};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use app::{AppError, Small};
use tokio::sync::Semaphore;

/// So many are made at once: each may hold the pixels of a whole photograph.
const AT_ONCE: usize = 2;
/// So many bytes are kept, with so much counted for each besides its content.
const MOST: usize = 24_000_000;
const EACH: usize = 256;

/// Small photographs by the digests of their originals.
#[derive(Debug)]
pub(crate) struct Thumbnails {
    kept: Arc<Mutex<Kept>>,
    turns: Arc<Semaphore>,
}

impl Default for Thumbnails {
    fn default() -> Self {
        Self { kept: Arc::default(), turns: Arc::new(Semaphore::new(AT_ONCE)) }
    }
}

impl Thumbnails {
    /// The small one of a photograph, made off the threads that answer if nobody made it before.
    ///
    /// # Errors
    /// Those of `make`, which are not kept, and a defect in it.
    pub(crate) async fn get(
        &self,
        digest: &str,
        make: impl FnOnce(&str) -> Result<Option<Small>, AppError> + Send + 'static,
    ) -> Result<Option<Arc<Small>>, AppError> {
        if let Some(found) = self.kept().find(digest) {
            return Ok(Some(found));
        }
        let defect = || AppError::Unknown("a defect of the program came up".to_owned());
        let turn = Arc::clone(&self.turns).acquire_owned().await;
        let turn = turn.map_err(|_| defect())?;
        // Somebody else may have wanted it meanwhile.
        if let Some(found) = self.kept().find(digest) {
            return Ok(Some(found));
        }
        let (wanted, kept) = (digest.to_owned(), Arc::clone(&self.kept));
        let made = tokio::task::spawn_blocking(move || {
            // The turn ends with the work, not with whoever waits for it: a phone that scrolls on
            // gives up its requests, and what they began goes on.
            let _turn = turn;
            let made = make(&wanted)?.map(Arc::new);
            // What no ledger holds yet may come.
            if let Some(made) = &made {
                let mut kept = kept.lock().unwrap_or_else(PoisonError::into_inner);
                kept.put(&wanted, Arc::clone(made), MOST);
            }
            Ok(made)
        });
        made.await.map_err(|_| defect())?
    }

    fn kept(&self) -> MutexGuard<'_, Kept> {
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[derive(Debug, Default)]
struct Kept {
    made: HashMap<String, Arc<Small>>,
    /// The oldest first.
    order: VecDeque<String>,
    bytes: usize,
}

fn size(made: &Small) -> usize {
    match made {
        Small::Made(small) => EACH + small.content.len(),
        Small::Not => EACH,
    }
}

impl Kept {
    fn find(&self, digest: &str) -> Option<Arc<Small>> {
        self.made.get(digest).cloned()
    }

    fn put(&mut self, digest: &str, made: Arc<Small>, most: usize) {
        if self.made.contains_key(digest) {
            return;
        }
        self.bytes += size(&made);
        self.order.push_back(digest.to_owned());
        self.made.insert(digest.to_owned(), made);
        while self.bytes > most {
            let Some(oldest) = self.order.pop_front() else { return };
            let gone = self.made.remove(&oldest);
            self.bytes -= gone.as_deref().map_or(0, size);
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicUsize, Ordering};

    use super::*;

    fn small(bytes: usize) -> Small {
        Small::Made(app::Thumbnail { media: "image/jpeg", content: vec![0; bytes] })
    }

    #[test]
    fn the_oldest_make_room() {
        let mut kept = Kept::default();
        for name in ["a", "b", "c"] {
            kept.put(name, Arc::new(small(1000)), 3000);
        }
        let there = |name| kept.find(name).is_some();
        assert_eq!(["a", "b", "c"].map(there), [false, true, true]);
        assert_eq!(kept.bytes, 2 * (1000 + EACH));
    }

    #[test]
    fn a_thousand_take_no_more_than_they_may() {
        let mut kept = Kept::default();
        for number in 0..1000 {
            kept.put(&number.to_string(), Arc::new(small(60_000)), MOST);
            kept.put(&format!("none {number}"), Arc::new(Small::Not), MOST);
        }
        let bytes: usize = kept.made.values().map(|made| size(made)).sum();
        assert!(bytes <= MOST && bytes == kept.bytes, "{bytes}");
        assert_eq!(kept.order.len(), kept.made.len());
        assert!(kept.find("999").is_some() && kept.find("0").is_none());
    }

    /// Whoever waits gives up; the work goes on, holds its turn, and is there for the next.
    #[tokio::test]
    async fn a_turn_lasts_as_long_as_the_work() {
        let all = Arc::new(Thumbnails::default());
        let (go, wait) = std::sync::mpsc::channel::<()>();
        let (begun, begins) = tokio::sync::oneshot::channel::<()>();
        let asked = {
            let all = Arc::clone(&all);
            tokio::spawn(async move {
                let make = move |_: &str| {
                    begun.send(()).expect("the test waits for it");
                    wait.recv().expect("the test says when");
                    Ok(Some(small(10)))
                };
                all.get("a", make).await
            })
        };
        begins.await.unwrap();
        asked.abort();
        assert!(asked.await.unwrap_err().is_cancelled());
        assert_eq!(all.turns.available_permits(), AT_ONCE - 1);
        go.send(()).unwrap();
        let both = all.turns.acquire_many(AT_ONCE as u32).await.unwrap();
        drop(both);
        let made = all.get("a", |_| panic!("it was made")).await.unwrap();
        assert!(made.is_some());
    }

    #[tokio::test]
    async fn it_is_made_once_and_what_failed_is_tried_again() {
        static MADE: AtomicUsize = AtomicUsize::new(0);
        let all = Thumbnails::default();
        let make = |_: &str| {
            MADE.fetch_add(1, Ordering::Relaxed);
            Ok(Some(small(10)))
        };
        let failed = all.get("a", |_| Err(AppError::Unknown("busy".to_owned()))).await;
        assert!(failed.is_err());
        assert!(all.get("a", |_| panic!("a defect")).await.is_err());
        assert_eq!(all.get("a", |_| Ok(None)).await.unwrap(), None);
        let (one, other) = tokio::join!(all.get("a", make), all.get("a", make));
        assert!(one.unwrap().is_some() && other.unwrap().is_some());
        all.get("a", make).await.unwrap();
        // Two may begin at once, and no third.
        assert!(MADE.load(Ordering::Relaxed) <= 2);
    }
}
