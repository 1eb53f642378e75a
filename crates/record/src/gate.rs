//! Gates: what the aircraft may be allowed to do, in order.

use crate::GateId;

/// Something the aircraft may be allowed to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gate {
    /// Its name in the programme.
    pub id: GateId,
    /// What people call it.
    pub name: String,
    /// Its place in the order: a gate asks for everything that the gates before it ask.
    pub order: u32,
}

impl crate::Named for Gate {
    type Name = GateId;
    const NOUN: &'static str = "gate";

    fn name(&self) -> &GateId {
        &self.id
    }
}
