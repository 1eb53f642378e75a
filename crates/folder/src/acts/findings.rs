//! Acts about findings.

use airframe::{ItemId, ZoneId};
use jiff::civil::Date;
use record::act::{FileDigest, Spot};
use record::{Condition, FindingId, GateId, JobKey, PackId, RouteId, SeasonId};

use crate::acts::table::declare;

declare! {
    act Raise "raise" "Raises a finding. The day on which it was found never moves." {
        must finding: FindingId, "The finding's name in the programme.", "F-0113";
        must item: ItemId, "The item on which it was found.", "MOUNT-P";
        may zone: ZoneId, "Where on it.", "NAC-P";
        must what: String, "What was seen.", "Pitting under the lower attachment lug";
        may measured: String, "What was measured, as it was written down.", "0.012 in deep over 3/8 in";
        must found: Date, "The day on which it was found.", "2031-11-03";
        may cause: String, "What may have caused it.", "Water behind the clamp";
        may job: JobKey, "The card on which it turned up.", "OFF:ENG-P";
        list also: ItemId, "Where else to look: the other side, sister parts.", "MOUNT-S";
        list photographs: FileDigest, "Photographs of it, each by the digest under which it was attached.", "9b2f6c1d0e8a475396b1c2d3e4f5a6b7c8d9e0f1a2b3c4d5e6f708192a3b4c5d";
        may mark: Spot, "Where it is on a drawing of the aircraft: the view, how far to the right and how far down, in the units of the outlines.", "side 12.5 3";
    }
    act Classify "classify" "Says how bad a finding is and what it allows. Until then nobody knows, and no gate is clear of it." {
        must finding: FindingId, "Which finding.", "F-0113";
        must condition: Condition, "How bad it is.", "outside limits";
        may allows: GateId, "The highest gate that the aircraft may pass with it as it stands.", "TAXI";
        must basis: String, "The limit, with its source; or that there is none and who was asked.", "0.010 in, structure manual, section 4";
        may effect: String, "What it could lead to.", "A crack from the edge of the pit";
    }
    act Defer "defer" "Carries a finding forward, under a limitation." {
        must finding: FindingId, "Which finding.", "F-0113";
        must allows: GateId, "The highest gate that the aircraft may pass meanwhile.", "TAXI";
        must limitation: String, "The limitation, as it is printed on every release until then.", "Port engine to 1800 rpm at most";
        must until: SeasonId, "The season by the end of which it must be dealt with.", "W32";
        must reason: String, "Why it can wait, and beside which others it was weighed.", "No growth in two seasons; weighed beside F-0098";
    }
    act Temporary "temporary" "Puts a temporary repair in place: the finding is dealt with, and a new one asks for the lasting repair." {
        must finding: FindingId, "Which finding.", "F-0113";
        must job: JobKey, "The card on which it was done.", "F-0113:blend";
        must what: String, "What was done.", "Blended, primed and covered";
        must follow_up: FindingId, "The name of the finding that asks for the lasting repair.", "F-0120";
        may due: Date, "By when that is due.", "2032-10-01";
    }
    act AlsoChecked "also-checked" "Records what a look at a sister part or the other side gave." {
        must finding: FindingId, "The finding that asked for it.", "F-0113";
        must item: ItemId, "The item that was looked at.", "MOUNT-S";
        must result: String, "What was seen there.", "The same, shallower";
        may raised: FindingId, "The finding that it became, if it did.", "F-0114";
    }
    act Clear "clear" "Clears a finding." {
        must finding: FindingId, "Which finding.", "F-0113";
        may job: JobKey, "The card on which it was put right; nothing if it was accepted as it is.", "F-0113:repair";
        must statement: String, "Why the item is at least equal to its original condition, and by which data.", "Repaired by scheme 12; wall as drawn";
    }
    act Revive "revive" "Opens a finding again." {
        must finding: FindingId, "Which finding.", "F-0113";
        must reason: String, "Why.", "The pit is back under the paint";
    }
    act Assign "assign" "Says in which pack a finding is worked on, and by which route; the survey's list then counts no more." {
        must finding: FindingId, "Which finding.", "F-0113";
        must pack: PackId, "The pack; its season is the finding's.", "MOUNTS";
        must route: RouteId, "The chain of jobs by which it is put right.", "CORR-OFF";
        must reason: String, "Why this way, and why then.", "The mount is off anyway this season";
    }
}
