//! The name that somebody may have meant.

/// The nearest of some names to one that is none of them, if one is near.
pub(crate) fn nearest<'a>(
    name: &str,
    candidates: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    let wanted = name.to_lowercase();
    let length = wanted.chars().count();
    // A slip or two; a whole sentence in the wrong cell is not one.
    if length == 0 || length > 64 {
        return None;
    }
    let allowed = (length / 3).clamp(1, 3);
    candidates
        .into_iter()
        .filter(|candidate| candidate.chars().count().abs_diff(length) <= allowed)
        .map(|candidate| {
            (strsim::osa_distance(&wanted, &candidate.to_lowercase()), candidate)
        })
        .filter(|(distance, _)| *distance <= allowed)
        .min()
        .map(|(_, candidate)| candidate)
}

/// Advice that names the nearest name.
pub fn did_you_mean<'a>(
    name: &str,
    candidates: impl IntoIterator<Item = &'a str>,
) -> Option<String> {
    nearest(name, candidates).map(|near| format!("did you mean `{near}`?"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_is_near_and_another_word_is_not() {
        let names = ["items", "findings", "people"];
        assert_eq!(nearest("item", names), Some("items"));
        assert_eq!(nearest("Peopel", names), Some("people"));
        assert_eq!(nearest("photographs", names), None);
        assert_eq!(nearest("", names), None);
    }
}
