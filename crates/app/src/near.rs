//! Names that are not there: what was meant, perhaps.

/// That there is no thing of a name, with the nearest that there is, or some of them.
pub(crate) fn no_such<'a>(
    noun: &str,
    name: &str,
    known: impl Iterator<Item = &'a str> + Clone,
) -> String {
    const SOME: usize = 12;
    let what = format!("there is no {noun} {}", shown(name));
    if let Some(hint) = folder::did_you_mean(name, known.clone()) {
        return format!("{what}; {hint}");
    }
    let some: Vec<&str> = known.clone().take(SOME).collect();
    let more = if known.count() > SOME { ", ..." } else { "" };
    match some.as_slice() {
        [] => format!("{what}; there is none at all"),
        some => format!("{what}; there are {}{more}", some.join(", ")),
    }
}

/// A name as it was typed: a pasted page must not become the message.
fn shown(name: &str) -> String {
    const LONGEST: usize = 60;
    let start: String = name.chars().take(LONGEST).collect();
    let more = if name.chars().count() > LONGEST { "…" } else { "" };
    format!("`{}{more}`", start.escape_debug())
}

#[cfg(test)]
mod tests {
    use super::no_such;

    #[test]
    fn the_nearest_is_named_or_some() {
        let known = ["HULL", "BOW"];
        let told = |name| no_such("zone", name, known.into_iter());
        assert!(told("HUL").contains("HULL"), "{}", told("HUL"));
        assert_eq!(told("X-ZZ-99"), "there is no zone `X-ZZ-99`; there are HULL, BOW");
        assert!(told(&"x".repeat(5_000)).len() < 200);
        assert!(no_such("zone", "A", [].into_iter()).contains("none at all"));
    }
}
