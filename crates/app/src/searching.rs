//! Finding things by words: by their names, by what they are called, and by what the programme
//! says of them besides.

use std::collections::HashMap;

use record::{JobKey, Programme};

use crate::Thing;

/// How well a thing answers to words; the best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fits {
    /// They are its name.
    IsNamed,
    /// Its name begins with them.
    BeginsSo,
    /// They stand in its name.
    InItsName,
    /// They stand in what it is called, or in its name and there.
    CalledSo,
    /// Some stand only in what is said of it besides.
    SaysSo,
}

/// A thing that was found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hit {
    /// The thing.
    pub thing: Thing,
    /// How well it fits.
    pub fits: Fits,
    /// Where the words stand, if neither its name nor what it is called has them.
    pub says: Option<String>,
}

/// What is said of a thing besides its name and what it is called: of what, and the text.
type Said = Vec<(&'static str, String)>;

/// All that can be found, made once for a programme.
#[derive(Debug, Default)]
pub struct Searchable {
    said: HashMap<(&'static str, String), Said>,
}

impl Searchable {
    /// Of a programme as it stands.
    pub fn new(programme: &Programme) -> Self {
        let mut all = Self::default();
        all.of_items(programme);
        all.of_findings(programme);
        all.of_cards(programme);
        all.of_people(programme);
        all.of_office(programme);
        all
    }

    fn add(
        &mut self,
        (noun, name): (&'static str, &impl ToString),
        what: &'static str,
        text: Option<impl ToString>,
    ) {
        let Some(text) = text.map(|text| text.to_string()) else { return };
        if !text.is_empty() {
            self.said.entry((noun, name.to_string())).or_default().push((what, text));
        }
    }

    fn of_items(&mut self, programme: &Programme) {
        for item in programme.items.iter() {
            let it = ("item", &item.id);
            self.add(it, "part number", item.part_number.as_ref());
            self.add(it, "serial number", item.serial.as_ref());
            self.add(it, "material", item.material.as_ref());
            self.add(it, "zone", item.zone.as_ref());
        }
    }

    fn of_findings(&mut self, programme: &Programme) {
        for finding in programme.findings.iter() {
            let it = ("finding", &finding.id);
            self.add(it, "item", Some(&finding.item));
            self.add(it, "zone", finding.zone.as_ref());
            self.add(it, "measured", finding.measured.as_ref());
        }
        for (name, state) in &programme.shop.findings.states {
            let it = ("finding", name);
            let Some((raised, mark)) = &state.raised else { continue };
            self.add(it, "item", Some(&raised.item));
            self.add(it, "zone", raised.zone.as_ref());
            self.add(it, "measured", raised.measured.as_ref());
            self.add(it, "cause", raised.cause.as_ref());
            self.add(it, "on card", raised.job.as_ref());
            self.add(it, "raised by", Some(person(programme, &mark.by)));
        }
    }

    fn of_cards(&mut self, programme: &Programme) {
        for (job, card) in &programme.shop.cards.cards {
            let it: (&'static str, &JobKey) = ("card", job);
            self.add(it, "item", card.item.as_ref());
            self.add(it, "pack", card.pack.as_ref());
            for step in &card.steps {
                let text = format!("{}: {}", step.spec.id, step.spec.text);
                self.add(it, "step", Some(text));
            }
            for session in &card.sessions {
                self.add(it, "at it", Some(person(programme, &session.person)));
            }
        }
    }

    fn of_people(&mut self, programme: &Programme) {
        for (authority, given) in &programme.shop.authorities.given {
            let grant = &given.grant;
            self.add(("person", &grant.person), "may", Some(grant.power.word()));
            let text = format!("{authority}, {}", grant.reference);
            self.add(("person", &grant.person), "authority", Some(text));
            self.add(("authority", authority), "reference", Some(&grant.reference));
        }
    }

    fn of_office(&mut self, programme: &Programme) {
        let office = &programme.shop.office;
        for (name, (letter, _)) in &office.letters {
            self.add(("letter", name), "reference", Some(&letter.reference));
            self.add(("letter", name), "answers", letter.answers.as_ref());
        }
        for (name, (directive, _)) in &office.directives {
            self.add(("directive", name), "source", Some(&directive.source));
            self.add(("directive", name), "method", directive.method.as_ref());
        }
    }

    /// The things that hold all the words, the best first; of one kind only, if one is said.
    pub fn find(&self, things: &[Thing], typed: &str, noun: Option<&str>) -> Vec<Hit> {
        let whole = plain(typed.trim());
        let words: Vec<&str> = whole.split_whitespace().collect();
        if words.is_empty() {
            return Vec::new();
        }
        let of_kind = |thing: &&Thing| noun.is_none_or(|noun| noun == thing.noun);
        let each = things.iter().filter(of_kind);
        let mut hits: Vec<Hit> =
            each.filter_map(|thing| self.hit(thing, &whole, &words)).collect();
        // They stand by kind and name before, and that stays where nothing else tells.
        hits.sort_by_key(|hit| hit.fits);
        hits
    }

    fn hit(&self, thing: &Thing, whole: &str, words: &[&str]) -> Option<Hit> {
        let name = plain(&thing.name);
        let hit = |fits, says| Some(Hit { thing: thing.clone(), fits, says });
        if name == whole {
            return hit(Fits::IsNamed, None);
        }
        if name.starts_with(whole) {
            return hit(Fits::BeginsSo, None);
        }
        if words.iter().all(|word| name.contains(word)) {
            return hit(Fits::InItsName, None);
        }
        let called = format!("{} {name} {}", thing.noun, plain(&thing.what));
        let left: Vec<&str> =
            words.iter().copied().filter(|word| !called.contains(word)).collect();
        if left.is_empty() {
            return hit(Fits::CalledSo, None);
        }
        let said = self.said.get(&(thing.noun, thing.name.clone()))?;
        let texts: Vec<String> = said.iter().map(|(_, text)| plain(text)).collect();
        if !left.iter().all(|word| texts.iter().any(|text| text.contains(word))) {
            return None;
        }
        // The first that has most of them is told.
        let has = |text: &String| left.iter().filter(|word| text.contains(*word)).count();
        let most = texts.iter().map(has).max()?;
        let at = texts.iter().position(|text| has(text) == most)?;
        let (what, text) = &said[at];
        hit(Fits::SaysSo, Some(format!("{what} {text}")))
    }
}

fn person(programme: &Programme, id: &record::PersonId) -> String {
    let name = programme.people.get(id).map(|person| format!(" {}", person.name));
    format!("{id}{}", name.unwrap_or_default())
}

/// A text as it is compared.
fn plain(text: &str) -> String {
    text.to_lowercase()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn thing(noun: &'static str, name: &str, what: &str) -> Thing {
        Thing { noun, name: name.to_owned(), what: what.to_owned() }
    }

    fn names(hits: &[Hit]) -> Vec<&str> {
        hits.iter().map(|hit| hit.thing.name.as_str()).collect()
    }

    #[test]
    fn names_and_words_are_found_whatever_their_case_the_best_first() {
        let things = [
            thing("card", "OFF:MAG", "Take the magneto off"),
            thing("item", "LEFT-MAG", "Left magneto"),
            thing("item", "MAG", "Magneto drive"),
            thing("item", "MAG-2", "Right one"),
            thing("item", "X", "mag wheel"),
        ];
        let all = Searchable::default();
        let found = all.find(&things, "mag", None);
        assert_eq!(names(&found), ["MAG", "MAG-2", "OFF:MAG", "LEFT-MAG", "X"]);
        assert_eq!(names(&all.find(&things, "LEFT magneto", None)), ["LEFT-MAG"]);
        assert_eq!(names(&all.find(&things, "mag", Some("card"))), ["OFF:MAG"]);
        assert!(all.find(&things, " ", None).is_empty());
        assert_eq!(all.find(&things, "\u{c4}", None), []);
    }

    #[test]
    fn what_is_said_besides_is_found_and_told() {
        let things = [thing("item", "MAG", "Magneto"), thing("item", "PUMP", "Pump")];
        let mut all = Searchable::default();
        all.add(("item", &"MAG"), "serial number", Some("4711-b"));
        all.add(("item", &"MAG"), "material", None::<&str>);
        let found = all.find(&things, "4711", None);
        assert_eq!(names(&found), ["MAG"]);
        assert_eq!(found[0].says.as_deref(), Some("serial number 4711-b"));
        // A word of the name beside one of what is said.
        assert_eq!(names(&all.find(&things, "mag 4711", None)), ["MAG"]);
        assert!(all.find(&things, "pump 4711", None).is_empty());
    }
}
