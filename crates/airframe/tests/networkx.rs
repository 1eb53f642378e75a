//! Closure and order of removals on graphs without alternatives, against a naive closure
//! and, where `TURNBUCKLE_PYTHON` names a Python with networkx, against networkx.

#![expect(clippy::unwrap_used, reason = "in a test, failing is the way to say so")]

use std::collections::BTreeSet;
use std::io::Write as _;
use std::process::{Command, Stdio};

use airframe::access::{Options, Target, open};
use airframe::{Airframe, Crew, Handling, Item, ItemId, Kinds, Needs, Parts, SkillId};
use quantity::{Estimate, Id, Work};

/// Pairs of an item and what must be off before it; nothing but numbers.
struct Graph {
    items: usize,
    blocks: Vec<(usize, usize)>,
    targets: Vec<usize>,
}

/// Numbers that look random and are the same everywhere (xorshift).
struct Lots(u64);

impl Lots {
    fn below(&mut self, limit: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as usize % limit
    }
}

/// A digraph without rings: an item waits only for items that come before it in a shuffled
/// order.
fn graph(lots: &mut Lots) -> Graph {
    let items = 5 + lots.below(60);
    let mut order: Vec<usize> = (0..items).collect();
    for at in (1..items).rev() {
        order.swap(at, lots.below(at + 1));
    }
    let mut blocks = BTreeSet::new();
    for _ in 0..lots.below(3 * items) {
        let later = 1 + lots.below(items - 1);
        blocks.insert((order[later], order[lots.below(later)]));
    }
    let targets: BTreeSet<usize> =
        (0..=lots.below(4)).map(|_| lots.below(items)).collect();
    let (blocks, targets) = (blocks.into_iter().collect(), targets.into_iter().collect());
    Graph { items, blocks, targets }
}

fn name(at: usize) -> ItemId {
    Id::new(&format!("I{at}")).unwrap()
}

/// Every second blocker hides the item, the others hold it.
fn airframe(graph: &Graph) -> Airframe {
    let skill: SkillId = Id::new("fitter").unwrap();
    let handling = Handling {
        crew: vec![Crew { count: 1, skill: skill.clone() }],
        hours: Estimate::certain(Work::from_minutes(10)),
        gear: Vec::new(),
    };
    let items = (0..graph.items).map(|at| {
        let blockers = graph.blocks.iter().filter(|(later, _)| *later == at);
        let named = |half: usize| {
            let some = blockers.clone().skip(half).step_by(2);
            let text: Vec<_> = some.map(|(_, first)| name(*first).to_string()).collect();
            Needs::parse(&text.join(if at % 2 == 0 { "; " } else { " + " })).unwrap()
        };
        Item {
            behind: named(0),
            held_by: named(1),
            removal: Some(handling.clone()),
            refit: Some(handling.clone()),
            ..Item::new(name(at), "an item")
        }
    });
    let parts = Parts { items: items.collect(), ..Parts::default() };
    let kinds = Kinds { skills: [skill].into(), ..Kinds::default() };
    Airframe::new(parts, &kinds).unwrap()
}

/// What comes off, in order, as numbers.
fn answer(graph: &Graph) -> Vec<usize> {
    let targets: Vec<_> =
        graph.targets.iter().map(|at| Target::Free(name(*at))).collect();
    let opening =
        open(&airframe(graph), &BTreeSet::new(), &targets, &Options::default()).unwrap();
    assert!(opening.optimal);
    let number = |item: &ItemId| item.as_str()[1..].parse().unwrap();
    opening.removals.iter().map(|removal| number(&removal.item)).collect()
}

fn naive_closure(graph: &Graph) -> BTreeSet<usize> {
    let mut closure: BTreeSet<usize> = graph.targets.iter().copied().collect();
    loop {
        let waiting = graph.blocks.iter().filter(|(later, _)| closure.contains(later));
        let more: Vec<usize> =
            waiting.map(|(_, first)| *first).filter(|at| !closure.contains(at)).collect();
        if more.is_empty() {
            return closure;
        }
        closure.extend(more);
    }
}

fn json(graph: &Graph, order: &[usize]) -> String {
    let blocks: Vec<[usize; 2]> = graph.blocks.iter().map(|(a, b)| [*a, *b]).collect();
    let closure: BTreeSet<_> = order.iter().collect();
    let closure: Vec<_> = closure.into_iter().collect();
    format!(
        r#"{{"items":{},"blocks":{blocks:?},"targets":{:?},"closure":{closure:?},"order":{order:?}}}"#,
        graph.items, graph.targets,
    )
}

/// The verdicts of the reference on answers, and whether it is content.
fn reference(python: &std::ffi::OsStr, graphs: &[String]) -> (bool, String) {
    let script =
        concat!(env!("CARGO_MANIFEST_DIR"), "/../../reference/access_networkx.py");
    let mut child = Command::new(python)
        .arg(script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("TURNBUCKLE_PYTHON names a Python that runs");
    let question = format!(r#"{{"graphs":[{}]}}"#, graphs.join(","));
    child.stdin.take().unwrap().write_all(question.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    (output.status.success(), String::from_utf8_lossy(&output.stdout).into_owned())
}

#[test]
fn closure_and_order_without_alternatives() {
    let mut lots = Lots(0x5eed_1234_5678_9abc);
    let graphs: Vec<Graph> = (0..150).map(|_| graph(&mut lots)).collect();
    let answers: Vec<Vec<usize>> = graphs.iter().map(answer).collect();
    for (graph, order) in graphs.iter().zip(&answers) {
        let closure: BTreeSet<usize> = order.iter().copied().collect();
        assert_eq!(closure, naive_closure(graph));
        let place = |at: usize| order.iter().position(|other| *other == at);
        for (later, first) in &graph.blocks {
            assert!(place(*later).is_none() || place(*first) < place(*later));
        }
    }
    let Some(python) = std::env::var_os("TURNBUCKLE_PYTHON") else {
        println!("not compared with networkx: TURNBUCKLE_PYTHON is not set");
        return;
    };
    let asked: Vec<String> =
        graphs.iter().zip(&answers).map(|(graph, order)| json(graph, order)).collect();
    let (content, verdicts) = reference(&python, &asked);
    assert!(content, "{verdicts}");
    assert_eq!(verdicts.matches("agrees").count(), graphs.len());
    // The reference can say no: to an order turned round, and to a closure cut short.
    let chain = Graph { items: 3, blocks: vec![(2, 1), (1, 0)], targets: vec![2] };
    for wrong in [vec![2, 1, 0], vec![1, 2]] {
        let (content, verdicts) = reference(&python, &[json(&chain, &wrong)]);
        assert!(!content && verdicts.contains("differs"), "{verdicts}");
    }
}
