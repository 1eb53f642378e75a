//! In what state a region is, and how each is told apart.

/// In what state a region is, the worst first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum RegionState {
    /// Something in it is a hazard.
    Hazard,
    /// Something in it is outside limits.
    OutsideLimits,
    /// Nobody has said how bad something in it is.
    Doubtful,
    /// Something is off.
    Open,
    /// Somebody is at work in it.
    UnderWay,
    /// What was found in it is within limits.
    WithinLimits,
    /// All that was found in it is dealt with.
    Cleared,
    /// Nothing is entered about it, which is not the same as clear.
    NoEntry,
}

impl RegionState {
    /// All of them, the worst first, as the legend shows them.
    pub const ALL: [Self; 8] = [
        Self::Hazard,
        Self::OutsideLimits,
        Self::Doubtful,
        Self::Open,
        Self::UnderWay,
        Self::WithinLimits,
        Self::Cleared,
        Self::NoEntry,
    ];

    /// The word for people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Hazard => "hazard",
            Self::OutsideLimits => "outside limits",
            Self::Doubtful => "doubtful",
            Self::Open => "open",
            Self::UnderWay => "under way",
            Self::WithinLimits => "within limits",
            Self::Cleared => "cleared",
            Self::NoEntry => "no entry",
        }
    }

    /// One character that stands for it.
    pub const fn mark(self) -> char {
        match self {
            Self::Hazard => '!',
            Self::OutsideLimits => '×',
            Self::Doubtful => '?',
            Self::Open => '○',
            Self::UnderWay => '»',
            Self::WithinLimits => '≤',
            Self::Cleared => '✓',
            Self::NoEntry => '–',
        }
    }

    /// Its place among all.
    pub(crate) fn number(self) -> usize {
        Self::ALL.iter().position(|state| *state == self).unwrap_or(0)
    }

    /// The name of its class in the style sheet.
    pub(crate) fn class(self) -> String {
        format!("rg-s{}", self.number())
    }
}
