//! Names that people give to things, one type for each kind of thing.

use std::borrow::Borrow;
use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::marker::PhantomData;
use std::str::FromStr;
use std::sync::Arc;

use serde::de::Error;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// A kind of thing that has names.
pub trait Kind {
    /// What one is called, without an article, such as `item`.
    const NOUN: &'static str;
}

/// Declares a kind of named thing and the type of its names:
/// `kind!(/** The name of a jig. */ JigKind, JigId, "jig");`
#[macro_export]
macro_rules! kind {
    ($(#[$doc:meta])* $kind:ident, $id:ident, $noun:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $kind {}

        impl $crate::Kind for $kind {
            const NOUN: &'static str = $noun;
        }

        $(#[$doc])*
        pub type $id = $crate::Id<$kind>;
    };
}

/// The name of one thing of kind `K`.
///
/// 1 to 64 characters: letters and digits of any alphabet, `-`, `_`, `.` and `/`; the first
/// and the last are letters or digits. An accent belongs to its letter (`é` as one
/// character), so that two names that look the same are the same. Cheap to clone.
///
/// ```
/// use quantity::{Id, Kind};
///
/// #[derive(Debug)]
/// struct Item;
/// impl Kind for Item {
///     const NOUN: &'static str = "item";
/// }
///
/// let wing = Id::<Item>::new("WING-L/1")?;
/// assert_eq!(wing.as_str(), "WING-L/1");
/// # Ok::<(), quantity::IdError>(())
/// ```
///
/// Names of different kinds do not compare:
///
/// ```compile_fail,E0308
/// use quantity::{Id, Kind};
///
/// struct Item;
/// impl Kind for Item {
///     const NOUN: &'static str = "item";
/// }
/// struct Zone;
/// impl Kind for Zone {
///     const NOUN: &'static str = "zone";
/// }
///
/// let item = Id::<Item>::new("A1").unwrap();
/// let zone = Id::<Zone>::new("A1").unwrap();
/// assert!(item == zone);
/// ```
pub struct Id<K> {
    name: Arc<str>,
    kind: PhantomData<fn() -> K>,
}

/// Why a text is not a name. The places count characters from 1.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum IdError {
    /// Nothing was written.
    #[error("the name of {article} {noun} is empty", article = article(.noun))]
    Empty {
        /// The kind of thing.
        noun: &'static str,
    },
    /// More than [`Id::LONGEST`] characters.
    #[error("the name of {article} {noun} has {length} characters; 64 are the most", article = article(.noun))]
    TooLong {
        /// The kind of thing.
        noun: &'static str,
        /// How many characters were written.
        length: usize,
    },
    /// A character that no name may have.
    #[error(
        "{article} {noun} cannot be named `{shown}`: character {place} is {character:?}, \
         and a name holds only letters, digits and - _ . /",
        article = article(.noun), shown = .name.escape_debug()
    )]
    Character {
        /// The kind of thing.
        noun: &'static str,
        /// What was written.
        name: String,
        /// The character.
        character: char,
        /// Which one it is, counted from 1.
        place: usize,
    },
    /// Punctuation at the beginning or the end.
    #[error(
        "{article} {noun} cannot be named `{name}`: character {place} is {character:?}, and a \
         name begins and ends with a letter or a digit",
        article = article(.noun)
    )]
    Edge {
        /// The kind of thing.
        noun: &'static str,
        /// What was written.
        name: String,
        /// The character.
        character: char,
        /// Which one it is, counted from 1.
        place: usize,
    },
}

impl<K> Id<K> {
    /// The most characters that a name may have.
    pub const LONGEST: usize = 64;

    /// The name.
    pub fn as_str(&self) -> &str {
        &self.name
    }

    /// The name without capitals: equal for two names that differ in capitals alone.
    pub fn fold(&self) -> String {
        // Capitals first: `ß` and `SS`, `ς` and `σ` then meet.
        let capitals = self.name.chars().flat_map(char::to_uppercase);
        capitals.flat_map(char::to_lowercase).collect()
    }
}

impl<K: Kind> Id<K> {
    /// A name, taken as it is.
    ///
    /// # Errors
    /// When the text is empty, too long, or has a character that a name may not have there;
    /// the error says which and where.
    pub fn new(name: &str) -> Result<Self, IdError> {
        check(name, K::NOUN)?;
        Ok(Self { name: name.into(), kind: PhantomData })
    }
}

fn check(name: &str, noun: &'static str) -> Result<(), IdError> {
    if name.is_empty() {
        return Err(IdError::Empty { noun });
    }
    let length = name.chars().count();
    if length > Id::<()>::LONGEST {
        return Err(IdError::TooLong { noun, length });
    }
    for (place, character) in (1..).zip(name.chars()) {
        let name = || name.to_owned();
        if character.is_alphanumeric() {
            continue;
        }
        if !matches!(character, '-' | '_' | '.' | '/') {
            return Err(IdError::Character { noun, name: name(), character, place });
        }
        if place == 1 || place == length {
            return Err(IdError::Edge { noun, name: name(), character, place });
        }
    }
    Ok(())
}

fn article(noun: &str) -> &'static str {
    if noun.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" }
}

impl<K> Clone for Id<K> {
    fn clone(&self) -> Self {
        Self { name: Arc::clone(&self.name), kind: PhantomData }
    }
}

impl<K> PartialEq for Id<K> {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
    }
}

impl<K> Eq for Id<K> {}

impl<K> PartialOrd for Id<K> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl<K> Ord for Id<K> {
    fn cmp(&self, other: &Self) -> Ordering {
        self.name.cmp(&other.name)
    }
}

impl<K> Hash for Id<K> {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.name.hash(state);
    }
}

/// Lets a map with names as keys be asked with a plain text.
impl<K> Borrow<str> for Id<K> {
    fn borrow(&self) -> &str {
        &self.name
    }
}

impl<K> fmt::Display for Id<K> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.name)
    }
}

impl<K: Kind> fmt::Debug for Id<K> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", K::NOUN, self.name)
    }
}

/// As its text.
impl<K> Serialize for Id<K> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.name)
    }
}

impl<'de, K: Kind> Deserialize<'de> for Id<K> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let name = <&str>::deserialize(deserializer)?;
        Self::new(name).map_err(D::Error::custom)
    }
}

impl<K: Kind> FromStr for Id<K> {
    type Err = IdError;

    fn from_str(name: &str) -> Result<Self, IdError> {
        Self::new(name)
    }
}
