//! The examples of the tables are what they say they are.

use airframe::{Chapter, CheckScope, ConnectionKind, Needs, SupportKind};
use quantity::{
    Currency, Elapsed, Estimate, Id, Length, Mass, Money, Temperature, Typed, Work,
};
use record::act::{
    DirectiveState, EvidenceKind, Level, LifeUnit, Limit, Medium, Method, MoneyKind,
    Origin, Outcome, PartClass, Power, Rank, Reading, RecordClass, ScrapReason, StepWork,
    Verdict,
};
use record::{
    Authority, Basis, Condition, DateSpan, Decision, HeatingPeriod, JobKey, Reach,
    RuleKey, Shift, Standing, StepKind, TakesOn, Weekdays,
};

use crate::Place;
use crate::acts::ACTS;
use crate::cell::{Cell, Row, Value};
use crate::fields::{Field, KINDS, Kind, PROGRAMME, Shape};
use crate::notation::{Chance, Listed, Notated, OwnHours, Team, Way};
use crate::taker::take;

enum Any {}

impl quantity::Kind for Any {
    const NOUN: &'static str = "thing";
}

fn one<T: Notated>(field: &Field) -> Result<(), String> {
    let value = Value::Text(field.example.to_owned());
    let cell = Cell { value, place: Place::whole("example") };
    T::read(&cell).map(|_| ()).map_err(|fault| fault.what)
}

/// Each part of a list, by the way that rows are read.
fn list<T: Listed>(field: &Field) -> Result<(), String> {
    field
        .example
        .split(';')
        .try_for_each(|part| T::part(part.trim()).map(|_| ()).map_err(|fault| fault.what))
}

fn word(field: &Field, words: &[&str]) -> Result<(), String> {
    let found = words.contains(&field.example);
    found.then_some(()).ok_or_else(|| format!("not one of {words:?}"))
}

fn some(field: &Field, words: &[&str]) -> Result<(), String> {
    let strange = field.example.split(';').find(|word| !words.contains(&word.trim()));
    strange.map_or(Ok(()), |word| Err(format!("{word} is not one of {words:?}")))
}

fn reads(field: &Field) -> Result<(), String> {
    match field.shape {
        Shape::Text => one::<String>(field),
        Shape::YesNo => one::<bool>(field),
        Shape::Count => one::<u32>(field),
        Shape::Chance => one::<Chance>(field),
        Shape::Number => one::<f64>(field),
        Shape::Texts => list::<String>(field),
        Shape::Limits => list::<Limit>(field),
        Shape::Readings => list::<Reading>(field),
        Shape::File => one::<record::act::FileDigest>(field),
        Shape::Files => list::<record::act::FileDigest>(field),
        Shape::Spot => one::<record::act::Spot>(field),
        Shape::Name(_) => one::<Id<Any>>(field),
        Shape::Names(_) => list::<Id<Any>>(field),
        Shape::OneOf(words) => word(field, words),
        Shape::SomeOf(words) => some(field, words),
        Shape::Needs => one::<Needs>(field),
        Shape::Crew => one::<Team>(field),
        Shape::Ways => list::<Way>(field),
        Shape::Work => one::<Work>(field),
        Shape::Elapsed => one::<Elapsed>(field),
        Shape::WorkEstimate => one::<Estimate<Work>>(field),
        Shape::ElapsedEstimate => one::<Estimate<Elapsed>>(field),
        Shape::Mass => one::<Typed<Mass>>(field),
        Shape::Length => one::<Typed<Length>>(field),
        Shape::Temperature => one::<Typed<Temperature>>(field),
        Shape::Date => one::<jiff::civil::Date>(field),
        Shape::Moment => one::<jiff::civil::DateTime>(field),
        Shape::Spans => list::<DateSpan>(field),
        Shape::Days => one::<Weekdays>(field),
        Shape::Hours => one::<OwnHours>(field),
        Shape::Shifts => list::<Shift>(field),
        Shape::Heating => list::<HeatingPeriod>(field),
        Shape::Chapter => one::<Chapter>(field),
        Shape::Chapters => list::<Chapter>(field),
        Shape::Currency => one::<Currency>(field),
        Shape::Money => one::<Money>(field),
        Shape::Drawn => one::<record::DrawnPath>(field),
        Shape::Authorities => list::<Authority>(field),
        Shape::JobKey => one::<JobKey>(field),
        Shape::JobKeys => list::<JobKey>(field),
        Shape::Row(kind) | Shape::Rows(kind) => {
            each(kind);
            field.example.is_empty().then_some(()).ok_or_else(|| "tables".to_owned())
        }
    }
}

fn each(kind: &'static Kind) {
    for field in kind.fields {
        assert_eq!(reads(field), Ok(()), "{} {}", kind.noun, field.name);
        assert!(field.doc.ends_with('.'), "{} {}", kind.noun, field.name);
        assert_eq!(
            kind.fields.iter().filter(|other| other.name == field.name).count(),
            1
        );
    }
}

#[test]
fn examples_can_be_read() {
    std::iter::once(&PROGRAMME).chain(KINDS).chain(ACTS).for_each(each);
}

/// Every word of a choice is read back from what is written, and from capitals.
#[test]
fn words_are_read() {
    fn all<T: Notated + Copy + PartialEq + std::fmt::Debug>(words: &[T]) {
        for word in words {
            let crate::fields::Out::Text(text) = word.print() else { panic!("no text") };
            assert_eq!(T::parse(&text).unwrap(), *word);
            assert_eq!(T::parse(&text.to_uppercase().replace(' ', "-")).unwrap(), *word);
        }
    }
    all(&CheckScope::ALL);
    all(&ConnectionKind::ALL);
    all(&SupportKind::ALL);
    all(&Condition::ALL);
    all(&Decision::ALL);
    all(&Reach::ALL);
    all(&Standing::ALL);
    all(&StepKind::ALL);
    all(&RuleKey::ALL);
    all(&Basis::ALL);
    all(&EvidenceKind::ALL);
    all(&LifeUnit::ALL);
    all(&Medium::ALL);
    all(&PartClass::ALL);
    all(&DirectiveState::ALL);
    all(&MoneyKind::ALL);
    all(&Origin::ALL);
    all(&Power::ALL);
    all(&ScrapReason::ALL);
    all(&StepWork::ALL);
    all(&Verdict::ALL);
    all(&Level::ALL);
    all(&Method::ALL);
    all(&Outcome::ALL);
    all(&Rank::ALL);
    all(&RecordClass::ALL);
    all(&record::View::ALL);
    all(&[TakesOn::Away, TakesOn::Here]);
}

/// A row in which nothing is given lacks each field that must be, and says so once.
#[test]
fn an_empty_row_lacks_what_it_must_have() {
    let row = Row::empty(&crate::fields::FINDING, Place::whole("x"));
    let mut problems = Vec::new();
    let finding =
        take(&row, &mut problems, <record::Finding as crate::things::Thing>::read);
    assert!(finding.is_none());
    let required = crate::fields::FINDING.fields.iter().filter(|field| field.required);
    assert_eq!(problems.len(), required.count());
}
