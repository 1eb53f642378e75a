//! Acts about job cards.

use airframe::{ConnectionId, ItemId};
use jiff::civil::Date;
use quantity::Work;
use record::act::{CardStep, FileDigest, Limit, Reading, StepWork, Verdict};
use record::{FindingId, JobKey, PackId, PersonId, QueryId, StepId, ToolId};

use crate::acts::table::declare;

declare! {
    part CardStep "step" "One step of a card." {
        must id: StepId, "Its name on the card.", "30";
        must text: String, "What is to be done.", "Torque the mount bolts in the order of the sketch";
        must work: StepWork, "What kind of work it is.", "reassemble";
        may data: String, "The document that it follows.", "Engine manual, section 71-20";
        may revision: String, "The revision of that document.", "4";
        flag critical: bool, "Whether a mistake in it could endanger the aircraft.", "yes";
        flag inspected: bool, "Whether it must be inspected before the next step.", "yes";
        flag independent: bool, "Whether it must be inspected twice, the second time by somebody who had no part in it.", "yes";
        list limits: Limit, "What is measured, and between which limits it must lie, both ends allowed.", "torque 40..45 lbf·in; gap ..1.5 mm";
        list makes: ConnectionId, "Connections that are whole again once it is done.", "MOUNT-P-1";
    }
    act IssueCard "issue-card" "Issues the card of a job: from then on work is signed on it." {
        must job: JobKey, "The job.", "ON:ENG-P";
        must title: String, "What is done, as the card heads it.", "Fit the port engine";
        may item: ItemId, "The item on which it is done.", "ENG-P";
        may pack: PackId, "The pack that it belongs to.", "WP-04";
        rows steps: CardStep, "Its steps, in order.", "";
    }
    act AddStep "add-step" "Adds a step to a card, on an extra sheet." {
        must job: JobKey, "The card.", "ON:ENG-P";
        may after: StepId, "The step that it follows; the last one if none is named.", "20";
        row step: CardStep, "The step.", "";
        must reason: String, "Why.", "The mount has a later bolt";
    }
    act Start "start" "Begins or resumes work on a card." {
        must job: JobKey, "The card.", "ON:ENG-P";
    }
    act Pause "pause" "Leaves a card for now, to be resumed by the same person." {
        must job: JobKey, "The card.", "ON:ENG-P";
        must left: String, "How it stands.", "Bolts 1 and 2 torqued, 3 and 4 finger-tight";
    }
    act HandOver "hand-over" "Offers a card to the next person. It is theirs once they take it over." {
        must job: JobKey, "The card.", "ON:ENG-P";
        must to: PersonId, "Who takes it.", "bruno";
        must done: String, "What is done.", "Steps 10 and 20";
        must next: String, "What comes next.", "Step 30, torque";
        must loose: String, "What is loose or only finger-tight; `nothing` if nothing is.", "Bolts 3 and 4";
        must off: String, "What is off and where it lies; `nothing` if nothing is.", "nothing";
        must hazards: String, "What is dangerous; `nothing` if nothing is.", "Hoist still under load";
        list tools: ToolId, "Tools that stay at the job.", "TW-3";
    }
    act TakeOver "take-over" "Takes a card that was handed over." {
        must job: JobKey, "The card.", "ON:ENG-P";
        must spoken: bool, "Whether both talked about it at the job.", "yes";
    }
    act SignStep "sign-step" "Signs that one step is done, and only that." {
        must job: JobKey, "The card.", "ON:ENG-P";
        must step: StepId, "The step.", "30";
        list readings: Reading, "What was measured, in the unit of the limit, and with which instrument.", "torque = 42.5 (TW-3)";
        may supervisor: PersonId, "Who supervised, where the signer works under supervision.", "edith";
        may note: String, "What else there is to say.", "Bolt 2 was renewed";
        list photographs: FileDigest, "Photographs of it, each by the digest under which it was attached.", "9b2f6c1d0e8a475396b1c2d3e4f5a6b7c8d9e0f1a2b3c4d5e6f708192a3b4c5d";
    }
    act Countersign "countersign" "Signs for the step of somebody who worked under supervision." {
        must job: JobKey, "The card.", "ON:ENG-P";
        must step: StepId, "The step.", "30";
    }
    act Inspect "inspect" "Inspects a step: the first time or, where the card asks for it, the second." {
        must job: JobKey, "The card.", "ON:ENG-P";
        must step: StepId, "The step.", "30";
        list checked: String, "What was looked at, item by item: assembly, locking, range, sense.", "assembly; locking";
        must verdict: Verdict, "What came out.", "pass";
        may finding: FindingId, "The finding that a failed inspection raised.", "F-0113";
        may alone: String, "Why the same person inspects twice: what could not be foreseen.", "The second inspector fell ill at noon";
        may allowed_by: PersonId, "Who allowed that.", "edith";
    }
    act Disturb "disturb" "Says that steps which were signed were disturbed: they are done and inspected again." {
        must job: JobKey, "The card.", "ON:ENG-P";
        list steps: StepId, "The steps.", "20; 30";
        must reason: String, "What happened.", "Bolt 2 was taken out for a look at its shank";
    }
    act Query "query" "Asks the author of a step's data about it. The step waits for the answer." {
        must query: QueryId, "The query's name in the programme.", "Q-014";
        must job: JobKey, "The card.", "ON:ENG-P";
        must step: StepId, "The step.", "30";
        must to: String, "Who is asked.", "The engine's type specialist";
        must question: String, "What is wrong or not clear.", "Is the torque meant for dry or oiled threads?";
    }
    act Answer "answer" "Answers a query." {
        must query: QueryId, "Which query.", "Q-014";
        must answer: String, "What was answered.", "Oiled";
        must reference: String, "The letter, amendment or concession that says so.", "Letter of 2031-11-04";
        flag conceded: bool, "Whether nobody answered, and engineering decided.", "yes";
    }
    act Hours "hours" "States hours that were not counted while the work went on." {
        must job: JobKey, "The card.", "ON:ENG-P";
        must person: PersonId, "Who worked.", "bruno";
        must on: Date, "On which day.", "2031-11-03";
        must hours: Work, "How long.", "2 h 30 min";
        must reason: String, "Why it was not counted.", "The terminal was down";
    }
    act Finish "finish" "Certifies that a card is complete: all of its steps, their inspections, and the place clear." {
        must job: JobKey, "The card.", "ON:ENG-P";
        must clear: bool, "Whether the place was looked over and is clear of tools, rags and loose parts.", "yes";
    }
    act Reopen "reopen" "Opens a card again that was finished." {
        must job: JobKey, "The card.", "ON:ENG-P";
        list steps: StepId, "Steps to be done again; none means that only steps to be added are missing.", "30";
        must reason: String, "Why.", "The bolts are of the wrong length";
    }
}
