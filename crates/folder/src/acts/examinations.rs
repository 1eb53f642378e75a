//! Acts about non-destructive testing and other examinations.

use airframe::{ItemId, ZoneId};
use jiff::civil::Date;
use record::act::{Equipment, Indication, Level, Method, Missed, Outcome, Rank};
use record::{BatchId, ExaminationId, FindingId, FirmId, ReportId, ToolId};

use crate::acts::table::declare;

declare! {
    act RequestNdt "request-ndt" "Asks for an examination of a part or a place, by non-destructive testing or by an aided look." {
        must examination: ExaminationId, "The examination's name in the programme.", "X-014";
        must item: ItemId, "The item that is to be examined.", "MOUNT-P";
        may zone: ZoneId, "Where on the aircraft.", "NAC-P";
        must location: String, "Where on the item: station, frame, side, and from which datum.", "Lower lug, 40 mm around the bore, from the forward face";
        may sketch: String, "A drawing or sketch, by number or digest.", "P2-71-204, sheet 2";
        may finding: FindingId, "The finding that asks for it.", "F-0113";
        may why: String, "What else asks for it: a routine, a fatigue item, a directive.", "Fatigue item 12";
        must material: String, "What the item is made of, with its heat treatment.", "Steel tube to the drawing, normalised";
        must form: String, "Its form: forging, sheet, tube, casting.", "Welded tube with a forged lug";
        must finish: String, "What is on its surface, in layers.", "Cadmium, primer, enamel";
        must thickness: String, "How thick it is where it is to be examined.", "3.2 mm as drawn";
        must sought: String, "What kind of defect is sought, and which way it would run.", "Fatigue cracks from the bore, radial";
        must least: String, "The least defect that must be found.", "1.5 mm long at the surface";
        must method: Method, "The method that is proposed.", "magnetic particle";
        list or: Method, "Methods that would do as well.", "eddy current";
        may technique: String, "The technique sheet; nothing if one is to be developed.", "Technique sheet 7";
        may revision: String, "The revision of the sheet.", "2";
        flag develop: bool, "Whether a technique is to be developed.", "yes";
        must preparation: String, "How the surface is prepared and what access is given, and by whom.", "Enamel and primer stripped by us; mount on the bench";
        must restores: String, "Who restores the finish.", "The paint shop, by route FINISH";
        must acceptance: String, "The standard by which it is accepted.", "No crack, structure manual, section 4";
        must rules: String, "Who rules where that standard is silent.", "The trust's designer";
        must needed_by: Date, "By when the report is needed.", "2031-11-20";
        must closes: String, "Who closes the access again.", "Nobody: it is on the bench";
        must cleaning: String, "What is cleaned or demagnetised afterwards, and by whom.", "Demagnetised and cleaned by the examiner";
    }
    part Equipment "equipment" "What an examination was made with: an instrument of the list of tools, or one of a firm with the last day of its calibration." {
        must name: String, "What it is called, with its number.", "Yoke, number 3107";
        may tool: ToolId, "Its name in the list of tools, if it is ours.", "UT-1";
        may until: Date, "The last day of its calibration, if it is not ours.", "2032-03-01";
    }
    part Missed "place" "A place that was not examined." {
        must place: String, "Where.", "Aft face of the lug";
        must why: String, "Why not.", "The bush could not be drawn";
    }
    part Indication "indication" "Something that responded." {
        must place: String, "Where.", "Lower lug, 5 o'clock, from the bore";
        must size: String, "How large it is.", "2 mm";
        must what: String, "What it looks like.", "linear, radial";
        must rank: Rank, "What it was found to be, each a kind of the one before.", "defect";
    }
    act ReportNdt "report-ndt" "Reports an examination that was asked for. A report that does not accept raises a finding, which blocks until it is classed." {
        must report: ReportId, "The report's name in the programme, by which evidence refers to it.", "NDT-31-22";
        must examination: ExaminationId, "The examination.", "X-014";
        must on: Date, "The day on which it was made.", "2031-11-12";
        may firm: FirmId, "The firm that made it, if it was an outside one.", "VISITING-NDT";
        must procedure: String, "The procedure or technique sheet.", "Technique sheet 7";
        may revision: String, "Its revision; without one the report is refused.", "2";
        must method: Method, "The method.", "magnetic particle";
        must parameters: String, "Its actual parameters: frequency, probe, current, exposure, gain.", "Yoke, AC, wet fluorescent, two directions";
        some equipment: Equipment, "What it was made with.", "";
        must standard: String, "The reference standard or image quality indicator.", "Flux indicator, number 12";
        must examined: String, "What was examined.", "Lower lug, both faces and the bore";
        must whole: bool, "Whether all that was asked for was examined.", "yes";
        some missed: Missed, "What was not examined.", "";
        some indications: Indication, "What responded; none is a negative result.", "";
        may detectable: String, "The least defect that would have been found; a report that accepts says it.", "1.5 mm at the surface";
        must acceptance: String, "The standard by which it was accepted or rejected.", "No crack, structure manual, section 4";
        must outcome: Outcome, "What came out: it is accepted or rejected, or the standard is silent and engineering rules.", "accept";
        may finding: FindingId, "The name of the finding that a report raises which does not accept.", "F-0121";
        must examiner: String, "Who examined.", "P. Invented";
        may level: Level, "Their level; nothing if the method knows none.", "level 2";
        list qualified_in: Method, "The methods in which they are qualified or, for an inspection, trained and assessed.", "magnetic particle; eddy current";
        must qualification: String, "The certificate of qualification, or the assessment after training.", "Certificate 4410";
        may qualified_until: Date, "The last day on which it is valid.", "2033-05-31";
        list batches: BatchId, "Batches of consumables that were used.", "B-0301";
        may dwell: String, "How long penetrant and developer stood, and how warm it was.", "Penetrant 20 min, developer 10 min, 18 °C";
        may lighting: String, "The light by which it was looked at.", "UV-A, measured before use";
        may afterwards: String, "What was done afterwards: cleaned, demagnetised.", "Demagnetised, cleaned";
        may document: String, "The report itself, by digest or number.", "Report 22 of the firm";
    }
}
