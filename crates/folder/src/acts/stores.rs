//! Acts about materials, tools and what is due in store.

use airframe::ItemId;
use jiff::civil::Date;
use record::{BatchId, JobKey, PersonId, ToolId};

use crate::acts::table::declare;

declare! {
    act Batch "batch" "Takes in a batch of material, standard parts or consumables." {
        must batch: BatchId, "The batch's name in the programme.", "B-0031";
        must material: String, "What it is.", "Fuel hose, 3/8 in";
        must specification: String, "The specification to which it is marked.", "Hose specification 12, type 3";
        must maker: String, "Who made it.", "Estuary Hose";
        must supplier: String, "Who supplied it.", "Harbour Aircraft Spares";
        must conformity: String, "The statement of conformity.", "Statement 8812";
        must quantity: f64, "How much came in.", "12.5";
        must unit: String, "The unit, as it is written.", "m";
        may cured: Date, "The day on which rubber was cured.", "2031-02-01";
        may expires: Date, "The last day on which it may be used.", "2036-02-01";
        must storage: String, "The state of packing and how it is kept.", "Sealed, dark, in the cool store";
    }
    act Draw "draw" "Draws from a batch for a card." {
        must batch: BatchId, "The batch.", "B-0031";
        must job: JobKey, "The card.", "ON:ENG-P";
        must quantity: f64, "How much, in the unit of the batch.", "1.5";
    }
    act StoreTask "store-task" "Asks for something to be done in store again and again: turn a tyre, run a heater." {
        must item: ItemId, "The part.", "ENG-P";
        must task: String, "What is to be done.", "Turn the crankshaft";
        must every: u32, "Every so many days.", "14";
    }
    act StoreDone "store-done" "Says that it was done." {
        must item: ItemId, "The part.", "ENG-P";
        must task: String, "What was done.", "Turn the crankshaft";
    }
    act Calibrate "calibrate" "Records that a tool was calibrated." {
        must tool: ToolId, "The tool.", "TW-3";
        must until: Date, "The last day on which it may be used for measuring.", "2032-10-31";
        must certificate: String, "The certificate, with its range.", "Certificate 310, 10 to 150 lbf·in";
    }
    act ToolOut "tool-out" "Takes a tool out." {
        must tool: ToolId, "The tool.", "TW-3";
        must job: JobKey, "The card for which it is needed.", "ON:ENG-P";
        may person: PersonId, "Who has it; the signer if nobody is named.", "bruno";
    }
    act ToolIn "tool-in" "Brings a tool back, whole." {
        must tool: ToolId, "The tool.", "TW-3";
    }
    act LoseTool "lose-tool" "Reports a tool, or a part of one, lost." {
        must tool: ToolId, "The tool.", "ML-2";
        must last_seen: String, "Where it was last seen, and what of it is missing.", "Port nacelle, Tuesday; the whole mirror";
    }
    act FindTool "find-tool" "Reports a lost tool found." {
        must tool: ToolId, "The tool.", "ML-2";
        must place: String, "Where it was.", "Behind the oil tank";
    }
    act ClearTool "clear-tool" "Clears a lost tool that was not found." {
        must tool: ToolId, "The tool.", "ML-2";
        must search: String, "What was searched, and how.", "Both nacelles by two people, cowlings off, with a borescope";
        must reason: String, "Why the aircraft is safe without knowing where it is.", "It was left at the firm; their letter of 2031-12-02";
    }
}
