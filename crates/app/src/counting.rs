//! Numbers of things, as people say them.

/// So many of something: `1 job`, `2 jobs`, `0 jobs`.
///
/// ```
/// assert_eq!(app::counted(1, "job moves", "jobs move"), "1 job moves");
/// assert_eq!(app::counted(0, "job moves", "jobs move"), "0 jobs move");
/// ```
pub fn counted(count: usize, one: &str, more: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { more })
}
