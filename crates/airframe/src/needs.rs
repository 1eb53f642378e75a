//! What must be out of the way: every group, and of each group any one of several ways in.
//!
//! Written as people write it in one cell: `;` parts groups that are all needed, `|` parts
//! ways of which one is enough, `+` joins what one way takes:
//!
//! `COWL-P; PANEL-3 + PANEL-4 | DOOR-2` is *the cowling, and either both panels or the
//! door*.

use std::fmt;

use quantity::{Id, IdError};

use crate::ItemId;

/// All groups must be met.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Needs {
    /// The groups.
    pub groups: Vec<Group>,
}

/// Any one way is enough.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// The ways; at least one.
    pub ways: Vec<Way>,
}

/// Everything in it must be out of the way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Way {
    /// The items; at least one.
    pub items: Vec<ItemId>,
}

/// Why a cell of needs cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NeedsError {
    /// A name is missing before, between or after the signs.
    #[error("a name is missing next to a sign in `{0}`")]
    Gap(String),
    /// A name is not one.
    #[error("`{name}` is not a name")]
    Name {
        /// What stands there.
        name: String,
        /// Why it is not a name.
        source: IdError,
    },
}

impl Needs {
    /// Nothing is in the way.
    pub const NONE: Self = Self { groups: Vec::new() };

    /// Whether nothing is in the way.
    pub fn is_none(&self) -> bool {
        self.groups.is_empty()
    }

    /// Reads the notation of the module head; an empty text is [`Needs::NONE`].
    pub fn parse(text: &str) -> Result<Self, NeedsError> {
        let trimmed = text.trim();
        if trimmed.is_empty() {
            return Ok(Self::NONE);
        }
        let groups = trimmed.split(';').map(Group::parse).collect::<Result<_, _>>()?;
        Ok(Self { groups })
    }

    /// Every item that is named, in the order in which it stands, repeats included.
    pub fn items(&self) -> impl Iterator<Item = &ItemId> {
        self.groups.iter().flat_map(|g| &g.ways).flat_map(|w| &w.items)
    }
}

impl Group {
    fn parse(text: &str) -> Result<Self, NeedsError> {
        let ways = text.split('|').map(Way::parse).collect::<Result<_, _>>()?;
        Ok(Self { ways })
    }
}

impl Way {
    fn parse(text: &str) -> Result<Self, NeedsError> {
        let name = |part: &str| {
            let name = part.trim();
            if name.is_empty() {
                return Err(NeedsError::Gap(text.trim().to_owned()));
            }
            Id::new(name)
                .map_err(|source| NeedsError::Name { name: name.to_owned(), source })
        };
        let items = text.split('+').map(name).collect::<Result<_, _>>()?;
        Ok(Self { items })
    }
}

impl fmt::Display for Needs {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (position, group) in self.groups.iter().enumerate() {
            if position > 0 {
                f.write_str("; ")?;
            }
            write!(f, "{group}")?;
        }
        Ok(())
    }
}

impl fmt::Display for Group {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (position, way) in self.ways.iter().enumerate() {
            if position > 0 {
                f.write_str(" | ")?;
            }
            write!(f, "{way}")?;
        }
        Ok(())
    }
}

impl fmt::Display for Way {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (position, item) in self.items.iter().enumerate() {
            if position > 0 {
                f.write_str(" + ")?;
            }
            write!(f, "{item}")?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_and_writes_the_same() {
        for text in ["", "A", "A; B + C | D", "A | B; C | D", "P.1 + P-2; X/3"] {
            assert_eq!(Needs::parse(text).unwrap().to_string(), text);
        }
        assert_eq!(Needs::parse(" A;B+C|D ").unwrap().to_string(), "A; B + C | D");
    }

    #[test]
    fn gaps_are_refused() {
        for text in [";", "A;", "A + ", "| B", "A ; ; B"] {
            assert!(matches!(Needs::parse(text), Err(NeedsError::Gap(_))), "{text}");
        }
    }
}
