//! Acts of every kind, with odd texts and figures, through stored bodies, JSON and a command
//! line.

use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;
use proptest::sample::select;
use quantity::{Currency, Id, Money, Work};
use record::act::{Limit, Reading, Spot};
use record::{ToolId, View};

use super::strategy::{chapter, day, id, moment, text};
use crate::acts::{ACTS, decode, encode, from_fields, from_json};
use crate::fields::{Field, Kind, Out, Shape};
use crate::json::Json;
use crate::notation::Notated;

enum Any {}

impl quantity::Kind for Any {
    const NOUN: &'static str = "thing";
}

fn print<T: Notated>(value: &T) -> Json {
    match value.print() {
        Out::Text(text) => Json::Text(text),
        Out::Flag(flag) => Json::Flag(flag),
        Out::Count(count) => Json::Whole(count.into()),
        other => panic!("{other:?}"),
    }
}

/// Texts in which signs of the notations stand where they mean nothing.
fn odd() -> impl Strategy<Value = String> {
    let tricky = [
        "1..2",
        "a ..",
        ".. b",
        "...",
        r"\..",
        "x = 3",
        "(y)",
        "= (z)",
        r"a\;",
        "40..45 mm",
    ];
    prop_oneof![4 => text(), 1 => select(tricky.map(str::to_owned).to_vec())]
}

fn number() -> impl Strategy<Value = f64> {
    use proptest::num::f64::{NEGATIVE, NORMAL, POSITIVE, SUBNORMAL, ZERO};
    prop_oneof![POSITIVE | NEGATIVE | NORMAL | SUBNORMAL | ZERO, -1000.0..1000.0]
}

fn limit() -> impl Strategy<Value = Limit> {
    let unit = prop_oneof![Just(String::new()), odd()];
    (odd(), of(number()), of(number()), unit).prop_map(|(name, low, high, unit)| Limit {
        name,
        low,
        high,
        unit,
    })
}

fn reading() -> impl Strategy<Value = Reading> {
    (odd(), number(), of(id())).prop_map(
        |(name, value, instrument): (_, _, Option<ToolId>)| Reading {
            name,
            value,
            instrument,
        },
    )
}

/// As people type them: what was typed is kept.
fn temperature() -> impl Strategy<Value = Json> {
    let unit = select(vec!["°C", "°F", " °C", "C", " K"]);
    (0_u32..2000, unit).prop_map(|(tenths, unit)| {
        Json::Text(format!("{}.{}{unit}", tenths / 10, tenths % 10))
    })
}

fn digest() -> impl Strategy<Value = Json> {
    "[0-9a-f]{64}".prop_map(Json::Text)
}

fn spot() -> impl Strategy<Value = Spot> {
    let view = select(View::ALL.to_vec());
    (view, number(), number()).prop_map(|(view, x, y)| Spot { view, x, y })
}

fn list(of: impl Strategy<Value = Json> + 'static) -> BoxedStrategy<Json> {
    vec(of, 1..4).prop_map(Json::List).boxed()
}

fn name() -> impl Strategy<Value = Json> {
    id().prop_map(|name: Id<Any>| print(&name))
}

fn value(shape: Shape) -> BoxedStrategy<Json> {
    match shape {
        Shape::Text | Shape::JobKey => odd().prop_map(Json::Text).boxed(),
        Shape::Texts => list(odd().prop_map(Json::Text)),
        Shape::YesNo => any::<bool>().prop_map(Json::Flag).boxed(),
        Shape::Count => any::<u32>().prop_map(|count| print(&count)).boxed(),
        Shape::Number => number().prop_map(|number| print(&number)).boxed(),
        Shape::Name(_) => name().boxed(),
        Shape::Names(_) => list(name()),
        Shape::SomeOf(words) => list(select(words.to_vec()).prop_map(Json::text)),
        Shape::OneOf(words) => select(words.to_vec()).prop_map(Json::text).boxed(),
        Shape::Work => {
            (0..90_000_i64).prop_map(|n| print(&Work::from_minutes(n))).boxed()
        }
        Shape::Money => {
            let money = |minor| print(&Money::from_minor(minor, Currency::GBP));
            (-1_000_000_000_000_i64..1_000_000_000_000).prop_map(money).boxed()
        }
        Shape::Temperature => temperature().boxed(),
        Shape::Date => day().prop_map(|day| print(&day)).boxed(),
        Shape::Moment => moment().prop_map(|moment| print(&moment)).boxed(),
        Shape::Chapters => list(chapter().prop_map(|chapter| print(&chapter))),
        Shape::Limits => list(limit().prop_map(|limit| print(&limit))),
        Shape::Readings => list(reading().prop_map(|reading| print(&reading))),
        Shape::Files => list(digest()),
        Shape::File => digest().boxed(),
        Shape::Spot => spot().prop_map(|spot| print(&spot)).boxed(),
        Shape::Row(kind) => body(kind).boxed(),
        Shape::Rows(kind) => vec(body(kind), 0..4).prop_map(Json::List).boxed(),
        other => panic!("no act has {}", other.noun()),
    }
}

fn given(field: &Field) -> BoxedStrategy<Option<Json>> {
    let flag = field.shape == Shape::YesNo && !field.required;
    let value = value(field.shape);
    let rows = matches!(field.shape, Shape::Rows(_));
    if field.required {
        value.prop_map(Some).boxed()
    } else {
        // A no or a list without any part that may be left out is not written.
        let written = move |v: &Json| {
            (!flag || *v == Json::Flag(true)) && !(rows && *v == Json::List(Vec::new()))
        };
        of(value).prop_map(move |v| v.filter(written)).boxed()
    }
}

/// A body as it is written: the fields in their order, what is not given left out.
fn body(kind: &'static Kind) -> impl Strategy<Value = Json> {
    let fields: Vec<_> = kind.fields.iter().map(given).collect();
    fields.prop_map(|values| {
        let members = kind.names().zip(values);
        Json::Object(
            members.filter_map(|(name, v)| v.map(|v| (name.to_owned(), v))).collect(),
        )
    })
}

fn bodies() -> impl Strategy<Value = Vec<Json>> {
    ACTS.into_iter().map(|kind| body(kind).boxed()).collect::<Vec<_>>()
}

/// A body as somebody would type it.
fn typed(body: &Json, below: &str, pairs: &mut Vec<(String, String)>) {
    let Json::Object(members) = body else { panic!("no object") };
    for (name, value) in members {
        let name = format!("{below}{name}");
        match value {
            Json::Text(text) => pairs.push((name, text.clone())),
            Json::Whole(number) => pairs.push((name, number.to_string())),
            Json::Flag(flag) => {
                let word = if *flag { "yes" } else { "no" };
                pairs.push((name, word.to_owned()));
            }
            Json::Object(_) => typed(value, &format!("{name}."), pairs),
            Json::List(each) => {
                for (at, one) in each.iter().enumerate() {
                    match one {
                        Json::Text(text) => {
                            let text = text.replace('\\', r"\\").replace(';', r"\;");
                            pairs.push((name.clone(), text));
                        }
                        row => typed(row, &format!("{name}.{}.", at + 1), pairs),
                    }
                }
            }
        }
    }
}

/// Whether a command line can say it: a list of parts without any part has no words there.
fn sayable(body: &Json) -> bool {
    let Json::Object(members) = body else { return true };
    members.iter().all(|(_, value)| *value != Json::List(Vec::new()))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_act_comes_back(bodies in bodies()) {
        for (kind, body) in ACTS.into_iter().zip(&bodies) {
            let (stored, text) = (format!("act.{}", kind.table), body.to_string());
            let act = decode(&stored, 1, &text);
            let act = act.unwrap_or_else(|error| panic!("{error}: {text}"));
            prop_assert_eq!(act.word(), kind.table);
            prop_assert_eq!(encode(&act), (stored, 1, text.clone()));

            let Json::Object(mut members) = body.clone() else { panic!("no object") };
            members.push(("act".to_owned(), Json::text(kind.table)));
            let json = Json::Object(members).pretty();
            prop_assert_eq!(from_json(&json, "x.json"), Ok(vec![act.clone()]));

            if sayable(body) {
                let mut pairs = Vec::new();
                typed(body, "", &mut pairs);
                prop_assert_eq!(from_fields(kind.table, &pairs), Ok(act));
            }
        }
    }

    #[test]
    fn measures_come_back(limit in limit(), reading in reading(), number in number()) {
        let text = |out| match out { Out::Text(text) => text, other => panic!("{other:?}") };
        prop_assert_eq!(Limit::parse(&text(limit.print())), Ok(limit));
        prop_assert_eq!(Reading::parse(&text(reading.print())), Ok(reading));
        let again = f64::parse(&text(number.print())).map(f64::to_bits);
        prop_assert_eq!(again, Ok(number.to_bits()));
    }

    /// Whatever is given in, there is an act or something is wrong with it.
    #[test]
    fn any_words_are_survived(
        word in prop_oneof![select(record::Act::WORDS.to_vec()).prop_map(str::to_owned), text()],
        fields in vec(("(job|step|steps|certificate|item)?[.]?[0-9]?[.]?(id|text)?", odd()), 0..5),
        json in "([{]|[}]|[\\[]|[\\]]|\"act\"|\"sign-step\"|\"job\"|:|,|1|null| |\n){0,20}",
    ) {
        if let Err(problems) = from_fields(&word, &fields) {
            prop_assert!(!problems.is_empty());
            prop_assert!(problems.iter().all(|problem| problem.place.is_none()));
        }
        if let Err(problems) = from_json(&json, "x.json") {
            prop_assert!(!problems.is_empty());
            prop_assert!(problems.iter().all(|problem| problem.place.is_some()));
        }
    }
}
