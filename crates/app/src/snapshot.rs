//! What was folded, as bytes, for a fast start.
//!
//! The only place where a value of the domain is written as it lies in memory. That is no
//! format: nothing outside reads it, it is thrown away whenever the sources that say what
//! it means have changed in any way ([`FORMAT`]), and whatever is wrong with it, the entries
//! are folded from the first.
//!
//! Of the two parts of a programme the lists, which are small, go as the bodies of stored
//! entries; the shop, which grows with every act, as it is.

use folder::stored::{Fact, Stored, decode_any, encode};
use record::{Programme, Shop};

/// The shape of what is kept for a fast start, by which the ledger finds it again: what was
/// kept in any other is passed over.
pub const FORMAT: &str = concat!("programme ", env!("TURNBUCKLE_SHAPE"));

/// A folded programme as bytes: equal programmes, equal bytes.
pub(crate) fn write(programme: &Programme) -> Option<Vec<u8>> {
    let lists: Vec<Stored> =
        Programme::default().changes_to(programme).iter().map(encode).collect();
    postcard::to_allocvec(&(lists, &programme.shop)).ok()
}

/// The same back; `None` if the bytes are something else.
pub(crate) fn read(bytes: &[u8]) -> Option<Programme> {
    let ((lists, shop), rest): ((Vec<Stored>, Shop), _) =
        postcard::take_from_bytes(bytes).ok()?;
    if !rest.is_empty() {
        return None;
    }
    let mut programme = Programme::default();
    for (kind, version, body) in lists {
        match decode_any(&kind, version, &body).ok()? {
            Fact::Entry(change) => programme.apply(&change),
            Fact::Act(_) => return None,
        }
    }
    programme.shop = shop;
    Some(programme)
}
