//! A file's bytes, and the text in them.

use std::borrow::Cow;
use std::fs::File;
use std::io::Read;
use std::path::Path;

use crate::{Place, Problem};

/// The most bytes that a file may have (64 MiB). The longest list of a large aircraft is
/// a hundredth of it; more is a photograph or a mistake.
pub(crate) const LIMIT: u64 = 64 << 20;

/// Reads a file, but not one that is too large.
pub(crate) fn load(path: &Path, place: &Place) -> Result<Vec<u8>, Problem> {
    let unreadable = |error: std::io::Error| {
        Problem::error(place, format!("the file cannot be read: {error}"))
            .hinting("check that it is there, that you may read it, and that no other program holds it")
    };
    let file = File::open(path).map_err(unreadable)?;
    let length = file.metadata().map_err(unreadable)?.len();
    let mut bytes = Vec::new();
    if length <= LIMIT {
        // A file that grows while it is read is not followed either.
        file.take(LIMIT + 1).read_to_end(&mut bytes).map_err(unreadable)?;
    }
    if length.max(bytes.len() as u64) > LIMIT {
        let what = format!(
            "the file has {} MB, and {} MB are the most that is read",
            length.div_ceil(1 << 20),
            LIMIT >> 20
        );
        return Err(Problem::error(place, what)
            .hinting("see whether it is the right file; a list of ten thousand rows has about 2 MB"));
    }
    Ok(bytes)
}

/// What a file is that is no text, by its first bytes.
const OTHERS: [(&[u8], &str); 9] = [
    (b"\x89PNG", "a PNG picture"),
    (b"\xFF\xD8\xFF", "a JPEG picture"),
    (b"GIF8", "a GIF picture"),
    (b"RIFF", "a picture or a sound"),
    (b"%PDF", "a PDF document"),
    (b"{\\rtf", "an RTF document"),
    (b"\x1F\x8B", "a packed file"),
    (b"7z\xBC\xAF", "a packed file"),
    (b"SQLite format 3", "a database"),
];

/// Refuses what is plainly another kind of file.
pub(crate) fn is_text(bytes: &[u8], place: &Place) -> Result<(), Problem> {
    let found = OTHERS.into_iter().find(|(begins, _)| bytes.starts_with(begins));
    found.map_or(Ok(()), |(_, what)| {
        Err(Problem::error(place, format!("the file is {what}, and no list"))
            .hinting("give a list as CSV, as an .xlsx workbook or as TOML"))
    })
}

/// The text of a file that was saved as Windows-1252, as programs in Western Europe do, with
/// lines that end in a line feed alone. Every byte stands for a character there, so that
/// nothing can tell whether it was.
pub(crate) fn western(bytes: &[u8], place: &Place) -> Result<String, Problem> {
    let (text, _) = encoding_rs::WINDOWS_1252.decode_without_bom_handling(bytes);
    text_of(text, place)
}

/// Whether bytes are text in UTF-8 or, by their mark, in UTF-16.
pub(crate) fn is_unicode(bytes: &[u8]) -> bool {
    matches!(bytes, [0xFF, 0xFE, ..] | [0xFE, 0xFF, ..])
        || std::str::from_utf8(bytes).is_ok()
}

/// The text of a file, with lines that end in a line feed alone and without a mark in
/// front.
pub(crate) fn text(bytes: &[u8], place: &Place) -> Result<String, Problem> {
    let text = match bytes {
        [0xEF, 0xBB, 0xBF, rest @ ..] => Cow::Borrowed(utf8(rest, place)?),
        [0xFF, 0xFE, rest @ ..] => utf16(rest, encoding_rs::UTF_16LE, place)?,
        [0xFE, 0xFF, rest @ ..] => utf16(rest, encoding_rs::UTF_16BE, place)?,
        _ => Cow::Borrowed(utf8(bytes, place)?),
    };
    text_of(text, place)
}

fn text_of(text: Cow<'_, str>, place: &Place) -> Result<String, Problem> {
    if let Some(at) = text.find('\0') {
        let (line, column) = position(&text, at);
        let what = "the file holds a zero byte, which no text does";
        return Err(Problem::error(&place.at(line, column), what).hinting(
            "save it as UTF-8 text; it may be another kind of file, or damaged",
        ));
    }
    if text.contains('\r') {
        Ok(text.replace("\r\n", "\n").replace('\r', "\n"))
    } else {
        Ok(text.into_owned())
    }
}

fn utf8<'a>(bytes: &'a [u8], place: &Place) -> Result<&'a str, Problem> {
    std::str::from_utf8(bytes).map_err(|error| {
        let at = error.valid_up_to();
        let (before, rest) = bytes.split_at(at);
        let before = String::from_utf8_lossy(before);
        let (line, column) = position(&before, before.len());
        let byte = rest.first().copied().unwrap_or_default();
        let (meant, _) = encoding_rs::WINDOWS_1252.decode_without_bom_handling(&rest[..1]);
        Problem::error(
            &place.at(line, column),
            format!("the file is not UTF-8: the byte {byte:02X} cannot stand here"),
        )
        .hinting(format!(
            "if it was saved as Windows-1252 the character is `{meant}`; save the file again as \
             UTF-8 (spreadsheet programs call it `CSV UTF-8`)"
        ))
    })
}

fn utf16<'a>(
    bytes: &'a [u8],
    encoding: &'static encoding_rs::Encoding,
    place: &Place,
) -> Result<Cow<'a, str>, Problem> {
    encoding.decode_without_bom_handling_and_without_replacement(bytes).ok_or_else(|| {
        let (text, _) = encoding.decode_without_bom_handling(bytes);
        let at = text.find(char::REPLACEMENT_CHARACTER).unwrap_or_default();
        let (line, column) = position(&text, at);
        Problem::error(
            &place.at(line, column),
            "the file is damaged: it begins as UTF-16 and is not",
        )
        .hinting("save it again as UTF-8")
    })
}

/// Line and column, both from 1, of a place in a text that has not been normalised yet.
fn position(text: &str, at: usize) -> (u32, u32) {
    let before = text.get(..at).unwrap_or(text).replace("\r\n", "\n").replace('\r', "\n");
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
    (line as u32, column as u32)
}
