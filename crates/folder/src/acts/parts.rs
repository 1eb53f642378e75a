//! Acts about parts: from removal to refit.

use airframe::ItemId;
use jiff::civil::Date;
use record::act::{Certificate, LifeUnit, Medium, PartClass, ScrapReason};
use record::{FindingId, FirmId, JobKey, PlaceId};

use crate::acts::table::declare;

declare! {
    act Tag "tag" "Tags a part that came off. What is not known of it is said to be unknown; it counts as unserviceable until somebody entitled to says otherwise." {
        must item: ItemId, "The part.", "MAG-LP";
        may job: JobKey, "The card on which it came off.", "OFF:MAG-LP";
        must location: String, "Where it was fitted: frame, station, side.", "Port engine, left pad";
        may orientation: String, "Which way round it was.", "Lead up";
        may shims: String, "Shims, washers and packing, with their places.", "One washer under each nut";
        may photograph: String, "Its photograph, by digest or name.", "mag-lp-1.jpg";
        must service: String, "Hours, landings or cycles in service, or that they are not known.", "not known";
        must preservation: String, "How it is preserved.", "Inhibited, bagged";
        must defects: String, "What is wrong with it, or that nothing is known to be.", "Oil at the drive seal";
        may exposure: String, "What it was exposed to: salt water, heat, shock.", "salt spray";
        flag accident: bool, "Whether it comes from an aircraft that had an accident.", "yes";
        may control: String, "How a part of limited life is kept from going back unseen.", "Kept in the locked cupboard";
        must place: PlaceId, "Where it is put.", "STORE";
    }
    act Move "move" "Says where a part is now." {
        must item: ItemId, "The part.", "MAG-LP";
        must place: PlaceId, "Where it is.", "BENCH";
    }
    act ClassPart "class-part" "Says what class a part is." {
        must item: ItemId, "The part.", "MAG-LP";
        must class: PartClass, "Its class.", "serviceable";
        must basis: String, "On what that rests: the card, certificate or inspection.", "Bench test of 2031-11-20";
    }
    act Despatch "despatch" "Sends a part to a firm." {
        must item: ItemId, "The part.", "MAG-LP";
        must firm: FirmId, "The firm.", "MAGNETOS";
        must order: String, "The order.", "Order 2031-44";
        must scope: String, "What is to be done, and to which standard with its revision.", "Overhaul to the maker's manual, issue 6";
        must document: String, "The release document that must come back with it.", "Overhaul certificate";
        must due: Date, "When it is due back.", "2032-01-15";
        must preservation: String, "How it is preserved on the way.", "Bagged, in its box";
        must carrier: String, "Who carries it.", "Our own van";
        may dangerous: Medium, "What is dangerous about it on the road, if anything is.", "fluid";
        may declaration: String, "The declaration that goes with dangerous goods.", "Declaration 12 of 2031";
    }
    act Chase "chase" "Asks a firm where a part is." {
        must item: ItemId, "The part.", "MAG-LP";
        must answer: String, "What the firm said.", "Waiting for bearings";
        may due: Date, "The new date, if it named one.", "2032-02-01";
    }
    act Receive "receive" "Takes a part in from a firm. It waits for its receiving check." {
        must item: ItemId, "The part.", "MAG-LP";
        must packing: String, "The state of packing, plugs and caps.", "Box whole, caps on";
        must place: PlaceId, "Where it is put.", "GOODS-IN";
    }
    part Certificate "certificate" "A release document, as it is read and checked. It is no leave to fit the part." {
        must number: String, "Its form and number.", "Certificate 4471";
        must status: String, "The one status word in it: overhauled, repaired, tested, new.", "overhauled";
        may serial: String, "The serial number in it.", "1147";
        must data: String, "The data that the work followed.", "Overhaul manual of the maker";
        may revision: String, "The revision of those data.", "6";
    }
    act Accept "accept" "Accepts a part after its receiving check." {
        must item: ItemId, "The part.", "MAG-LP";
        row certificate: Certificate, "The document that came with it.", "";
        must done: String, "What was done, held against what was ordered.", "Overhauled as ordered; coil renewed";
        must complete: bool, "Whether all that was ordered was done.", "yes";
    }
    act Quarantine "quarantine" "Puts a part into quarantine." {
        must item: ItemId, "The part.", "MAG-LP";
        must reason: String, "Why.", "The serial number is not the one on the certificate";
    }
    act Release "release" "Releases a part from quarantine." {
        must item: ItemId, "The part.", "MAG-LP";
        must basis: String, "What was found out, and where it stands.", "The firm's letter of 2032-01-20 puts the number right";
    }
    act Scrap "scrap" "Writes a part off. It never comes back." {
        must item: ItemId, "The part.", "MAG-LP";
        must reason: ScrapReason, "Why.", "not repairable";
        must disposal: String, "How it was made unusable, or where it is kept for display only.", "Sawn through";
    }
    act Rob "rob" "Takes a part, tagged when it came off, from one assembly or aircraft for another: one act on both." {
        must item: ItemId, "The part.", "MAG-LS";
        must donor: String, "From where: an aircraft, or an assembly that is complete.", "The starboard engine";
        must recipient: ItemId, "What it goes into.", "ENG-P";
        must reason: String, "Why there is no other way.", "No other magneto is to be had before the run";
        must finding: FindingId, "The finding that the donor gets for what it lacks now.", "F-0121";
        must lacking: ItemId, "The item of the donor that lacks it.", "ENG-S";
        must history: String, "Its history: hours, repairs, events, searched and stated.", "212 h since overhaul, no repairs on record";
    }
    act Life "life" "Limits the life of a part." {
        must item: ItemId, "The part.", "PROP-P";
        must limit: f64, "How much it may have used at most.", "1200";
        must unit: LifeUnit, "What is counted.", "flight hours";
        may used: f64, "How much it has used; nothing if that is not known.", "340.5";
        must basis: String, "Where limit and use come from.", "Propeller log, page 31";
    }
    act Use "use" "Adds to the life that parts have used." {
        list items: ItemId, "The parts; none means every part that is fitted.", "PROP-P; PROP-S";
        must amount: f64, "How much.", "1.25";
        must unit: LifeUnit, "Of what.", "flight hours";
        must what: String, "What it was: a flight, a taxi run, an engine run.", "Second test flight";
        must on: Date, "On which day.", "2032-05-14";
    }
    act Fit "fit" "Fits a part." {
        must item: ItemId, "The part.", "MAG-LP";
        must job: JobKey, "The card on which it is fitted.", "ON:MAG-LP";
        must checked: bool, "Whether the installer looked at it and at its papers.", "yes";
    }
}
