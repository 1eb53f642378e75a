//! How much a workbook holds once it is unpacked.
//!
//! A few bytes of an archive can unpack to more than a machine has, and what the archive says of
//! its size need not be true. So everything in it is unpacked once into nothing, and counted.

use std::io::{Cursor, Read, sink};

use crate::{Place, Problem};

/// The most bytes that a workbook may unpack to (256 MiB), and the most parts.
const MOST: u64 = 256 << 20;
const MOST_PARTS: usize = 2_000;

/// Refuses a workbook that unpacks to too much.
pub(crate) fn measure(bytes: &[u8], place: &Place) -> Result<(), Problem> {
    measured(bytes, place, MOST)
}

fn measured(bytes: &[u8], place: &Place, most: u64) -> Result<(), Problem> {
    let damaged = |error: &dyn std::fmt::Display| {
        Problem::error(place, format!("the workbook cannot be read: {error}"))
            .hinting("open it in a spreadsheet program and save it again as .xlsx")
    };
    let mut archive =
        zip::ZipArchive::new(Cursor::new(bytes)).map_err(|error| damaged(&error))?;
    let too_large = |what: String| {
        Problem::error(place, what).hinting("save the list alone in a new workbook")
    };
    if archive.len() > MOST_PARTS {
        return Err(too_large(format!("the workbook has more than {MOST_PARTS} parts")));
    }
    let mut all = 0;
    for at in 0..archive.len() {
        let part = archive.by_index(at).map_err(|error| damaged(&error))?;
        let rest: u64 = most - all;
        let read = std::io::copy(&mut part.take(rest + 1), &mut sink());
        let read = read.map_err(|error| damaged(&error))?;
        if read > rest {
            let what = format!("the workbook unpacks to more than {} MB", most >> 20);
            return Err(too_large(what));
        }
        all += read;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn book(rows: u32) -> Vec<u8> {
        let mut book = rust_xlsxwriter::Workbook::new();
        let sheet = book.add_worksheet();
        for row in 0..rows {
            sheet.write_string(row, 0, "x".repeat(200)).unwrap();
            sheet.write_number(row, 1, f64::from(row)).unwrap();
        }
        book.save_to_buffer().unwrap()
    }

    #[test]
    fn what_unpacks_to_too_much_is_refused_whatever_its_own_size() {
        let (bytes, place) = (book(20_000), Place::whole("items.xlsx"));
        assert!(bytes.len() < 300_000, "{}", bytes.len());
        assert_eq!(measured(&bytes, &place, 64 << 20), Ok(()));
        let refused = measured(&bytes, &place, 1 << 19).unwrap_err();
        assert!(refused.what.contains("unpacks to more than 0 MB"), "{refused}");
    }

    #[test]
    fn what_is_no_archive_is_told_so() {
        let refused = measure(b"PK but no archive", &Place::whole("x.xlsx")).unwrap_err();
        assert!(refused.what.contains("cannot be read"), "{refused}");
    }
}
