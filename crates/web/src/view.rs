//! How lists are looked at: narrowed, sorted and turned by what the address says, so that a
//! link shows the same to others.

use std::cmp::Ordering;

use app::Sheet;

use crate::links::query;

/// So many rows of a list are shown at once: a phone draws them within a second, and the rest
/// is one touch away.
const SHOWN: usize = 200;

/// How a sheet is looked at: all of it is in the address.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct View {
    /// Rows must hold these words, anywhere.
    pub(crate) words: String,
    /// The list and the column by which it is sorted, and whether backwards.
    sort: Option<(usize, usize, bool)>,
    /// The day, as it was given.
    pub(crate) on: String,
    /// The list that is turned, and where it begins; without a number, all of it is shown.
    turned: Option<(usize, Option<usize>)>,
}

impl View {
    pub(crate) fn of(pairs: &[(String, String)]) -> Self {
        let value = |name: &str| {
            let found = pairs.iter().find(|(found, _)| found == name);
            found.map(|(_, value)| value.trim().to_owned()).unwrap_or_default()
        };
        let turned = value("from");
        let turned = turned.split_once('.').and_then(|(list, from)| {
            let from = if from == "all" { None } else { Some(from.parse().ok()?) };
            Some((list.parse().ok()?, from))
        });
        let sort = value("sort");
        let back = sort.starts_with('-');
        let sort = sort.trim_start_matches('-').split_once('.');
        let sort = sort
            .and_then(|(list, column)| Some((list.parse().ok()?, column.parse().ok()?)));
        Self {
            words: value("has"),
            sort: sort.map(|(list, column)| (list, column, back)),
            on: value("on"),
            turned,
        }
    }

    /// By what it is sorted, as the address says it.
    pub(crate) fn sort(&self) -> Option<String> {
        let (list, column, back) = self.sort?;
        Some(format!("{}{list}.{column}", if back { "-" } else { "" }))
    }

    /// As a query, with what is added to it.
    pub(crate) fn query(&self, more: &[(&str, &str)]) -> String {
        let sort = self.sort();
        let turned = self.turned.map(|(list, from)| match from {
            Some(from) => format!("{list}.{from}"),
            None => format!("{list}.all"),
        });
        let own = [
            ("has", self.words.as_str()),
            ("sort", sort.as_deref().unwrap_or("")),
            ("on", self.on.as_str()),
            ("from", turned.as_deref().unwrap_or("")),
        ];
        let own = own.into_iter().filter(|(_, value)| !value.is_empty());
        query(own.chain(more.iter().copied()))
    }

    /// Whether a list is sorted by a column, and then whether backwards.
    pub(crate) fn backwards(&self, list: usize, column: usize) -> Option<bool> {
        let sorted = self.sort.filter(|(at, by, _)| (*at, *by) == (list, column));
        sorted.map(|(_, _, back)| back)
    }

    /// The same, sorted otherwise: what was turned begins from the start again.
    pub(crate) fn sorted(&self, sort: (usize, usize, bool)) -> Self {
        Self { sort: Some(sort), turned: None, ..self.clone() }
    }

    /// Which rows of a list are shown, from one to before another.
    pub(crate) fn rows(&self, list: usize, rows: usize) -> (usize, usize) {
        let from = match self.turned.filter(|(turned, _)| *turned == list) {
            Some((_, None)) => return (0, rows),
            Some((_, Some(from))) => from,
            None => 0,
        };
        // Where fewer are left than when the address was made, its last rows.
        let from =
            if from < rows { from } else { rows.saturating_sub(1) / SHOWN * SHOWN };
        (from, rows.min(from.saturating_add(SHOWN)))
    }

    /// The rows before those that are shown, if there are any.
    pub(crate) fn earlier(&self, list: usize, rows: usize) -> Option<Self> {
        let (from, _) = self.rows(list, rows);
        (from > 0).then(|| self.turned_to(list, Some(from.saturating_sub(SHOWN))))
    }

    /// The rows behind those that are shown, if there are any.
    pub(crate) fn later(&self, list: usize, rows: usize) -> Option<Self> {
        let (_, until) = self.rows(list, rows);
        (until < rows).then(|| self.turned_to(list, Some(until)))
    }

    /// All rows of a list.
    pub(crate) fn whole(&self, list: usize) -> Self {
        self.turned_to(list, None)
    }

    fn turned_to(&self, list: usize, from: Option<usize>) -> Self {
        Self { turned: Some((list, from)), ..self.clone() }
    }

    /// Narrows and sorts the lists of a sheet.
    pub(crate) fn apply(&self, sheet: &mut Sheet) {
        let words: Vec<String> =
            self.words.split_whitespace().map(str::to_lowercase).collect();
        for list in &mut sheet.lists {
            list.rows.retain(|row| {
                let text = row.join("\n").to_lowercase();
                words.iter().all(|word| text.contains(word))
            });
        }
        let Some((list, column, back)) = self.sort else { return };
        let Some(list) = sheet.lists.get_mut(list) else { return };
        if column < list.columns.len() {
            list.rows.sort_by(|a, b| {
                let order = compare(&a[column], &b[column]);
                if back { order.reverse() } else { order }
            });
        }
    }
}

/// Numbers by their value, wherever they stand in a text: `F-9` comes before `F-10`.
fn compare(one: &str, other: &str) -> Ordering {
    let (mut one, mut other) = (one, other);
    loop {
        let (a, b) = (run(one), run(other));
        let order = match (a.0.parse::<u64>(), b.0.parse::<u64>()) {
            (Ok(a), Ok(b)) => a.cmp(&b),
            _ => a.0.to_lowercase().cmp(&b.0.to_lowercase()),
        };
        if order != Ordering::Equal || a.0.is_empty() {
            return order;
        }
        (one, other) = (a.1, b.1);
    }
}

/// The digits, or what is none, with which a text begins; and the rest.
fn run(text: &str) -> (&str, &str) {
    let digits = text.starts_with(|c: char| c.is_ascii_digit());
    let end = text.find(|c: char| c.is_ascii_digit() != digits).unwrap_or(text.len());
    text.split_at(end)
}

#[cfg(test)]
mod tests {
    use app::List;

    use super::*;

    fn sheet() -> Sheet {
        let row = |a: &str, b: &str| vec![a.to_owned(), b.to_owned()];
        let rows = vec![row("F-10", "x"), row("F-9", "Y, \"z\""), row("F-1", "=1+1")];
        let list =
            List { title: "open".to_owned(), columns: vec!["finding", "what"], rows };
        Sheet { lists: vec![list], ..Sheet::default() }
    }

    fn view(pairs: &[(&str, &str)]) -> View {
        let pair =
            |(name, value): &(&str, &str)| ((*name).to_owned(), (*value).to_owned());
        View::of(&pairs.iter().map(pair).collect::<Vec<_>>())
    }

    fn first(view: &View) -> Vec<String> {
        let mut sheet = sheet();
        view.apply(&mut sheet);
        sheet.lists[0].rows.iter().map(|row| row[0].clone()).collect()
    }

    #[test]
    fn the_address_says_what_is_shown() {
        assert_eq!(first(&view(&[("sort", "0.0")])), ["F-1", "F-9", "F-10"]);
        assert_eq!(first(&view(&[("sort", "-0.0")])), ["F-10", "F-9", "F-1"]);
        assert_eq!(first(&view(&[("has", "f- y")])), ["F-9"]);
        // What makes no sense changes nothing.
        for odd in ["7.0", "0.9", "x", "-", "0.-1"] {
            assert_eq!(first(&view(&[("sort", odd)])).len(), 3);
        }
        let view = view(&[("has", "a&b"), ("sort", "-1.2"), ("on", "2032-01-01")]);
        assert_eq!(
            view.query(&[("as", "csv")]),
            "?has=a%26b&sort=-1.2&on=2032-01-01&as=csv"
        );
    }

    #[test]
    fn a_long_list_is_turned() {
        let plain = View::default();
        assert_eq!(plain.rows(0, 3), (0, 3));
        assert_eq!(plain.rows(0, 0), (0, 0));
        assert_eq!((plain.earlier(0, 200), plain.later(0, 200)), (None, None));
        let second = plain.later(1, 450).expect("more rows");
        assert_eq!(second.query(&[]), "?from=1.200");
        assert_eq!(view(&[("from", "1.200")]), second);
        // Each list by itself.
        assert_eq!((second.rows(1, 450), second.rows(0, 450)), ((200, 400), (0, 200)));
        let third = second.later(1, 450).expect("more rows");
        assert_eq!((third.rows(1, 450), third.later(1, 450)), ((400, 450), None));
        assert_eq!(third.earlier(1, 450), Some(second.clone()));
        assert_eq!(plain.whole(1).rows(1, 450), (0, 450));
        assert_eq!(view(&[("from", "1.all")]), plain.whole(1));
        // Another order begins anew, and a list that became shorter shows its last rows.
        assert_eq!(third.sorted((1, 0, false)).rows(1, 450), (0, 200));
        assert_eq!(third.rows(1, 300), (200, 300));
        assert_eq!(third.rows(1, 0), (0, 0));
        for odd in ["7", "x.1", "0.-1", "0.x", "."] {
            assert_eq!(view(&[("from", odd)]), plain);
        }
    }
}
