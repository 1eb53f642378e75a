//! Connections between items: what is broken when they part.

use crate::{ConnectionId, ItemId};

/// A pipe, cable, rod, wire or structural joint between two items.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Connection {
    /// Its name in the programme.
    pub id: ConnectionId,
    /// What people call it.
    pub name: String,
    /// What runs through it.
    pub kind: ConnectionKind,
    /// One of the items that it joins.
    pub from: ItemId,
    /// The other one; nothing if that is the airframe at large, which never comes off.
    pub to: Option<ItemId>,
}

/// What a connection carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ConnectionKind {
    /// Fuel.
    Fuel,
    /// Oil.
    Oil,
    /// Coolant.
    Coolant,
    /// Hydraulic pressure or return.
    Hydraulic,
    /// Compressed air or vacuum.
    Pneumatic,
    /// A control that changes flight path or attitude.
    FlightControl,
    /// A control of an engine or propeller.
    EngineControl,
    /// Electrical power or signal.
    Electrical,
    /// A structural joint.
    Structural,
    /// A penetration of a firewall.
    Firewall,
}

impl ConnectionKind {
    /// All of them, in the order in which people list them.
    pub const ALL: [Self; 10] = [
        Self::Fuel,
        Self::Oil,
        Self::Coolant,
        Self::Hydraulic,
        Self::Pneumatic,
        Self::FlightControl,
        Self::EngineControl,
        Self::Electrical,
        Self::Structural,
        Self::Firewall,
    ];

    /// The word for it, as files and screens write it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Fuel => "fuel",
            Self::Oil => "oil",
            Self::Coolant => "coolant",
            Self::Hydraulic => "hydraulic",
            Self::Pneumatic => "pneumatic",
            Self::FlightControl => "flight control",
            Self::EngineControl => "engine control",
            Self::Electrical => "electrical",
            Self::Structural => "structural",
            Self::Firewall => "firewall",
        }
    }
}
