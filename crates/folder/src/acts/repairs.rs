//! Acts about repairs, materials in place of others, parts made in-house.

use airframe::ItemId;
use record::act::{Limit, Reading};
use record::{BatchId, DutyId, FindingId, JobKey, RepairId, ReportId, SubstitutionId};

use crate::acts::table::declare;

declare! {
    act Repair "repair" "Enters a repair into the register of the aircraft: where it is, and what is left of the material." {
        must repair: RepairId, "The repair's name in the programme.", "REP-031";
        must finding: FindingId, "The finding that it puts right.", "F-0113";
        must location: String, "Where: frame, stringer, station, side.", "Frame 9, stringer 4, port";
        must what: String, "What was done.", "Pitting blended out, primed, painted";
        must dimensions: String, "Its dimensions.", "60 mm by 22 mm";
        must removed: bool, "Whether material was taken away: blended, reamed, cut out.", "yes";
        list limits: Limit, "The least that must be left, place by place, by the data.", "web 1.3.. mm; flange 1.9.. mm";
        list remains: Reading, "What is left, in the unit of the limit, and with which instrument.", "web = 1.42 (UT-1); flange = 2.1 (UT-1)";
        must data: String, "The data that it follows.", "Repair scheme 12";
        may revision: String, "Their revision; without one the repair is refused.", "B";
        must major: bool, "Whether it is a major one.", "no";
        must criterion: String, "The criterion by which it is major or not.", "No primary member, less than a tenth of the thickness";
        must approval: String, "Who approved it, and by which reference.", "The trust's designer, letter of 2031-10-30";
        must job: JobKey, "The card on which it was done.", "F-0113:repair";
        may duty: DutyId, "The inspection that it asks for again and again.", "DUTY-7";
    }
    act Substitute "substitute" "Puts one material in place of another, with what shows that it will do." {
        must substitution: SubstitutionId, "The substitution's name in the programme.", "SUB-02";
        must item: ItemId, "The item in which it is used.", "FRAME-8";
        must original: String, "What the drawing asks for, with its specification.", "Sheet to the drawing of 1941, 1.6 mm";
        must proposed: String, "What is used instead, with its specification.", "Clad sheet to today's specification, 1.6 mm";
        must strength: String, "How their strengths compare.", "Proof and ultimate both higher, data sheet 3";
        must thickness: String, "How their thicknesses or sizes compare.", "The same";
        must treatment: String, "How their heat treatments compare.", "Solution treated and aged, as drawn";
        must corrosion: String, "How they stand against corrosion, and against what they touch.", "Clad, better; no new pair of metals";
        must reason: String, "Why the original is not used.", "No longer made";
        must data: String, "The data that show it.", "Comparison 4, issue 1";
        must approval: String, "Who approved it, and by which reference.", "The trust's designer, letter of 2031-11-02";
    }
    act Make "make" "Records a part that was made in-house: by which drawing, of which batch, and how the first one was checked." {
        must item: ItemId, "The item.", "BRACKET-4";
        must drawing: String, "The drawing or the sample that it was made to.", "Drawing P2-53-118";
        may revision: String, "The revision of the drawing; for a sample, who accepted it as one.", "C";
        list batches: BatchId, "Batches of the material, drawn for the card.", "B-0207";
        must treatment: String, "Heat and surface treatment, with where it was done.", "Aged by the plater, anodised";
        must first: String, "How the first one was held against the drawing, and by whom.", "All dimensions measured by Dan, sheet on the card";
        must mark: String, "How it is marked.", "P2-53-118 C, batch B-0207, 31/4";
        may report: ReportId, "The report of its examination, if it was examined.", "NDT-31-25";
        must job: JobKey, "The card on which it was made.", "J-031";
    }
}
