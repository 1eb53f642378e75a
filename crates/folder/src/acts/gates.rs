//! Acts about gates and evidence, and about entries themselves.

use jiff::civil::Date;
use record::act::EvidenceKind;
use record::{GateId, RequirementId};

use crate::acts::table::declare;

declare! {
    act Evidence "evidence" "Gives evidence for a requirement of a gate." {
        must requirement: RequirementId, "The requirement.", "RUN-3";
        must kind: EvidenceKind, "What kind of evidence it is.", "report";
        must reference: String, "Where it is: a card, a document with its number, an attachment by digest.", "Report 31-18";
        must shows: String, "What it shows.", "Both bottles weighed and full";
        may until: Date, "The last day on which it counts.", "2032-11-01";
    }
    act OpenGate "open-gate" "Opens a gate: the aircraft may do this from now on." {
        must gate: GateId, "Which gate.", "TAXI";
        list limitations: String, "Limitations, as they are printed on the release. Each finding that is carried forward must be among them.", "F-0113: port engine to 1800 rpm at most";
        may until: Date, "The last day on which it is open.", "2032-09-30";
    }
    act ShutGate "shut-gate" "Shuts a gate by decision." {
        must gate: GateId, "Which gate.", "TAXI";
        must reason: String, "Why.", "The port brake drags";
    }
    act Strike "strike" "Strikes an entry through: it stays legible and no longer counts. What it should have said is entered anew." {
        must entry: u64, "The number of the entry.", "412";
        must reason: String, "Why.", "Signed on the wrong card";
    }
    act RightClock "right-clock" "Says that entries are dated ahead of time, because a clock was wrong, and that time counts from now. They stand and stay legible." {
        must reason: String, "Which clock was wrong, since when, and by how much.", "The bench computer ran a year ahead since its battery was changed";
    }
    act Reconstruct "reconstruct" "Rebuilds what a lost record said, as well as it can be known." {
        must lost: String, "What was lost: which record, of what, from when to when.", "Airframe log 2 of the aircraft, 1951 to 1958";
        must content: String, "What it must have said.", "1340 to 1500 h flown, one wing change";
        list evidence: String, "What that rests on: other records, people, the aircraft itself.", "engine log 4; plate on the port wing";
        must confidence: String, "How sure that is, in words, and what cannot be known.", "Hours likely, to 80 h; the day of the wing change is not known";
    }
}
