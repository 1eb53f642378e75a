//! PostgreSQL's own password file: lines of `host:port:database:user:password`, where `*`
//! fits anything and `\` goes before a `:` or a `\` that is meant as itself (the manual's
//! chapter "The Password File").

use std::fs;
use std::path::Path;

use crate::error::{LedgerError, Result};

/// Reads a password file that nobody but its owner may read.
pub(super) fn read(file: &Path) -> Result<String> {
    let refuse = |why: String| LedgerError::Passwords { file: file.to_owned(), why };
    let metadata = fs::metadata(file).map_err(|error| refuse(error.to_string()))?;
    if let Some(mode) = rights_of_others(&metadata) {
        return Err(refuse(format!("others may read it (its mode is {mode:o})")));
    }
    fs::read_to_string(file).map_err(|error| refuse(error.to_string()))
}

#[cfg(unix)]
fn rights_of_others(metadata: &fs::Metadata) -> Option<u32> {
    use std::os::unix::fs::PermissionsExt;
    let mode = metadata.permissions().mode() & 0o777;
    (mode & 0o077 != 0).then_some(mode)
}

#[cfg(not(unix))]
fn rights_of_others(_metadata: &fs::Metadata) -> Option<u32> {
    None
}

/// The password of the first line that fits host, port, database and user.
pub(super) fn find(text: &str, wanted: [&str; 4]) -> Option<String> {
    text.lines().filter(|line| !line.starts_with('#')).find_map(|line| {
        let fields = fields(line);
        let fits = |(field, wanted): (&String, &str)| field == "*" || field == wanted;
        let all = fields.len() >= 5 && fields.iter().zip(wanted).all(fits);
        all.then(|| fields[4].clone())
    })
}

fn fields(line: &str) -> Vec<String> {
    let mut fields = vec![String::new()];
    let mut signs = line.chars();
    while let Some(sign) = signs.next() {
        match sign {
            ':' => fields.push(String::new()),
            '\\' => push(&mut fields, signs.next().unwrap_or('\\')),
            other => push(&mut fields, other),
        }
    }
    fields
}

fn push(fields: &mut [String], sign: char) {
    if let Some(last) = fields.last_mut() {
        last.push(sign);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_line_that_fits_counts() {
        let text =
            "#h:1:d:u:no\nh:2:d:u:no\n\nh:1:*:u:first\n*:*:*:*:a\\\\b\\:c\nshort:1";
        for (wanted, found) in [
            (["h", "1", "d", "u"], Some("first")),
            (["h", "1", "other", "u"], Some("first")),
            (["x", "1", "d", "u"], Some("a\\b:c")),
        ] {
            assert_eq!(find(text, wanted).as_deref(), found);
        }
        assert_eq!(find("h:1:d:u:p", ["h", "1", "d", "v"]), None);
        assert_eq!(find("h:1:d:u", ["h", "1", "d", "u"]), None);
    }
}
