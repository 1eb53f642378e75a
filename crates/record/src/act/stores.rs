//! Acts about materials, tools and what is due in store.

use airframe::ItemId;
use jiff::civil::Date;

use crate::{BatchId, JobKey, PersonId, ToolId};

/// Takes in a batch of material, standard parts or consumables.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Batch {
    /// The batch's name in the programme.
    pub batch: BatchId,
    /// What it is.
    pub material: String,
    /// The specification to which it is marked.
    pub specification: String,
    /// Who made it.
    pub maker: String,
    /// Who supplied it.
    pub supplier: String,
    /// The statement of conformity.
    pub conformity: String,
    /// How much came in.
    pub quantity: f64,
    /// The unit, as it is written.
    pub unit: String,
    /// The day on which rubber was cured.
    pub cured: Option<Date>,
    /// The last day on which it may be used.
    pub expires: Option<Date>,
    /// The state of packing and how it is kept.
    pub storage: String,
}

/// Draws from a batch for a card.
#[derive(Debug, Clone, PartialEq)]
pub struct Draw {
    /// The batch.
    pub batch: BatchId,
    /// The card.
    pub job: JobKey,
    /// How much.
    pub quantity: f64,
}

/// Asks for something to be done in store again and again: turn a tyre, run a heater.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoreTask {
    /// The part.
    pub item: ItemId,
    /// What is to be done.
    pub task: String,
    /// Every so many days.
    pub every: u32,
}

/// Says that it was done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoreDone {
    /// The part.
    pub item: ItemId,
    /// What was done.
    pub task: String,
}

/// Records that a tool was calibrated.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Calibrate {
    /// The tool.
    pub tool: ToolId,
    /// The last day on which it may be used for measuring.
    pub until: Date,
    /// The certificate, with its range.
    pub certificate: String,
}

/// Takes a tool out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToolOut {
    /// The tool.
    pub tool: ToolId,
    /// The card for which it is needed.
    pub job: JobKey,
    /// Who has it; the signer if nobody is named.
    pub person: Option<PersonId>,
}

/// Brings a tool back, whole.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToolIn {
    /// The tool.
    pub tool: ToolId,
}

/// Reports a tool, or a part of one, lost.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LoseTool {
    /// The tool.
    pub tool: ToolId,
    /// Where it was last seen, and what of it is missing.
    pub last_seen: String,
}

/// Reports a lost tool found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FindTool {
    /// The tool.
    pub tool: ToolId,
    /// Where it was.
    pub place: String,
}

/// Clears a lost tool that was not found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClearTool {
    /// The tool.
    pub tool: ToolId,
    /// What was searched, and how.
    pub search: String,
    /// Why the aircraft is safe without knowing where it is.
    pub reason: String,
}
