//! Being written.

fn main() {}
