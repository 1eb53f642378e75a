//! Stocks: what is used up, and what modes take of it.

use crate::StockId;

/// A stock: something of which there is only so much for the whole of the problem, and
/// which is used up by the modes that are chosen, whenever the tasks run. The literature
/// calls it a nonrenewable resource. Money for outside firms, sheet metal, sealant, hours
/// that a firm has promised.
///
/// Every task takes what the mode that it runs in [takes](crate::Mode::takes), once. Tasks
/// that are started or done have taken what their modes take: that is a fact. Of what they
/// leave (nothing, if they have taken more than there is, which no schedule is blamed for),
/// the tasks that are still to do must not take more in all.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stock {
    /// A name for people.
    pub name: String,
    /// How much of it there is in all, in a unit of the caller's; not negative.
    pub available: i64,
}

/// What a mode takes of a stock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Take {
    /// Of what.
    pub stock: StockId,
    /// How much, at least 1.
    pub amount: i64,
}
