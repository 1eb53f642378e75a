//! A bundle as one file: a zip archive whose members lie in it as they are, without
//! compression, in the order of their names, all with the same date and rights. Equal
//! bundles are equal files.
//!
//! What is read comes from anywhere. So nothing is unpacked to a disk, and refused is
//! whatever a bundle never has: compressed members (a few bytes could become terabytes),
//! members that overlap, two of one name or of names that differ in capitals alone (which of
//! them counts depends on the program that unpacks), names that lead out of the archive,
//! folders, links, encryption.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{BufReader, Cursor, Read, Seek, SeekFrom, Write};
use std::path::Path;

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipArchive, ZipWriter};

use super::is_inside;
use crate::AppError;

/// Files by their names.
pub(super) type Files = BTreeMap<String, Vec<u8>>;

/// Length of the record that ends an archive without a comment (APPNOTE.TXT of the zip
/// format, section 4.3.16), and where in it the number of members stands.
const END: (i64, usize) = (22, 10);

/// Whether a path is that of a bundle in one file.
pub(super) fn is_packed(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("zip"))
}

/// The bytes of an archive of these files.
pub(super) fn pack(parts: &[(String, Vec<u8>)]) -> Result<Vec<u8>, AppError> {
    let wrong = |error| AppError::Unknown(format!("it can't be packed: {error}"));
    let mut parts: Vec<_> = parts.iter().collect();
    parts.sort();
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Stored)
        .last_modified_time(DateTime::default())
        .unix_permissions(0o644);
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, content) in parts {
        archive.start_file(name.as_str(), options).map_err(wrong)?;
        archive.write_all(content).map_err(|error| wrong(error.into()))?;
    }
    Ok(archive.finish().map_err(wrong)?.into_inner())
}

/// The files of an archive, or everything for which it is refused.
pub(super) fn unpack(path: &Path) -> Result<Files, AppError> {
    let io = |source| AppError::File { doing: "read", file: path.to_owned(), source };
    let refuse = |wrong: Vec<String>| {
        let advice = "a bundle is checked as it was made: ask for it anew, or unpack it and \
                      check the folder";
        let name = path.display();
        AppError::Unknown(format!("{name} is refused: {}\n{advice}", wrong.join("; ")))
    };
    let mut file = File::open(path).map_err(io)?;
    let stated = stated(&mut file).map_err(io)?;
    let archive = ZipArchive::new(BufReader::new(file));
    let mut archive = archive.map_err(|error| refuse(vec![error.to_string()]))?;
    let mut wrong = Vec::new();
    // The library keeps one of several members of one name.
    if stated != Some(archive.len() as u64) {
        wrong.push("two members have one name, or it does not end as it must".to_owned());
    }
    if archive.has_overlapping_files().unwrap_or(true) {
        wrong.push("members overlap".to_owned());
    }
    wrong.extend(members(&mut archive));
    if !wrong.is_empty() {
        return Err(refuse(wrong));
    }
    contents(&mut archive).map_err(|why| refuse(vec![why]))
}

/// How many members the end of an archive says it has, if it ends as one without a comment.
fn stated(file: &mut File) -> std::io::Result<Option<u64>> {
    let mut end = [0; END.0 as usize];
    if file.seek(SeekFrom::End(0))? < END.0 as u64 {
        return Ok(None);
    }
    file.seek(SeekFrom::End(-END.0))?;
    file.read_exact(&mut end)?;
    file.rewind()?;
    let number = u16::from_le_bytes([end[END.1], end[END.1 + 1]]);
    Ok((end.starts_with(b"PK\x05\x06") && number < u16::MAX).then_some(number.into()))
}

/// What is wrong with the members, by what the archive says of them.
fn members<R: Read + Seek>(archive: &mut ZipArchive<R>) -> Vec<String> {
    let mut wrong = Vec::new();
    let mut folded = BTreeMap::new();
    for number in 0..archive.len() {
        let member = match archive.by_index_raw(number) {
            Ok(member) => member,
            Err(error) => {
                wrong.push(format!("member {number}: {error}"));
                continue;
            }
        };
        let name = String::from_utf8_lossy(member.name_raw()).into_owned();
        let shown = name.escape_debug();
        if !is_inside(&name) {
            wrong.push(format!("`{shown}` is no name of a file within it"));
        }
        if member.is_dir() || member.is_symlink() || member.encrypted() {
            wrong.push(format!("`{shown}` is a folder, a link or encrypted"));
        }
        let stored = member.compression() == CompressionMethod::Stored;
        if !stored || member.size() != member.compressed_size() {
            wrong.push(format!("`{shown}` is compressed"));
        }
        if let Some(other) = folded.insert(name.to_lowercase(), name.clone()) {
            wrong.push(format!("`{other}` and `{shown}` differ in capitals alone"));
        }
    }
    wrong
}

fn contents<R: Read + Seek>(archive: &mut ZipArchive<R>) -> Result<Files, String> {
    let mut files = Files::new();
    for number in 0..archive.len() {
        let mut member = archive.by_index(number).map_err(|error| error.to_string())?;
        let name = String::from_utf8_lossy(member.name_raw()).into_owned();
        let mut content = Vec::new();
        member
            .read_to_end(&mut content)
            .map_err(|error| format!("`{name}` can't be read: {error}"))?;
        files.insert(name, content);
    }
    Ok(files)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn archive(members: &[(&str, CompressionMethod)]) -> Vec<u8> {
        let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
        for (name, method) in members {
            let options = SimpleFileOptions::default().compression_method(*method);
            archive.start_file(*name, options).unwrap();
            archive.write_all(b"content").unwrap();
        }
        archive.finish().unwrap().into_inner()
    }

    fn refused(bytes: &[u8]) -> String {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.zip");
        std::fs::write(&path, bytes).unwrap();
        unpack(&path).expect_err("it is refused").to_string()
    }

    #[test]
    fn what_was_packed_is_unpacked_and_equal_files_are_equal_bytes() {
        let parts = [("b/c.txt", "1"), ("a.txt", ""), ("z", "23")]
            .map(|(name, content)| (name.to_owned(), content.as_bytes().to_vec()));
        let mut others = parts.clone();
        others.reverse();
        let packed = pack(&parts).unwrap();
        assert_eq!(packed, pack(&others).unwrap());
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.zip");
        std::fs::write(&path, packed).unwrap();
        assert_eq!(unpack(&path).unwrap(), Files::from(parts));
    }

    #[test]
    fn what_no_bundle_has_is_refused() {
        use CompressionMethod::Stored;
        for (name, told) in [
            ("../evil", "no name of a file within"),
            ("a/../../evil", "no name of a file within"),
            ("/etc/evil", "no name of a file within"),
            ("C:/evil", "no name of a file within"),
            ("a\\..\\evil", "no name of a file within"),
            ("a\nb", "no name of a file within"),
            ("folder/", "folder"),
        ] {
            let told_it = refused(&archive(&[(name, Stored)]));
            assert!(told_it.contains(told), "{name}: {told_it}");
        }
        let told = refused(&archive(&[("a.txt", Stored), ("A.TXT", Stored)]));
        assert!(told.contains("differ in capitals alone"), "{told}");
        let good = archive(&[("a.txt", Stored), ("b.txt", Stored)]);
        let told = refused(&good[..good.len() - 1]);
        assert!(told.contains("is refused"), "{told}");
        assert!(refused(b"not an archive").contains("is refused"));
        assert!(refused(&[&good[..], b"more"].concat()).contains("end"));
    }

    /// The second of two names of equal length is made the first, in both places where it
    /// stands; other fields are changed by their places in the format.
    #[test]
    fn two_of_one_name_compressed_and_overlapping_members_are_refused() {
        use CompressionMethod::Stored;
        let good = archive(&[("a.txt", Stored), ("b.txt", Stored)]);
        let text = |bytes: &[u8], from: &[u8], to: &[u8]| {
            let mut bytes = bytes.to_vec();
            while let Some(at) = bytes.windows(from.len()).position(|found| found == from)
            {
                bytes[at..at + from.len()].copy_from_slice(to);
            }
            bytes
        };
        let told = refused(&text(&good, b"b.txt", b"a.txt"));
        assert!(told.contains("two members have one name"), "{told}");
        let central = |bytes: &[u8], nth: usize| {
            let found = bytes.windows(4).enumerate();
            let found = found.filter(|(_, sign)| *sign == b"PK\x01\x02");
            found.map(|(at, _)| at).nth(nth).unwrap()
        };
        // The method, and the size that it would unpack to.
        let mut bomb = good.clone();
        let at = central(&bomb, 0);
        bomb[at + 10] = 8;
        bomb[at + 24..at + 28].copy_from_slice(&u32::MAX.to_le_bytes()[..4]);
        assert!(refused(&bomb).contains("is compressed"));
        let mut larger = good.clone();
        larger[at + 24..at + 28].copy_from_slice(&1_000_000_u32.to_le_bytes());
        assert!(refused(&larger).contains("is compressed"));
        // The second member begins where the first one does.
        let mut overlapping = good.clone();
        let at = central(&overlapping, 1);
        overlapping[at + 42..at + 46].copy_from_slice(&0_u32.to_le_bytes());
        assert!(refused(&overlapping).contains("is refused"));
    }
}
