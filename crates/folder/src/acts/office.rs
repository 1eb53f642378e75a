//! Acts of the programme as a whole: letters, directives, modifications, origins, samples,
//! what is due in service, money.

use airframe::ItemId;
use jiff::civil::Date;
use quantity::Money;
use record::act::{DirectiveState, LifeUnit, MoneyKind, Origin, Verdict};
use record::{
    DirectiveId, DutyId, JobKey, LetterId, ModificationId, PackId, SampleId, SeasonId,
};

use crate::acts::table::declare;

declare! {
    act Letter "letter" "Files a letter to or from the authority, an owner, a designer." {
        must letter: LetterId, "The letter's name in the programme.", "L-0021";
        must with: String, "With whom.", "The insurer";
        must sent: bool, "Whether it was sent; otherwise it was received.", "yes";
        must on: Date, "Its date.", "2031-11-04";
        must reference: String, "Its own reference.", "PT/31/21";
        must subject: String, "What it says, in short.", "Cover for the engine runs";
        may answers: LetterId, "The letter that it answers.", "L-0019";
        may due: Date, "By when an answer is due.", "2031-12-01";
    }
    act Directive "directive" "Says how a directive, or what counts like one, stands for this aircraft." {
        must directive: DirectiveId, "The directive's name in the programme.", "D-003";
        must source: String, "Who issued it, its number and revision.", "The engine's type specialist, bulletin 12, issue 2";
        must subject: String, "What it asks for.", "Look at the drive shaft of each magneto";
        must state: DirectiveState, "How it stands.", "repeating";
        may method: String, "How it was met, or why it does not apply.", "Looked at by lens; no wear";
        may job: JobKey, "The card on which it was met.", "ON:MAG-LP";
        may due: Date, "By when it is due, or due again.", "2033-11-01";
    }
    act Modification "modification" "Records a modification or repair that changes the design." {
        must modification: ModificationId, "Its name in the programme.", "MOD-04";
        must item: ItemId, "The item that it changes.", "MOUNT-P";
        must what: String, "Where on it, and what changed: dimensions, material, what is left of it.", "Lower lug bushed, bore 0.375 in, wall left 0.110 in";
        must data: String, "The data that it follows, with their revision.", "Drawing P2-71-204, issue B";
        must approval: String, "Who approved it, and by which reference.", "The trust's designer, letter of 2031-10-30";
        must job: JobKey, "The card on which it was done.", "F-0113:repair";
    }
    act Provenance "provenance" "Says where an item comes from." {
        must item: ItemId, "The item.", "PROP-P";
        must origin: Origin, "Where it comes from.", "donor";
        must evidence: String, "What shows that: a plate, a drawing, a photograph, a published source.", "Plate on the hub, 2204";
    }
    act Sample "sample" "Sets up a sample of structure to be looked at for all of it." {
        must sample: SampleId, "The sample's name in the programme.", "SMP-2";
        must of: String, "What it stands for: all rivets of a lap, all ribs of a wing.", "Rivets of the port keel lap";
        must all: u32, "How many there are of them.", "240";
        must size: u32, "How many are to be looked at.", "24";
        must basis: String, "The data by which the size was chosen.", "Structure programme, table 2";
    }
    act Sampled "sampled" "Records a look at one of a sample. One that fails widens the sample to all." {
        must sample: SampleId, "The sample.", "SMP-2";
        must which: String, "Which one.", "Rivet 17, frame 4";
        must verdict: Verdict, "What came out.", "pass";
        must reference: String, "The card or report.", "Report 31-22";
    }
    act Duty "duty" "Sets up something that is due in service again and again." {
        must duty: DutyId, "The duty's name in the programme.", "DUTY-5";
        must what: String, "What is to be done.", "Change the oil of both engines";
        may item: ItemId, "The item on which it is done.", "ENG-P";
        must every: f64, "After how much.", "25";
        must unit: LifeUnit, "Of what.", "engine hours";
        must source: String, "Where that comes from.", "Engine manual, section 12";
    }
    act DutyDone "duty-done" "Records that what is due in service was done." {
        must duty: DutyId, "Which duty.", "DUTY-5";
        must job: JobKey, "The card on which it was done.", "J-017";
    }
    act Total "total" "States what the aircraft had flown, run or landed before the record began. A later statement takes the place of an earlier one." {
        must unit: LifeUnit, "Of what.", "flight hours";
        must amount: f64, "How much, by the worst that can be read from what there is.", "1500";
        must basis: String, "What that rests on: logs, other records, the aircraft itself.", "Airframe log 1; engine log 4; plate on the port wing";
        must confidence: String, "How sure that is.", "To 80 h; log 2 is lost";
    }
    act Spend "spend" "Counts money for a pack." {
        must pack: PackId, "The pack.", "WP-04";
        must season: SeasonId, "The season.", "W31";
        must kind: MoneyKind, "Whether it is estimated, committed or paid.", "payment";
        must amount: Money, "How much, in the programme's currency; less than nothing takes back.", "1250.50 GBP";
        must what: String, "For what.", "Overhaul of two magnetos";
    }
}
