//! Files that people gave and have not signed for yet. They are kept in memory alone, some of
//! them, for a while; whoever comes back too late gives theirs again.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use crate::{AppError, random_token};

/// The most bytes of a file (8 MiB): ten thousand rows have about two.
pub const MOST_UPLOAD: usize = 8 << 20;
/// How many files are kept, and how many bytes of them in all.
const KEPT: usize = 24;
const KEPT_BYTES: usize = 64 << 20;

/// A file that somebody gave.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Upload {
    /// Its name.
    pub name: String,
    /// What is in it.
    pub content: Vec<u8>,
}

/// Files that were given; the oldest goes first.
#[derive(Debug, Default)]
pub struct Uploads(Mutex<VecDeque<(String, String, Arc<Upload>)>>);

impl Uploads {
    fn lock(&self) -> MutexGuard<'_, VecDeque<(String, String, Arc<Upload>)>> {
        // Nothing is half done when the lock is held.
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Keeps a file of somebody; the token by which it is had again.
    ///
    /// # Errors
    /// If it is empty or too large, or the system has no randomness.
    pub fn put(&self, person: &str, upload: Upload) -> Result<String, AppError> {
        let length = upload.content.len();
        if length == 0 {
            return Err(AppError::Unknown("there is nothing in that file".to_owned()));
        }
        if length > MOST_UPLOAD {
            return Err(AppError::Unknown(format!(
                "the file has {} MB, and {} MB are the most: give the list alone",
                length.div_ceil(1 << 20),
                MOST_UPLOAD >> 20
            )));
        }
        let token = random_token()?;
        let mut kept = self.lock();
        kept.push_back((token.clone(), person.to_owned(), Arc::new(upload)));
        let bytes = |kept: &VecDeque<(String, String, Arc<Upload>)>| -> usize {
            kept.iter().map(|(_, _, upload)| upload.content.len()).sum()
        };
        while kept.len() > KEPT || bytes(&kept) > KEPT_BYTES {
            kept.pop_front();
        }
        Ok(token)
    }

    /// A file of somebody, if it is still kept.
    pub fn get(&self, person: &str, token: &str) -> Option<Arc<Upload>> {
        let kept = self.lock();
        let mut all = kept.iter();
        all.find(|(known, of, _)| known == token && of == person)
            .map(|(_, _, upload)| Arc::clone(upload))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(bytes: usize) -> Upload {
        Upload { name: "items.csv".to_owned(), content: vec![b'x'; bytes] }
    }

    #[test]
    fn a_file_is_had_again_by_whoever_gave_it_and_by_nobody_else() {
        let uploads = Uploads::default();
        let token = uploads.put("TR", file(3)).unwrap();
        assert_eq!(uploads.get("TR", &token).map(|upload| upload.content.len()), Some(3));
        assert_eq!(uploads.get("HB", &token), None);
        assert_eq!(uploads.get("TR", "another"), None);
    }

    #[test]
    fn the_oldest_goes_first_and_memory_has_an_end() {
        let uploads = Uploads::default();
        let first = uploads.put("TR", file(1)).unwrap();
        let tokens: Vec<String> =
            (0..9).map(|_| uploads.put("TR", file(MOST_UPLOAD)).unwrap()).collect();
        assert_eq!(uploads.get("TR", &first), None);
        assert_eq!(uploads.get("TR", &tokens[0]), None);
        assert!(uploads.get("TR", &tokens[8]).is_some());
    }

    #[test]
    fn what_is_empty_or_too_large_is_refused_with_the_limit() {
        let uploads = Uploads::default();
        assert!(uploads.put("TR", file(0)).is_err());
        let told = uploads.put("TR", file(MOST_UPLOAD + 1)).unwrap_err().to_string();
        assert!(told.contains("9 MB") && told.contains("8 MB"), "{told}");
    }
}
