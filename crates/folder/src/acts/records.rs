//! Acts about copies of records.

use jiff::civil::Date;
use record::act::RecordClass;

use crate::acts::table::declare;

declare! {
    act Discard "discard" "Discards an attachment or a copy on paper whose time is over. Entries are never discarded." {
        must record: String, "The attachment by its digest, or the copy by its name.", "Delivery notes 2031, folder 3";
        must class: RecordClass, "What class of records it is.", "materials";
        must made: Date, "The day of the work that it records.", "2031-11-03";
        must reason: String, "Why it is not kept any longer.", "Its time is over, and it is scanned";
        must how: String, "How it is destroyed, or to whom it goes.", "Shredded";
    }
}
