//! Choices of one word among a few.

use airframe::{CheckScope, ConnectionKind, SupportKind};
use record::act::{
    DirectiveState, EvidenceKind, Level, LifeUnit, Medium, Method, MoneyKind, Origin,
    Outcome, PartClass, Power, Rank, RecordClass, ScrapReason, StepWork, Verdict,
};
use record::{
    Basis, Condition, Decision, Reach, RuleKey, Standing, StepKind, TakesOn, View,
};

use crate::fields::{Out, Shape};
use crate::nearest::did_you_mean;
use crate::notation::{Fault, Listed, Notated, quoted};

/// Declares a choice: its words, in order, are those that its type gives.
macro_rules! choice {
    ($choice:ty, $all:expr, $words:ident) => {
        pub(crate) const $words: [&str; $all.len()] = {
            let all = $all;
            let mut words = [""; $all.len()];
            let mut at = 0;
            while at < words.len() {
                words[at] = all[at].word();
                at += 1;
            }
            words
        };

        impl Notated for $choice {
            const SHAPE: Shape = Shape::OneOf(&$words);

            fn parse(text: &str) -> Result<Self, Fault> {
                chosen(text, &$words).map(|at| $all[at])
            }

            fn print(&self) -> Out {
                Out::Text(self.word().to_owned())
            }
        }
    };
}

choice!(CheckScope, CheckScope::ALL, SCOPES);
choice!(ConnectionKind, ConnectionKind::ALL, CONNECTIONS);
choice!(SupportKind, SupportKind::ALL, SUPPORTS);
choice!(Condition, Condition::ALL, CONDITIONS);
choice!(Decision, Decision::ALL, DECISIONS);
choice!(Reach, Reach::ALL, REACHES);
choice!(Standing, Standing::ALL, STANDINGS);
choice!(StepKind, StepKind::ALL, STEPS);
choice!(TakesOn, [TakesOn::Away, TakesOn::Here], TAKES_ON);
choice!(RuleKey, RuleKey::ALL, RULES);
choice!(Basis, Basis::ALL, BASES);
choice!(EvidenceKind, EvidenceKind::ALL, EVIDENCE);
choice!(LifeUnit, LifeUnit::ALL, LIFE_UNITS);
choice!(Medium, Medium::ALL, MEDIA);
choice!(PartClass, PartClass::ALL, PART_CLASSES);
choice!(Power, Power::ALL, POWERS);
choice!(ScrapReason, ScrapReason::ALL, SCRAP_REASONS);
choice!(StepWork, StepWork::ALL, STEP_WORK);
choice!(DirectiveState, DirectiveState::ALL, DIRECTIVE_STATES);
choice!(MoneyKind, MoneyKind::ALL, MONEY_KINDS);
choice!(Origin, Origin::ALL, ORIGINS);
choice!(Level, Level::ALL, LEVELS);
choice!(Method, Method::ALL, METHODS);
choice!(Outcome, Outcome::ALL, OUTCOMES);
choice!(Rank, Rank::ALL, RANKS);
choice!(RecordClass, RecordClass::ALL, RECORD_CLASSES);
choice!(Verdict, Verdict::ALL, VERDICTS);
choice!(View, View::ALL, VIEWS);

impl Listed for ConnectionKind {
    const LIST: Shape = Shape::SomeOf(&CONNECTIONS);
}

impl Listed for Method {
    const LIST: Shape = Shape::SomeOf(&METHODS);
}

/// A word of a choice in the spelling of the choice, however somebody typed it; nothing if
/// it is none of them.
pub(crate) fn as_listed(text: &str, words: &[&'static str]) -> Option<&'static str> {
    let wanted = plain(text);
    words.iter().copied().find(|word| plain(word) == wanted)
}

fn plain(text: &str) -> String {
    let parts = text.split(|c: char| c.is_whitespace() || matches!(c, '-' | '_'));
    parts.filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ").to_lowercase()
}

fn chosen(text: &str, words: &[&'static str]) -> Result<usize, Fault> {
    let wanted = plain(text);
    words.iter().position(|word| plain(word) == wanted).ok_or_else(|| {
        let list = words.join(", ");
        let hint = did_you_mean(&wanted, words.iter().copied());
        Fault::new(format!("{} is not one of: {list}", quoted(text.trim())))
            .hint(hint.unwrap_or_else(|| format!("write one of: {list}")))
    })
}
