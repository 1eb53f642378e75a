//! What the page after an act tells, and which page that is.

use app::{ActForm, Kept, Snapshot};
use maud::{Markup, html};

use super::words;
use crate::links::{Index, path_of};
use crate::pages::bench::{self, BACK};
use crate::pages::me::when;
use crate::sign_in::{Fields, field};
use crate::site::Site;
use crate::table::sentence;
use crate::viewer::Viewer;

/// So much of what follows is told at once.
const MOST: usize = 8;

/// An act that was entered: its form, what was typed, and how all stood before it.
pub(crate) struct Told<'a> {
    pub(crate) form: &'a ActForm,
    pub(crate) typed: &'a Fields,
    pub(crate) before: Snapshot,
    /// What it says, where the next page does not.
    pub(crate) says: Option<String>,
}

/// Leaves for the next page what was entered, by whom and when, and what follows from it.
pub(crate) async fn told(site: &Site, viewer: &Viewer, kept: &[Kept], act: &Told<'_>) {
    let after = site.snapshot();
    let index = site.index(&after);
    let about = about(act.form, act.typed).map(|(noun, name)| (noun, name.to_owned()));
    let (then, on) = (act.before.clone(), site.today());
    let follows = site.aside(move || {
        let about = about.as_ref().map(|(noun, name)| (*noun, name.as_str()));
        Ok(app::follows((&then.programme, &after.programme), about, on))
    });
    // What was entered stands, whether or not one can say what follows from it.
    let follows = follows.await.unwrap_or_default();
    let at = site.stamp();
    let mut notes: Vec<Markup> =
        kept.iter().map(|one| entered(viewer, one, &at)).collect();
    notes.extend(act.says.as_ref().map(|says| html! { p { (says) } }));
    notes.push(following(&index, &follows));
    site.sessions.note(&viewer.session, notes);
}

/// That it was entered, and what whoever signed should know besides.
fn entered(viewer: &Viewer, one: &Kept, at: &str) -> Markup {
    html! {
        p {
            a href={ "/record/" (one.number) } { "Entered as entry " (one.number) } ": "
            (words(one.word))
            @if one.repeated {
                ", which was entered before; nothing was entered twice."
            } @else {
                ", signed by " (viewer.name) " (" (viewer.person) ") on " (when(at)) "."
            }
        }
        @for caution in &one.cautions {
            p { "Caution: " (caution.what) ". " (sentence(&caution.hint)) "." }
        }
    }
}

fn following(index: &Index, follows: &[String]) -> Markup {
    html! {
        @if !follows.is_empty() {
            p { "What follows from it:" }
            ul.lines {
                @for one in follows.iter().take(MOST) {
                    li { (index.linked("", &sentence(one))) "." }
                }
                @if follows.len() > MOST { li { "and " (follows.len() - MOST) " more." } }
            }
        }
    }
}

/// What an act is about, as its form names it.
fn about<'a>(form: &ActForm, typed: &'a Fields) -> Option<(&'static str, &'a str)> {
    const NOUNS: [(&str, &str); 7] = [
        ("job", "card"),
        ("finding", "finding"),
        ("item", "item"),
        ("tool", "tool"),
        ("gate", "gate"),
        ("person", "person"),
        ("examination", "examination"),
    ];
    let is_card = form.area == "work on cards";
    let named = NOUNS.into_iter().find(|(name, noun)| {
        let about = *noun != "card" || is_card;
        about && !field(typed, name).is_empty()
    });
    named.map(|(name, noun)| (noun, field(typed, name)))
}

/// The page of what an act was about.
pub(crate) fn page_of(form: &ActForm, typed: &Fields) -> String {
    match (field(typed, BACK), field(typed, "job")) {
        (bench::CARD, job) if !job.is_empty() => return bench::path(job),
        ("parts", _) => return "/parts".to_owned(),
        ("today", _) => return "/today".to_owned(),
        _ => {}
    }
    about(form, typed).map_or_else(|| "/".to_owned(), |(noun, name)| path_of(noun, name))
}
