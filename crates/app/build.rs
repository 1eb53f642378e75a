//! Gives the shape of a snapshot: a digest of all sources that say what a folded programme
//! is and how it is folded, so that a snapshot of another version is never taken up.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// Where these sources are, and what decides how they are written as bytes.
const SOURCES: [&str; 6] = [
    "../quantity/src",
    "../airframe/src",
    "../record/src",
    "../folder/src",
    "src/snapshot.rs",
    "../../Cargo.lock",
];

fn main() -> io::Result<()> {
    let mut files = Vec::new();
    for source in SOURCES {
        println!("cargo::rerun-if-changed={source}");
        list(Path::new(source), &mut files)?;
    }
    files.sort();
    let mut shape = Shape::new();
    for file in files {
        shape.add(file.to_string_lossy().as_bytes());
        shape.add(&fs::read(&file)?);
    }
    println!("cargo::rustc-env=TURNBUCKLE_SHAPE={:032x}", shape.0);
    Ok(())
}

fn list(path: &Path, files: &mut Vec<PathBuf>) -> io::Result<()> {
    if !path.is_dir() {
        if path.exists() {
            files.push(path.to_owned());
        }
        return Ok(());
    }
    for found in fs::read_dir(path)? {
        list(&found?.path(), files)?;
    }
    Ok(())
}

/// FNV-1a of 128 bits (RFC 9923): it tells versions apart, and is no defence against anybody.
struct Shape(u128);

impl Shape {
    fn new() -> Self {
        Self(0x6c62_272e_07bb_0142_62b8_2175_6295_c58d)
    }

    fn add(&mut self, bytes: &[u8]) {
        let length = (bytes.len() as u64).to_le_bytes();
        for byte in length.iter().chain(bytes) {
            self.0 ^= u128::from(*byte);
            self.0 = self.0.wrapping_mul(0x0000_0000_0100_0000_0000_0000_0000_013b);
        }
    }
}
