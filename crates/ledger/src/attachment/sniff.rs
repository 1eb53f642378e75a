//! What a file is, by its content.

use super::{Broken, Media};

/// Signatures of what is refused by name, at the beginning of a file.
const REFUSED: &[(&[u8], &str)] = &[
    (b"GIF8", "a GIF picture"),
    (b"BM", "a BMP picture"),
    (b"II*\0", "a TIFF picture or a camera's raw file"),
    (b"MM\0*", "a TIFF picture or a camera's raw file"),
    (b"\0\0\x01\0", "an icon"),
    (b"PK\x03\x04", "a ZIP archive or an office document"),
    (b"PK\x05\x06", "an empty ZIP archive"),
    (b"\xD0\xCF\x11\xE0", "an old office document"),
    (b"{\\rtf", "an RTF document"),
    (b"%!PS", "a PostScript document"),
    (b"MZ", "a Windows program"),
    (b"\x7FELF", "a Linux program"),
    (b"\xCF\xFA\xED\xFE", "a macOS program"),
    (b"\x1F\x8B", "a gzip archive"),
    (b"7z\xBC\xAF", "a 7-Zip archive"),
    (b"Rar!", "a RAR archive"),
    (b"SQLite format 3\0", "an SQLite database"),
    (b"ID3", "an MP3 recording"),
    (b"OggS", "an Ogg recording"),
    (b"\x1A\x45\xDF\xA3", "a Matroska or WebM film"),
    (b"\xFF\xFE", "text in UTF-16"),
    (b"\xFE\xFF", "text in UTF-16"),
    (b"#!", "a script"),
];

/// What markup begins with, in lower case; in a browser it could do more than be read.
const MARKUP: &[(&str, &str)] = &[
    ("<!doctype html", "an HTML page"),
    ("<html", "an HTML page"),
    ("<script", "an HTML page"),
    ("<svg", "an SVG drawing"),
    ("<?xml", "an XML document"),
];

/// What the file is, or what it looks like if it can't be attached.
pub(super) fn media(content: &[u8]) -> Result<Media, &'static str> {
    if content.starts_with(&[0xFF, 0xD8, 0xFF]) {
        return Ok(Media::Jpeg);
    }
    if content.starts_with(super::png::SIGNATURE) {
        return Ok(Media::Png);
    }
    if content.starts_with(b"%PDF-") {
        return Ok(Media::Pdf);
    }
    if content.starts_with(b"RIFF") {
        return match content.get(8..12) {
            Some(b"WEBP") => Ok(Media::WebP),
            _ => Err("a recording or film in a RIFF file"),
        };
    }
    if content.get(4..8) == Some(b"ftyp") {
        return Err("a HEIC or AVIF picture, or an MP4 film");
    }
    // Text may begin with any of the short signatures ("BM 12", "MZ"), other files hold
    // bytes that no text does.
    let text = text(content);
    for (signature, name) in REFUSED {
        let plain = signature.iter().all(u8::is_ascii_alphabetic);
        if content.starts_with(signature) && !(plain && text.is_ok()) {
            return Err(name);
        }
    }
    text
}

/// Complete as far as its end shows.
pub(super) fn whole_pdf(content: &[u8]) -> Result<(), Broken> {
    // Writers leave some bytes behind the mark; readers look for it in the last 1024.
    let tail = &content[content.len().saturating_sub(2048)..];
    if tail.windows(5).any(|window| window == b"%%EOF") {
        return Ok(());
    }
    Err(format!("no end mark (`%%EOF`) before its last byte, {}", content.len()))
}

fn text(content: &[u8]) -> Result<Media, &'static str> {
    let Ok(text) = std::str::from_utf8(content) else {
        return Err(if content.contains(&0) {
            "binary data of an unknown kind"
        } else {
            "text in another encoding than UTF-8, or binary data"
        });
    };
    let odd = |c: char| c.is_control() && !matches!(c, '\t' | '\n' | '\r' | '\u{c}');
    if text.chars().any(odd) {
        return Err("binary data of an unknown kind");
    }
    let start: String = text
        .trim_start_matches('\u{feff}')
        .trim_start()
        .chars()
        .take(20)
        .collect::<String>()
        .to_lowercase();
    match MARKUP.iter().find(|(mark, _)| start.starts_with(mark)) {
        Some((_, name)) => Err(name),
        None => Ok(Media::Text),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_are_known_by_their_content() {
        for (content, expected) in [
            (&b"\xFF\xD8\xFF\xE0"[..], Ok(Media::Jpeg)),
            (b"\x89PNG\r\n\x1a\n...", Ok(Media::Png)),
            (b"RIFF\x04\0\0\0WEBP", Ok(Media::WebP)),
            (b"RIFF\x04\0\0\0WAVE", Err("a recording or film in a RIFF file")),
            (b"%PDF-1.7\n", Ok(Media::Pdf)),
            (b"item;zone\r\n1;hull\r\n", Ok(Media::Text)),
            ("\u{feff}Ölstand\t3".as_bytes(), Ok(Media::Text)),
            (b"BM of 3 June: rib 4", Ok(Media::Text)),
            (b"BM\x9a\0\0\0", Err("a BMP picture")),
            (b"GIF89a\x01\0", Err("a GIF picture")),
            (b"\0\0\0\x18ftypheic", Err("a HEIC or AVIF picture, or an MP4 film")),
            (b"PK\x03\x04\x14\0", Err("a ZIP archive or an office document")),
            (b"MZ\x90\0", Err("a Windows program")),
            (b"{\\rtf1 x}", Err("an RTF document")),
            (b" \n<HTML><body>", Err("an HTML page")),
            (b"<?xml version='1.0'?><svg/>", Err("an XML document")),
            (b"#!/bin/sh\n", Err("a script")),
            (b"\xFF\xFEa\0", Err("text in UTF-16")),
            (b"gr\xFCn", Err("text in another encoding than UTF-8, or binary data")),
            (b"a\0b", Err("binary data of an unknown kind")),
            (b"a\x1b[2Jb", Err("binary data of an unknown kind")),
        ] {
            assert_eq!(media(content), expected, "{}", String::from_utf8_lossy(content));
        }
    }

    #[test]
    fn a_pdf_that_was_cut_short_is_broken() {
        assert!(whole_pdf(b"%PDF-1.4\n...\n%%EOF\n").is_ok());
        assert!(whole_pdf(b"%PDF-1.4\n...").is_err());
    }
}
