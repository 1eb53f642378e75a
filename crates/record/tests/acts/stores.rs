//! Materials and tools.

use jiff::civil::date;
use record::act::{
    Batch, Calibrate, ClearTool, Draw, FindTool, LoseTool, StoreDone, StoreTask, ToolIn,
    ToolOut,
};
use record::{Act, RuleKey as R};

use crate::scene::{Scene, id, job};
use crate::table::{Row, check, row};

const BATCH: &str =
    "AMC M.A.501(a)(5): specification, batch, conformity, maker and supplier";
const SHELF: &str = "SAE ARP5316: rubber is used until a time after its cure date";
const TOOLS: &str =
    "145.A.48(a); tool control, practice: counted out and in, lost tools stop release";

fn batch() -> Batch {
    Batch {
        batch: id("B-1"),
        material: "nitrile seal".into(),
        specification: "an invented one".into(),
        maker: "Rubber Works".into(),
        supplier: "Harbour Stores".into(),
        conformity: "COC 5".into(),
        quantity: 10.0,
        unit: "pieces".into(),
        cured: None,
        expires: None,
        storage: "dark, below 38 C".into(),
    }
}

fn draw(quantity: f64) -> Act {
    Draw { batch: id("B-1"), job: job("J"), quantity }.into()
}

fn out(tool: &str) -> Act {
    ToolOut { tool: id(tool), job: job("J"), person: None }.into()
}

fn back(tool: &str) -> Act {
    ToolIn { tool: id(tool) }.into()
}

pub(crate) fn lose(tool: &str) -> Act {
    LoseTool { tool: id(tool), last_seen: "in the bilge".into() }.into()
}

pub(crate) fn find(tool: &str) -> Act {
    FindTool { tool: id(tool), place: "behind frame 9".into() }.into()
}

fn clear(tool: &str, search: &str) -> ClearTool {
    let reason = "it can't reach a control".into();
    ClearTool { tool: id(tool), search: search.into(), reason }
}

fn materials() -> Vec<Row> {
    vec![
        row("who may not run stores takes nothing in", BATCH, R::Authority, |_| {
            ("ben", batch().into())
        }),
        row("material has a specification", BATCH, R::Conformity, |_| {
            ("frank", Batch { specification: " ".into(), ..batch() }.into())
        }),
        row("material has a statement of conformity", BATCH, R::Conformity, |_| {
            ("frank", Batch { conformity: String::new(), ..batch() }.into())
        }),
        row("material has a maker", BATCH, R::Conformity, |_| {
            ("frank", Batch { maker: String::new(), ..batch() }.into())
        }),
        row("material has a supplier", BATCH, R::Conformity, |_| {
            ("frank", Batch { supplier: String::new(), ..batch() }.into())
        }),
        row("a batch has a name of its own", BATCH, R::Known, |s| {
            s.does("frank", batch());
            ("frank", batch().into())
        }),
        row("a batch is some", BATCH, R::Stated, |_| {
            ("frank", Batch { quantity: -1.0, ..batch() }.into())
        }),
        row("what is over its date is not taken in", SHELF, R::ShelfLife, |_| {
            ("frank", Batch { expires: Some(date(2031, 1, 1)), ..batch() }.into())
        }),
        row("rubber has a last day", SHELF, R::ShelfLife, |_| {
            ("frank", Batch { cured: Some(date(2030, 1, 1)), ..batch() }.into())
        }),
        row("rubber is not cured tomorrow", SHELF, R::Stated, |_| {
            let (cured, expires) = (Some(date(2032, 2, 1)), Some(date(2040, 1, 1)));
            ("frank", Batch { cured, expires, ..batch() }.into())
        }),
        row("what is over its date is not drawn", SHELF, R::ShelfLife, |s| {
            s.does("frank", Batch { expires: Some(date(2032, 1, 20)), ..batch() });
            s.begun("J").on(date(2032, 1, 21));
            ("ben", draw(1.0))
        }),
        row("no more is drawn than there is", BATCH, R::Stated, |s| {
            s.does("frank", batch()).begun("J").does("ben", draw(9.0));
            ("ben", draw(1.5))
        }),
        row("nothing is drawn for no card", BATCH, R::Known, |s| {
            s.does("frank", batch());
            ("ben", draw(1.0))
        }),
        row("what did not come in is not drawn", BATCH, R::Known, |s| {
            s.begun("J");
            ("ben", draw(1.0))
        }),
        row(
            "what is due in store is due now and then",
            "Indian CAR: tyres are turned every 3 months",
            R::Stated,
            |_| {
                (
                    "ben",
                    StoreTask { item: id("PUMP"), task: "turn".into(), every: 0 }.into(),
                )
            },
        ),
        row(
            "what nobody asked for is not done",
            "Indian CAR: tyres are turned every 3 months",
            R::Known,
            |_| ("ben", StoreDone { item: id("PUMP"), task: "turn".into() }.into()),
        ),
    ]
}

fn tools() -> Vec<Row> {
    vec![
        row("a tool is out once", TOOLS, R::ToolControl, |s| {
            s.begun("J").does("ben", out("HAMMER"));
            ("dan", out("HAMMER"))
        }),
        row("a tool goes out for a card", TOOLS, R::Known, |_| ("ben", out("HAMMER"))),
        row("a tool that there is not does not go out", TOOLS, R::Known, |s| {
            s.begun("J");
            ("ben", out("SPANNER"))
        }),
        row("a tool that is in does not come back", TOOLS, R::ToolControl, |_| {
            ("ben", back("HAMMER"))
        }),
        row("a lost tool does not go out", TOOLS, R::ToolControl, |s| {
            s.begun("J").does("ben", lose("HAMMER"));
            ("ben", out("HAMMER"))
        }),
        row("a lost tool does not come back unsaid", TOOLS, R::ToolControl, |s| {
            s.begun("J").does("ben", out("HAMMER")).does("ben", lose("HAMMER"));
            ("ben", back("HAMMER"))
        }),
        row("a tool is lost once", TOOLS, R::Known, |s| {
            s.does("ben", lose("HAMMER"));
            ("ben", lose("HAMMER"))
        }),
        row("it is said where a tool was last seen", TOOLS, R::Stated, |_| {
            ("ben", LoseTool { tool: id("HAMMER"), last_seen: " ".into() }.into())
        }),
        row("what is not lost is not found", TOOLS, R::Known, |_| {
            ("ben", find("HAMMER"))
        }),
        row("only who may release clears a lost tool", TOOLS, R::Authority, |s| {
            s.does("ben", lose("HAMMER"));
            ("ben", clear("HAMMER", "all of the bilge").into())
        }),
        row("a lost tool is cleared by a search", TOOLS, R::Stated, |s| {
            s.does("ben", lose("HAMMER"));
            ("gina", clear("HAMMER", "").into())
        }),
        row(
            "a calibration does not run out before it begins",
            TOOLS,
            R::Calibration,
            |_| {
                let (until, certificate) = (date(2031, 1, 1), "C-1".into());
                ("frank", Calibrate { tool: id("TW-1"), until, certificate }.into())
            },
        ),
        row("a calibration has a certificate", TOOLS, R::Stated, |_| {
            let (until, certificate) = (date(2033, 1, 1), String::new());
            ("frank", Calibrate { tool: id("TW-1"), until, certificate }.into())
        }),
        row("who may not run stores calibrates nothing", TOOLS, R::Authority, |_| {
            let (until, certificate) = (date(2033, 1, 1), "C-1".into());
            ("ben", Calibrate { tool: id("TW-1"), until, certificate }.into())
        }),
    ]
}

pub(crate) fn rows() -> Vec<Row> {
    [materials(), tools()].into_iter().flatten().collect()
}

#[test]
fn materials_and_tools_are_accounted_for() {
    check(rows());
}

#[test]
fn a_tool_that_was_lost_is_calibrated_again() {
    let mut scene = Scene::new();
    let (until, certificate) = (date(2033, 1, 1), "C-1".into());
    scene.does("frank", Calibrate { tool: id("TW-1"), until, certificate });
    scene.does("ben", lose("TW-1")).does("ben", find("TW-1"));
    assert_eq!(scene.programme.shop.tools.states[&id("TW-1")].calibrated, None);
}

#[test]
fn what_is_due_in_store_is_counted_from_when_it_was_done() {
    let mut scene = Scene::new();
    let (item, task) = (id("PUMP"), "turn".to_owned());
    scene.does("ben", StoreTask { item, task: task.clone(), every: 90 });
    scene.on(date(2032, 3, 1)).does("ben", StoreDone { item: id("PUMP"), task });
    let state = scene.programme.shop.stores.tasks.values().next().unwrap();
    assert_eq!(state.due(), date(2032, 5, 30));
}
