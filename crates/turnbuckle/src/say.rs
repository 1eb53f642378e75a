//! What the terminal is told.

use std::path::{Path, PathBuf};

use app::{AppError, Difference};

/// An error with everything that led to it, and what to do about it.
pub(crate) fn error(error: &anyhow::Error) {
    let mut last = String::new();
    for (number, cause) in error.chain().enumerate() {
        let text = cause.to_string();
        if text == last {
            continue;
        }
        let lead = if number == 0 { "error: " } else { "  because: " };
        let indented = text.replace('\n', "\n  ");
        eprintln!("{lead}{indented}");
        last = text;
    }
    if let Some(hint) = error.downcast_ref::<AppError>().and_then(AppError::hint) {
        eprintln!("  hint: {hint}");
    }
}

/// What a load changed.
pub(crate) fn differences(differences: &[Difference], number: u64) {
    if differences.is_empty() {
        println!("nothing differs: nothing was entered");
        return;
    }
    for difference in differences {
        let parts = [
            ("new", &difference.added),
            ("changed", &difference.changed),
            ("gone", &difference.retired),
        ];
        for (word, names) in parts.into_iter().filter(|(_, names)| !names.is_empty()) {
            let some: Vec<&str> = names.iter().take(6).map(String::as_str).collect();
            let more = if names.len() > 6 { ", ..." } else { "" };
            println!(
                "  {}: {} {word}  {}{more}",
                difference.noun,
                names.len(),
                some.join(", ")
            );
        }
    }
    println!("the ledger now ends with entry {number}");
}

/// Files that were written.
pub(crate) fn files(title: &str, files: &[PathBuf]) {
    println!("{title}");
    for file in files {
        println!("  {}", file.display());
    }
}

/// A path as a person can follow it from anywhere.
pub(crate) fn absolute(path: &Path) -> PathBuf {
    std::path::absolute(path).unwrap_or_else(|_| path.to_owned())
}
