//! Files that appear whole or not at all.

use std::fs;
use std::io::Write;
use std::path::Path;

use crate::AppError;

/// Writes a file under another name and renames it, so that a reader never sees half of
/// it.
pub fn write(file: &Path, bytes: &[u8]) -> Result<(), AppError> {
    let failed =
        |doing| move |source| AppError::File { doing, file: file.to_owned(), source };
    if let Some(parent) = file.parent() {
        fs::create_dir_all(parent).map_err(failed("make the folder of"))?;
    }
    let name = file.file_name().unwrap_or_default().to_string_lossy();
    let draft = file.with_file_name(format!(".{name}.part"));
    let mut out = fs::File::create(&draft).map_err(failed("write"))?;
    let written = out.write_all(bytes).and_then(|()| out.sync_all());
    written.and_then(|()| fs::rename(&draft, file)).map_err(|source| {
        // The error that matters is the first one.
        let _ = fs::remove_file(&draft);
        AppError::File { doing: "write", file: file.to_owned(), source }
    })
}
